"""Bars across joints: smooth dowels where the slab is thick enough for them, deformed ties where not.

A dowel holds two slabs level and lets them part; a tie bar holds them together. Both stand at half the
depth. Into a slab that is there they are drilled and set in epoxy.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from itertools import pairwise

from slabwright.findings import Finding, Value, find
from slabwright.measure import Quantity
from slabwright.notes.spec import SlabSpec
from slabwright.slab.joints.rules import rules as joint_rules
from slabwright.slab.model import XY, DowelRow, Joint, JointPlan, Outline
from slabwright.slab.steel.tables import dowel_sizes, rule

JUST = 1e-6  # [m] a thickness this near to a row of the table is on it


def place_dowels(
    outline: Outline,
    plan: JointPlan,
    spec: SlabSpec,
    before: Collection[str] = (),
    gone: Collection[str] = (),
) -> tuple[tuple[DowelRow, ...], tuple[Finding, ...]]:
    """Return the bars across a slab's joints, as its notes ask for, and findings.

    plan: its joints; before: names of slabs that are listed earlier; gone: of slabs there that will not
    stay, into which nothing is drilled. A joint between two new slabs gets
    its bars once, with the slab that is listed second. Sources concrete-construction-dowels,
    ufc-dowels, dowel-tie-in.
    """
    asked = spec.joints.dowels
    there = {edge.against for edge in outline.edges if edge.kind == "existing"}.difference(gone)
    rows: list[DowelRow] = []
    for joint in plan.joints:
        cast = joint.kind == "construction" and joint.doweled and joint.against in (None, *before)
        drilled = joint.kind == "isolation" and joint.why == "meets" and joint.against in there
        if (cast and asked in ("construction", "both")) or (drilled and asked in ("existing", "both")):
            rows.append(_row(joint, spec, drilled=drilled))
    # What ties across a joint between two new slabs do is said with the joints.
    found = [_say(row, spec) for row in rows if row.hole or row.kind == "dowel"]
    if asked == "existing" and not rows:
        found.append(find("slab", "dowel-nowhere", where=spec.name, line=spec.line))
    return tuple(rows), tuple(found)


def _row(joint: Joint, spec: SlabSpec, *, drilled: bool) -> DowelRow:
    fits = [size for size in dowel_sizes() if size.thickness <= spec.thickness + JUST]
    number, length = (fits[-1].number, fits[-1].length) if fits else ("4", rule("tie_length"))
    spacing = rule("dowel_spacing") if fits else joint_rules().ties_apart
    run = math.fsum(math.dist(p, q) for p, q in pairwise(joint.line))
    count = max(2, math.ceil(run / spacing - JUST))
    return DowelRow(
        kind="dowel" if fits else "tie",
        against=joint.against or "",
        number=number,
        at=tuple(_along(joint.line, run * (k + 0.5) / count) for k in range(count)),
        length=length,
        spacing=run / count,
        depth=spec.thickness / 2,
        hole=length / 2 if drilled and fits else rule("tie_hole") if drilled else 0.0,
    )


def _along(line: Sequence[XY], at: float) -> XY:
    """Return the place at a distance along a polyline."""
    for p, q in pairwise(line):
        run = math.dist(p, q)
        if at <= run and run > 0:
            return p[0] + (q[0] - p[0]) * at / run, p[1] + (q[1] - p[1]) * at / run
        at -= run
    return line[-1]


def eighths(number: str) -> str:
    """Return a bar's diameter as the trade says it: '5/8 in', '1 1/8 in'."""
    whole, rest = divmod(int(number), 8)
    part = {0: "", 2: "1/4", 4: "1/2", 6: "3/4"}.get(rest, f"{rest}/8")
    return " ".join(filter(None, (str(whole) if whole else "", part))) + " in"


def _say(row: DowelRow, spec: SlabSpec) -> Finding:
    code = f"{row.kind}-drilled" if row.hole else "dowel-cast"
    values: dict[str, Value] = {
        "of": row.against or spec.name,
        "count": len(row.at),
        "apart": Quantity("inches", row.spacing),
        "length": Quantity("inches", row.length),
        "depth": Quantity("inches", row.depth),
        "across": eighths(row.number),
    }
    if row.hole:
        values["hole"] = Quantity("inches", row.hole)
    return find("slab", code, where=spec.name, line=spec.line, **values)
