"""Exact prisms between plane pieces and the triangulated ground, each piece with an owner.

Over each cell of the overlay of the pieces with the ground's triangles both surfaces are planes, so the
prism between them is known in closed form; where it changes sign inside a cell it is split along the zero
line. No grid, no average. One overlay serves every depth that is asked of it (subgrade, stripped ground,
backfill) and every owner (slab, panel, form strip).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.ground.model import XY, Floats, Surface
from slabwright.ground.surface import planes, skirted
from slabwright.ground.untyped import shapely

Plane = tuple[float, float, float]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

SLIVER = 1e-12  # [m2] cells with less area hold nothing
FEW = 60_000  # pairs of piece and triangle up to which every pair of boxes is looked at
BLOCK = 50_000  # pairs of piece and triangle clipped in one go, so that a tract does not fill the memory


@dataclass(frozen=True, slots=True)
class Overlay:
    """Triangular cells (k,): owner, area in plan [m2], corners (k, 3, 2) [m], and `above` (k, 3) [m].

    `above` is how far the ground lies above the pieces' own planes at the corners.
    """

    owner: Ints
    area: Floats
    above: Floats
    corners: Floats

    def volumes(self, count: int, offset: Floats) -> tuple[Floats, Floats]:
        """Return volume above and below [m3] by owner (count,), of the ground against the top less offset.

        offset: (count,) [m] by owner, how far below the top the wanted surface lies.
        """
        depth = self.above + offset[self.owner, None]
        low, high = depth.min(axis=1, initial=np.inf), depth.max(axis=1, initial=-np.inf)
        whole = self.area * depth.mean(axis=1)
        cut, fill = np.zeros(count), np.zeros(count)
        above, below = low >= 0.0, high <= 0.0
        np.add.at(cut, self.owner[above], whole[above])
        np.subtract.at(fill, self.owner[below & ~above], whole[below & ~above])
        mixed = np.flatnonzero(~(above | below))  # only these need splitting; they are few
        part = _parts(self.area[mixed], depth[mixed])
        np.add.at(cut, self.owner[mixed], part)
        np.add.at(fill, self.owner[mixed], part - whole[mixed])
        return cut, fill

    def areas(self, count: int) -> Floats:
        """Return the area in plan [m2] by owner (count,)."""
        out = np.zeros(count)
        np.add.at(out, self.owner, self.area)
        return out

    def spread(self, count: int) -> tuple[Floats, Floats]:
        """Return the least and most height of the ground above the top [m] by owner; NaN where none."""
        low, high = np.full(count, np.inf), np.full(count, -np.inf)
        np.minimum.at(low, self.owner, self.above.min(axis=1, initial=np.inf))
        np.maximum.at(high, self.owner, self.above.max(axis=1, initial=-np.inf))
        low[np.isinf(low)] = np.nan
        high[np.isinf(high)] = np.nan
        return low, high


def overlay(pieces: Sequence[tuple[int, Sequence[XY], Plane]], surface: Surface) -> Overlay:
    """Return the cells of plane pieces on the ground, in the order of their owners.

    :param pieces: owner, ring [m] (simple, either way round) and plane (a, b, c) of each; pieces of one
        owner must not overlap.
    :param surface: the ground; carried on level beyond its shots, as `ground_height` does.
    """
    corners, of = convex(ring for _, ring, _ in pieces)
    if not len(of):
        return Overlay(np.empty(0, np.int64), np.empty(0), np.empty((0, 3)), np.empty((0, 3, 2)))
    owners = np.array([owner for owner, _, _ in pieces], dtype=np.int64)[of]
    tops = np.array([plane for _, _, plane in pieces], dtype=np.float64)[of]
    flat = corners.reshape(-1, 2)
    points, triangles = skirted(surface, flat.min(axis=0), flat.max(axis=0))
    floor, slopes = points[triangles][:, :, :2], planes(points, triangles)
    cells, who, which = shared(corners, floor)
    slope = slopes[which] - tops[who]
    above = np.einsum("kvc,kc->kv", cells, slope[:, :2]) + slope[:, 2:]
    area = np.abs(_cross(cells[:, 1] - cells[:, 0], cells[:, 2] - cells[:, 0])) / 2.0
    order = np.argsort(owners[who], kind="stable")
    order = order[area[order] > SLIVER]
    return Overlay(owners[who][order], area[order], above[order], cells[order])


def shared(pieces: Floats, others: Floats) -> tuple[Floats, Ints, Ints]:
    """Return what two sets of triangles share, as triangles (k, 3, 2), and the two that each comes from.

    :param pieces: counter-clockwise triangles (n, 3, 2) [m]. others: likewise, (m, 3, 2).
    """
    who, which = _near(pieces, others)
    made = [
        _cells(pieces, others, who[k : k + BLOCK], which[k : k + BLOCK])
        for k in range(0, max(len(who), 1), BLOCK)
    ]
    cells, ours, theirs = (np.concatenate(part) for part in zip(*made, strict=True))
    return cells, ours, theirs


def _near(pieces: Floats, floor: Floats) -> tuple[Ints, Ints]:
    """Return the pairs (piece, ground triangle) whose boxes touch."""
    low, high = pieces.min(axis=1), pieces.max(axis=1)
    floor_low, floor_high = floor.min(axis=1), floor.max(axis=1)
    if len(pieces) * len(floor) <= FEW:
        touch = (low[:, None] <= floor_high[None]) & (high[:, None] >= floor_low[None])
        who, which = np.nonzero(touch.all(axis=2))
        return who, which
    # a scan reaches far beyond the slabs: leave that out before the tree is built
    close = np.flatnonzero(((floor_high >= low.min(axis=0)) & (floor_low <= high.max(axis=0))).all(axis=1))
    floor_low, floor_high = floor_low[close], floor_high[close]
    tree = shapely.STRtree(shapely.box(floor_low[:, 0], floor_low[:, 1], floor_high[:, 0], floor_high[:, 1]))
    who, which = tree.query(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))
    return who, close[which]


def _cells(pieces: Floats, floor: Floats, who: Ints, which: Ints) -> tuple[Floats, Ints, Ints]:
    """Return what each pair shares as triangles (k, 3, 2), and the pair that each comes from.

    Most pairs need no clipping: one triangle lies wholly inside the other.
    """
    ours, theirs = pieces[who], floor[which]
    inside, holds = _within(ours, theirs), _within(theirs, ours)
    cut = np.flatnonzero(~(inside | holds))
    holds &= ~inside
    common, kept = _clipped(ours[cut], theirs[cut])
    made = [ours[inside], theirs[holds]]
    pairs = [np.flatnonzero(inside), np.flatnonzero(holds)]
    for k in range(1, common.shape[1] - 1):  # a fan from the first corner; unused corners repeat it
        made.append(common[:, [0, k, k + 1]])
        pairs.append(cut[kept])
    pair = np.concatenate(pairs)
    return np.concatenate(made), who[pair], which[pair]


def _clipped(shapes: Floats, knives: Floats) -> tuple[Floats, Ints]:
    """Return what pairs of counter-clockwise triangles (n, 3, 2) share, and the pairs that share something.

    Convex polygons (m, 6, 2); corners that are not needed repeat the first one.
    """
    alive = np.arange(len(shapes))
    counts = np.full(len(shapes), 3)
    for k in range(3):
        shapes, counts = _half(shapes, counts, knives[alive, k], knives[alive, (k + 1) % 3])
        left = counts >= 3
        shapes, counts, alive = shapes[left], counts[left], alive[left]
    return shapes, alive


def _half(shapes: Floats, counts: Ints, p: Floats, q: Floats) -> tuple[Floats, Ints]:
    """Return convex polygons (n, v, 2) cut down to what lies left of the lines p-q, as (n, v + 1, 2)."""
    return keep(shapes, counts, _cross((q - p)[:, None], shapes - p[:, None]))


def keep(shapes: Floats, counts: Ints, side: Floats) -> tuple[Floats, Ints]:
    """Return convex polygons cut down to where a value that is linear on each is not below zero.

    :param shapes: corners (n, v, d), padded with the first one; whatever more than x and y stands in the
        last axis is carried along. counts: how many corners are real (n,).
    :param side: the value at each corner (n, v).
    :return: polygons (n, v + 1, d) and their numbers of corners, less than three where nothing is left.
    """
    n, v, d = shapes.shape
    real = np.arange(v) < counts[:, None]
    after = np.where(np.arange(1, v + 1) < counts[:, None], np.arange(1, v + 1), 0)
    next_side = np.take_along_axis(side, after, axis=1)
    crosses = real & ((side >= 0.0) != (next_side >= 0.0))
    share = np.where(crosses, side / np.where(crosses, side - next_side, 1.0), 0.0)
    step = np.take_along_axis(shapes, after[..., None], axis=1) - shapes
    # each corner gives itself when inside, then the crossing on the way to the next one
    places = np.stack([shapes, shapes + share[..., None] * step], axis=2).reshape(n, 2 * v, d)
    given = np.stack([real & (side >= 0.0), crosses], axis=2).reshape(n, 2 * v)
    order = np.argsort(~given, axis=1, kind="stable")[:, : v + 1]
    counts = given.sum(axis=1)
    order = np.where(np.arange(v + 1) < counts[:, None], order, order[:, :1])
    return np.take_along_axis(places, order[..., None], axis=1), counts


def _within(inner: Floats, outer: Floats) -> Bools:
    """Return for pairs of counter-clockwise triangles (n, 3, 2) whether the first lies in the second."""
    inside = np.ones(len(inner), dtype=np.bool_)
    for k in range(3):
        p = outer[:, k, None]
        edge = outer[:, (k + 1) % 3, None] - p
        rel = inner - p
        inside &= (_cross(edge, rel) >= 0.0).all(axis=1)
    return inside


def convex(rings: Iterable[Sequence[XY]]) -> tuple[Floats, Ints]:
    """Return rings cut into counter-clockwise triangles (k, 3, 2) [m], and the ring that each comes from.

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
    return np.concatenate(made), np.concatenate(owners)


