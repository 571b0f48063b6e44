"""Exact prisms between many plane pieces and the triangulated ground, each piece with an owner.

One overlay of the pieces with the ground's triangles serves every depth that is asked of it (subgrade,
stripped ground, backfill) and every owner (panel, form strip), where `ground.volume` answers for one
ring and one depth. Over each cell of the overlay both surfaces are planes, so the prism is exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.ground.model import XY, Floats, Surface
from slabwright.ground.surface import planes, skirted
from slabwright.ground.untyped import shapely
from slabwright.ground.volume import convex, split_prisms

Plane = tuple[float, float, float]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

SLIVER = 1e-12  # [m2] cells with less area hold nothing
FEW = 60_000  # pairs of piece and triangle up to which every pair of boxes is looked at


@dataclass(frozen=True, slots=True)
class Overlay:
    """Triangular cells (k,): owner, area in plan [m2], ground above the top at the corners (k, 3) [m]."""

    owner: Ints
    area: Floats
    above: Floats

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
        # only cells that the zero line runs through need splitting; they are few
        mixed = np.flatnonzero(~(above | below))
        for k in np.unique(self.owner[mixed]):
            some = mixed[self.owner[mixed] == k]
            part = split_prisms(self.area[some], depth[some])
            cut[k] += part[0]
            fill[k] += part[1]
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
    parts, of = convex([ring for _, ring, _ in pieces])
    if not len(of):
        return Overlay(np.empty(0, np.int64), np.empty(0), np.empty((0, 3)))
    corners = parts.corners
    owners = np.array([owner for owner, _, _ in pieces], dtype=np.int64)[of]
    tops = np.array([plane for _, _, plane in pieces], dtype=np.float64)[of]
    flat = corners.reshape(-1, 2)
    points, triangles = skirted(surface, flat.min(axis=0), flat.max(axis=0))
    floor, slopes = points[triangles][:, :, :2], planes(points, triangles)
    who, which = _near(corners, floor)
    cells, who, which = _cells(corners, floor, who, which)
    slope = slopes[which] - tops[who]
    above = np.einsum("kvc,kc->kv", cells, slope[:, :2]) + slope[:, 2:]
    area = np.abs(_doubled(cells)) / 2.0
    order = np.argsort(owners[who], kind="stable")
    order = order[area[order] > SLIVER]
    return Overlay(owners[who][order], area[order], above[order])


def _near(pieces: Floats, floor: Floats) -> tuple[Ints, Ints]:
    """Return the pairs (piece, ground triangle) whose boxes touch."""
    low, high = pieces.min(axis=1), pieces.max(axis=1)
    floor_low, floor_high = floor.min(axis=1), floor.max(axis=1)
    if len(pieces) * len(floor) <= FEW:
        touch = (low[:, None] <= floor_high[None]) & (high[:, None] >= floor_low[None])
        who, which = np.nonzero(touch.all(axis=2))
        return who, which
    tree = shapely.STRtree(shapely.box(floor_low[:, 0], floor_low[:, 1], floor_high[:, 0], floor_high[:, 1]))
    who, which = tree.query(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))
    return who, which


def _cells(pieces: Floats, floor: Floats, who: Ints, which: Ints) -> tuple[Floats, Ints, Ints]:
    """Return what each pair shares as triangles (k, 3, 2), and the pair that each comes from.

    Most pairs need no clipping: one triangle lies wholly inside the other.
    """
    ours, theirs = pieces[who], floor[which]
    inside, holds = _within(ours, theirs), _within(theirs, ours)
    cut = np.flatnonzero(~(inside | holds))
    holds &= ~inside
    shared, kept = _clipped(ours[cut], theirs[cut])
    made = [ours[inside], theirs[holds]]
    pairs = [np.flatnonzero(inside), np.flatnonzero(holds)]
    for k in range(1, shared.shape[1] - 1):  # a fan from the first corner; unused corners repeat it
        made.append(shared[:, [0, k, k + 1]])
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
    n, v = shapes.shape[:2]
    real = np.arange(v) < counts[:, None]
    edge, rel = (q - p)[:, None], shapes - p[:, None]
    side = edge[..., 0] * rel[..., 1] - edge[..., 1] * rel[..., 0]
    after = np.where(np.arange(1, v + 1) < counts[:, None], np.arange(1, v + 1), 0)
    next_side = np.take_along_axis(side, after, axis=1)
    crosses = real & ((side >= 0.0) != (next_side >= 0.0))
    share = np.where(crosses, side / np.where(crosses, side - next_side, 1.0), 0.0)
    step = np.take_along_axis(shapes, after[..., None], axis=1) - shapes
    # each corner gives itself when inside, then the crossing on the way to the next one
    places = np.stack([shapes, shapes + share[..., None] * step], axis=2).reshape(n, 2 * v, 2)
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
        inside &= (edge[..., 0] * rel[..., 1] - edge[..., 1] * rel[..., 0] >= 0.0).all(axis=1)
    return inside


def _doubled(cells: Floats) -> Floats:
    u, v = cells[:, 1] - cells[:, 0], cells[:, 2] - cells[:, 0]
    out: Floats = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    return out
