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
        cut, fill = np.zeros(count), np.zeros(count)
        ends = np.searchsorted(self.owner, np.arange(count + 1))
        for k in range(count):
            some = slice(ends[k], ends[k + 1])
            if ends[k] < ends[k + 1]:
                cut[k], fill[k] = split_prisms(self.area[some], self.above[some] + offset[k])
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
    cut = ~(inside | holds)
    holds &= ~inside
    made = [ours[inside], theirs[holds]]
    pairs = [np.flatnonzero(inside), np.flatnonzero(holds)]
    left = np.flatnonzero(cut)
    if len(left):
        shared = shapely.intersection(shapely.polygons(ours[left]), shapely.polygons(theirs[left]))
        real = (shapely.get_type_id(shared) == 3) & (shapely.area(shared) > SLIVER)
        cells, of = _fans(shared[real])
        made.append(cells)
        pairs.append(left[real][of])
    pair = np.concatenate(pairs)
    return np.concatenate(made), who[pair], which[pair]


def _fans(polygons: NDArray[np.object_]) -> tuple[Floats, Ints]:
    """Return convex polygons as triangles from their first corner (k, 3, 2), and the polygon of each."""
    xy, of = shapely.get_coordinates(polygons, return_index=True)
    first = np.searchsorted(of, np.arange(len(polygons)))
    at = np.arange(len(xy))
    # corners 1 .. n-2 of each ring (its last repeats the first) begin a triangle with the corner after them
    starts = np.append(first[1:], len(xy))
    begins = (at > first[of]) & (at < starts[of] - 2)
    k = at[begins]
    return np.stack([xy[first[of[k]]], xy[k], xy[k + 1]], axis=1), of[k]


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
