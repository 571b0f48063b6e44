"""Where bars lie: lines the long way and across, clipped to the concrete less its cover.

A narrow walk cracks across, so its bars run the long way. On a ribbon they follow its line; on a
ring they follow the direction in which its sides run, the longer way first.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any

from slabwright.ground.untyped import ops, shapely
from slabwright.slab.model import XY, Edge, JointPlan, Outline
from slabwright.slab.steel.tables import rule

Line = tuple[XY, ...]
Shape = Any  # a shape of the polygon library

INSIDE = 1e-4  # [m] the outermost bars lie this far inside the cover line, so that clipping keeps them
SLACK = 0.009525  # [m] 3/8 in: a bar may lie this much into its cover, for no slab is exactly square
CURVED = 3e-3  # [m] the same along a bent or curved ribbon, whose edges are flattened to within 1 mm
NEAR = 0.05  # [m] a joint that ends this near a corner meets it
DIAGONAL_GAP = 0.0762  # [m] between the two diagonal bars at a corner: 3 in (common practice)
WHOLE = 1e-9  # rounding in a number of spaces


def steel_region(outline: Outline, joint_plan: JointPlan, cover: float) -> Shape:
    """Return the area that bars may use: the slab less `cover` [m] from edges, openings and isolation."""
    slab = shapely.Polygon(outline.ring, [hole.ring for hole in outline.holes])
    region = slab.buffer(-cover, join_style="mitre")
    for joint in joint_plan.joints:
        if joint.kind == "isolation" and len(joint.line) > 1:
            region = region.difference(shapely.LineString(joint.line).buffer(cover, cap_style="flat"))
    return region


def spaces(run: float, spacing: float) -> int:
    """Return into how many equal spaces a run [m] is divided so that none exceeds `spacing` [m]."""
    return max(1, math.ceil(run / spacing - WHOLE))


def long_direction(outline: Outline) -> float:
    """Return the direction [rad] of the long way of a ring.

    Sides vote with their length for a direction (a side counts for its right angle too); of the two
    ways that win, the longer extent is the long way.
    """
    sides = [(e.p, e.q) for e in outline.edges if e.bulge == 0.0] or list(
        zip(outline.ring, (*outline.ring[1:], outline.ring[0]), strict=True)
    )
    votes: dict[float, float] = {}
    for (x0, y0), (x1, y1) in sides:
        way = round(math.atan2(y1 - y0, x1 - x0) % (math.pi / 2), 3) % round(math.pi / 2, 3)
        votes[way] = votes.get(way, 0.0) + math.hypot(x1 - x0, y1 - y0)
    best = max(votes, key=lambda a: (round(votes[a], 6), -a))
    # The rounded vote only picks the side; its own direction is used, so that bars run true to it.
    p, q = max(
        (s for s in sides if abs(_quarter_off(s, best)) < 2e-3),
        key=lambda s: math.dist(*s),
    )
    angle = math.atan2(q[1] - p[1], q[0] - p[0])
    along = _extent(outline.ring, angle)
    across = _extent(outline.ring, angle + math.pi / 2)
    turned = angle if along[1] - along[0] >= across[1] - across[0] - INSIDE else angle + math.pi / 2
    return turned % math.pi


def _quarter_off(side: tuple[XY, XY], way: float) -> float:
    (x0, y0), (x1, y1) = side
    off = (math.atan2(y1 - y0, x1 - x0) - way) % (math.pi / 2)
    return min(off, math.pi / 2 - off)


def _extent(points: Iterable[XY], angle: float) -> tuple[float, float]:
    c, s = math.cos(angle), math.sin(angle)
    along = [x * c + y * s for x, y in points]
    return min(along), max(along)


def parallel_bars(region: Shape, direction: float, spacing: float) -> list[Line]:
    """Return bars across a region, `direction` [rad], evenly spread at most `spacing` [m] apart."""
    if region.is_empty:
        return []
    low, high = _extent(_vertices(region), direction + math.pi / 2)
    first, last = _extent(_vertices(region), direction)
    low, high = low + INSIDE, high - INSIDE
    count = spaces(high - low, spacing) + 1 if high > low else 1
    c, s = math.cos(direction), math.sin(direction)
    bars: list[Line] = []
    for i in range(count):
        off = (low + high) / 2 if count == 1 else low + (high - low) * i / (count - 1)
        p = (c * (first - 1) - s * off, s * (first - 1) + c * off)
        q = (c * (last + 1) - s * off, s * (last + 1) + c * off)
        bars += clip((p, q), region)
    return bars


def ribbon_bars(
    region: Shape, axis: Line, side: str, width: float, cover: float, spacing: float
) -> list[Line]:
    """Return bars that follow a ribbon's line, evenly spread between its covers.

    axis: the line [m]; side: where the slab lies on it (centre, left, right); width, cover and
    spacing in m. Bars run to the cover of the slab's ends.
    """
    inset = cover + (INSIDE if len(axis) == 2 else CURVED)
    low = {"centre": -width / 2, "left": 0.0, "right": -width}[side] + inset
    high = {"centre": width / 2, "left": width, "right": 0.0}[side] - inset
    count = spaces(high - low, spacing) + 1 if high > low else 1
    long_axis = shapely.LineString(_lengthened(axis, 2 * width))
    bars: list[Line] = []
    for i in range(count):
        off = (low + high) / 2 if count == 1 else low + (high - low) * i / (count - 1)
        line = long_axis if off == 0 else shapely.offset_curve(long_axis, off, join_style="mitre")
        for part in _parts(line):
            bars += clip(tuple(part.coords), region)
    return bars


def ribbon_cross_bars(region: Shape, axis: Line, width: float, cover: float, spacing: float) -> list[Line]:
    """Return bars square to a ribbon's line, at most `spacing` [m] apart, from end cover to end cover."""
    line = shapely.LineString(axis)
    run = line.length - 2 * (cover + INSIDE)
    if run <= 0:
        return []
    count = spaces(run, spacing) + 1
    bars: list[Line] = []
    for i in range(count):
        at = cover + INSIDE + run * i / (count - 1)
        p, q = line.interpolate(max(0.0, at - 1e-3)), line.interpolate(min(line.length, at + 1e-3))
        dx, dy = q.x - p.x, q.y - p.y
        run_length = math.hypot(dx, dy)
        nx, ny, here = -dy / run_length * 2 * width, dx / run_length * 2 * width, line.interpolate(at)
        lines = clip(((here.x - nx, here.y - ny), (here.x + nx, here.y + ny)), region)
        # A bent ribbon can be crossed twice; only the crossing at this place is meant.
        bars += [b for b in lines if shapely.LineString(b).distance(here) < width]
    return bars


