"""Steps between slabs, the risers they come to, and how sharply the fall may change where slabs touch."""

from __future__ import annotations

import pytest
from tests.slab import heights_cases as c

from slabwright.ground.model import DoorAt, Wall
from slabwright.measure import System
from slabwright.notes.models import Meets
from slabwright.slab.heights.plan import plan_heights
from slabwright.slab.heights.steps import flight

FREE = ("free", None)
FALL = {"toward": "right", "across": 0.02, "across_least": 0.01, "across_most": 0.04}


@pytest.mark.parametrize(
    ("inches", "count"), [(4, 1), (7.75, 1), (7.7501, 2), (15.5, 2), (15.6, 3), (23.25, 3), (24, 4), (31, 4)]
)
def test_the_fewest_equal_risers_of_seven_and_three_quarters_at_most(inches, count):
    made = flight(inches * c.INCH)
    assert made.count == count
    assert made.riser * count == pytest.approx(inches * c.INCH)
    assert made.run == pytest.approx((count - 1) * 10 * c.INCH)


def two_pads(meets: Meets | None, *, high: str = "0.4 m", use: str = "pad", most: float = 0.04, third=False):
    """An upper pad and a lower one beside it; the outer edges of both are fixed, 6 m apart."""
    where = {"P": (0.0, 0.0), "Q": (0.0, 3.0), "R": (6.0, 0.0), "S": (6.0, 3.0)}
    fall = c.fall(**{**FALL, "across_most": most})
    up = tuple(c.Fix(at=k, above="bench", by=high) for k in "PQ")
    low = tuple(c.Fix(at=k, above="bench") for k in "RS")
    slabs = [
        (c.spec("upper", use=use, heights=up, fall=fall), *c.pad(3, 3, 1, 1, name="upper")),
        (
            c.spec("lower", use=use, heights=low, fall=fall, meets=(meets,) if meets else ()),
            *c.pad(3, 3, 1, 1, name="lower", at=(3.0, 0.0)),
        ),
    ]
    if third:
        slabs.append((c.spec("far", use=use, fall=fall), *c.pad(3, 3, 1, 1, name="far", at=(6.0, 0.0))))
    return plan_heights(slabs, where, {"bench": 0.0}, c.ground())


def said(plan, code):
    return [f for f in plan.findings if f.code == code]


def test_a_step_between_two_slabs_is_kept_and_its_risers_are_said():
    plans = two_pads(Meets(slab="upper", step="10 in"))
    assert all(p.feasible for p in plans)
    on_edge = [sorted((n.y, n.z) for n in p.nodes if abs(n.x - 3) < 1e-6) for p in plans]
    for (_, above), (_, below) in zip(*on_edge, strict=True):
        assert above - below == pytest.approx(10 * c.INCH, abs=1e-9)
    (note,) = said(plans[1], "step-risers")
    assert note.values["count"] == 2
    assert note.text(system=System.IMPERIAL).what == 'A step of 10" down from upper; risers: 2, each 5".'
    assert not said(plans[1], "step-handrail")


def test_the_same_step_can_be_written_with_the_slab_that_is_above():
    below = two_pads(Meets(slab="upper", down="10 in"))
    assert [n.z for p in below for n in p.nodes] == [
        n.z for p in two_pads(Meets(slab="upper", step="10 in")) for n in p.nodes
    ]


def test_a_flight_of_four_has_a_handrail_and_a_high_one_a_guard():
    (_, low) = two_pads(Meets(slab="upper", step="30 in"), high="1 m")
    assert (said(low, "step-handrail")[0].values["count"], said(low, "step-guard")) == (4, [])
    (_, low) = two_pads(Meets(slab="upper", step="31 in"), high="1 m")
    assert said(low, "step-guard")


def test_a_step_down_from_a_slab_that_stays():
    o, j = c.ribbon(6.0, 3 * c.FT, 5, ends=("old", None))
    g = c.ground(slabs=[c.existing("old", (0, -1), (0, 1), 1 - 1 / 48, 1 + 1 / 48)])
    plan = plan_heights([(c.spec(meets=(Meets(existing="old", step="6 in"),)), o, j)], {}, {}, g)[0]
    assert plan.feasible
    fixed = [n for n in plan.nodes if n.fixed == "old"]
    assert len(fixed) == 2
    for n in fixed:
        assert n.z == pytest.approx(1 + n.y / 48 - 6 * c.INCH, abs=1e-9)
    assert said(plan, "step-risers")[0].values["count"] == 1
    assert not said(plan, "lip-step")


