"""Heights of the ground inside and beyond its shots."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.ground.shots import surface_from
from slabwright.ground.surface import (
    beyond,
    distance_to_hull,
    grid_heights,
    ground_height,
    outside_hull,
    planes,
    skirted,
)
from slabwright.ground.triangulate import doubled_areas


def shots_of(xyz):
    return {f"G{k}": tuple(map(float, row)) for k, row in enumerate(xyz)}


def random_surface(seed, count):
    rng = np.random.default_rng(seed)
    xy = rng.uniform(0, 20, (count, 2))
    return surface_from(shots_of(np.column_stack([xy, rng.normal(0, 0.3, count)])))[0]


def nearest_on_hull(surface, place):
    """The nearest point of the outline, by trying every side."""
    hull = np.array(surface.hull)
    best = (np.inf, None)
    for p, q in zip(hull, np.roll(hull, -1, axis=0), strict=True):
        t = np.clip((place - p) @ (q - p) / ((q - p) @ (q - p)), 0, 1)
        at = p + t * (q - p)
        best = min(best, (float(np.hypot(*(place - at))), tuple(at)))
    return best


@settings(max_examples=40, deadline=None)
@given(
    st.floats(-0.2, 0.2), st.floats(-0.2, 0.2), st.floats(-5, 5), st.integers(0, 10_000), st.integers(4, 30)
)
def test_a_plane_comes_back_as_itself(a, b, c, seed, count):
    xy = np.random.default_rng(seed).uniform(-10, 30, (count, 2))
    surface, _ = surface_from(shots_of(np.column_stack([xy, xy @ (a, b) + c])))
    mix = np.random.default_rng(seed + 1).dirichlet(np.ones(count), 50)
    inside = mix @ xy
    assert ground_height(surface, inside) == pytest.approx(inside @ (a, b) + c, abs=1e-9)
    assert not outside_hull(surface, inside).any()


def test_shots_are_met_exactly():
    surface = random_surface(1, 25)
    assert ground_height(surface, surface.points[:, :2]) == pytest.approx(surface.points[:, 2], abs=1e-12)


@pytest.mark.parametrize("seed", range(8))
def test_beyond_the_shots_the_nearest_height_goes_on(seed):
    surface = random_surface(seed, 12)
    places = np.random.default_rng(seed).uniform(-15, 35, (200, 2))
    out = outside_hull(surface, places)
    assert out.any()
    assert not out.all()
    for place in places[out]:
        far, at = nearest_on_hull(surface, place)
        assert distance_to_hull(surface, [place])[0] == pytest.approx(far)
        assert ground_height(surface, [place])[0] == pytest.approx(ground_height(surface, [at])[0], abs=1e-7)


@pytest.mark.parametrize("count", [3, 12, 900])
def test_every_way_of_asking_gives_one_answer(count):
    surface = random_surface(7, count)
    xs, ys = np.linspace(-4, 26, 121), np.linspace(-3, 22, 77)
    places = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    many = ground_height(surface, places)
    assert grid_heights(surface, xs, ys).ravel() == pytest.approx(many, abs=1e-9)
    # a few at a time take the other way of finding their triangle
    few = np.concatenate([ground_height(surface, some) for some in np.array_split(places, 1000)])
    assert few == pytest.approx(many, abs=1e-9)


def test_the_skirt_covers_once_without_overlap():
    surface = random_surface(4, 9)
    low, high = np.array([-30.0, -30.0]), np.array([50.0, 50.0])
    points, triangles = skirted(surface, low, high)
    doubled = doubled_areas(points[:, :2], triangles)
    assert (doubled > 0).all()
    at = np.random.default_rng(0).uniform(-30, 50, (400, 2))
    corners = points[triangles][:, :, :2]
    p, q = corners, np.roll(corners, -1, axis=1)
    d = q - p
    left = d[..., 0] * (at[:, None, None, 1] - p[..., 1]) - d[..., 1] * (at[:, None, None, 0] - p[..., 0])
    assert (left > 0).all(axis=2).sum(axis=1).tolist() == [1] * len(at)


def test_planes_pass_through_their_corners():
    surface = random_surface(2, 20)
    p = planes(surface.points, surface.triangles)
    for k in range(3):
        x, y, z = surface.points[surface.triangles[:, k]].T
        assert p[:, 0] * x + p[:, 1] * y + p[:, 2] == pytest.approx(z, abs=1e-9)


def test_beyond_measures_to_the_farthest_corner():
    surface, _ = surface_from(shots_of([(0, 0, 0), (10, 0, 0), (10, 10, 0), (0, 10, 0)]))
    assert beyond(surface, [(1, 1), (9, 1), (9, 9)]) == 0.0
    assert beyond(surface, [(1, 1), (13, 1), (13, 14)]) == pytest.approx(5.0)
    assert beyond(surface, [(5, -2.5), (6, 5), (5, 5)]) == pytest.approx(2.5)


def test_a_break_line_shapes_the_ground():
    # the top of a bank runs along x = 5; without it the diagonal would cut the corner of the bank
    bank = {
        "a": (0.0, 0.0, 1.0), "b": (5.0, 1.0, 1.0), "c": (5.0, 9.0, 1.0), "d": (0.0, 10.0, 1.0),
        "e": (6.0, 5.0, 0.0), "f": (4.0, 5.0, 1.0), "g": (6.0, 0.0, 0.0), "h": (6.0, 10.0, 0.0),
    }  # fmt: skip
    plain, _ = surface_from(bank)
    broken, findings = surface_from(bank, [("b", "c")])
    assert ground_height(plain, [(4.9, 5.0)])[0] < 0.99
    assert ground_height(broken, [(4.9, 5.0)])[0] == pytest.approx(1.0)
    assert [f.code for f in findings] == []


class TestFewShots:
    def test_none(self):
        surface, findings = surface_from({})
        assert surface is None
        assert [f.code for f in findings] == ["no-shots"]

    def test_one_is_level(self):
        surface, findings = surface_from({"G1": (3.0, 4.0, 1.25)})
        assert [f.code for f in findings] == ["few-shots"]
        assert ground_height(surface, [(3, 4), (0, 0), (50, -20)]) == pytest.approx(1.25)
        assert beyond(surface, [(3, 4), (6, 8), (3, 8)]) == pytest.approx(5.0)

    def test_two_fall_along_their_line_only(self):
        surface, findings = surface_from({"G1": (0.0, 0.0, 1.0), "G2": (10.0, 0.0, 0.0)})
        assert [f.code for f in findings] == ["few-shots"]
        places = [(5, 0), (5, 30), (5, -30), (2.5, 7), (-8, 3), (40, -9)]
        assert ground_height(surface, places) == pytest.approx([0.5, 0.5, 0.5, 0.75, 1.0, 0.0])
        assert outside_hull(surface, [(5, 0), (5, 0.5)]).tolist() == [False, True]

    def test_more_in_a_slanted_line(self):
        line = {f"G{k}": (float(k), 2.0 * k, h) for k, h in [(2, 0.4), (0, 0.0), (1, 1.0), (3, 0.6)]}
        surface, _ = surface_from(line)
        for x, y, h in line.values():
            assert ground_height(surface, [(x, y), (x - 2, y + 1)]) == pytest.approx([h, h])


class TestOddShots:
    def lot(self, lumps=0.01, seed=0):
        rng = np.random.default_rng(seed)
        xy = np.array([(x, y) for y in range(0, 13, 4) for x in range(0, 21, 5)], dtype=float)
        xy += rng.uniform(-0.8, 0.8, xy.shape)
        return np.column_stack([xy, xy @ (0.02, -0.03) + rng.normal(0, lumps, len(xy))])

    @pytest.mark.parametrize("seed", range(5))
    def test_a_shot_a_foot_off_is_named_alone(self, seed):
        for k in range(20):
            xyz = self.lot(seed=seed)
            xyz[k, 2] += 0.3048 if k % 2 else -0.3048
            _, findings = surface_from(shots_of(xyz))
            assert [(f.code, f.where) for f in findings] == [("shot-off", f"G{k}")]
            assert findings[0].values["off"].si == pytest.approx(0.3048, abs=0.05)

    @pytest.mark.parametrize("seed", range(20))
    def test_lumpy_ground_is_let_be(self, seed):
        assert surface_from(shots_of(self.lot(lumps=0.04, seed=seed)))[1] == ()

    def test_a_real_bank_is_let_be(self):
        xyz = self.lot()
        xyz[xyz[:, 1] > 6, 2] += 1.2
        assert surface_from(shots_of(xyz))[1] == ()

    def test_two_slips_are_both_named(self):
        xyz = self.lot()
        xyz[0, 2] += 0.3048
        xyz[19, 2] -= 0.3048
        assert {f.where for f in surface_from(shots_of(xyz))[1]} == {"G0", "G19"}

    def test_shots_of_one_place(self):
        shots = {
            "a": (0.0, 0.0, 1.0),
            "b": (5.0, 0.0, 1.0),
            "c": (0.0, 5.0, 1.0),
            "c again": (0.0, 5.001, 1.1),
        }
        surface, findings = surface_from(shots)
        assert [(f.code, f.where) for f in findings] == [("same-place", "c, c again")]
        assert ground_height(surface, [(0, 5)])[0] == pytest.approx(1.05)

    def test_break_line_through_nowhere(self):
        shots = shots_of([(0, 0, 0), (5, 0, 0), (0, 5, 0), (5, 5, 0)])
        _, findings = surface_from(shots, [("G0", "gone", "G3"), ("G1", "G2")])
        assert [(f.code, f.values.get("shot")) for f in findings] == [
            ("break-line-gap", "gone"),
            ("break-lines-cross", None),
        ]
