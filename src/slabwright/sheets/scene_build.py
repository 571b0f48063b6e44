"""How it gets made, on a drawing: stakes and tapes, forms, the dig, bars."""

from __future__ import annotations

import math
from collections.abc import Iterator

from slabwright.build.model import Stake
from slabwright.build.strips import form_strips
from slabwright.build.tables import rule
from slabwright.build.top import top_facets
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity, System, read, write
from slabwright.result import Plan
from slabwright.sheets.drawing import Area, Item, Line, Marker, Polyline, Text
from slabwright.sheets.scene import anchor_names, halfway, outward
from slabwright.sheets.scene_slab import edge_line
from slabwright.sheets.strings import off_strings
from slabwright.sheets.window import Window
from slabwright.slab.model import Slab

# What a dig is checked to on site, with a rule on the spade's handle: our own choice.
DIG_STEP = {System.IMPERIAL: read("inches", "1/4 in"), System.METRIC: read("inches", "5 mm")}
SLIVER = 1e-4  # m2
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


def dig_items(plan: Plan) -> Iterator[Item]:
    """Yield the edge of the dig and its depth at every mark, to the step of a rule."""
    work = plan.built.dig
    if work is None:
        return
    taken = [slab.ring for slab in plan.ground.existing if slab.ring]
    taken += [plan.ground.house_ring] if plan.ground.house_ring else []
    for slab in plan.shaped.slabs:
        wide = rule("earth", "over_dig", plan.notes.units)
        strips = form_strips(slab, top_facets(slab), wide, taken)
        whole = shapely.union_all(
            [shapely.make_valid(shapely.Polygon(r)) for r in (slab.outline.ring, *(s.ring for s in strips))]
        )
        # strips and slab are computed apart: close the hair between them
        whole = whole.buffer(0.002, join_style="mitre").buffer(-0.002, join_style="mitre")
        for part in getattr(whole, "geoms", (whole,)):
            if part.geom_type == "Polygon" and part.area > SLIVER:
                ring = tuple((x, y) for x, y in part.exterior.coords[:-1])
                yield Area("dig", (ring,), hatch="earth", outline="cut")
    depths = {(slab, node): depth for slab, node, depth in work.node_depths}
    for slab in plan.shaped.slabs:
        yield from _depths(slab, depths, plan.notes.units)


def _depths(slab: Slab, depths: dict[tuple[str, str], float], system: System) -> Iterator[Item]:
    for node in slab.height_plan.nodes:
        depth = depths.get((slab.spec.name, node.label))
        if depth is None or node.shape_only:
            continue
        at = (node.x, node.y)
        out = outward(slab.outline.ring, at)
        text = write(Quantity("inches", to_step(depth, system)), system=system)
        yield Marker("dig", at, "point", text, weight=600, side=out, rank=2)


def to_step(depth: float, system: System) -> float:
    """Return a depth [m] to the step that a dig is checked to."""
    step = DIG_STEP[system]
    return round(depth / step) * step


def steel_items(slab: Slab, *, system: System) -> Iterator[Item]:
    """Yield the bars, and their number and spacing once."""
    for bar in slab.steel.bars:
        yield Polyline("steel", bar.line)
    if slab.steel.bars:
        apart = write(Quantity("length", slab.steel.spacing), system=system)
        text = f"#{slab.steel.number} @ {apart}"
        at = halfway(slab.steel.bars[0].line)
        yield Text("notes", at, text, mode="beside", size="figure", weight=600, rank=1)
