"""Water on a raster of heights: steepest descent, what is filled before it spills, and what arrives where.

Depressions are found, measured and kept: the heights are never changed. The method is that of the flooded
watersheds: every cell runs down its steepest neighbour to a low cell; the low cells' catchments form a
small graph whose links are the lowest passes between them; flooding that graph from the open cells gives
the level at which each catchment spills (the same levels as the priority-flood of Barnes, Lehman and
Mulla 2014 gives cell by cell).

Rasters are (ny, nx) with rows rising in y; NaN is not part of the ground (a house) and holds water back.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from slabwright.ground.model import Floats

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

# steps (row, column) to the eight neighbours, counter-clockwise from east
AROUND = ((0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1), (-1, 0), (-1, 1))
FORWARD = ((0, 1), (1, 1), (1, 0), (1, -1))  # each pair of neighbours once
OUT = -1  # leaves the raster


@dataclass(frozen=True, slots=True)
class Flood:
    """What a raster of heights does with water.

    `low` (n,): the low cell that each cell runs to, by flat index. `level` (ny, nx) [m]: the height at
    which water standing on the cell would spill; the cell's own height where none stands. `onward` (n,):
    the next cell of each cell's path, low cells passing on over their lowest pass; OUT where it leaves.
    `pond` (ny, nx): number of the pond that a cell lies under, -1 for none.
    """

    low: Ints
    level: Floats
    onward: Ints
    pond: Ints


def d8(z: Floats, cell: float) -> tuple[Ints, Floats]:
    """Return each cell's steepest lower neighbour of eight and the slope to it (O'Callaghan, Mark 1984).

    :param z: heights (ny, nx) [m].
    :param cell: side of a cell [m].
    :return: flat index of the neighbour (ny, nx), the cell's own where none is lower; slope [-], 0 there.
    """
    ny, nx = z.shape
    walled = np.full((ny + 2, nx + 2), np.inf)
    walled[1:-1, 1:-1] = np.where(np.isnan(z), np.inf, z)
    own = np.arange(ny * nx).reshape(ny, nx)
    best, to = np.zeros((ny, nx)), own.copy()
    for dj, di in AROUND:
        with np.errstate(invalid="ignore"):  # beside a house: inf - inf
            fall = walled[1:-1, 1:-1] - walled[1 + dj : ny + 1 + dj, 1 + di : nx + 1 + di]
        fall /= cell * np.hypot(dj, di)
        steeper = fall > best
        np.copyto(best, fall, where=steeper)
        np.copyto(to, own + (dj * nx + di), where=steeper)
    outside = np.isnan(z)
    best[outside], to[outside] = 0.0, own[outside]
    return to, best


def d_infinity(z: Floats, cell: float) -> tuple[Floats, Floats]:
    """Return the direction of steepest descent on eight triangles round each cell (Tarboton 1997).

    :param z: heights (ny, nx) [m].
    :param cell: side of a cell [m].
    :return: angle counter-clockwise from +x [rad] in 0..2 pi, NaN where nothing is lower; slope [-].
    """
    ny, nx = z.shape
    walled = np.full((ny + 2, nx + 2), np.inf)
    walled[1:-1, 1:-1] = np.where(np.isnan(z), np.inf, z)
    centre = walled[1:-1, 1:-1]
    best, angle = np.zeros((ny, nx)), np.full((ny, nx), np.nan)

    def beside(k: int) -> Floats:
        dj, di = AROUND[k % 8]
        out: Floats = walled[1 + dj : ny + 1 + dj, 1 + di : nx + 1 + di]
        return out

    for k in range(8):
        # a triangle lies between a side neighbour (even k) and a corner neighbour (odd k)
        side, corner = (k, k + 1) if k % 2 == 0 else (k + 1, k)
        turn = 1.0 if k % 2 == 0 else -1.0
        near, far = beside(side), beside(corner)
        with np.errstate(invalid="ignore"):
            along, across = (centre - near) / cell, (near - far) / cell
            lean = np.arctan2(across, along)
            slope = np.hypot(along, across)
            slope, lean = (
                np.where(lean < 0, along, slope),
                np.where(lean < 0, 0.0, lean),
            )
            past = lean > np.pi / 4
            slope = np.where(past, (centre - far) / (cell * np.sqrt(2.0)), slope)
            lean = np.where(past, np.pi / 4, lean)
            steeper = np.isfinite(slope) & (slope > best)
        best = np.where(steeper, slope, best)
        angle = np.where(steeper, (side % 8) * np.pi / 4 + turn * lean, angle)
    outside = np.isnan(z)
    best[outside], angle[outside] = 0.0, np.nan
    return np.mod(angle, 2 * np.pi), best


def flood(z: Floats, cell: float, opened: Bools) -> Flood:
    """Return where water goes, where it stands, and at which level it spills.

    :param z: heights (ny, nx) [m], NaN where there is no ground.
    :param cell: side of a cell [m].
    :param opened: cells (ny, nx) that water can leave by: the raster's rim, inlets, drains.
    """
    to = _over_flats(z, d8(z, cell)[0])
    to[opened] = np.where(_is_inlet(opened)[opened], np.flatnonzero(opened), to[opened])
    low = _ends(to.ravel())
    roots, which = np.unique(low, return_inverse=True)
    links = _passes(z, which.reshape(z.shape), opened, len(roots))
    spill, onto = _spill(len(roots), links)
    flat = z.ravel()
    level = np.fmax(flat, spill[which]).reshape(z.shape)
    onward = to.ravel().copy()
    onward[roots] = onto
    return Flood(low, level, onward, _ponds(z, level, which, spill, links).reshape(z.shape))


def arrivals(onward: Ints, water: Floats) -> Floats:
    """Return the water that passes each cell when every cell sends all it has onward.

    :param onward: next cell of each (n,), OUT where it leaves, as `Flood.onward`.
    :param water: what each cell brings itself (n,), area or flow.
    """
    count = len(onward)
    steps, ahead = np.zeros(count + 1, dtype=np.int32), np.append(onward, count)
    ahead[ahead == OUT] = count
    ahead[:count][ahead[:count] == np.arange(count)] = count
    target = ahead.copy()
    steps[:count] = 1
    while (ahead[:count] != count).any():
        steps += steps[ahead]
        ahead = ahead[ahead]
    order = np.argsort(steps[:count], kind="stable")[::-1]
    bounds = (np.flatnonzero(np.diff(steps[order])) + 1).tolist()
    total, onto = np.append(water.astype(np.float64), 0.0), target[order]
    for k, end in pairwise([0, *bounds, count]):
        np.add.at(total, onto[k:end], total[order[k:end]])
    return total[:count]


def _is_inlet(opened: Bools) -> Bools:
    """Return the open cells that are not on the raster's rim."""
    inlet = opened.copy()
    inlet[[0, -1], :] = False
    inlet[:, [0, -1]] = False
    return inlet