def _lengthened(axis: Sequence[XY], by: float) -> list[XY]:
    points = list(axis)
    for end, inner in ((0, 1), (-1, -2)):
        (x, y), (u, v) = points[end], points[inner]
        run = math.hypot(x - u, y - v)
        points[end] = (x + (x - u) / run * by, y + (y - v) / run * by)
    return points


def clip(line: Sequence[XY], region: Shape) -> list[Line]:
    """Return the parts of a line inside a region, without those too short to be worth a bar.

    A line may stray out of the region by the slack, or a side that is a hair off square would leave
    the bar beside it as a stub; the ends keep to the region.
    """
    inside = shapely.LineString(_lengthened(line, SLACK)).intersection(
        shapely.buffer(region, SLACK, join_style="mitre")
    )
    parts = (_shortened(part, SLACK) for part in _parts(inside))
    return [part for part in parts if length_of(part) >= rule("shortest_bar")]


def _shortened(part: Shape, by: float) -> Line:
    """Take a length off both ends of a line; nothing is left of one that is too short."""
    if part.length <= 2 * by:
        return ()
    return tuple(ops.substring(part, by, part.length - by).coords)


def _parts(shape: Shape) -> list[Shape]:
    parts = [
        part for part in shapely.get_parts(shape) if part.geom_type == "LineString" and not part.is_empty
    ]
    if len(parts) < 2:
        return parts
    # A line cut where it only touches the edge comes back in pieces that are one bar.
    return [
        part
        for part in shapely.get_parts(shapely.line_merge(shapely.multilinestrings(parts)))
        if not part.is_empty
    ]


def _vertices(region: Shape) -> list[XY]:
    return [(float(x), float(y)) for x, y in shapely.get_coordinates(region)]


def opening_bars(outline: Outline, region: Shape, direction: float, cover: float) -> list[Line]:
    """Return the bars that trim openings: one along each side, past its ends (common practice)."""
    past = rule("trim_past")
    bars: list[Line] = []
    for hole in outline.holes:
        # A round opening is boxed the slab's own way, an angular one along its own sides.
        box = (
            _box(hole.ring, direction)
            if hole.radius is not None
            else shapely.oriented_envelope(shapely.Polygon(hole.ring))
        )
        grown = box.buffer(cover + INSIDE, join_style="mitre")
        for p, q in pairwise(grown.exterior.coords):
            bars += clip(_lengthened((p, q), past), region)
    return bars


