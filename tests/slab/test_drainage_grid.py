"""Water on rasters."""

from __future__ import annotations

import heapq

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.slab.drainage.grid import AROUND, OUT, arrivals, d8, d_infinity, flood


def rim_of(z):
    out = np.ones(z.shape, dtype=bool)
    out[1:-1, 1:-1] = False
    return out


def cell_by_cell(z, opened):
    """Priority-flood, one cell at a time."""
    level, done = np.full(z.shape, np.nan), np.isnan(z)
    heap = [(z[j, i], j, i) for j, i in np.argwhere(opened & ~done).tolist()]
    heapq.heapify(heap)
    while heap:
        height, j, i = heapq.heappop(heap)
        if done[j, i]:
            continue
        done[j, i], level[j, i] = True, height
        for dj, di in AROUND:
            a, b = j + dj, i + di
            if 0 <= a < z.shape[0] and 0 <= b < z.shape[1] and not done[a, b]:
                heapq.heappush(heap, (max(height, z[a, b]), a, b))
    return level


@settings(max_examples=120, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    ny=st.integers(3, 12),
    nx=st.integers(3, 12),
    steps=st.sampled_from([2, 5, 1000]),
    houses=st.booleans(),
    inlets=st.integers(0, 2),
)
def test_levels_are_those_of_the_cell_by_cell_flood(seed, ny, nx, steps, houses, inlets):
    rng = np.random.default_rng(seed)
    z = rng.integers(0, steps, (ny, nx)).astype(float)
    if houses:
        z[rng.random(z.shape) < 0.15] = np.nan
    opened = rim_of(z)
    for _ in range(inlets):
        opened[rng.integers(ny), rng.integers(nx)] = True
    got = flood(z, 1.0, opened)
    want = cell_by_cell(z, opened)
    reached = ~np.isnan(want)
    assert np.array_equal(got.level[reached], want[reached])
    # every cell's water leaves, from a catchment that has an open cell
    total = arrivals(got.onward, reached.ravel().astype(float))
    leaving = reached.ravel() & (got.onward == OUT)
    assert total[leaving].sum() == reached.sum()
    assert set(np.flatnonzero(leaving)) <= set(got.low[opened.ravel()])
    # cells of one pond stand under one level, dry cells under none
    for pond in np.unique(got.pond):
        level = got.level[got.pond == pond]
        if pond >= 0:
            assert np.ptp(level) == 0
        else:
            assert np.array_equal(
                level[reached[got.pond == pond]], z[got.pond == pond][reached[got.pond == pond]]
            )


def test_two_pools_that_join_are_one_pond():
    z = np.full((5, 9), 5.0)
    z[1:4, 1:8] = 3.0
    z[2, 2], z[2, 6] = 1.0, 0.0
    got = flood(z, 1.0, rim_of(z))
    assert len(np.unique(got.pond[got.pond >= 0])) == 1
    # a wall between them that stands above the way out keeps them apart
    z[:, 4], z[0, 1], z[0, 7] = 4.5, 3.5, 3.5
    got = flood(z, 1.0, rim_of(z))
    assert len(np.unique(got.pond[got.pond >= 0])) == 2


def test_an_inlet_empties_a_pond():
    z = np.full((5, 5), 5.0)
    z[1:4, 1:4], z[2, 2] = 3.0, 2.0
    opened = rim_of(z)
    assert (flood(z, 1.0, opened).pond >= 0).sum() == 9
    opened[2, 2] = True
    got = flood(z, 1.0, opened)
    assert (got.pond >= 0).sum() == 0
    assert arrivals(got.onward, np.ones(25))[12] >= 9


def test_a_house_holds_water_back():
    x, _ = np.meshgrid(np.arange(9.0), np.arange(7.0))
    z = 10 - x
    z[2:5, 4] = np.nan
    got = flood(z, 1.0, rim_of(z))
    assert np.nanmax(got.level - z) == 0.0  # it goes round
    z[:, 4] = np.nan
    z[[0, -1], 4] = 99.0  # walls all the way: it leaves by the sides instead
    assert np.isfinite(flood(z, 1.0, rim_of(z)).level[3, 3])


@settings(max_examples=40, deadline=None)
@given(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5), st.floats(0.01, 5))
def test_d_infinity_on_any_plane(a, b, cell):
    slope = np.hypot(a, b)
    if slope < 1e-6:
        return
    x, y = np.meshgrid(cell * np.arange(3.0), cell * np.arange(3.0))
    angle, got = d_infinity(a * x + b * y, cell)
    assert got[1, 1] == pytest.approx(slope, rel=1e-6)
    turn = (angle[1, 1] - np.arctan2(-b, -a) + np.pi) % (2 * np.pi) - np.pi
    assert turn == pytest.approx(0.0, abs=1e-6)


def test_d8_never_runs_uphill_or_into_a_house():
    z = np.random.default_rng(4).normal(size=(40, 50))
    z[10:14, 20:30] = np.nan
    to, slope = d8(z, 0.5)
    flat, target = z.ravel(), to.ravel()
    moved = target != np.arange(z.size)
    assert (flat[target[moved]] < flat[moved]).all()
    assert (slope.ravel()[moved] > 0).all()
    assert not np.isnan(flat[target[moved]]).any()
    assert np.isnan(d_infinity(z, 0.5)[0][11, 25])


def test_level_ground_is_no_pond():
    z = np.zeros((30, 40))
    got = flood(z, 1.0, rim_of(z))
    assert (got.pond == -1).all()
    assert arrivals(got.onward, np.ones(z.size))[got.onward == OUT].sum() == z.size


def test_arrivals_against_walking_every_path():
    rng = np.random.default_rng(8)
    z = rng.normal(size=(12, 15))
    onward = flood(z, 1.0, rim_of(z)).onward
    water = rng.random(z.size)
    want = np.zeros(z.size)
    for cell in range(z.size):
        at = cell
        while at != OUT:
            want[at] += water[cell]
            at = onward[at]
    assert arrivals(onward, water) == pytest.approx(want)