def _over_flats(z: Floats, to: Ints) -> Ints:
    """Point level cells that have no lower neighbour at an equal one with a smaller index."""
    ny, nx = z.shape
    own = np.arange(ny * nx).reshape(ny, nx)
    for dj, di in ((-1, -1), (-1, 0), (-1, 1), (0, -1)):
        here = (slice(max(0, -dj), ny), slice(max(0, -di), nx - max(0, di)))
        there = (slice(0, ny + dj), slice(max(0, di), nx + min(0, di)))
        level = (z[here] == z[there]) & (to[here] == own[here])
        to[here] = np.where(level, own[there], to[here])
    return to


def _ends(to: Ints) -> Ints:
    """Return the cell at which each cell's path ends."""
    while True:
        after = to[to]
        if np.array_equal(after, to):
            return after
        to = after


@dataclass(frozen=True, slots=True)
class _Links:
    """Lowest passes between catchments: pairs (k, 2), height, and the cells on either side (k, 2)."""

    pair: Ints
    height: Floats
    cells: Ints


def _passes(z: Floats, which: Ints, opened: Bools, count: int) -> _Links:
    """Return the lowest pass between each two catchments that touch; `count` stands for outside."""
    ny, nx = z.shape
    own = np.arange(ny * nx).reshape(ny, nx)
    pairs, cells, heights = [], [], []
    for dj, di in FORWARD:
        here = (slice(0, ny - dj), slice(max(0, -di), nx - max(0, di)))
        there = (slice(dj, ny), slice(max(0, di), nx + min(0, di)))
        j, i = np.nonzero(which[here] != which[there])
        a, b = own[here][j, i], own[there][j, i]
        height = np.maximum(z.ravel()[a], z.ravel()[b])
        real = ~np.isnan(height)
        pairs.append(np.column_stack([which.ravel()[a], which.ravel()[b]])[real])
        cells.append(np.column_stack([a, b])[real])
        heights.append(height[real])
    gate = np.flatnonzero(opened & ~np.isnan(z))
    pairs.append(np.column_stack([which.ravel()[gate], np.full(len(gate), count)]))
    cells.append(np.column_stack([gate, np.full(len(gate), OUT)]))
    heights.append(z.ravel()[gate])
    pair, cell, height = np.concatenate(pairs), np.concatenate(cells), np.concatenate(heights)
    back = pair[:, 0] > pair[:, 1]
    pair[back], cell[back] = pair[back][:, ::-1], cell[back][:, ::-1]
    order = np.argsort(height, kind="stable")
    pair, cell, height = pair[order], cell[order], height[order]
    first = np.unique(pair[:, 0] * (count + 1) + pair[:, 1], return_index=True)[1]
    return _Links(pair[first], height[first], cell[first])


def _spill(count: int, links: _Links) -> tuple[Floats, Ints]:
    """Return each catchment's spill height [m] and the cell beyond its pass that it spills to."""
    beside: list[list[tuple[float, int, int]]] = [[] for _ in range(count + 1)]
    for (a, b), height, (p, q) in zip(
        links.pair.tolist(), links.height.tolist(), links.cells.tolist(), strict=True
    ):
        beside[a].append((height, b, p))
        beside[b].append((height, a, q))
    spill, onto = np.full(count, -np.inf), np.full(count, OUT, dtype=np.int64)
    done = [False] * (count + 1)
    heap: list[tuple[float, int, int]] = [(-np.inf, count, OUT)]
    while heap:
        level, here, beyond = heapq.heappop(heap)
        if done[here]:
            continue
        done[here] = True
        if here != count:
            spill[here], onto[here] = level, beyond
        for height, other, mine in beside[here]:
            if not done[other]:
                heapq.heappush(heap, (max(level, height), other, mine))
    return spill, onto


def _ponds(z: Floats, level: Floats, which: Ints, spill: Floats, links: _Links) -> Ints:
    """Return the pond that each cell lies under (n,), -1 for none; pools that join are one pond."""
    joined = list(range(len(spill)))

    def top(k: int) -> int:
        while joined[k] != k:
            joined[k] = joined[joined[k]]
            k = joined[k]
        return k

    inner = links.pair[:, 1] < len(spill)
    pair, height = links.pair[inner], links.height[inner]
    under = height < np.minimum(spill[pair[:, 0]], spill[pair[:, 1]])
    for a, b in pair[under].tolist():
        joined[top(a)] = top(b)
    tops = _ends(np.array(joined, dtype=np.int64))
    wet = (level > z).ravel()
    return np.where(wet, tops[which.ravel()], -1)