def _box(ring: Line, direction: float) -> Shape:
    """The smallest box round a ring with its sides along and square to `direction` [rad]."""
    a0, a1 = _extent(ring, direction)
    b0, b1 = _extent(ring, direction + math.pi / 2)
    c, s = math.cos(direction), math.sin(direction)
    return shapely.Polygon(
        [(a * c - b * s, a * s + b * c) for a, b in ((a0, b0), (a1, b0), (a1, b1), (a0, b1))]
    )


def corner_bars(outline: Outline, joint_plan: JointPlan, region: Shape, cover: float) -> list[Line]:
    """Return two diagonal bars at each re-entrant corner that no joint meets (source aci-302-corners)."""
    half = rule("corner_bar") / 2
    bars: list[Line] = []
    for before, after in zip((outline.edges[-1], *outline.edges[:-1]), outline.edges, strict=True):
        arrive, leave = _end_direction(before), _start_direction(after)
        turn = math.remainder(leave - arrive, 2 * math.pi)
        if turn > -rule("corner_turn") or _joint_meets(joint_plan, after.p):
            continue
        x, y = after.p
        into = math.atan2(
            math.cos(arrive) + math.cos(leave), -math.sin(arrive) - math.sin(leave)
        )  # the mean of the two left normals points into the slab
        first = cover / math.cos(turn / 2) + INSIDE  # where the two cover lines meet
        for off in (first, first + DIAGONAL_GAP):
            cx, cy = x + math.cos(into) * off, y + math.sin(into) * off
            dx, dy = -math.sin(into) * half, math.cos(into) * half
            bars += clip(((cx - dx, cy - dy), (cx + dx, cy + dy)), region)
    return bars


def _chord(edge: Edge) -> float:
    return math.atan2(edge.q[1] - edge.p[1], edge.q[0] - edge.p[0])


def _start_direction(edge: Edge) -> float:
    return _chord(edge) - 2 * math.atan(edge.bulge)


def _end_direction(edge: Edge) -> float:
    return _chord(edge) + 2 * math.atan(edge.bulge)


def _joint_meets(joint_plan: JointPlan, corner: XY) -> bool:
    here = shapely.Point(corner)
    return any(
        len(joint.line) > 1
        and min(here.distance(shapely.Point(joint.line[0])), here.distance(shapely.Point(joint.line[-1])))
        < NEAR
        for joint in joint_plan.joints
        if joint.against is None or joint.kind != "isolation"
    )


def crossings(along: Sequence[Line], across: Sequence[Line]) -> int:
    """Return how many times bars the long way cross bars across."""
    if not along or not across:
        return 0
    tree = shapely.STRtree([shapely.LineString(line) for line in along])
    pairs = tree.query([shapely.LineString(line) for line in across], predicate="intersects")
    return int(pairs.shape[1])


def length_of(line: Line) -> float:
    """Return a polyline's length [m]."""
    return math.fsum(math.dist(p, q) for p, q in pairwise(line))


def turns(line: Line) -> list[float]:
    """Return the turn [rad] at each inner corner of a polyline, without its sign."""
    return [
        abs(
            math.remainder(
                math.atan2(c[1] - b[1], c[0] - b[0]) - math.atan2(b[1] - a[1], b[0] - a[0]), 2 * math.pi
            )
        )
        for a, b, c in zip(line, line[1:], line[2:], strict=False)
    ]


def straightened(line: Line, region: Shape, *, bend: float, past: float) -> list[Line]:
    """Return a line as the straight or gently curved bars that build it without a bend.

    It is parted at every turn sharper than `bend` [rad]; each part runs on past the turn by `past` [m],
    as far as the region lets it.
    """
    sharp = [k for k, angle in enumerate(turns(line), 1) if angle > bend]
    if not sharp:
        return [line]
    parts: list[Line] = []
    for i, j in pairwise([0, *sharp, len(line) - 1]):
        part = list(line[i : j + 1])
        longer = _lengthened(part, past)
        part[0] = longer[0] if i else part[0]
        part[-1] = longer[-1] if j < len(line) - 1 else part[-1]
        # clipping also takes off what another leg of the slab would be reached by
        middle = shapely.LineString(line[i : j + 1]).interpolate(0.5, normalized=True)
        parts += [piece for piece in clip(part, region) if shapely.LineString(piece).distance(middle) < SLACK]
    return parts


def sharpest_bend(line: Line) -> float:
    """Return the largest turn at a corner of a polyline [rad], 0 for a straight one."""
    return max(turns(line), default=0.0)
