"""The one drawing of a job: what is there and what is wanted, as items on layers.

Every sheet shows some of these layers; none of them draws anything of its own.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from slabwright.ground.model import Ground
from slabwright.measure import Quantity, System, write
from slabwright.result import Plan
from slabwright.sheets.drawing import Arc, Area, Arrow, Dimension, Item, Line, Marker, Polyline, Text
from slabwright.sheets.words import word
from slabwright.slab.model import Edge, Facet, Slab
from slabwright.slab.outline_curves import flatten

XY = tuple[float, float]

SHORTEST_DIMENSION = 0.25  # m; below it a dimension is longer than what it measures
SAME_LENGTH = 0.0016  # m, 1/16 in: two parallel sides that differ by less are dimensioned once
FALL_ARROW = 13.0  # mm on paper
WALL_REACH = 6.0  # m of wall shown beyond the work


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


def whole(plan: Plan, lang: str = "en") -> tuple[Item, ...]:
    """Return every item of the job's drawing, all layers."""
    items: list[Item] = [*there(plan.ground, lang)]
    for slab in plan.shaped.slabs:
        items += outline_items(slab, plan.notes.units)
        items += joint_items(slab, plan.notes.units)
        items += steel_items(slab)
        items += height_items(plan, slab)
    items += stake_items(plan)
    items += form_items(plan)
    return tuple(items)


def there(ground: Ground, lang: str = "en") -> Iterator[Item]:
    """Yield the house, existing slabs, trees, buried lines and ground shots."""
    if ground.house_ring:
        yield Area("house", (ground.house_ring,), hatch="house")
    for wall in ground.walls:
        yield Line("house", wall.p, wall.q)
        for end, corner in zip(wall.name.split("-", 1), (wall.p, wall.q), strict=False):
            yield Marker("set-out", corner, "nail", end.strip(), weight=600)
    for door in ground.doors:
        yield Line("house", door.p, door.q, "joint")
        middle = ((door.p[0] + door.q[0]) / 2, (door.p[1] + door.q[1]) / 2)
        yield Text("house", middle, door.name, mode="beside")
    for slab in ground.existing:
        if slab.ring:
            yield Area("existing", (slab.ring,), fill="cured", hatch="cured", outline="existing")
            yield Text("existing", _middle(slab.ring), slab.name, room=0.5)
        elif len(slab.edge) > 1:
            yield Polyline("existing", slab.edge, style="edge")
            yield Text("existing", _middle(slab.edge), slab.name, mode="beside")
    for tree in ground.trees:
        yield Marker("ground", tree.at, "tree", tree.name)
        yield Arc("ground", tree.at, tree.root_zone, style="hidden")
    for line in ground.buried:
        yield Polyline("services", line.line)
        yield Text(
            "services", _middle(line.line), line.name or word(line.kind, lang), mode="beside", weight=600
        )
    for name, place, throw in ground.heads:
        yield Marker("services", place, "head", name)
        yield Arc("services", place, throw, style="hidden")


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
    from slabwright.slab.surface import facet_plane

    a, b, _ = facet_plane(slab.height_plan, facet)
    fall = math.hypot(a, b)
    if fall < 1e-4:
        return None
    corners = [slab.height_plan.nodes[i] for i in facet.nodes]
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
        yield Marker("stakes", (stake.x, stake.y), "stake", stake.label, size="small")


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
