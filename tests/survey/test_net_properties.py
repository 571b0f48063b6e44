"""What must hold for any net: order, turning, repeats, checks that add up, and no net that raises."""

from __future__ import annotations

import importlib.util
import math
import random
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from slabwright.survey import adjust, ellipse
from slabwright.survey.loci import Locus, gap, meet, tie
from slabwright.survey.net import (
    HeightDifference,
    Known,
    KnownHeight,
    Net,
    Pull,
    RightAngle,
    Rod,
    Side,
    SquareOff,
    Straight,
)
from slabwright.survey.result import Point
from slabwright.survey.traverse import Leg, traverse_closure

_spec = importlib.util.spec_from_file_location("survey_yard_p", Path(__file__).with_name("yard.py"))
yards = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(yards)
FT, also, yard = yards.FT, yards.also, yards.yard


def noisy(seed):
    rng = random.Random(seed)
    net = yard()
    return replace(
        net,
        pulls=tuple(replace(p, length=p.length + rng.gauss(0, 0.002)) for p in net.pulls),
        rods=tuple(replace(r, reading=r.reading + rng.gauss(0, 0.002)) for r in net.rods),
    )


@pytest.mark.parametrize("seed", range(8))
def test_order_of_the_notes_does_not_matter(seed):
    net = noisy(seed)
    rng = random.Random(seed)
    mixed = replace(
        net,
        pulls=tuple(
            Pull(p.b, p.a, p.length) if rng.random() < 0.5 else p
            for p in rng.sample(net.pulls, len(net.pulls))
        ),
        rods=tuple(rng.sample(net.rods, len(net.rods))),
    )
    one, two = adjust(net), adjust(mixed)
    for name, p in one.points.items():
        q = two.points[name]
        assert (q.x, q.y, q.sx, q.sy) == pytest.approx((p.x, p.y, p.sx, p.sy), abs=1e-9)
    for name, h in one.heights.items():
        assert two.heights[name].height == pytest.approx(h.height, abs=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_redundancy_numbers_add_up(seed):
    """The sum of all r is the degrees of freedom, each lies in 0..1, residuals are r times the slip."""
    got = adjust(noisy(seed), look_for_slips=False)
    plane = [r for r in got.readings if r.part not in ("rod", "difference", "height")]
    level = [r for r in got.readings if r.part in ("rod", "difference", "height")]
    assert sum(r.redundancy for r in plane) == pytest.approx(got.plane.dof, abs=1e-7)
    assert sum(r.redundancy for r in level) == pytest.approx(got.levels.dof, abs=1e-7)
    assert all(0.0 <= r.redundancy <= 1.0 for r in got.readings)
    assert got.plane.statistic == pytest.approx(sum((r.residual / r.sd) ** 2 for r in plane))


def test_a_slip_shows_in_its_own_residual_by_its_redundancy_number():
    net = noisy(3)
    rod = net.rods[5]
    before = next(r for r in adjust(net, look_for_slips=False).readings if r.name == rod.name)
    spoilt = replace(
        net, rods=tuple(replace(r, reading=r.reading + 0.05) if r is rod else r for r in net.rods)
    )
    after = next(r for r in adjust(spoilt, look_for_slips=False).readings if r.name == rod.name)
    assert after.residual - before.residual == pytest.approx(-0.05 * before.redundancy, abs=1e-9)


def test_a_repeat_halves_the_variance():
    """A reading taken twice weighs as one with sd / sqrt 2."""
    one = Net(rods=(Rod("S", "A", 1.0, sd=0.002), Rod("S", "B", 1.5, sd=0.002 / math.sqrt(2))))
    two = Net(rods=(Rod("S", "A", 1.0, sd=0.002), Rod("S", "B", 1.5, sd=0.002), Rod("S", "B", 1.5, sd=0.002)))
    a, b = adjust(one).heights["B"], adjust(two).heights["B"]
    assert (a.height, a.sd) == pytest.approx((b.height, b.sd))


def test_all_points_shift_with_given_places():
    """The same pulls in a frame of given places, turned and shifted: the same shape and ellipses."""
    net = noisy(1)
    base = adjust(net)
    turn, dx, dy = 0.7, 120.0, -40.0
    c, s = math.cos(turn), math.sin(turn)

    def moved(p):
        return dx + c * p.x - s * p.y, dy + s * p.x + c * p.y

    a, b = base.points["A"], base.points["B"]
    # Hold the first wall's ends: its own length then has no say, so it is left out of both nets.
    pulls = tuple(p for p in net.pulls if p.name != "tape A-B")
    here = replace(net, frame=None, pulls=pulls, knowns=(Known("A", a.x, a.y), Known("B", b.x, b.y)))
    there = replace(here, knowns=(Known("A", *moved(a)), Known("B", *moved(b))))
    one, two = adjust(here), adjust(there)
    for name, p in one.points.items():
        q = two.points[name]
        assert (q.x, q.y) == pytest.approx(moved(p), abs=1e-8)
        e, f = ellipse(p), ellipse(q)
        assert (f.a, f.b) == pytest.approx((e.a, e.b), abs=1e-9)
        if e.a > 1.05 * e.b:
            assert math.sin(f.azimuth - e.azimuth + turn) == pytest.approx(0.0, abs=1e-4)


def test_points_of_a_wall_measured_only_round_its_corner():
    """No pull along the first wall: the frame comes from the rest of the net."""
    net = yard()
    net = replace(net, pulls=tuple(p for p in net.pulls if p.name != "tape A-B"), square_offs=())
    got = adjust(also(net, sides=[Side("P2", "A", "B", "right")]))
    assert len(got.points) == 8
    assert yards.places_right(got)


def test_more_readings_never_make_a_point_less_sure():
    net = noisy(2)
    less = adjust(replace(net, square_offs=(), pulls=net.pulls[:-3]))
    more = adjust(net)
    for name, p in less.points.items():
        assert ellipse(more.points[name]).a <= ellipse(p).a + 1e-6


@given(
    sx=st.floats(1e-3, 1.0), sy=st.floats(1e-3, 1.0), rho=st.floats(-0.99, 0.99), turn=st.floats(0.0, math.pi)
)
@settings(max_examples=50, deadline=None)
def test_ellipse_holds_the_variance_in_every_direction(sx, sy, rho, turn):
    """Along its axes the variance is a^2 and b^2, their sum is sx^2 + sy^2, their product the determinant."""
    p = Point("P", 0, 0, sx, sy, rho * sx * sy, False)
    e = ellipse(p)
    assert e.a >= e.b >= 0.0
    assert 0.0 <= e.azimuth <= math.pi
    assert e.a**2 + e.b**2 == pytest.approx(sx**2 + sy**2)
    assert (e.a * e.b) ** 2 == pytest.approx((1 - rho**2) * (sx * sy) ** 2, abs=1e-12)
    ux, uy = math.sin(e.azimuth), math.cos(e.azimuth)
    along = ux**2 * sx**2 + 2 * ux * uy * p.sxy + uy**2 * sy**2
    assert along == pytest.approx(e.a**2, rel=1e-6)
    vx, vy = math.sin(turn), math.cos(turn)
    any_way = vx**2 * sx**2 + 2 * vx * vy * p.sxy + vy**2 * sy**2
    assert e.b**2 - 1e-12 <= any_way <= e.a**2 + 1e-12


@given(x=st.floats(-9, 9), y=st.floats(0.1, 9), c=st.floats(1, 12))
@settings(max_examples=60, deadline=None)
def test_tie_comes_back(x, y, c):
    got = tie(c, math.hypot(x, y), math.hypot(x - c, y))
    assert got == pytest.approx((x, y), abs=1e-6)


@given(st.lists(st.floats(-8, 8), min_size=6, max_size=6))
@settings(max_examples=60, deadline=None)
def test_where_loci_meet_is_on_both(v):
    p = Locus("circle", v[0], v[1], ("a",), abs(v[4]) + 0.2)
    for q in (
        Locus("circle", v[2], v[3], ("b",), abs(v[5]) + 0.2),
        Locus("line", v[2], v[3], ("b",), 0.0, math.cos(v[5]), math.sin(v[5])),
    ):
        places, strength = meet(p, q)
        assert 0.0 <= strength <= 1.0 + 1e-9
        for at in places:
            assert p.miss(at) < 0.05
            assert q.miss(at) < 0.05
        if not places and q.kind == "circle":
            assert gap(p, q) > 0.0 or math.hypot(q.x - p.x, q.y - p.y) < 1e-6


NAMES = st.sampled_from(["A", "B", "C", "P", "Q", "p", " "])
METRES = st.one_of(
    st.floats(-3, 20), st.sampled_from([0.0, 1.0, 3.0, 4.0, 5.0, 1e-9, 1e6, math.nan, math.inf])
)
READINGS = {
    "pulls": st.builds(Pull, NAMES, NAMES, METRES),
    "square_offs": st.builds(SquareOff, NAMES, NAMES, NAMES, METRES, METRES),
    "right_angles": st.builds(RightAngle, NAMES, NAMES, NAMES),
    "straights": st.builds(Straight, st.lists(NAMES, max_size=4).map(tuple)),
    "knowns": st.builds(Known, NAMES, METRES, METRES, sd=st.sampled_from([None, 0.01])),
    "sides": st.builds(Side, NAMES, NAMES, NAMES, st.sampled_from(["left", "right"])),
    "rods": st.builds(Rod, st.sampled_from(["S", "T"]), NAMES, METRES),
    "known_heights": st.builds(KnownHeight, NAMES, METRES, sd=st.sampled_from([None, 0.01])),
    "height_differences": st.builds(HeightDifference, NAMES, NAMES, METRES),
}
ANY_NET = st.builds(
    Net,
    frame=st.sampled_from([None, ("A", "B"), ("A", "A"), ("A", "C")]),
    house=st.sampled_from([(), ("A", "B", "C")]),
    datum=st.sampled_from(["", "A", "nowhere"]),
    **{key: st.lists(reading, max_size=7).map(tuple) for key, reading in READINGS.items()},
)


@given(ANY_NET)
@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_no_net_raises(net):
    """Whatever is written: findings with words, finite places, nothing determined and loose at once."""
    got = adjust(net)
    for finding in got.findings:
        assert finding.text().what
        assert finding.text(lang="es").what
    for p in got.points.values():
        assert all(math.isfinite(v) for v in (p.x, p.y, p.sx, p.sy, p.sxy))
    for h in got.heights.values():
        assert math.isfinite(h.height)
        assert math.isfinite(h.sd)
    assert not set(got.points) & {one.name for one in got.loose if one.where == "plan"}
    assert not set(got.heights) & {one.name for one in got.loose if one.where == "height"}


def test_traverse_refuses_what_is_none():
    with pytest.raises(ValueError, match="three legs"):
        traverse_closure([Leg(0.0, 1.0), Leg(1.0, 1.0)])
    with pytest.raises(ValueError, match="leg 2"):
        traverse_closure([Leg(0.0, 1.0), Leg(1.0, 0.0), Leg(2.0, 1.0)])


def test_traverse_that_closes():
    """A square of 10 m: closes to rounding, area 100 m2."""
    got = traverse_closure([Leg(k * math.pi / 2, 10.0) for k in range(4)])
    assert got.miss < 1e-12
    assert got.area == pytest.approx(100.0)
    assert got.ratio > 1e12
