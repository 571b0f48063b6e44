"""The one drawing of a job: what is there and what is wanted, as items on layers.

Every sheet shows some of these layers; none of them draws anything of its own.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np

from slabwright.build.top import plane_through
from slabwright.ground.model import ExistingSlab, Ground
from slabwright.measure import Quantity, System, write
from slabwright.result import Plan
from slabwright.sheets.drawing import Area, Arrow, Dimension, Item, Line, Marker, Polyline, Text
from slabwright.sheets.window import Window, window_round
from slabwright.sheets.words import word
from slabwright.slab.model import Edge, Facet, Slab
from slabwright.slab.outline_curves import flatten

XY = tuple[float, float]

SHORTEST_DIMENSION = 0.25  # m; below it a dimension is longer than what it measures
SAME_LENGTH = 0.0016  # m, 1/16 in: two parallel sides that differ by less are dimensioned once
FALL_ARROW = 13.0  # mm on paper


def height_text(plan: Plan, z: float) -> str:
    """Return a height as up or down from the job's datum, as the trade writes it."""
    return write(Quantity("height_difference", z - datum_height(plan)), system=plan.notes.units)


def datum_height(plan: Plan) -> float:
    """Return the height [m] of the datum that heights on paper are counted from."""
    name = datum_name(plan)
    return plan.survey.heights[name].height if name in plan.survey.heights else 0.0


def datum_name(plan: Plan) -> str:
    """Return the name of the point that heights on paper are counted from."""
    if plan.notes.datum and plan.notes.datum in plan.survey.heights:
        return plan.notes.datum
    for door in plan.ground.doors:
        if door.sill_name and door.sill is not None:
            return door.sill_name
    return next(iter(plan.survey.heights), "")


def work_window(plan: Plan, *, anchors: bool = False) -> Window:
    """Return the window round the slabs; with `anchors` also round the points that tapes are pulled from."""
    shown = [p for slab in plan.shaped.slabs for p in slab.outline.ring]
    if anchors:
        names = {tie[0] for s in plan.built.set_out.stakes for tie in (s.tie_a, s.tie_b) if tie}
        shown += [(p.x, p.y) for p in plan.survey.points.values() if p.name in names]
    return window_round(shown)


def whole(plan: Plan, lang: str = "en", window: Window | None = None) -> tuple[Item, ...]:
    """Return every item of the job's drawing that the window shows, all layers."""
    view = window or work_window(plan)
    items: list[Item] = [*there(plan.ground, view, lang)]
    for slab in plan.shaped.slabs:
        items += outline_items(slab, plan.notes.units)
        items += joint_items(slab, plan.notes.units)
        items += steel_items(slab)
        items += height_items(plan, slab)
    items += stake_items(plan)
    items += anchor_items(plan, view)
    items += form_items(plan)
    return tuple(items)


def there(ground: Ground, view: Window, lang: str = "en") -> Iterator[Item]:
    """Yield the house, existing slabs, trees and buried lines, as far as the window shows them."""
    for ring in view.ring(ground.house_ring) if ground.house_ring else ():
        yield Area("house", (ring,), hatch="house")
    for wall in ground.walls:
        for part in view.line((wall.p, wall.q)):
            yield Line("house", part[0], part[-1])
    for door in ground.doors:
        for part in view.line((door.p, door.q)):
            yield Line("house", part[0], part[-1], "joint")
            yield Text("house", _along(part), door.name, mode="beside")
    for slab in ground.existing:
        yield from _existing(slab, view)
    yield from _trees_and_lines(ground, view, lang)


def _trees_and_lines(ground: Ground, view: Window, lang: str) -> Iterator[Item]:
    for tree in ground.trees:
        if view.holds(tree.at):
            yield Marker("ground", tree.at, "tree", tree.name)
        for part in view.circle(tree.at, tree.root_zone):
            yield Polyline("ground", part, style="hidden")
    for line in ground.buried:
        for n, part in enumerate(view.line(line.line)):
            yield Polyline("services", part)
            if n == 0:
                name = line.name or word(line.kind, lang)
                yield Text("services", _along(part), name, mode="beside", weight=600)
    for name, place, throw in ground.heads:
        if view.holds(place):
            yield Marker("services", place, "head", name)
            for part in view.circle(place, throw):
                yield Polyline("services", part, style="hidden")


def _existing(slab: ExistingSlab, view: Window) -> Iterator[Item]:
    if slab.ring:
        for ring in view.ring(slab.ring):
            yield Area("existing", (ring,), fill="cured", hatch="cured", outline="existing")
            yield Text("existing", _middle(ring), slab.name, room=0.5)
        return
    for part in view.line(slab.edge) if len(slab.edge) > 1 else ():
        yield Polyline("existing", part, style="edge")
        yield Text("existing", _along(part), slab.name, mode="beside")


def anchor_items(plan: Plan, view: Window) -> Iterator[Item]:
    """Yield the points that tapes are pulled from."""
    names = {tie[0] for s in plan.built.set_out.stakes for tie in (s.tie_a, s.tie_b) if tie}
    for p in plan.survey.points.values():
        if p.name in names and view.holds((p.x, p.y)):
            yield Marker("set-out", (p.x, p.y), "nail", p.name, weight=700, size="figure")


def outline_items(slab: Slab, system: System) -> Iterator[Item]:
    """Yield a slab's area, edges, openings, name and dimensions."""
    outline = slab.outline
    rings = (outline.ring, *(hole.ring for hole in outline.holes))
    yield Area("slab", rings, fill="fresh", tint=0.18)
    for edge in outline.edges:
        yield Polyline("slab", tuple(flatten(edge)))
    for hole in outline.holes:
        yield Polyline("slab", hole.ring, closed=True)
        yield Text("notes", _middle(hole.ring), hole.name, mode="beside")
    thickness = write(Quantity("inches", slab.spec.thickness), system=system)
    yield Text("notes", _middle(outline.ring), f"{slab.spec.name}, {thickness}", weight=600, room=3.0, rank=1)
    done: list[tuple[float, float]] = []
    for edge in outline.edges:
        yield from _dimension(edge, system, done)


