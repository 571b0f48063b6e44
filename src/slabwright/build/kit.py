"""The crew's tools against the job: what does not fit between these forms, what is missing, what to wear.

Only what is written in the job file is checked; what the job needs and nobody wrote down is listed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any

from slabwright.build.tables import rule as table_rule
from slabwright.build.tables import table
from slabwright.findings import Finding, Value, find
from slabwright.measure import Quantity
from slabwright.notes.defaults import DEPTH_SLACK, joint_depth
from slabwright.notes.models import Kit
from slabwright.slab.model import XY, Shaped, Slab

JUST = 1e-6  # [m] a tool that fits to this fits


@cache
def _rules() -> dict[str, Any]:
    return dict(table("kit")["rules"])


@cache
def rule(name: str) -> float:
    """Return one rule's value in SI; KeyError for an unknown name."""
    return table_rule("kit", name)


def check_kit(kit: Kit, shaped: Shaped) -> tuple[Finding, ...]:
    """Return what does not fit, what is missing and what to wear.

    kit: the tools as written; shaped: the job's slabs. Sources irmca-joints (joint depth),
    army-screeding (width of strips), pci-cement-burns (protection); the rest common practice.
    """
    found: list[Finding] = []
    for slab in shaped.slabs:
        found += _strike_off(kit, slab)
        found += _float(kit, slab)
        found += _joints(kit, slab)
    found += _edger(kit)
    found += _missing(kit, shaped.slabs)
    if shaped.slabs:
        found.append(find("build", "kit-protection"))
    return tuple(found)


def clear_width(slab: Slab) -> float:
    """Return the width [m] between a slab's forms: a ribbon's own, else the ring's narrowest way across."""
    if slab.outline.axis and slab.outline.width is not None:
        return slab.outline.width
    return min(_widths(slab.outline.ring))


def _widths(ring: tuple[XY, ...]) -> Iterator[float]:
    """Widths of a ring square to each of its sides; the least of them is its narrowest."""
    for p, q in zip(ring, (*ring[1:], ring[0]), strict=True):
        run = math.dist(p, q)
        if run < JUST:
            continue
        nx, ny = -(q[1] - p[1]) / run, (q[0] - p[0]) / run
        across = [x * nx + y * ny for x, y in ring]
        yield max(across) - min(across)


def _say(slab: Slab, code: str, **values: Value) -> Finding:
    return find("build", code, where=slab.spec.name, line=slab.spec.line, **values)


def _strike_off(kit: Kit, slab: Slab) -> Iterable[Finding]:
    width = clear_width(slab)
    strips = max(1, math.ceil(width / rule("hand_strip") - JUST))
    if strips > 1:
        yield _say(
            slab,
            "kit-strips",
            width=Quantity("length", width),
            strips=strips,
            strip=Quantity("length", width / strips),
            most=Quantity("length", rule("hand_strip")),
        )
    needed = width / strips + 2 * rule("bearing")
    if kit.strike_off is not None and kit.strike_off < needed - JUST:
        yield _say(
            slab,
            "kit-strike-off-short",
            has=Quantity("length", kit.strike_off),
            needed=Quantity("length", needed),
            over=Quantity("length", width / strips + rule("hold")),
            width=Quantity("length", width / strips),
        )


def _float(kit: Kit, slab: Slab) -> Iterable[Finding]:
    width = clear_width(slab)
    for code, length in (("kit-float-long", kit.float_), ("kit-bull-float-long", kit.bull_float)):
        if length is not None and length > width - rule("float_play") + JUST:
            yield _say(
                slab,
                code,
                has=Quantity("length", length),
                width=Quantity("length", width),
                most=Quantity("length", width - rule("float_play")),
            )


def _joints(kit: Kit, slab: Slab) -> Iterable[Finding]:
    made = {joint.made for joint in slab.joint_plan.joints if joint.kind == "contraction"}
    needed = joint_depth(slab.spec.thickness)[0]
    values: dict[str, Value] = {
        "needed": Quantity("inches", needed),
        "thickness": Quantity("inches", slab.spec.thickness),
    }
    if "tooled" in made and kit.joint_tool is not None and kit.joint_tool < needed - DEPTH_SLACK:
        yield _say(slab, "kit-joint-tool-shallow", has=Quantity("inches", kit.joint_tool), **values)
    if "sawn" in made and kit.saw_depth is not None and kit.saw_depth < needed - DEPTH_SLACK:
        yield _say(slab, "kit-saw-shallow", has=Quantity("inches", kit.saw_depth), **values)


def _edger(kit: Kit) -> Iterable[Finding]:
    least, most = rule("edger_least"), rule("edger_most")
    if kit.edger is not None and not least - JUST <= kit.edger <= most + JUST:
        yield find(
            "build",
            "kit-edger",
            has=Quantity("inches", kit.edger),
            least=Quantity("inches", least),
            most=Quantity("inches", most),
        )


def _missing(kit: Kit, slabs: tuple[Slab, ...]) -> Iterable[Finding]:
    """List what the job needs and is not written; nothing where no tool was written at all."""
    written = [value for name, value in kit if name not in ("boards", "stock") and value is not None]
    if not slabs:
        return
    if not written:
        yield find("build", "kit-not-written")
        return
    made = {j.made for slab in slabs for j in slab.joint_plan.joints if j.kind == "contraction"}
    area = math.fsum(slab.outline.area for slab in slabs)
    finishes = {slab.spec.finish for slab in slabs}
    wanted = (
        ("kit-missing-strike-off", kit.strike_off is None),
        ("kit-missing-float", kit.float_ is None and kit.bull_float is None),
        ("kit-missing-edger", kit.edger is None),
        ("kit-missing-joint-tool", "tooled" in made and kit.joint_tool is None),
        ("kit-missing-saw", "sawn" in made and kit.saw_depth is None),
        ("kit-missing-broom", "broom" in finishes and kit.broom is None),
        ("kit-missing-barrows", area > rule("barrow_area") and not kit.barrows),
    )
    widest = max(min(clear_width(slab), rule("hand_strip")) for slab in slabs)
    values: dict[str, dict[str, Value]] = {
        "kit-missing-strike-off": {"over": Quantity("length", widest + rule("hold"))},
        "kit-missing-edger": {"usual": Quantity("inches", rule("usual_edger"))},
    }
    for code, missing in wanted:
        if missing:
            yield find("build", code, where="", line=None, **values.get(code, {}))
