"""Exact prism volumes against closed forms, fine grids and identities."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.ground.shots import surface_from
from slabwright.ground.surface import ground_height
from slabwright.ground.volume import Volumes, convex, split_prisms, volumes_between

SQUARE = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]
LEVEL = (0.0, 0.0, 0.0)


def flat(height):
    return surface_from(
        {"a": (-9, -9, height), "b": (30, -9, height), "c": (30, 30, height), "d": (-9, 30, height)}
    )[0]


def rough(seed, count=15, side=10.0):
    rng = np.random.default_rng(seed)
    xyz = np.column_stack([rng.uniform(0, side, (count, 2)), rng.normal(0, 0.3, count)])
    return surface_from({f"G{k}": tuple(map(float, row)) for k, row in enumerate(xyz)})[0]


def by_grid(ring, plane, surface, offset, cell=0.01):
    """Cut and fill from a fine grid of columns."""
    ring = shapely.polygons(ring)
    x0, y0, x1, y1 = shapely.bounds(ring)
    xs, ys = np.meshgrid(np.arange(x0 + cell / 2, x1, cell), np.arange(y0 + cell / 2, y1, cell))
    shapely.prepare(ring)
    inside = shapely.contains_xy(ring, xs, ys)
    at = np.column_stack([xs[inside], ys[inside]])
    depth = ground_height(surface, at) - (at @ plane[:2] + plane[2] - offset)
    return depth[depth > 0].sum() * cell**2, -depth[depth < 0].sum() * cell**2, depth.min(), depth.max()


class TestClosedForms:
    def test_level_over_level(self):
        assert volumes_between(SQUARE, [(SQUARE, LEVEL)], flat(0.1), 0.2) == pytest.approx(
            (16 * 0.3, 0, 0.3, 0.3)
        )
        assert volumes_between(SQUARE, [(SQUARE, LEVEL)], flat(-0.5), 0.2) == pytest.approx(
            (0, 16 * 0.3, -0.3, -0.3)
        )

    def test_a_plane_through_the_ground_along_the_middle(self):
        # wedges of height 0.2 over half the square, one cut and one fill
        got = volumes_between(None, [(SQUARE, (0.1, 0.0, -0.2))], flat(0.0), 0.0)
        assert got == pytest.approx((16 * 0.05, 16 * 0.05, -0.2, 0.2))

    def test_a_pyramid_of_ground(self):
        shots = {"a": (0, 0, 0), "b": (4, 0, 0), "c": (4, 4, 0), "d": (0, 4, 0), "top": (2, 2, 1.5)}
        assert volumes_between(SQUARE, [(SQUARE, LEVEL)], surface_from(shots)[0], 0.0) == pytest.approx(
            (16 * 1.5 / 3, 0, 0, 1.5)
        )
        # cut off at half its height an eighth of it stays above
        got = volumes_between(SQUARE, [(SQUARE, (0.0, 0.0, 0.75))], surface_from(shots)[0], 0.0)
        assert got.cut == pytest.approx(1.0)
        assert got.fill == pytest.approx(0.75 * 16 - 7.0)

    def test_beyond_the_shots_the_ground_goes_on_level(self):
        shots = {"a": (0, 0, 0), "b": (4, 0, 0.4), "c": (4, 4, 0.4), "d": (0, 4, 0)}
        past = [(4.0, 0.0), (6.0, 0.0), (6.0, 4.0), (4.0, 4.0)]
        got = volumes_between(past, [(past, LEVEL)], surface_from(shots)[0], 0.0)
        assert got == pytest.approx((8 * 0.4, 0, 0.4, 0.4))

    def test_nothing_to_do(self):
        assert volumes_between(SQUARE, [], flat(0), 0) == Volumes(0, 0, 0, 0)
        away = [(x + 100, y) for x, y in SQUARE]
        assert volumes_between(away, [(SQUARE, LEVEL)], flat(0.3), 0) == Volumes(0, 0, 0, 0)
        sliver = [(0.0, 0.0), (4.0, 0.0), (2.0, 0.0)]
        assert volumes_between(None, [(sliver, LEVEL)], flat(0.3), 0) == Volumes(0, 0, 0, 0)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.1, 50), st.floats(-1, 1), st.floats(-1, 1), st.floats(-1, 1))
def test_split_prisms_against_a_clip(area, one, two, three):
    """The part above zero, by clipping the triangle itself along the zero line."""
    got = split_prisms(np.array([area]), np.array([[one, two, three]]))
    assert got[0] - got[1] == pytest.approx(area * (one + two + three) / 3, abs=1e-12 * area)
    xy = np.array([(0.0, 0.0), (2 * area, 0.0), (0.0, 1.0)])
    depth, above = np.array([one, two, three]), []
    for k in range(3):
        a, b = depth[k], depth[(k + 1) % 3]
        if a >= 0:
            above.append((*xy[k], a))
        if a > 0 > b or a < 0 < b:
            above.append((*(xy[k] + a / (a - b) * (xy[(k + 1) % 3] - xy[k])), 0.0))
    volume = 0.0
    for p, q in pairwise(above[1:]):
        u, v = np.subtract(p, above[0]), np.subtract(q, above[0])
        volume += abs(u[0] * v[1] - u[1] * v[0]) / 2 * (above[0][2] + p[2] + q[2]) / 3
    assert got[0] == pytest.approx(volume, rel=1e-9, abs=1e-12 * area)


@pytest.mark.parametrize("seed", range(4))
def test_random_ground_against_a_fine_grid(seed):
    surface, plane = rough(seed), (0.02, -0.03, 0.1)
    ring = [(1.0, 1.0), (8.0, 0.5), (12.0, 4.0), (6.0, 4.5), (5.5, 9.0), (1.5, 7.0)]
    got = volumes_between(ring, [(ring, plane)], surface, 0.15)
    cut, fill, low, high = by_grid(ring, plane, surface, 0.15)
    # the grid's edge cells err by about half a cell along the outline
    assert got.cut == pytest.approx(cut, rel=2e-3)
    assert got.fill == pytest.approx(fill, rel=2e-3)
    assert got.depth_min <= low + 1e-9
    assert got.depth_max >= high - 1e-9
    assert got.depth_min == pytest.approx(low, abs=0.02)
    assert got.depth_max == pytest.approx(high, abs=0.02)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.floats(-0.3, 0.3), st.floats(0.5, 9.5))
def test_identities(seed, offset, where):
    surface, plane = rough(seed), (0.01, 0.02, 0.0)
    ring = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    whole = volumes_between(ring, [(ring, plane)], surface, offset)
    # cut less fill is the plain integral, so lowering the plane by h adds h times the area
    lower = volumes_between(ring, [(ring, plane)], surface, offset + 0.1)
    assert lower.cut - lower.fill == pytest.approx(whole.cut - whole.fill + 10.0, abs=1e-9)
    assert lower.cut >= whole.cut
    # parts sum to the whole, whether the ring or the facets are split
    left = [(0.0, 0.0), (where, 0.0), (where, 10.0), (0.0, 10.0)]
    right = [(where, 0.0), (10.0, 0.0), (10.0, 10.0), (where, 10.0)]
    parts = [volumes_between(part, [(ring, plane)], surface, offset) for part in (left, right)]
    assert np.add(*parts)[:2] == pytest.approx(whole[:2], abs=1e-9)
    both = volumes_between(ring, [(left, plane), (right[::-1], plane)], surface, offset)
    assert both == pytest.approx(whole, abs=1e-9)


def test_far_from_the_origin():
    shift = np.array([300_000.0, 4_000_000.0])
    near, plane = rough(3), (0.02, -0.03, 0.1)
    moved = surface_from(
        {f"G{k}": (x + shift[0], y + shift[1], z) for k, (x, y, z) in enumerate(near.points.tolist())}
    )[0]
    ring = [(1.0, 1.0), (8.0, 0.5), (6.0, 9.0)]
    far_ring = [tuple(np.add(p, shift)) for p in ring]
    far_plane = (*plane[:2], plane[2] - np.dot(plane[:2], shift))
    got = volumes_between(far_ring, [(far_ring, far_plane)], moved, 0.1)
    assert got == pytest.approx(volumes_between(ring, [(ring, plane)], near, 0.1), abs=1e-5)


@pytest.mark.parametrize(
    "ring",
    [
        SQUARE,
        SQUARE[::-1],
        [(0, 0), (3, 0), (3, 1), (1, 1), (1, 3), (0, 3)],
        [(0, 0), (1, 0), (2, 0), (2, 2), (0, 2)],
        [(2 * np.cos(t), np.sin(t)) for t in np.linspace(0, 6, 25)],
        [(0, 0), (4, 0), (2, 0.5), (4, 1), (0, 1)],
    ],
)
def test_rings_are_cut_into_triangles_that_cover_them(ring):
    pieces, owner = convex([SQUARE, ring])
    areas = [shapely.area(shapely.polygons(t)) for t in pieces]
    mine = [a for a, k in zip(areas, owner, strict=True) if k == 1]
    assert sum(mine) == pytest.approx(shapely.area(shapely.polygons(ring)))
    whole = shapely.union_all(shapely.polygons(pieces[owner == 1]))
    assert whole.symmetric_difference(shapely.polygons(ring)).area < 1e-9
