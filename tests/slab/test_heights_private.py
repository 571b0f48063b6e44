"""Accessible limits: they bind in public places; on private ground they give where nothing else does."""

from __future__ import annotations

import pytest
from tests.slab import heights_cases as c

from slabwright.findings import Level
from slabwright.ground.model import Wall

INSIDE = (Wall("A-B", (6.0, 0.0), (0.0, 0.0)), Wall("B-C", (0.0, 0.0), (0.0, 6.0)))


def corner_patio(**fall):
    """A patio in the inside corner of a house: 2 % from both walls is 2.8 % in all."""
    kinds = (("wall", "A-B"), ("free", None), ("free", None), ("wall", "B-C"))
    o, j = c.pad(3.0, 3.0, 2, 2, kinds=kinds)
    more = {"toward": None, "across": 0.02, "along_most": 0.05, **fall}
    taken = (c.Taken("fall.along-most", "5 %", "common-practice"),)
    fix = (c.Fix(at="B", above="bench"),)
    spec = c.spec("patio", use="patio", fall=c.fall(**more), taken=taken, heights=fix)
    g = c.ground(walls=INSIDE, surface=c.plane_surface(0.0, 0.0, -0.1))
    (plan,) = c.plan_heights([(spec, o, j)], {"B": (0.0, 0.0)}, {"bench": 0.0}, g)
    return plan


def walk(drop: float, **fall):
    o, j = c.ribbon(6.0, 1.2, 4, ends=("porch", "gate"))
    there = (
        c.existing("porch", (0.0, -0.6), (0.0, 0.6), 0.0, 0.0),
        c.existing("gate", (6.0, -0.6), (6.0, 0.6), -drop, -drop),
    )
    meets = (c.Meets(existing="porch", lip="6 mm"), c.Meets(existing="gate", lip="6 mm"))
    spec = c.spec(fall=c.fall(across=0.015, **fall), meets=meets)
    (plan,) = c.plan_heights([(spec, o, j)], {}, {}, c.ground(slabs=there))
    return plan


def levels(plan):
    return {f.code: f.level for f in plan.findings}


def test_a_patio_in_a_corner_may_pass_the_accessible_limit_on_private_ground():
    plan = corner_patio(across_wide=0.04, public=False)
    assert plan.feasible
    assert 0.02 * 2**0.5 - 1e-6 <= plan.total[1] <= 0.04
    said = levels(plan)
    assert said["sitting-steep"] is Level.CAUTION
    assert Level.STOP not in said.values()
    (told,) = (f for f in plan.findings if f.code == "sitting-steep")
    assert "binds in public places" in told.text().why


def test_on_public_ground_it_stays_a_stop():
    plan = corner_patio()
    assert not plan.feasible
    assert levels(plan)["heights-conflict"] is Level.STOP


def test_what_can_be_kept_is_kept_on_private_ground_too():
    plan = corner_patio(across_wide=0.04, public=False, from_house=0.012, across=0.012)
    assert plan.feasible
    assert plan.total[1] <= 1 / 48 + 1e-6
    assert "sitting-steep" not in levels(plan)


def test_only_the_panels_that_must_pass_it():
    """Where a recommended limit is passed, it is passed by no more than the walls ask for."""
    plan = corner_patio(across_wide=0.10, public=False)
    assert plan.total[1] == pytest.approx(0.02 * 2**0.5, rel=0.06)


@pytest.mark.parametrize(("drop", "code"), [(0.40, "running-steep"), (0.20, None)])
def test_a_walk_past_one_in_twenty_is_a_caution(drop, code):
    plan = walk(drop, along_wide=1 / 12, across_wide=0.04, public=False)
    assert plan.feasible
    said = levels(plan)
    assert ("running-steep" in said) == (code is not None)
    assert Level.STOP not in said.values()
    if drop > 0.3:
        assert not walk(drop).feasible


def test_past_one_in_twelve_nothing_helps():
    plan = walk(0.62, along_wide=1 / 12, across_wide=0.04, public=False)
    assert not plan.feasible
    assert levels(plan)["conflict-along-most-private"] is Level.CAUTION
    assert "ADA" not in next(f for f in plan.findings if f.code == "over-along-most-private").text().source


def test_a_cross_fall_past_the_recommended_one_says_where_it_binds():
    o, j = c.ribbon(3.0, 1.0, 2, ends=("porch", None))
    there = (c.existing("porch", (0.0, -0.5), (0.0, 0.5), 0.0, 0.03),)  # 3 % across
    meets = (c.Meets(existing="porch"),)
    fall = c.fall(across=0.02, across_wide=0.04, public=False)
    (plan,) = c.plan_heights([(c.spec(fall=fall, meets=meets), o, j)], {}, {}, c.ground(slabs=there))
    assert plan.feasible
    said = levels(plan)
    assert said["cross-fall-steep-private"] is Level.CAUTION
    assert "cross-fall-steep" not in said
