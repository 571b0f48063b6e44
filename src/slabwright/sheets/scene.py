"""What all drawings of a job share: its datum, its windows, and where words stand on a shape."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from slabwright.measure import Quantity, write
from slabwright.result import Plan
from slabwright.sheets.window import Window, window_round
from slabwright.slab.datum import datum_name as named_datum

XY = tuple[float, float]

BESIDE_WALL = 1.8  # m; a wall nearer than this is shown with the work
ANCHOR_MARGIN = 0.5  # m round the points that tapes are pulled from
ON_RING = 0.005  # m; a point nearer to a side than this lies on it


def height_text(plan: Plan, z: float) -> str:
    """Return a height [m] as up or down from the job's datum, as the trade writes it."""
    return write(Quantity("height_difference", z - datum_height(plan)), system=plan.notes.units)


def datum_height(plan: Plan) -> float:
    """Return the height [m] of the datum that heights on paper are counted from."""
    name = datum_name(plan)
    return plan.survey.heights[name].height if name in plan.survey.heights else 0.0


def datum_name(plan: Plan) -> str:
    """Return the name of the point that heights on paper are counted from."""
    return named_datum(plan.notes.datum, plan.survey.heights, plan.ground.doors)


def anchor_names(plan: Plan) -> list[str]:
    """Return the points that tapes are pulled from, in the order of the walk."""
    ties = (tie for s in plan.built.set_out.stakes for tie in (s.tie_a, s.tie_b) if tie)
    return list(dict.fromkeys(name for name, _ in ties))


def slab_points(plan: Plan) -> list[XY]:
    """Return every point of the outlines of a job."""
    return [p for slab in plan.shaped.slabs for p in slab.outline.ring]


def work_window(plan: Plan, *, anchors: bool = False) -> Window:
    """Return the window round the slabs; with `anchors` also round the points that tapes are pulled from."""
    shown = [*slab_points(plan), *_near_walls(plan)]
    if anchors:
        names = set(anchor_names(plan))
        shown += [(p.x, p.y) for p in plan.survey.points.values() if p.name in names]
    return window_round(shown, least=ANCHOR_MARGIN) if anchors else window_round(shown)


def _near_walls(plan: Plan) -> list[XY]:
    """Return the nearest places of the walls that the slabs lie beside."""
    found = []
    for wall in plan.ground.walls:
        run = math.dist(wall.p, wall.q)
        for x, y in slab_points(plan) if run > 0.0 else ():
            t = (
                (x - wall.p[0]) * (wall.q[0] - wall.p[0]) + (y - wall.p[1]) * (wall.q[1] - wall.p[1])
            ) / run**2
            foot = (wall.p[0] + t * (wall.q[0] - wall.p[0]), wall.p[1] + t * (wall.q[1] - wall.p[1]))
            if 0.0 <= t <= 1.0 and math.dist(foot, (x, y)) <= BESIDE_WALL:
                found.append(foot)
    return found


def middle(points: Sequence[XY]) -> XY:
    """Return a point inside a ring, or halfway along an open line."""
    if len(points) == 1:
        return points[0]
    if len(points) == 2:
        return ((points[0][0] + points[1][0]) / 2, (points[0][1] + points[1][1]) / 2)
    from slabwright.ground.untyped import shapely

    ring = shapely.Polygon(points)
    if ring.area < 1e-6:
        return halfway(points)
    inside = ring.centroid if ring.contains(ring.centroid) else ring.representative_point()
    return (inside.x, inside.y)


def halfway(line: Sequence[XY]) -> XY:
    """Return the point halfway along an open line."""
    left = sum(math.dist(p, q) for p, q in itertools.pairwise(line)) / 2
    for p, q in itertools.pairwise(line):
        run = math.dist(p, q)
        if run >= left > 0:
            t = left / run
            return (p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]))
        left -= run
    return line[0]


def upright(angle: float) -> float:
    """Return the angle [rad] at which letters along a line read from the bottom or the right."""
    angle = (angle + math.pi / 2) % math.pi - math.pi / 2
    return angle if angle > -math.pi / 2 + 1e-6 else math.pi / 2


def outward(ring: Sequence[XY], at: XY) -> float | None:
    """Return which way [rad] is out of a counter-clockwise ring at a point of it; None off the ring."""
    x = y = 0.0
    for p, q in zip(ring, (*ring[1:], ring[0]), strict=True):
        run = math.dist(p, q)
        if run < ON_RING:
            continue
        ux, uy = (q[0] - p[0]) / run, (q[1] - p[1]) / run
        along = (at[0] - p[0]) * ux + (at[1] - p[1]) * uy
        off = (at[0] - p[0]) * uy - (at[1] - p[1]) * ux
        if -ON_RING <= along <= run + ON_RING and abs(off) <= ON_RING:
            x, y = x + uy, y - ux
    return math.atan2(y, x) if math.hypot(x, y) > 1e-6 else None
