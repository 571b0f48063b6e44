"""The finished surface of all slabs as one sheet of plane convex pieces that know their neighbours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.ground.model import Floats
from slabwright.ground.untyped import shapely
from slabwright.slab.drainage.rain import rules
from slabwright.slab.model import XY, Slab

Ints = NDArray[np.int64]

SAME = 0.002  # [m] two corners closer than this in plan are one
FLATNESS = 1e-7  # [m] a piece whose corners are this close to its plane counts as plane


@dataclass(frozen=True, slots=True)
class Piece:
    """A plane convex piece: corners (ids, counter-clockwise), plane (a, b, c), slab number, panel.

    `down` is the unit vector of steepest descent, (0, 0) where the piece is level; `fall` its slope [-].
    """

    corners: tuple[int, ...]
    plane: tuple[float, float, float]
    slab: int
    panel: str
    down: XY
    fall: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """Pieces over common corners (n, 3) [m]; `beyond` maps a directed side to the piece across it.

    A side is the pair of corner ids as its piece has them; sides at the rim are not in `beyond`.
    `steps` pairs corners that stand above each other.
    """

    corners: Floats
    pieces: tuple[Piece, ...]
    beyond: dict[tuple[int, int], int]
    steps: tuple[tuple[int, int], ...]

    def height(self, piece: int, x: float, y: float) -> float:
        """Return a piece's height [m] at (x, y)."""
        a, b, c = self.pieces[piece].plane
        return a * x + b * y + c

    def sides(self, piece: int) -> list[tuple[int, int]]:
        """Return a piece's sides as pairs of corner ids, in order."""
        ring = self.pieces[piece].corners
        return list(zip(ring, ring[1:] + ring[:1], strict=True))


def sheet_of(slabs: Sequence[Slab]) -> Sheet:
    """Return the finished surface of slabs, cut into plane convex pieces.

    A facet of four corners that is not plane is cut along its shorter diagonal, one with more into
    triangles. Slabs that meet share their corners in plan; where their heights differ there is a step.
    """
    polygons: list[tuple[Floats, int, str]] = []
    for k, slab in enumerate(slabs):
        nodes = np.array([(n.x, n.y, n.z) for n in slab.height_plan.nodes]).reshape(-1, 3)
        for facet in slab.height_plan.facets:
            polygons += [(part, k, facet.panel) for part in _plane_parts(nodes[list(facet.nodes)])]
    ids, corners = _merged(np.concatenate([p for p, _, _ in polygons]) if polygons else np.empty((0, 3)))
    rings: list[tuple[int, ...]] = []
    start = 0
    for part, _, _ in polygons:
        ring = ids[start : start + len(part)].tolist()
        start += len(part)
        rings.append(tuple(v for v, w in zip(ring, ring[-1:] + ring[:-1], strict=True) if v != w))
    rings = _with_corners_on_sides(rings, corners)
    pieces = tuple(
        _piece(ring, part, slab, panel)
        for ring, (part, slab, panel) in zip(rings, polygons, strict=True)
        if len(ring) > 2
    )
    return Sheet(corners, pieces, _neighbours(pieces, corners), _steps(corners))


def _plane_parts(ring: Floats) -> list[Floats]:
    """Return a facet's ring (n, 3), or its triangles where it is not plane and convex."""
    if len(ring) < 3:
        return []
    if _turning(ring) < 0:
        ring = ring[::-1]
    centre = ring.mean(axis=0)
    fit = np.linalg.lstsq(np.column_stack([ring[:, :2] - centre[:2], np.ones(len(ring))]), ring[:, 2])[0]
    off = np.abs((ring[:, :2] - centre[:2]) @ fit[:2] + fit[2] - ring[:, 2]).max()
    side = np.roll(ring, -1, axis=0)[:, :2] - ring[:, :2]
    after = np.roll(side, -1, axis=0)
    convex = bool((side[:, 0] * after[:, 1] - side[:, 1] * after[:, 0] >= -1e-12).all())
    if len(ring) == 3 or (off <= FLATNESS and convex):
        return [ring]
    if len(ring) == 4 and convex:
        one, two = (np.hypot(*(ring[k, :2] - ring[k + 2, :2])) for k in (0, 1))
        first = 0 if one <= two else 1
        turned = np.roll(ring, -first, axis=0)
        return [turned[[0, 1, 2]], turned[[0, 2, 3]]]
    heights = {(x, y): z for x, y, z in ring.tolist()}
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(shapely.polygons(ring[:, :2])))
    flat = shapely.get_coordinates(shapely.orient_polygons(triangles)).reshape(-1, 4, 2)[:, :3]
    return [np.array([(x, y, heights[x, y]) for x, y in triangle.tolist()]) for triangle in flat]


def _turning(ring: Floats) -> float:
    """Return twice a ring's signed area [m2]."""
    after = np.roll(ring, -1, axis=0)
    return float((ring[:, 0] * after[:, 1] - ring[:, 1] * after[:, 0]).sum())


