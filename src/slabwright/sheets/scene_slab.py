"""The slabs on a drawing: outline and dimensions, where they lie from the house, joints, heights."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from slabwright.build.top import plane_through
from slabwright.ground.model import Ground, Wall
from slabwright.measure import Quantity, System, write
from slabwright.result import Plan
from slabwright.sheets.drawing import Area, Arrow, Dimension, Item, Marker, Polyline, Text
from slabwright.sheets.scene import halfway, height_text, middle, outward
from slabwright.sheets.strings import StringLine, straight_runs, string_lines
from slabwright.sheets.words import word as say
from slabwright.slab.model import Edge, Facet, Joint, Slab
from slabwright.slab.outline.curves import flatten

XY = tuple[float, float]

SHORTEST_DIMENSION = 0.25  # m; below it a dimension is longer than what it measures
SAME_LENGTH = 0.0016  # m, 1/16 in: two parallel sides that differ by less are dimensioned once
FALL_ARROW = 11.0  # mm on paper
LEVEL_FALL = 1e-4  # a fall below this is level
NEAR_WALL = 12.0  # m; a slab further than this is not found from a wall
CHAIN_MM = 7.5  # a row of joint distances, off the slab
WHOLE_MM = 9.0
BESIDE = 0.4  # m beyond an end, where its figure stands
JOINT_STYLES = {"contraction": "joint", "isolation": "isolation", "construction": "edge"}


def edge_line(edge: Edge) -> tuple[XY, ...]:
    """Return the points [m] of a side of an outline from one end to the other."""
    return (*flatten(edge), edge.q)


def base_items(slab: Slab) -> Iterator[Item]:
    """Yield a slab's area, edges and openings, without a word."""
    outline = slab.outline
    yield Area("slab", (outline.ring, *(hole.ring for hole in outline.holes)), fill="fresh", tint=0.18)
    for edge in outline.edges:
        yield Polyline("slab", edge_line(edge))
    for hole in outline.holes:
        yield Polyline("slab", hole.ring, closed=True)


def name_items(slab: Slab, *, system: System) -> Iterator[Item]:
    """Yield a slab's name with its thickness, and the names of its openings."""
    thickness = write(Quantity("inches", slab.spec.thickness), system=system)
    name = f"{slab.spec.name}, {thickness}"
    yield Text("notes", middle(slab.outline.ring), name, weight=700, size="figure", room=3.0, rank=1)
    for hole in slab.outline.holes:
        yield Text("notes", middle(hole.ring), hole.name, mode="beside")


