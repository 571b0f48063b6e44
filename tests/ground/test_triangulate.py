"""Triangles that keep their break lines."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.ground.triangulate import doubled_areas, triangulate


def edges_of(triangles):
    return {tuple(sorted((int(t[k]), int(t[k - 1])))) for t in triangles for k in range(3)}


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), count=st.integers(4, 40), wanted=st.integers(1, 8))
def test_random_points_and_break_lines(seed, count, wanted):
    rng = np.random.default_rng(seed)
    xy = rng.uniform(-20, 20, (count, 2))
    edges = [tuple(rng.integers(0, count, 2).tolist()) for _ in range(wanted)]
    triangles, left_out = triangulate(xy, edges)
    doubled = doubled_areas(xy, triangles)
    hull = shapely.convex_hull(shapely.multipoints(xy)).area
    assert (doubled > 0).all()
    assert doubled.sum() / 2 == pytest.approx(hull, rel=1e-9)
    assert len(triangles) == len(triangulate(xy)[0])
    have = edges_of(triangles)
    for edge in edges:
        kept = edge not in left_out
        assert edge[0] == edge[1] or kept == (tuple(sorted(edge)) in have)
    lines = [shapely.linestrings(xy[list(e)]) for e in dict.fromkeys(map(frozenset, edges)) if len(e) == 2]
    if not any(a.crosses(b) for i, a in enumerate(lines) for b in lines[:i]):
        assert left_out == []


def test_without_break_lines_no_point_lies_in_a_circle():
    xy = np.random.default_rng(3).uniform(0, 10, (30, 2))
    triangles, _ = triangulate(xy)
    for t in triangles:
        a, b, c = xy[t]
        u, v = b - a, c - a
        d = 2 * (u[0] * v[1] - u[1] * v[0])
        centre = a + np.array([v[1] * (u @ u) - u[1] * (v @ v), u[0] * (v @ v) - v[0] * (u @ u)]) / d
        assert np.hypot(*(xy - centre).T).min() >= np.hypot(*(a - centre)) - 1e-9


def test_a_break_line_through_points_on_its_way_is_kept_in_pieces():
    grid = np.array([(x, y) for y in range(5) for x in range(5)], dtype=float)
    triangles, left_out = triangulate(grid, [(0, 24), (4, 20)])
    assert left_out == []
    assert {(0, 6), (6, 12), (12, 18), (18, 24), (4, 8), (8, 12), (12, 16), (16, 20)} <= edges_of(triangles)


def test_the_later_of_two_crossing_lines_is_left_out():
    square = np.array([(0, 0), (4, 0.1), (4.2, 4), (0, 4)], dtype=float)
    triangles, left_out = triangulate(square, [(0, 2), (1, 3)])
    assert left_out == [(1, 3)]
    assert (0, 2) in edges_of(triangles)
    assert (1, 3) not in edges_of(triangles)


@pytest.mark.parametrize("xy", [[(0, 0)], [(0, 0), (1, 1)], [(0, 0), (1, 1), (2, 2), (5, 5)]])
def test_points_in_one_line_make_no_triangles(xy):
    triangles, left_out = triangulate(np.array(xy, dtype=float))
    assert triangles.shape == (0, 3)
    assert left_out == []


def test_far_from_the_origin():
    xy = np.random.default_rng(5).uniform(0, 30, (40, 2))
    near, _ = triangulate(xy, [(0, 1)])
    far, _ = triangulate(xy + np.array([250_000.0, 4_500_000.0]), [(0, 1)])
    assert doubled_areas(xy, near).sum() == pytest.approx(doubled_areas(xy, far).sum(), rel=1e-9)