def test_a_way_out_by_a_step_names_its_risers_and_works():
    plans = two_pads(Meets(slab="upper"), high="0.6 m")
    assert [p.feasible for p in plans] == [False, False]
    (way,) = [f for p in plans for f in said(p, "way-step-down") + said(p, "way-step-up")]
    assert way.values["by"].si == pytest.approx(0.6 - 6 * 0.04, abs=1e-6)
    assert way.values["count"] == 2
    step = f"{way.values['by'].si + 1e-5:.6f} m"
    assert all(p.feasible for p in two_pads(Meets(slab="upper", step=step), high="0.6 m"))


def test_a_landing_at_a_door_far_above_is_a_way_out():
    o, j = c.pad(6, 4, 4, 3, at=(0, -4), kinds=(FREE, FREE, ("wall", "A-B"), FREE))
    g = c.ground(
        walls=[Wall("A-B", (0, 0), (6, 0))], doors=[DoorAt("back", "A-B", (2, 0), (3, 0), 0.6, "sill")]
    )
    fixes = tuple(c.Fix(at=k, below="bench", by="0.02 m") for k in ("P", "Q"))
    fall = c.fall(toward=None, across=0.02, along_most=0.005)
    spec = c.spec("patio", use="patio", fall=fall, meets=(Meets(door="back"),), heights=fixes)
    points = {"P": (0.0, -4.0), "Q": (6.0, -4.0)}
    plan = plan_heights([(spec, o, j)], points, {"bench": 0.0}, g)[0]
    assert not plan.feasible
    (way,) = said(plan, "way-landing")
    drop = way.values["down"].si
    assert drop > 7.75 * c.INCH
    assert way.values["riser"].si * way.values["count"] == pytest.approx(drop - 1.5 * c.INCH)
    met = Meets(door="back", down=f"{drop + 1e-5:.6f} m")
    spec = c.spec("patio", use="patio", fall=fall, meets=(met,), heights=fixes)
    assert plan_heights([(spec, o, j)], points, {"bench": 0.0}, g)[0].feasible


def bent_pads(use: str, change: float, step: float = 0.0):
    """Two pads in a row; the first falls 2 %, the fall of the second is `change` less."""
    where = {"A": (0.0, 0.0), "B": (0.0, 3.0), "C": (3.0, 0.0), "E": (6.0, 0.0)}
    fall = c.fall(**{**FALL, "across_least": -0.1, "across_most": 0.1})
    first = tuple(c.Fix(at=k, above="bench", by=f"{h} m") for k, h in (("A", 0.06), ("B", 0.06), ("C", 0)))
    second = (c.Fix(at="E", above="bench", by=f"{-3 * (0.02 - change) - step:.6f} m"),)
    meets = (Meets(slab="upper", step=f"{step} m"),) if step else ()
    upper, lower = c.pad(3, 3, 1, 1, name="upper"), c.pad(3, 3, 1, 1, name="lower", at=(3.0, 0.0))
    slabs = [
        (c.spec("upper", use=use, heights=first, fall=fall), *upper),
        (c.spec("lower", use=use, heights=second, fall=fall, meets=meets), *lower),
    ]
    return c.plan_exactly(slabs, where, {"bench": 0.0}, c.ground())


@pytest.mark.parametrize(("use", "limit"), [("pad", 0.05), ("driveway", 0.06)])
@pytest.mark.parametrize(("over", "holds"), [(-1e-4, True), (1e-4, False)])
def test_the_fall_changes_no_more_from_slab_to_slab_than_at_a_joint(use, limit, over, holds):
    plans = bent_pads(use, limit + over)
    assert all(p.feasible for p in plans) is holds
    if not holds:
        assert any(f.code == "conflict-break" for p in plans for f in p.findings)


def test_a_step_frees_the_fall_on_its_two_sides():
    assert all(p.feasible for p in bent_pads("pad", 0.08, step=0.1))


def test_only_the_slabs_whose_limits_are_broken_are_called_so():
    plans = two_pads(None, third=True)
    assert [p.feasible for p in plans] == [False, False, True]
    assert not [f for f in plans[2].findings if f.code.startswith(("over-", "conflict-"))]