def dimension_items(slab: Slab, *, system: System) -> Iterator[Item]:
    """Yield the lengths of a slab's sides; parallel sides of one length are dimensioned once."""
    done: list[tuple[float, float]] = []
    for run in _sides(slab.outline.edges):
        if isinstance(run, Edge):
            line = flatten(run)
            text = f"R {write(Quantity('feet_inches', run.radius or 0.0), system=system)}"
            yield Text("dimensions", line[len(line) // 2], text, mode="beside", size="figure")
        else:
            yield from _dimension(*run, system=system, done=done)


def _sides(edges: Sequence[Edge]) -> Iterator[Edge | tuple[XY, XY]]:
    """Yield curves, and straight sides from turn to turn."""
    for run in straight_runs(edges):
        yield (run[0].p, run[-1].q)
    for edge in edges:
        if edge.radius is not None:
            yield edge


def _dimension(p: XY, q: XY, *, system: System, done: list[tuple[float, float]]) -> Iterator[Item]:
    dx, dy = q[0] - p[0], q[1] - p[1]
    length = math.hypot(dx, dy)
    if length < SHORTEST_DIMENSION:
        return
    heading = math.atan2(dy, dx) % math.pi
    for other, turned in done:
        off = abs(heading - turned)
        if abs(length - other) < SAME_LENGTH and min(off, math.pi - off) < math.radians(1):
            return
    done.append((length, heading))
    # The ring runs counter-clockwise, so outside is on the right hand of p -> q, the left of q -> p.
    text = write(Quantity("feet_inches", length), system=system)
    yield Dimension("dimensions", q, p, text, offset=WHOLE_MM)


def place_items(slab: Slab, ground: Ground, *, system: System) -> Iterator[Item]:
    """Yield where a slab lies from the house: along the wall from its corner, and square out from it."""
    found = [one for one in (_foot(wall, slab.outline.ring) for wall in ground.walls) if one is not None]
    if not found:
        return
    out, wall, ends = min(found, key=lambda one: one[0])
    if out > NEAR_WALL:
        return
    run = math.dist(wall.p, wall.q)
    ux, uy = (wall.q[0] - wall.p[0]) / run, (wall.q[1] - wall.p[1]) / run
    low, high = ends[0], ends[-1]
    foot = (wall.p[0] + low[0] * ux, wall.p[1] + low[0] * uy)
    if low[0] > SHORTEST_DIMENSION:
        text = write(Quantity("feet_inches", low[0]), system=system)
        yield Dimension("dimensions", wall.p, foot, text, offset=WHOLE_MM)
    shown: list[float] = []
    # an end that lies clear of existing slabs comes first, so that its figure can be read
    ordered = sorted((low, high), key=lambda one: _covered(one[2], low[2] is one[2], (ux, uy), ground))
    for along, off, corner in ordered:
        if off < SHORTEST_DIMENSION or any(abs(off - other) < SAME_LENGTH for other in shown):
            continue
        shown.append(off)
        foot = (wall.p[0] + along * ux, wall.p[1] + along * uy)
        # Off the slab's end: the near end's figure stands before it, the far end's behind it.
        side = -CHAIN_MM if corner is low[2] else CHAIN_MM
        text = write(Quantity("feet_inches", off), system=system)
        yield Dimension("dimensions", foot, corner, text, offset=side)


def _covered(corner: XY, first: bool, way: XY, ground: Ground) -> bool:
    """Return whether an existing slab lies where a figure would stand beyond an end of a slab."""
    from slabwright.ground.untyped import shapely

    beyond = -BESIDE if first else BESIDE
    at = shapely.Point(corner[0] + beyond * way[0], corner[1] + beyond * way[1])
    return any(shapely.Polygon(slab.ring).covers(at) for slab in ground.existing if len(slab.ring) > 2)


def _foot(wall: Wall, ring: Sequence[XY]) -> tuple[float, Wall, list[tuple[float, float, XY]]] | None:
    """Return a slab's least distance from a wall, and the two ends of what faces it: along, off, corner."""
    run = math.dist(wall.p, wall.q)
    if run == 0.0:
        return None
    ux, uy = (wall.q[0] - wall.p[0]) / run, (wall.q[1] - wall.p[1]) / run
    seen = []
    for x, y in ring:
        along = (x - wall.p[0]) * ux + (y - wall.p[1]) * uy
        off = (x - wall.p[0]) * uy - (y - wall.p[1]) * ux  # the yard is on the right hand
        if off > -0.01 and -0.01 <= along <= run + 0.01:
            seen.append((along, max(0.0, off), (x, y)))
    if not seen:
        return None
    least = min(off for _, off, _ in seen)
    # what faces the wall: corners about as near as the nearest, first and last along it
    facing = sorted(one for one in seen if one[1] <= least + 0.25)
    return least, wall, [facing[0], facing[-1]]


def joint_items(slab: Slab, *, system: System, lang: str = "en", lines_only: bool = False) -> Iterator[Item]:
    """Yield joints, their depth once for each depth, and panel numbers."""
    said: set[tuple[str, str]] = set()
    for joint in sorted(slab.joint_plan.joints, key=_length, reverse=True):
        yield Polyline("joints", joint.line, style=JOINT_STYLES[joint.kind])
        depth = say("joint-deep", lang, depth=write(Quantity("inches", joint.depth), system=system))
        if lines_only or joint.kind != "contraction" or (joint.made, depth) in said:
            continue
        said.add((joint.made, depth))
        yield Text("joints", halfway(joint.line), depth, mode="beside", rank=6)
    if not lines_only:
        yield from panel_items(slab)


def panel_items(slab: Slab) -> Iterator[Item]:
    """Yield the numbers of a slab's panels."""
    for panel in slab.joint_plan.panels:
        yield Text("order", middle(panel.ring), panel.name, weight=700, size="big", room=0.5)


def _length(joint: Joint) -> float:
    return sum(math.dist(p, q) for p, q in itertools.pairwise(joint.line))


def joint_chains(plan: Plan) -> Iterator[Item]:
    """Yield the distances of joints along each side, and its whole length; like sides once."""
    system = plan.notes.units
    done: list[tuple[float, tuple[int, ...]]] = []
    for line in string_lines(plan):
        stops = [0.0, *(along for mark, along in line.marks if mark.kind == "joint end"), line.length]
        steps = tuple(round((b - a) / SAME_LENGTH / 2) for a, b in itertools.pairwise(stops))
        heading = math.atan2(line.q[1] - line.p[1], line.q[0] - line.p[0]) % math.pi
        if any(_alike(heading, other) and steps in (old, old[::-1]) for other, old in done):
            continue
        done.append((heading, steps))
        yield from _chain(line, stops, system)


def _alike(one: float, other: float) -> bool:
    off = abs(one - other)
    return min(off, math.pi - off) < math.radians(1)


def _chain(line: StringLine, stops: list[float], system: System) -> Iterator[Item]:
    ux, uy = (line.q[0] - line.p[0]) / line.length, (line.q[1] - line.p[1]) / line.length

    def at(along: float) -> XY:
        return (line.p[0] + along * ux, line.p[1] + along * uy)

    for a, b in itertools.pairwise(stops):
        if b - a >= SHORTEST_DIMENSION:
            text = write(Quantity("feet_inches", b - a), system=system)
            yield Dimension("dimensions", at(b), at(a), text, offset=CHAIN_MM, size="label")


def height_items(plan: Plan, slab: Slab) -> Iterator[Item]:
    """Yield grade nodes: heights outside the slab, mark numbers inside, an arrow down each panel's fall."""
    for node in slab.height_plan.nodes:
        if node.shape_only:  # a step of an arc: nothing is staked there
            continue
        if node.shape_only:
            continue
        at = (node.x, node.y)
        out = outward(slab.outline.ring, at)
        kind = "fixed" if node.fixed else "point"
        text = height_text(plan, node.z)
        yield Marker("heights", at, kind, text, weight=600, side=out, rank=2)
        inside = None if out is None else out + math.pi
        yield Marker("heights", at, kind, node.label, weight=700, side=inside, rank=3)
    yield from fall_arrows(slab)


def fall_arrows(slab: Slab) -> Iterator[Item]:
    """Yield an arrow down the fall of each panel."""
    panels = {panel.name: panel for panel in slab.joint_plan.panels}
    seen: set[str] = set()
    for facet in slab.height_plan.facets:
        fall = fall_of(slab, facet)
        if facet.panel in seen or fall is None:
            continue
        seen.add(facet.panel)
        ring: Iterable[XY] = panels[facet.panel].ring if facet.panel in panels else ()
        at = middle(tuple(ring)) if ring else _centre(slab, facet)
        yield Arrow("water", at, (at[0] + fall[0], at[1] + fall[1]), length=FALL_ARROW)


def fall_of(slab: Slab, facet: Facet) -> XY | None:
    """Return the fall [-] of a facet as a vector that points down it; None where it is level."""
    corners = [slab.height_plan.nodes[i] for i in facet.nodes]
    (a, b, _), _ = plane_through(np.array([(n.x, n.y, n.z) for n in corners]))
    return (-a, -b) if math.hypot(a, b) > LEVEL_FALL else None


def _centre(slab: Slab, facet: Facet) -> XY:
    corners = [slab.height_plan.nodes[i] for i in facet.nodes]
    return (sum(n.x for n in corners) / len(corners), sum(n.y for n in corners) / len(corners))