def _dimension(edge: Edge, system: System, done: list[tuple[float, float]]) -> Iterator[Item]:
    """Yield one dimension outside the slab; parallel sides of one length are dimensioned once."""
    dx, dy = edge.q[0] - edge.p[0], edge.q[1] - edge.p[1]
    length = math.hypot(dx, dy)
    if length < SHORTEST_DIMENSION:
        return
    if edge.radius is not None:
        middle = flatten(edge)
        text = f"R {write(Quantity('feet_inches', edge.radius), system=system)}"
        yield Text("dimensions", middle[len(middle) // 2], text, mode="beside", size="figure")
        return
    heading = math.atan2(dy, dx) % math.pi
    for other, turned in done:
        off = abs(heading - turned)
        if abs(length - other) < SAME_LENGTH and min(off, math.pi - off) < math.radians(1):
            return
    done.append((length, heading))
    # The ring runs counter-clockwise, so outside is on the right hand of p -> q, the left of q -> p.
    yield Dimension("dimensions", edge.q, edge.p, write(Quantity("feet_inches", length), system=system))


def joint_items(slab: Slab, system: System) -> Iterator[Item]:
    """Yield joints with their depths, and panel names."""
    for joint in slab.joint_plan.joints:
        style = {"contraction": "joint", "isolation": "isolation", "construction": "edge"}[joint.kind]
        yield Polyline("joints", joint.line, style=style)
        if joint.kind == "contraction":
            a, b = joint.line[0], joint.line[-1]
            angle = math.atan2(b[1] - a[1], b[0] - a[0])
            depth = write(Quantity("inches", joint.depth), system=system)
            yield Text("joints", _along(joint.line), depth, mode="along", angle=_upright(angle), size="small")
    for panel in slab.joint_plan.panels:
        yield Text("order", _middle(panel.ring), panel.name, weight=700, size="figure", room=0.5)


def steel_items(slab: Slab) -> Iterator[Item]:
    """Yield the bars."""
    for bar in slab.steel.bars:
        yield Polyline("steel", bar.line)


def height_items(plan: Plan, slab: Slab) -> Iterator[Item]:
    """Yield grade nodes with heights from the datum, and an arrow down each facet's fall."""
    for node in slab.height_plan.nodes:
        kind = "fixed" if node.fixed else "corner"
        yield Marker(
            "heights", (node.x, node.y), kind, f"{node.label}  {height_text(plan, node.z)}", weight=600
        )
    seen: set[str] = set()
    for facet in slab.height_plan.facets:
        if facet.panel in seen:
            continue
        seen.add(facet.panel)
        arrow = _fall_arrow(slab, facet, plan.notes.units)
        if arrow is not None:
            yield arrow


def _fall_arrow(slab: Slab, facet: Facet, system: System) -> Arrow | None:
    """Return an arrow down the fall of a facet, with the fall written on it; None where it is level."""
    corners = [slab.height_plan.nodes[i] for i in facet.nodes]
    (a, b, _), _ = plane_through(np.array([(n.x, n.y, n.z) for n in corners]))
    fall = math.hypot(a, b)
    if fall < 1e-4:
        return None
    x = sum(n.x for n in corners) / len(corners)
    y = sum(n.y for n in corners) / len(corners)
    return Arrow(
        "water",
        (x, y),
        (x - a / fall, y - b / fall),
        write(Quantity("slope", fall), system=system),
        length=FALL_ARROW,
    )


def stake_items(plan: Plan) -> Iterator[Item]:
    """Yield stakes and form corners by their labels."""
    for stake in plan.built.set_out.stakes:
        # Stakes between two named marks stand on the string; their numbers are in the table.
        named = stake.kind not in ("stake", "butt")
        yield Marker("stakes", (stake.x, stake.y), "stake", stake.label if named else "", weight=600)


def form_items(plan: Plan) -> Iterator[Item]:
    """Yield the runs of form."""
    for slab in plan.shaped.slabs:
        for edge in slab.outline.edges:
            if edge.kind == "free":
                yield Polyline("forms", tuple(flatten(edge)))


def _middle(points: tuple[XY, ...]) -> XY:
    """Return a point inside a ring, or halfway along an open line."""
    if len(points) == 1:
        return points[0]
    if len(points) == 2:
        return ((points[0][0] + points[1][0]) / 2, (points[0][1] + points[1][1]) / 2)
    from slabwright.slab.plane import shp

    ring = shp.Polygon(points)
    if ring.area < 1e-6:
        return _along(points)
    inside = ring.centroid if ring.contains(ring.centroid) else ring.representative_point()
    return (inside.x, inside.y)


def _along(line: tuple[XY, ...]) -> XY:
    """Return the point halfway along an open line."""
    total = sum(math.dist(p, q) for p, q in itertools.pairwise(line))
    left = total / 2
    for p, q in itertools.pairwise(line):
        run = math.dist(p, q)
        if run >= left > 0:
            t = left / run
            return (p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]))
        left -= run
    return line[0]


def _upright(angle: float) -> float:
    """Return the angle [rad] at which letters along a line read from the bottom or the right."""
    angle = (angle + math.pi / 2) % math.pi - math.pi / 2
    return angle if angle > -math.pi / 2 + 1e-6 else math.pi / 2
