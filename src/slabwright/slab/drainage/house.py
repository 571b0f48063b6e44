"""What lies behind the walls of a house that was not measured all round.

The notes give the walls that the work touches, the yard on their right hand; nobody drew the rest of the
house. It is taken to reach back from its first and its last wall, square to them, as far as the yard is
looked at, or up to another of its walls. Method: own; the walls and those two lines cut the yard into
faces, and a face that some wall has on its left hand, and none on its right, is house.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from slabwright.ground.model import Wall
from slabwright.ground.untyped import shapely
from slabwright.slab.model import XY

JOINED = 1e-6  # [m] walls whose ends are this near are one chain
BESIDE = 0.01  # [m] how far from a wall its two sides are looked at
BEHIND = 1.0  # [m] depth of the strip behind a wall whose two sides cannot be told apart


def behind(walls: Sequence[Wall], low: XY, high: XY) -> Any:
    """Return the shape [m] behind walls, inside the box from `low` to `high` and what the walls reach.

    A polygon, several, or an empty one.
    """
    if not walls:
        return shapely.Polygon()
    reach = [end for wall in walls for end in (wall.p, wall.q)] + [low, high]
    x0, y0 = (min(p[k] for p in reach) - 2 * BEHIND for k in (0, 1))
    x1, y1 = (max(p[k] for p in reach) + 2 * BEHIND for k in (0, 1))
    far = math.dist((x0, y0), (x1, y1))
    lines = [shapely.linestrings([wall.p, wall.q]) for wall in walls]
    cuts = [_back(ends, wall, far, lines) for ends, wall in _ends(walls)]
    frame = shapely.box(x0, y0, x1, y1)
    noded = shapely.union_all([*lines, *cuts, shapely.get_exterior_ring(frame)])
    faces = [face for face in shapely.get_parts(shapely.polygonize([noded])) if frame.covers(face.centroid)]
    shapely.prepare(faces)
    inside, outside = set[int](), set[int]()
    for wall in walls:
        for at, own in ((_beside(wall, 1.0), inside), (_beside(wall, -1.0), outside)):
            own |= {k for k, face in enumerate(faces) if face.covers(at)}
    house = [faces[k] for k in sorted(inside - outside)]
    torn = [wall for wall in walls if not any(face.covers(_beside(wall, 1.0)) for face in house)]
    strips = [shapely.buffer(shapely.linestrings([w.p, w.q]), BEHIND, single_sided=True) for w in torn]
    return shapely.union_all(house + strips)


def _ends(walls: Sequence[Wall]) -> list[tuple[XY, Wall]]:
    """Return the ends of walls that no other wall goes on from."""
    starts, stops = [w.p for w in walls], [w.q for w in walls]

    def joined(p: XY, others: list[XY]) -> bool:
        return any(math.dist(p, q) < JOINED for q in others)

    open_ = [(w.p, w) for w in walls if not joined(w.p, stops)]
    return open_ + [(w.q, w) for w in walls if not joined(w.q, starts)]


def _left(wall: Wall) -> XY:
    dx, dy = wall.q[0] - wall.p[0], wall.q[1] - wall.p[1]
    run = math.hypot(dx, dy)
    return (-dy / run, dx / run)


def _back(end: XY, wall: Wall, far: float, lines: Sequence[Any]) -> Any:
    """Return the line from an end of a wall back into the house, to the first other wall that it meets."""
    n = _left(wall)
    ray = shapely.linestrings([end, (end[0] + far * n[0], end[1] + far * n[1])])
    hit = shapely.get_coordinates(shapely.intersection(ray, shapely.union_all(list(lines)))).tolist()
    stops = [d for x, y in hit if (d := math.dist(end, (x, y))) > BESIDE]
    if not stops:
        return ray
    stop = min(stops) + JOINED  # past the wall by a hair, so that the two cross
    return shapely.linestrings([end, (end[0] + stop * n[0], end[1] + stop * n[1])])


def _beside(wall: Wall, side: float) -> Any:
    """Return a place just left (+1) or right (-1) of the middle of a wall."""
    n = _left(wall)
    mx, my = (wall.p[0] + wall.q[0]) / 2, (wall.p[1] + wall.q[1]) / 2
    return shapely.points(mx + side * BESIDE * n[0], my + side * BESIDE * n[1])
