"""What is said when no surface keeps every limit: who conflicts, by how much, and ways out that work."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from scipy.optimize import linprog
from tests.slab import heights_cases as c

from slabwright.findings import Level
from slabwright.ground.model import DoorAt, Wall
from slabwright.slab.heights import plan as planning
from slabwright.slab.heights.plan import plan_heights, problems_of
from slabwright.slab.heights.relax import conflict, fewest, least_bent
from slabwright.slab.heights.solver import Solved
from slabwright.solving import Status

L = 10.0
FREE = ("free", None)


def walk(
    drop: float, *, fix_ends: bool = True, use: str = "walk", lean: float = 1 / 48, surface=None, **fall
):
    o, j = c.ribbon(L, 3 * c.FT, 7, ends=("old", "gate"))
    ends = [
        c.existing("old", (0, -1), (0, 1), -lean, lean),
        c.existing("gate", (L, -1), (L, 1), -drop - lean, -drop + lean),
    ]
    meets = (c.Meets(existing="old", lip="0 in"), c.Meets(existing="gate", lip="0 in")) if fix_ends else ()
    return [(c.spec(meets=meets, fall=c.fall(**fall), use=use), o, j)], c.ground(slabs=ends, surface=surface)


def patio(outer: float, *, depth: float = 4.0, siding_bottom: float | None = None, **fall):
    """A patio at a door whose outer corners are fixed `outer` below the bench (the sill is at 0.3)."""
    o, j = c.pad(6, depth, 4, 3, at=(0, -depth), kinds=(FREE, FREE, ("wall", "A-B"), FREE))
    g = c.ground(
        walls=[Wall("A-B", (0, 0), (6, 0))],
        doors=[DoorAt("back", "A-B", (2, 0), (3, 0), 0.3, "sill")],
        siding="wood" if siding_bottom is not None else "none",
        siding_bottom=siding_bottom,
    )
    fixes = tuple(c.Fix(at=k, below="bench", by=f"{outer} m") for k in ("P", "Q"))
    spec = c.spec(
        "patio",
        use="patio",
        fall=c.fall(**{"toward": None, "across": 0.02, "along_most": 0.005, **fall}),
        meets=(c.Meets(door="back"),),
        heights=fixes,
    )
    return [(spec, o, j)], {"P": (0.0, -depth), "Q": (6.0, -depth)}, {"bench": 0.0}, g


def values(plan, code):
    found = [f for f in plan.findings if f.code == code]
    assert found, f"{code} is not among {[f.code for f in plan.findings]}"
    return found[0].values


def members(plan):
    return {
        (f.code.removeprefix("conflict-"), f.values["thing"])
        for f in plan.findings
        if f.code.startswith("conflict-")
    }


def test_too_steep_between_two_ends_names_the_ends_and_the_long_fall():
    slabs, g = walk(0.6)
    plan = plan_heights(slabs, {}, {}, g)[0]
    assert not plan.feasible
    assert members(plan) == {("existing", "old"), ("existing", "gate"), ("along-most", "walk")}
    assert values(plan, "heights-conflict")["fewest"] == 1
    assert values(plan, "over-along-most")["by"].si == pytest.approx(0.01, abs=1e-6)
    assert plan.along[1] == pytest.approx(0.06, abs=1e-6)
    # the heights that are there already are met: the least bent surface bends the fall
    z = {(round(n.x, 6), round(n.y, 4)): n.z for n in plan.nodes}
    for x, h in ((0.0, 0.0), (L, -0.6)):
        assert z[x, 0.4572] == pytest.approx(h + 0.4572 / 48, abs=1e-6)


def test_the_ways_out_of_a_steep_walk_are_right_to_the_digit():
    slabs, g = walk(0.6)
    plan = plan_heights(slabs, {}, {}, g)[0]
    assert values(plan, "way-longer")["more"].si == pytest.approx(2.0, rel=1e-4)
    assert values(plan, "way-longer")["run"].si == pytest.approx(12.0, rel=1e-4)
    assert values(plan, "way-ramp")["to"].si == pytest.approx(0.06, abs=1e-6)
    assert values(plan, "way-step-down")["by"].si == pytest.approx(0.1, abs=1e-6)
    ranks = [f.values["rank"] for f in plan.findings if f.code.startswith("way-")]
    assert ranks == list(range(1, len(ranks) + 1))


@pytest.mark.parametrize("drop", [0.6, 0.55, 0.8])
def test_each_way_out_works_when_it_is_taken(drop):
    slabs, g = walk(drop)
    (spec, o, j), plan = slabs[0], plan_heights(slabs, {}, {}, g)[0]
    run = values(plan, "way-longer")["run"].si
    for length, holds in ((run, True), (run - 0.01, False)):
        longer = c.ribbon(length, 3 * c.FT, 7, ends=("old", "gate"))
        gate = c.existing("gate", (length, -1), (length, 1), *g.existing[1].heights)
        there = c.ground(slabs=[g.existing[0], gate])
        assert plan_heights([(spec, *longer)], {}, {}, there)[0].feasible is holds
    step = values(plan, "way-step-up")["by"].si
    for by, works in ((step + 1e-5, True), (step - 1e-3, False)):
        raised = [
            g.existing[0],
            c.existing("gate", (L, -1), (L, 1), *(h + by for h in g.existing[1].heights)),
        ]
        assert plan_heights([(spec, o, j)], {}, {}, c.ground(slabs=raised))[0].feasible is works


def test_past_one_in_twelve_no_ramp_is_offered():
    slabs, g = walk(1.0)
    plan = plan_heights(slabs, {}, {}, g)[0]
    codes = {f.code for f in plan.findings}
    assert "way-ramp" not in codes
    assert "running-over-ramp" in codes


def test_a_small_misfit_is_offered_as_a_lip():
    slabs, g = walk(0.504)
    plan = plan_heights(slabs, {}, {}, g)[0]
    first = next(f for f in plan.findings if f.values.get("rank") == 1)
    assert first.code == "way-lip"
    assert first.values["by"].si == pytest.approx(0.004, abs=1e-6)


def test_an_existing_edge_that_leans_too_much_names_the_cross_fall():
    slabs, g = walk(0.2, lean=0.03)
    plan = plan_heights(slabs, {}, {}, g)[0]
    kinds = {k for k, _ in members(plan)}
    assert kinds == {"existing", "across-most"}
    assert values(plan, "over-across-most")["by"].si == pytest.approx(0.03 - 1 / 48, abs=1e-6)


def test_a_patio_that_cannot_fall_away_offers_a_lower_edge_and_a_drain():
    plan = plan_heights(*patio(-0.25))[0]  # outer corners at 0.25, the door at 0.2619
    assert not plan.feasible
    kinds = {k for k, _ in members(plan)}
    assert "door" in kinds
    assert kinds & {"house", "across-least"}
    stops = {f.code for f in plan.findings if f.level is Level.STOP}
    assert {"heights-conflict", "over-house"} <= stops
    assert values(plan, "way-drain")["wall"] == "A-B"
    by = values(plan, "way-all-lower")["by"].si
    assert plan_heights(*patio(-0.25 + by + 1e-5))[0].feasible
    assert not plan_heights(*patio(-0.25 + by - 1e-3))[0].feasible
    z = {(n.x, n.y): n.z for n in plan.nodes}  # what is fixed is drawn as fixed; the fall is what bends
    assert z[0, -4] == pytest.approx(0.25, abs=1e-6)


def test_a_siding_that_is_too_low_for_the_door_is_named():
    slabs, points, heights, g = patio(-0.165, siding_bottom=0.3, across_most=0.03)
    # the top may be at 0.2492 and the door wants it at 0.2619
    plan = plan_heights(slabs, points, heights, g)[0]
    assert {k for k, _ in members(plan)} >= {"siding", "door"}
    assert not any(f.code == "way-siding" for f in plan.findings)
    by = values(plan, "way-door")
    assert by["down"].si == pytest.approx(0.3 - 0.2492, abs=1e-6)


def test_two_heights_written_for_one_point_conflict_with_nothing_else():
    o, j = c.ribbon(4.0, 1.0, 2)
    fixes = (c.Fix(at="P", below="bench", by="1 in"), c.Fix(at="Q", below="bench", by="2 in"))
    points = {"P": (0.0, -0.5), "Q": (0.0, -0.5)}
    plan = plan_heights([(c.spec(heights=fixes), o, j)], points, {"bench": 0.0}, c.ground())[0]
    assert members(plan) == {("height", "P"), ("height", "Q")}
    assert values(plan, "heights-conflict")["count"] == 2
    assert values(plan, "way-lower")["by"].si == pytest.approx(0.0254, abs=1e-6)
    assert values(plan, "way-raise")["by"].si == pytest.approx(0.0254, abs=1e-6)


def test_two_cures_at_once_when_one_is_not_enough():
    o, j = c.ribbon(4.0, 1.0, 2)
    where = {"P": (0.0, -0.5), "Q": (0.0, -0.5), "R": (4.0, -0.5), "S": (4.0, -0.5)}
    fixes = tuple(
        c.Fix(at=k, below="bench", by=by)
        for k, by in zip("PQRS", ("0 in", "1 in", "0 in", "2 in"), strict=True)
    )
    plan = plan_heights([(c.spec(heights=fixes), o, j)], where, {"bench": 0.0}, c.ground())[0]
    assert values(plan, "heights-conflict")["fewest"] == 2
    assert not plan.feasible
    assert any(f.code == "way-none" for f in plan.findings)
    assert sum(f.code == "over-height" for f in plan.findings) == 2


def holds(p, keep: set[int]) -> bool:
    """Feasibility of the limits of some families, by another solver."""
    dense = np.zeros((len(p.lo), p.columns))
    dense[np.repeat(np.arange(len(p.lo)), np.diff(p.start)), p.index] = p.value
    a, b = [], []
    for r in np.flatnonzero(p.limits):
        if p.family[r] >= 0 and int(p.family[r]) not in keep:
            continue
        for s, end in ((1, p.hi[r]), (-1, -p.lo[r])):
            if math.isfinite(end):
                a.append(s * dense[r])
                b.append(end + 1e-9)
    return linprog(np.zeros(p.columns), np.array(a), b, bounds=(None, None)).status == 0


CASES = [
    walk(0.6), walk(0.2, lean=0.03), walk(-0.7), walk(0.2, fix_ends=False, across_least=0.03),
]  # fmt: skip


@pytest.mark.parametrize("case", range(len(CASES) + 2))
def test_the_conflict_is_minimal_and_the_cures_are_the_fewest(case):
    args = (
        (CASES[case][0], {}, {}, CASES[case][1])
        if case < len(CASES)
        else patio((-0.25, -0.4)[case - len(CASES)])
    )
    (problem,), _ = problems_of(*args)
    p = problem.program
    bent = least_bent(p)
    found = set(conflict(p, bent))
    assert found
    assert not holds(p, found)
    for k in found:
        assert holds(p, found - {k})
    everything = set(range(len(p.families)))
    singles = {k for k in everything if holds(p, everything - {k})}
    cures = fewest(p, tuple(sorted(found)), bent)
    if singles:
        assert {k for one in cures for k, _ in one.gives} == singles
    else:
        assert min(len(one.gives) for one in cures) >= 2


def test_the_least_give_is_found_by_halving_too():
    slabs, g = walk(0.6)
    (problem,), _ = problems_of(slabs, {}, {}, g)
    p = problem.program
    k = next(i for i, f in enumerate(p.families) if f.kind == "along-most")
    low, high = 0.0, 0.2
    for _ in range(40):
        mid = (low + high) / 2
        rows = p.family == k
        wide = p.with_bounds(p.lo - mid * rows, p.hi + mid * rows)
        low, high = (low, mid) if holds(wide, set(range(len(p.families)))) else (mid, high)
    one = next(x for x in fewest(p, conflict(p, least_bent(p)), least_bent(p)) if x.gives[0][0] == k)
    assert one.gives[0][1] == pytest.approx(high, abs=1e-6)


def test_three_cures_at_once_are_found_to_be_the_fewest():
    o, j = c.pad(6.0, 4.0, 3, 1)
    spots = [(0.0, 0.0), (0.0, 4.0), (6.0, 0.0)]
    where, fixes = {}, []
    for n, p in enumerate(spots):
        for up in ("0 in", "3 in"):
            name = f"{n}{up[0]}"
            where[name] = p
            fixes.append(c.Fix(at=name, above="bench", by=up))
    spec = c.spec("pad", use="pad", heights=tuple(fixes), fall=c.fall(across_least=0, across_most=0.05))
    args = ([(spec, o, j)], where, {"bench": 0.0}, c.ground())
    plan = plan_heights(*args)[0]
    assert values(plan, "heights-conflict")["fewest"] == 3
    (problem,), _ = problems_of(*args)
    p = problem.program
    everything = set(range(len(p.families)))
    for size in (1, 2):
        assert not any(holds(p, everything - set(g)) for g in combinations(everything, size))


@pytest.mark.parametrize("status", [Status.STOPPED, Status.FAILED])
def test_a_solver_that_did_not_finish_is_never_called_done(status, monkeypatch):
    slabs, g = walk(0.3)

    def stopped(program):
        none = np.zeros(0)
        return Solved(status, float("nan"), none, none, none, none, none, none, none)

    monkeypatch.setattr(planning, "solve", stopped)
    plan = plan_heights(slabs, {}, {}, g)[0]
    assert not plan.feasible
    assert values(plan, "heights-not-solved")["status"] == status.value
    stop = next(f for f in plan.findings if f.code == "heights-not-solved")
    assert stop.level is Level.STOP
    assert stop.where == "walk"


def test_slabs_that_touch_are_judged_together_and_a_step_between_them_is_offered():
    upper, lower = c.pad(3, 3, 1, 1, name="upper"), c.pad(3, 3, 1, 1, name="lower", at=(3.0, 0.0))
    where = {"P": (0.0, 0.0), "Q": (0.0, 3.0), "R": (6.0, 0.0), "S": (6.0, 3.0)}
    high = tuple(c.Fix(at=k, above="bench", by="0.4 m") for k in "PQ")
    low = tuple(c.Fix(at=k, above="bench") for k in "RS")
    fall = c.fall(toward="right", across=0.02, across_least=0.01, across_most=0.04)
    slabs = [
        (c.spec("upper", use="pad", heights=high, fall=fall), *upper),
        (c.spec("lower", use="pad", heights=low, fall=fall, meets=(c.Meets(slab="upper"),)), *lower),
    ]
    plans = plan_heights(slabs, where, {"bench": 0.0}, c.ground())
    assert [p.feasible for p in plans] == [False, False]
    steps = [f for p in plans for f in p.findings if f.code in ("way-step-down", "way-step-up")]
    assert len(steps) == 1
    step = steps[0].values["by"].si
    assert step == pytest.approx(0.4 - 6 * 0.04, abs=1e-6)
    asked = c.Meets(slab="upper", down=f"{step + 1e-5:.6f} m")
    slabs[1] = (c.spec("lower", use="pad", heights=low, fall=fall, meets=(asked,)), *lower)
    assert all(p.feasible for p in plan_heights(slabs, where, {"bench": 0.0}, c.ground()))


@pytest.mark.parametrize(
    ("past", "told"),
    [(1e-7, None), (0.8e-6, None), (1.3e-6, "over"), (2e-4, "over"), (6e-4, "over")],
)
def test_a_limit_passed_by_a_hair_is_named_and_within_equality_it_is_kept(past, told):
    """Depth 3 m, both edges held: the fall between them is the most one and `past` [-] more."""
    depth, most = 3.0, 0.03
    o, j = c.pad(3.0, depth, 1, 1, at=(0, -depth), kinds=(FREE, FREE, ("wall", "A-B"), FREE))
    fixes = (
        c.Fix(at="W", above="bench"),
        c.Fix(at="O", below="bench", by=f"{(most + past) * depth:.10f} m"),
    )
    spec = c.spec(
        "patio", use="patio", fall=c.fall(toward=None, across=0.02, across_most=most), heights=fixes
    )
    g = c.ground(walls=[Wall("A-B", (-1, 0), (4, 0))], surface=c.plane_surface(0, 0, 0))
    points = {"W": (1.5, 0.0), "O": (1.5, -depth)}
    (plan,) = plan_heights([(spec, o, j)], points, {"bench": 0.0}, g)
    assert plan.across[1] == pytest.approx(most + past, abs=1e-9)
    stops = {f.code for f in plan.findings if f.level is Level.STOP}
    if told is None:
        assert plan.feasible
        assert not stops
        return
    assert not plan.feasible
    assert stops == {"heights-conflict", "over-across-most"}
    assert values(plan, "over-across-most")["by"].si == pytest.approx(past, abs=1e-9)