def _cross(u: Floats, v: Floats) -> Floats:
    out: Floats = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    return out


def split_prisms(area: Floats, depth: Floats) -> Floats:
    """Return the volumes (2,) [m3] above and below zero of prisms on triangles.

    A lone corner p above two below (n1, n2) holds A p^3 / (3 (p - n1)(p - n2)); the other way round
    the lone one lies below.

    :param area: plan areas (n,) [m2].
    :param depth: heights at the three corners (n, 3) [m].
    """
    above = _parts(area, depth)
    return np.array([above.sum(), (above - area * depth.sum(axis=1) / 3.0).sum()])


def _parts(area: Floats, depth: Floats) -> Floats:
    """Return the volume (n,) [m3] above zero of each prism."""
    ordered = np.sort(depth, axis=1)
    low, middle, high = ordered.T
    mean = area * ordered.sum(axis=1) / 3.0
    above: Floats = np.where(low >= 0, mean, 0.0)
    one = (middle <= 0) & (high > 0)
    h, n, m = high[one], low[one], middle[one]
    above[one] = area[one] * h / 3.0 * (h / (h - n)) * (h / (h - m))  # shares, or the smallest depths vanish
    two = (low < 0) & (middle > 0)
    h, n, m = high[two], low[two], middle[two]
    above[two] = mean[two] - area[two] * n / 3.0 * (n / (h - n)) * (n / (m - n))
    return above
