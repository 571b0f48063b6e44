"""Exact cut and fill between a surface of planes and the triangulated ground.

Both surfaces are plane over each piece of their overlay, so the prism between them is known in closed
form; where it changes sign inside a piece it is split along the zero line. No grid, no average.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from slabwright.ground.model import XY, Floats, Surface
from slabwright.ground.surface import planes, skirted
from slabwright.ground.untyped import shapely

Plane = tuple[float, float, float]
Ints = NDArray[np.int64]

SLIVER = 1e-12  # [m2] pieces of the overlay with less area than this hold nothing
BLOCK = 50_000  # pairs of piece and triangle clipped in one go


class Volumes(NamedTuple):
    """Cut (ground above) and fill (ground below) [m3], least and most height of the ground above [m]."""

    cut: float
    fill: float
    depth_min: float
    depth_max: float


class Pieces(NamedTuple):
    """Convex polygons: corners (n, v, 2) [m] padded with their first corner, corner counts (n,)."""

    corners: Floats
    counts: Ints


def volumes_between(
    ring: Sequence[XY] | None, upper: Sequence[tuple[Sequence[XY], Plane]], surface: Surface, offset: float
) -> Volumes:
    """Return what must be dug and filled to bring the ground to `offset` below planes.

    :param ring: only inside this ring (n, 2) [m]; None: everywhere that `upper` covers.
    :param upper: facets, each a ring [m] and its plane (a, b, c), height = a x + b y + c. They must not
        overlap. Rings may turn either way and need not be convex.
    :param surface: the ground; beyond its shots it is carried on level, as `ground_height` does.
    :param offset: how far below the facets the subgrade lies [m].
    :return: cut and fill [m3], and the least and most depth of cut [m] (below zero where it is fill);
        zeros when nothing lies inside the ring.
    """
    pieces, owner = convex(facet[0] for facet in upper)
    if ring is not None:
        parts, _ = convex([ring])
        pairs = _touching(pieces, parts)
        pieces, kept = _clipped(pieces, parts.corners[:, :3], pairs)
        owner = owner[pairs[0][kept]]
    if not len(owner):
        return Volumes(0.0, 0.0, 0.0, 0.0)
    subgrade = np.array([facet[1] for facet in upper], dtype=np.float64)[owner] - (0.0, 0.0, offset)
    flat = pieces.corners.reshape(-1, 2)
    points, triangles = skirted(surface, flat.min(axis=0), flat.max(axis=0))
    corners = points[triangles][:, :, :2]
    ground = planes(points, triangles)
    pairs = _touching(pieces, Pieces(corners, np.full(len(corners), 3)))
    total = np.zeros(2)
    low, high = np.inf, -np.inf
    for k in range(0, len(pairs[0]), BLOCK):
        some = pairs[0][k : k + BLOCK], pairs[1][k : k + BLOCK]
        shared, kept = _clipped(pieces, corners, some)
        if not len(kept):
            continue
        slope = ground[some[1][kept]] - subgrade[some[0][kept]]
        depth = np.einsum("nvk,nk->nv", shared.corners, slope[:, :2]) + slope[:, 2:]
        total += _split(shared, depth)
        low, high = min(low, float(depth.min())), max(high, float(depth.max()))
    if low > high:
        return Volumes(0.0, 0.0, 0.0, 0.0)
    return Volumes(float(total[0]), float(total[1]), low, high)


def convex(rings: Iterable[Sequence[XY]]) -> tuple[Pieces, Ints]:
    """Return rings cut into counter-clockwise triangles, and the ring that each comes from.

    :param rings: any number of simple rings (n, 2) [m], turning either way.
    """
    by_size: dict[int, list[tuple[int, Sequence[XY]]]] = {}
    for k, ring in enumerate(rings):
        by_size.setdefault(len(ring), []).append((k, ring))
    made: list[Floats] = [np.empty((0, 3, 2))]
    owners: list[Ints] = [np.empty(0, dtype=np.int64)]
    for size, group in by_size.items():
        if size < 3:
            continue
        who = np.array([k for k, _ in group])
        corners = np.array([ring for _, ring in group], dtype=np.float64)
        following = np.roll(corners, -1, axis=1) - corners
        turn = _cross(following, np.roll(following, -1, axis=1))
        clockwise = _cross(corners, np.roll(corners, -1, axis=1)).sum(axis=1) < 0
        corners[clockwise] = corners[clockwise][:, ::-1]
        turn[clockwise] *= -1
        plain = (turn >= -1e-12).all(axis=1)
        fans = corners[plain]
        for k in range(1, size - 1):
            made.append(fans[:, [0, k, k + 1]])
            owners.append(who[plain])
        for ring, k in zip(corners[~plain], who[~plain], strict=True):
            parts = shapely.get_parts(shapely.constrained_delaunay_triangles(shapely.polygons(ring)))
            parts = shapely.get_coordinates(shapely.orient_polygons(parts)).reshape(-1, 4, 2)[:, :3]
            made.append(parts)
            owners.append(np.full(len(parts), k))
    corners = np.concatenate(made)
    return Pieces(corners, np.full(len(corners), 3)), np.concatenate(owners)


def _cross(u: Floats, v: Floats) -> Floats:
    out: Floats = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    return out


def _boxes(pieces: Pieces) -> object:
    low, high = pieces.corners.min(axis=1), pieces.corners.max(axis=1)
    return shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])


def _touching(pieces: Pieces, others: Pieces) -> tuple[Ints, Ints]:
    """Return the pairs (piece, other) whose boxes touch."""
    many, few = (pieces, others) if len(pieces.counts) > len(others.counts) else (others, pieces)
    found = shapely.STRtree(_boxes(many)).query(_boxes(few))
    one, two = (found[1], found[0]) if many is pieces else (found[0], found[1])
    return one.astype(np.int64), two.astype(np.int64)


def _clipped(pieces: Pieces, triangles: Floats, pairs: tuple[Ints, Ints]) -> tuple[Pieces, Ints]:
    """Return what each pair of piece and triangle (m, 3, 2) shares, and the pairs that share something."""
    corners, counts = pieces.corners[pairs[0]], pieces.counts[pairs[0]]
    knives = triangles[pairs[1]]
    alive = np.arange(len(counts))
    for k in range(3):
        p, q = knives[alive, k], knives[alive, (k + 1) % 3]
        corners, counts = _cut(corners, counts, p, q)
        left = counts >= 3
        corners, counts, alive = corners[left], counts[left], alive[left]
    area = np.abs(_cross(corners, np.roll(corners, -1, axis=1)).sum(axis=1)) / 2 if len(alive) else counts
    left = area > SLIVER
    return Pieces(corners[left], counts[left]), alive[left]


def _cut(corners: Floats, counts: Ints, p: Floats, q: Floats) -> tuple[Floats, Ints]:
    """Return polygons cut down to what lies left of the lines p-q, one line a polygon."""
    n, width = corners.shape[:2]
    side = _cross((q - p)[:, None], corners - p[:, None])
    real = np.arange(width) < counts[:, None]
    inside = (side >= 0) & real
    whole = (inside | ~real).all(axis=1)
    if whole.all():
        return corners, counts
    after = np.where(np.arange(width) + 1 < counts[:, None], np.arange(width) + 1, 0)
    next_side = np.take_along_axis(side, after, axis=1)
    next_inside = np.take_along_axis(inside, after, axis=1)
    next_corner = np.take_along_axis(corners, after[:, :, None], axis=1)
    crosses = real & (inside != next_inside)
    share = np.where(crosses, side / np.where(crosses, side - next_side, 1.0), 0.0)
    between = corners + share[:, :, None] * (next_corner - corners)
    # each corner gives itself when inside, then the crossing point on the way to the next one
    given = np.empty((n, 2 * width), dtype=np.bool_)
    given[:, 0::2], given[:, 1::2] = inside, crosses
    places = np.empty((n, 2 * width, 2))
    places[:, 0::2], places[:, 1::2] = corners, between
    counts = given.sum(axis=1)
    order = np.argsort(~given, axis=1, kind="stable")[:, : max(int(counts.max(initial=0)), 1)]
    order = np.where(np.arange(order.shape[1]) < counts[:, None], order, order[:, :1])
    return np.take_along_axis(places, order[:, :, None], axis=1), counts


def _split(pieces: Pieces, depth: Floats) -> Floats:
    """Return the volumes (2,) [m3] above and below zero of a depth that is linear on each polygon.

    :param depth: at each corner (n, v) [m].
    """
    base, total = pieces.corners[:, :1], np.zeros(2)
    for k in range(1, depth.shape[1] - 1):
        u, v = pieces.corners[:, k] - base[:, 0], pieces.corners[:, k + 1] - base[:, 0]
        total += split_prisms(np.abs(_cross(u, v)) / 2, depth[:, [0, k, k + 1]])
    return total


def split_prisms(area: Floats, depth: Floats) -> Floats:
    """Return the volumes (2,) [m3] above and below zero of prisms on triangles.

    A lone corner p above two below (n1, n2) holds A p^3 / (3 (p - n1)(p - n2)); the other way round
    the lone one lies below.

    :param area: plan areas (n,) [m2].
    :param depth: heights at the three corners (n, 3) [m].
    """
    ordered = np.sort(depth, axis=1)
    low, middle, high = ordered.T
    mean = area * ordered.sum(axis=1) / 3.0
    above = np.where(low >= 0, mean, 0.0)
    one = (middle <= 0) & (high > 0)
    above[one] = (area * high**3)[one] / (3.0 * (high - low) * (high - middle))[one]
    two = (low < 0) & (middle > 0)
    above[two] = mean[two] + (area * -(low**3))[two] / (3.0 * (high - low) * (middle - low))[two]
    return np.array([above.sum(), (above - mean).sum()])
