"""How it gets made, on a drawing: stakes and tapes, forms, thick edges, steel."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from slabwright.build.model import Stake
from slabwright.measure import Quantity, System, write
from slabwright.result import Plan
from slabwright.sheets.drawing import Item, Line, Marker, Polyline, Text
from slabwright.sheets.scene import anchor_names, halfway, middle, outward
from slabwright.sheets.scene_slab import edge_line
from slabwright.sheets.strings import off_strings
from slabwright.sheets.window import Window
from slabwright.sheets.words import word as say
from slabwright.slab.model import DowelRow, Slab
from slabwright.slab.thick_edges import thick_region

XY = tuple[float, float]

SAME = 0.01  # m; an anchor this near to a mark of its own name is that mark
MOST_TAPED = 16  # marks whose tapes are all drawn


def set_out_items(plan: Plan, view: Window) -> Iterator[Item]:
    """Yield anchors, the tapes to each corner, and stakes; corners and joint ends by their marks."""
    points = plan.survey.points
    taped = off_strings(plan)
    if len(taped) > MOST_TAPED:  # round a curve the tapes would cover the drawing
        taped = tuple(stake for stake in taped if stake.kind == "corner")
    for stake in taped:
        for tie in (stake.tie_a, stake.tie_b):
            if tie is not None and tie[0] in points:
                anchor = points[tie[0]]
                for part in view.line(((anchor.x, anchor.y), (stake.x, stake.y))):
                    yield Line("set-out", part[0], part[-1])
    named: set[tuple[str, float, float]] = set()
    for name in anchor_names(plan):
        p = points.get(name)
        if p is not None and view.holds((p.x, p.y)):
            yield Marker("set-out", (p.x, p.y), "nail", name, weight=700, size="big", rank=1)
            named.add((name, p.x, p.y))
    rings = {slab.spec.name: slab.outline.ring for slab in plan.shaped.slabs}
    for stake in plan.built.set_out.stakes:
        said = any(stake.label == name and math.dist((stake.x, stake.y), at) < SAME for name, *at in named)
        yield _stake(stake, outward(rings[stake.slab], (stake.x, stake.y)), said=said)


def _stake(stake: Stake, out: float | None, *, said: bool) -> Marker:
    """Return a stake; those between two named marks stand on the string and go without a word.

    said: an anchor at the same place already bears its name.
    """
    at = (stake.x, stake.y)
    if said:
        return Marker("stakes", at, "stake")
    if stake.kind == "corner":
        return Marker("stakes", at, "stake", stake.label, size="figure", weight=700, side=out, rank=2)
    if stake.kind == "joint end":
        return Marker("stakes", at, "stake", stake.label, weight=600, side=out, rank=4)
    return Marker("stakes", at, "stake")


def form_items(plan: Plan) -> Iterator[Item]:
    """Yield the runs of form."""
    for slab in plan.shaped.slabs:
        for edge in slab.outline.edges:
            if edge.kind == "free":
                yield Polyline("forms", edge_line(edge))


def thick_items(slab: Slab, *, system: System, lang: str = "en") -> Iterator[Item]:
    """Yield where a slab is thicker along its edges, with depth and width said once."""
    if slab.thick is None:
        return
    for ring in slab.thick.rings:
        yield Polyline("forms", ring, closed=True, style="thicker")
    deep, wide = (
        write(Quantity("inches", v), system=system, lang=lang) for v in (slab.thick.depth, slab.thick.width)
    )
    inside = thick_region(slab).representative_point()
    text = say("thick-edge", lang, depth=deep, width=wide)
    yield Text("notes", (inside.x, inside.y), text, mode="beside", weight=600, rank=3)


def steel_items(slab: Slab, *, system: System, lang: str = "en") -> Iterator[Item]:
    """Yield bars, sheets of mesh and bars across joints; number and spacing of each kind once."""
    steel = slab.steel
    for bar in steel.bars:
        yield Polyline("steel", bar.line)
    if steel.bars:
        apart = write(Quantity("length", steel.spacing), system=system)
        text = f"#{steel.number} @ {apart}"
        yield Text(
            "notes", halfway(steel.bars[0].line), text, mode="beside", size="figure", weight=600, rank=1
        )
    for n, sheet in enumerate(steel.sheets):
        yield Polyline("steel", sheet.ring, closed=True, style="mesh")
        # a line from corner to corner tells one sheet from its neighbour under the laps
        yield Line("steel", sheet.ring[0], sheet.ring[len(sheet.ring) // 2], "mesh")
        if n == 0:
            yield Text("notes", middle(sheet.ring), steel.number, weight=600, room=1.0, rank=2)
    for row in steel.dowels:
        yield from _across(row, system=system, lang=lang)


def _across(row: DowelRow, *, system: System, lang: str) -> Iterator[Item]:
    """Yield the bars across one joint, each square to it, and what they are once."""
    for at, (ux, uy) in zip(row.at, _ways(row.at), strict=True):
        half = row.length / 2
        p, q = (at[0] - uy * half, at[1] + ux * half), (at[0] + uy * half, at[1] - ux * half)
        yield Line("steel", p, q, "dowel")
    long, apart = (write(Quantity("inches", v), system=system, lang=lang) for v in (row.length, row.spacing))
    what = say(f"steel-{row.kind}", lang)
    text = f"{len(row.at)} {what} #{row.number}, {long} @ {apart}"
    yield Text("notes", row.at[len(row.at) // 2], text, mode="beside", weight=600, rank=3)


def _ways(at: Sequence[XY]) -> Iterator[XY]:
    """Yield the direction of a joint at each of the places along it."""
    for k in range(len(at)):
        p, q = at[max(0, k - 1)], at[min(len(at) - 1, k + 1)]
        run = math.dist(p, q)
        yield ((q[0] - p[0]) / run, (q[1] - p[1]) / run) if run > 0.0 else (1.0, 0.0)
