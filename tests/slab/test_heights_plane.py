"""Finished heights that have a closed form: planes between fixed heights, and how they move with the site."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.slab import heights_cases as c

from slabwright.ground.model import DoorAt, Wall

L = 10.0


def walk_between(drop: float, *, turn: float = 0.0, at=(0.0, 0.0), up: float = 0.0, surface=None, **fall):
    """A walk of 7 panels from 'old' to 'gate', both falling 1:48 to the right, `drop` lower at the gate."""
    o, j = c.ribbon(L, 3 * c.FT, 7, ends=("old", "gate"), at=at, turn=turn)

    def put(u, v):
        return (
            at[0] + math.cos(turn) * u - math.sin(turn) * v,
            at[1] + math.sin(turn) * u + math.cos(turn) * v,
        )

    ends = [
        c.existing("old", put(0, -1), put(0, 1), up - 1 / 48, up + 1 / 48),
        c.existing("gate", put(L, -1), put(L, 1), up - drop - 1 / 48, up - drop + 1 / 48),
    ]
    spec = c.spec(meets=(c.Meets(existing="old"), c.Meets(existing="gate")), fall=c.fall(**fall))
    plan = c.plan_exactly([(spec, o, j)], {}, {}, c.ground(slabs=ends, surface=surface))[0]
    return plan, put


@pytest.mark.parametrize("drop", [-0.5, -0.1, 0.0, 0.2, 0.4999])
def test_a_walk_between_two_fixed_ends_is_one_plane(drop):
    plan, _ = walk_between(drop)
    assert plan.feasible
    for n in plan.nodes:
        assert n.z == pytest.approx(-drop * n.x / L + n.y / 48, abs=1e-9)
    assert plan.across == pytest.approx((1 / 48, 1 / 48), abs=1e-9)
    assert plan.along == pytest.approx((drop / L, drop / L), abs=1e-9)
    assert plan.total == pytest.approx((math.hypot(drop / L, 1 / 48),) * 2, abs=1e-9)


@pytest.mark.parametrize("turn", [0.3, 1.9, math.pi, -2.5])
def test_turning_and_moving_the_site_moves_nothing_else(turn):
    base, _ = walk_between(0.3)
    at = (5321.0, -8440.0)
    plan, put = walk_between(0.3, turn=turn, at=at, up=2.0)
    assert [n.label for n in plan.nodes] == [n.label for n in base.nodes]
    for n, b in zip(plan.nodes, base.nodes, strict=True):
        assert (n.x, n.y) == pytest.approx(put(b.x, b.y), abs=1e-8)
        assert n.z == pytest.approx(b.z + 2.0, abs=1e-7)


def test_the_crew_s_fall_holds_away_from_level_ends():
    o, j = c.ribbon(L, 3 * c.FT, 7, ends=("old", "gate"))
    ends = [c.existing("old", (0, -1), (0, 1), 0.0, 0.0), c.existing("gate", (L, -1), (L, 1), -0.1, -0.1)]
    spec = c.spec(
        meets=(c.Meets(existing="old"), c.Meets(existing="gate")), fall=c.fall(across=0.02, across_given=True)
    )
    plan = c.plan_exactly([(spec, o, j)], {}, {}, c.ground(slabs=ends))[0]
    assert plan.feasible
    z = {(round(n.x, 3), round(n.y, 3)): n.z for n in plan.nodes}
    h = round(1.5 * c.FT, 3)
    for k in range(8):
        x = round(k * L / 7, 3)
        across = (z[x, h] - z[x, -h]) / (3 * c.FT)
        wanted = 0.0 if k in (0, 7) else 0.02
        assert across == pytest.approx(wanted, abs=0.001 + 1e-9)  # 'given-give'


def test_a_patio_at_a_door_falls_straight_away_from_the_wall():
    o, j = c.pad(
        6, 4, 4, 3, at=(0, -4), kinds=(("free", None), ("free", None), ("wall", "A-B"), ("free", None))
    )
    g = c.ground(
        walls=[Wall("A-B", (0, 0), (6, 0))], doors=[DoorAt("back", "A-B", (2, 0), (3, 0), 0.3, "sill")]
    )
    spec = c.spec("patio", use="patio", fall=c.fall(toward=None, across=0.02), meets=(c.Meets(door="back"),))
    plan = c.plan_exactly([(spec, o, j)], {}, {}, g)[0]
    assert plan.feasible
    top = 0.3 - 1.5 * c.INCH
    for n in plan.nodes:
        assert n.z == pytest.approx(top + 0.02 * n.y, abs=1e-9)
    assert plan.findings == ()


@pytest.mark.parametrize("down_in", [0.5, 1.5, 4.0])
def test_the_height_at_a_door_is_what_was_written(down_in):
    o, j = c.pad(
        6, 2, 3, 1, at=(0, -2), kinds=(("free", None), ("free", None), ("wall", "A-B"), ("free", None))
    )
    g = c.ground(
        walls=[Wall("A-B", (0, 0), (6, 0))], doors=[DoorAt("back", "A-B", (2.2, 0), (3.1, 0), 1.0, "sill")]
    )
    meets = (c.Meets(door="back", down=f"{down_in} in"),)
    spec = c.spec("landing", use="landing", fall=c.fall(toward=None, across=0.02), meets=meets)
    plan = c.plan_exactly([(spec, o, j)], {}, {}, g)[0]
    wall = [n for n in plan.nodes if n.y == pytest.approx(0) and 2 <= n.x <= 4]
    assert wall
    for n in wall:
        assert n.z == pytest.approx(1.0 - down_in * c.INCH, abs=1e-9)
    codes = {f.code for f in plan.findings}
    assert ("sill-close" in codes) == (down_in < 1.5)
    assert ("sill-drop-most" in codes) == (down_in > 1.5)


def test_three_fixed_heights_make_the_plane_through_them():
    o, j = c.pad(3, 3, 1, 1)
    points = {"P": (0.0, 0.0), "Q": (3.0, 0.0), "R": (0.0, 3.0)}
    shot = {"bench": 10.0}
    fixes = tuple(
        c.Fix(at=k, below="bench", by=f"{by} m") for k, by in (("P", 0.02), ("Q", 0.05), ("R", 0.02 + 0.0375))
    )
    fall = c.fall(across_least=0.0, across_most=0.05, across=0.01)
    plan = c.plan_exactly(
        [(c.spec("pad", use="pad", heights=fixes, fall=fall), o, j)], points, shot, c.ground()
    )[0]
    assert plan.feasible
    z = {(n.x, n.y): n.z for n in plan.nodes}
    assert z[0, 0] == pytest.approx(9.98, abs=1e-9)
    assert z[3, 0] == pytest.approx(9.95, abs=1e-9)
    assert z[0, 3] == pytest.approx(9.9425, abs=1e-9)
    assert z[3, 3] == pytest.approx(9.9125, abs=1e-9)  # the charge on twist leaves none


def test_a_height_fixed_inside_a_panel_holds_there():
    o, j = c.ribbon(4.0, 1.0, 2)
    fix = c.Fix(at="mid", above="bench", by="100 mm")
    plan = c.plan_exactly(
        [(c.spec(heights=(fix,)), o, j)],
        {"mid": (1.0, 0.25)},
        {"bench": 0.0},
        c.ground(surface=c.plane_surface(0, 0, 0)),
    )[0]
    ring = [(n.x, n.y, n.z) for n in plan.nodes if n.x <= 2.0 + 1e-9]
    a = np.array([[x, y, 1] for x, y, _ in ring])
    coef, *_ = np.linalg.lstsq(a, np.array([z for *_, z in ring]), rcond=None)
    assert coef @ [1.0, 0.25, 1] == pytest.approx(0.1, abs=1e-9)


def test_slabs_that_touch_agree_all_along_the_edge_they_share():
    o1, j1 = c.pad(4, 3, 3, 2, name="patio")
    o2, j2 = c.ribbon(6, 1.2, 4, name="walk", at=(4.0, 1.5))
    bumpy = c.plane_surface(0.013, -0.02, 0.3)
    plans = c.plan_exactly(
        [
            (c.spec("patio", use="patio", fall=c.fall(toward="right", across=0.015)), o1, j1),
            (c.spec("walk", meets=(c.Meets(slab="patio"),)), o2, j2),
        ],
        {}, {}, c.ground(surface=bumpy),
    )  # fmt: skip
    edge = sorted((n.y, n.z) for n in plans[0].nodes if n.x == pytest.approx(4.0))
    for n in plans[1].nodes:
        if n.x == pytest.approx(4.0):
            assert n.z == pytest.approx(np.interp(n.y, *zip(*edge, strict=True)), abs=1e-8)
    labels = [n.label for p in plans for n in p.nodes]
    assert len(labels) == len(set(labels))


def test_a_step_between_slabs_when_asked():
    o1, j1 = c.pad(4, 3, 2, 1, name="upper")
    o2, j2 = c.pad(4, 3, 2, 1, name="lower", at=(4.0, 0.0))
    fall = c.fall(toward="right", across=0.015)
    plans = c.plan_exactly(
        [
            (c.spec("upper", use="patio", fall=fall), o1, j1),
            (c.spec("lower", use="patio", fall=fall, meets=(c.Meets(slab="upper", down="150 mm"),)), o2, j2),
        ],
        {}, {}, c.ground(surface=c.plane_surface(0, 0, 0)),
    )  # fmt: skip
    high = {round(n.y, 6): n.z for n in plans[0].nodes if n.x == pytest.approx(4.0)}
    low = {round(n.y, 6): n.z for n in plans[1].nodes if n.x == pytest.approx(4.0)}
    assert high.keys() == low.keys()
    for y, z in high.items():
        assert z - low[y] == pytest.approx(0.15, abs=1e-9)


def test_slabs_apart_do_not_disturb_each_other():
    o1, j1 = c.ribbon(6, 1, 3, name="good")
    o2, j2 = c.ribbon(L, 1, 3, name="bad", at=(0, 20), ends=("old", "gate"))
    ends = [c.existing("old", (0, 19), (0, 21), 0, 0), c.existing("gate", (L, 19), (L, 21), -2.0, -2.0)]
    g = c.ground(slabs=ends, surface=c.plane_surface(0, 0.01, 0))
    bad = c.spec("bad", meets=(c.Meets(existing="old"), c.Meets(existing="gate")))
    plans = c.plan_exactly([(c.spec("good"), o1, j1), (bad, o2, j2)], {}, {}, g)
    assert plans[0].feasible
    assert not plans[1].feasible
    alone = c.plan_exactly([(c.spec("good"), o1, j1)], {}, {}, g)[0]
    assert alone.nodes == plans[0].nodes