def _merged(xyz: Floats) -> tuple[Ints, Floats]:
    """Return an id for each point (n,), the same for points that differ by less than a step, and corners."""
    rise = rules()["step"]
    cells: dict[tuple[int, int], list[int]] = {}
    kept: list[tuple[float, float, float]] = []
    ids: list[int] = []
    for x, y, z in xyz.tolist():
        i, j = round(x / SAME), round(y / SAME)
        near = (k for di in (-1, 0, 1) for dj in (-1, 0, 1) for k in cells.get((i + di, j + dj), ()))
        found = next(
            (
                k
                for k in near
                if abs(kept[k][2] - z) < rise and (kept[k][0] - x) ** 2 + (kept[k][1] - y) ** 2 < SAME**2
            ),
            None,
        )
        if found is None:
            found = len(kept)
            cells.setdefault((i, j), []).append(found)
            kept.append((x, y, z))
        ids.append(found)
    return np.array(ids, dtype=np.int64), np.array(kept).reshape(-1, 3)


def _with_corners_on_sides(rings: list[tuple[int, ...]], corners: Floats) -> list[tuple[int, ...]]:
    """Return the rings with every corner of another piece that lies on one of their sides put in."""
    sides = sorted({(min(s), max(s)) for ring in rings for s in zip(ring, ring[1:] + ring[:1], strict=True)})
    if not sides:
        return rings
    pairs = np.array(sides)
    lines = shapely.linestrings(np.stack([corners[pairs[:, 0], :2], corners[pairs[:, 1], :2]], axis=1))
    tree = shapely.STRtree(shapely.points(corners[:, :2]))
    line, point = tree.query(lines, predicate="dwithin", distance=SAME)
    on: dict[tuple[int, int], list[int]] = {}
    rise = rules()["step"]
    for k, v in zip(line.tolist(), point.tolist(), strict=True):
        p, q = sides[k]
        d = corners[q, :2] - corners[p, :2]
        run = float(d @ d)
        t = float((corners[v, :2] - corners[p, :2]) @ d) / run
        edge = SAME / run**0.5
        if v in (p, q) or not edge < t < 1 - edge:
            continue
        if abs(corners[p, 2] + t * (corners[q, 2] - corners[p, 2]) - corners[v, 2]) < rise:
            on.setdefault((p, q), []).append(v)
    out: list[tuple[int, ...]] = []
    for ring in rings:
        longer: list[int] = []
        for p, q in zip(ring, ring[1:] + ring[:1], strict=True):
            between = on.get((min(p, q), max(p, q)), [])
            d = corners[q, :2] - corners[p, :2]
            longer += [p, *sorted(between, key=lambda v, p=p, d=d: float((corners[v] - corners[p])[:2] @ d))]  # type: ignore[misc]
        out.append(tuple(longer))
    return out


def _piece(ring: tuple[int, ...], xyz: Floats, slab: int, panel: str) -> Piece:
    """Return a piece with its plane through the points (n, 3) that it was drawn with."""
    centre = xyz.mean(axis=0)
    rel = xyz - centre
    a, b = np.linalg.lstsq(rel[:, :2], rel[:, 2])[0].tolist()
    fall = float(np.hypot(a, b))
    down = (-a / fall, -b / fall) if fall > rules()["level"] else (0.0, 0.0)
    return Piece(ring, (a, b, float(centre[2] - a * centre[0] - b * centre[1])), slab, panel, down, fall)


def _neighbours(pieces: tuple[Piece, ...], corners: Floats) -> dict[tuple[int, int], int]:
    """Return the piece across each directed side: along shared corners, or over a step."""
    owner = {
        side: k
        for k, piece in enumerate(pieces)
        for side in zip(piece.corners, piece.corners[1:] + piece.corners[:1], strict=True)
    }
    beyond = {side: owner[side[::-1]] for side in owner if side[::-1] in owner}
    places: dict[tuple[int, int, int, int], list[tuple[int, int]]] = {}
    for p, q in owner:
        if (p, q) not in beyond:
            places.setdefault(_key(corners[p], corners[q]), []).append((p, q))
    for p, q in owner:
        if (p, q) in beyond:
            continue
        across = [s for s in places.get(_key(corners[q], corners[p]), []) if s != (p, q)]
        if across:
            beyond[p, q] = owner[across[0]]
    return beyond


def _key(p: Floats, q: Floats) -> tuple[int, int, int, int]:
    return (
        round(p[0] / SAME / 2),
        round(p[1] / SAME / 2),
        round(q[0] / SAME / 2),
        round(q[1] / SAME / 2),
    )


def _steps(corners: Floats) -> tuple[tuple[int, int], ...]:
    """Return pairs of corners that stand above each other."""
    if len(corners) < 2:
        return ()
    places = shapely.points(corners[:, :2])
    one, two = shapely.STRtree(places).query(places, predicate="dwithin", distance=SAME)
    return tuple((int(a), int(b)) for a, b in zip(one, two, strict=True) if a < b)
