"""Heights as they are written, to 1/8 in: on whole marks, with limits kept as the exact heights keep them."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.slab import heights_cases as c
from tests.slab.test_heights_property import brick_pads, walks

from slabwright.ground.model import DoorAt, Wall
from slabwright.measure import System, step_of
from slabwright.slab.datum import datum_name
from slabwright.slab.heights.drawn import Marks, drawn, eased, slim
from slabwright.slab.heights.marks import between, mark
from slabwright.slab.heights.plan import GRADE, outcome_of, plan_heights, problems_of
from slabwright.slab.heights.solver import solve
from slabwright.solving import Status

STEP = c.INCH / 8


def marks_of(plan, datum: float = 0.0, step: float = STEP) -> np.ndarray:
    """How far each staked height is from its nearest mark, in marks."""
    at = np.array([(n.z - datum) / step for n in plan.nodes if not n.shape_only])
    return np.abs(at - np.round(at))


@pytest.mark.parametrize("turn", [0.0, 0.7, -2.1])
@pytest.mark.parametrize("drop", [0.0, 0.113, -0.29, 0.4321])
def test_three_quarters_on_three_feet_at_every_joint(turn, drop):
    o, j = c.ribbon(10.0, 3 * c.FT, 8, turn=turn)
    ends = {"P": (0.0, 0.0), "Q": (10 * math.cos(turn), 10 * math.sin(turn))}
    fixes = (c.Fix(at="P", above="bench", give="1 in"), c.Fix(at="Q", below="bench", by=f"{drop} m", give=1))
    plan = plan_heights([(c.spec(heights=fixes), o, j)], ends, {"bench": 0.0}, c.ground())[0]
    assert plan.feasible
    assert marks_of(plan).max() < 1e-6
    by_station: dict[int, list[float]] = {}
    for n in plan.nodes:
        along = n.x * math.cos(turn) + n.y * math.sin(turn)
        by_station.setdefault(round(along, 3), []).append(n.z)
    assert len(by_station) == 9
    for pair in by_station.values():
        assert abs(pair[0] - pair[1]) == pytest.approx(0.75 * c.INCH, abs=1e-9)
    assert plan.across == pytest.approx((1 / 48, 1 / 48), abs=1e-9)


def test_a_width_that_no_mark_divides_takes_the_mark_below_the_limit():
    o, j = c.ribbon(8.0, 40 * c.INCH, 7)  # 1:48 on 40 in is 6.67 marks: 6 keep it, 7 pass it
    plan = plan_heights([(c.spec(), o, j)], {}, {}, c.ground(surface=c.plane_surface(0.013, 0.004, 0)))[0]
    assert plan.across == pytest.approx((6 / 320, 6 / 320), abs=1e-9)
    assert marks_of(plan).max() < 1e-6


def test_a_fall_that_the_crew_wrote_may_be_off_by_less_than_a_mark():
    o, j = c.ribbon(8.0, 40 * c.INCH, 7)
    spec = c.spec(fall=c.fall(across_given=True))
    plan = plan_heights([(spec, o, j)], {}, {}, c.ground(surface=c.plane_surface(0.013, 0.004, 0)))[0]
    assert plan.feasible
    assert plan.across == pytest.approx((6 / 320, 6 / 320), abs=1e-9)
    assert any(f.code == "given-fall-in-marks" for f in plan.findings)
    o, j = c.ribbon(8.0, 36 * c.INCH, 7)
    plan = plan_heights([(spec, o, j)], {}, {}, c.ground(surface=c.plane_surface(0.013, 0.004, 0)))[0]
    assert plan.across == pytest.approx((1 / 48, 1 / 48), abs=1e-9)
    assert not any(f.code == "given-fall-in-marks" for f in plan.findings)


def test_where_no_mark_keeps_the_limits_the_plan_does_and_says_what_the_paper_does():
    o, j = c.ribbon(8.0, 3 * c.FT, 6)
    fall = c.fall(across=0.0152, across_least=0.015, across_most=0.0155)  # 4.32 to 4.46 marks
    plan = plan_heights([(c.spec(fall=fall), o, j)], {}, {}, c.ground(surface=c.plane_surface(0, 0, 0)))[0]
    assert plan.feasible
    assert plan.across[0] >= 0.015 - 1e-6
    assert plan.across[1] <= 0.0155 + 1e-6
    found = [f for f in plan.findings if f.code == "heights-between-marks"]
    assert len(found) == 1
    written = np.array([found[0].values["fall"].si, found[0].values["by"].si])
    assert written == pytest.approx([4 / 288, 0.015 - 4 / 288], abs=1e-9)


@pytest.mark.parametrize(("units", "step"), [(System.IMPERIAL, STEP), (System.METRIC, 0.001)])
def test_marks_are_those_of_the_sheet(units, step):
    assert step_of("height_difference", units) == pytest.approx(step, rel=1e-12)
    o, j = c.ribbon(8.0, 0.95, 7)
    g = c.ground(surface=c.plane_surface(0.0237, 0.004, 0))
    plan = plan_heights([(c.spec(), o, j)], {}, {}, g, grade=step, datum=0.12345)[0]
    assert marks_of(plan, 0.12345, step).max() < 1e-6
    assert pytest.approx(STEP) == GRADE


def test_the_datum_is_the_one_named_else_the_first_sill_else_the_first_height():
    shot = {"nail": 1.0, "sill": 2.0}
    doors = [
        DoorAt("shut", "A-B", (0, 0), (1, 0), None, None),
        DoorAt("back", "A-B", (0, 0), (1, 0), 2, "sill"),
    ]
    assert datum_name("nail", shot, doors) == "nail"
    assert datum_name("lost", shot, doors) == "sill"
    assert datum_name(None, shot, doors[:1]) == "nail"
    assert datum_name(None, {}, []) == ""


def test_what_is_fixed_stays_and_the_rest_is_whole_marks_from_it():
    at = 0.4 * STEP + 1.0  # between two marks
    o, j = c.ribbon(6.0, 3 * c.FT, 5, ends=("old", None))
    g = c.ground(
        slabs=[c.existing("old", (0, -1), (0, 1), at - 1 / 48, at + 1 / 48)],
        surface=c.plane_surface(-0.02, 0, 1),
    )
    spec = c.spec(meets=(c.Meets(existing="old"),))
    plan = plan_heights([(spec, o, j)], {}, {}, g, datum=0.0)[0]
    fixed = {round(n.y, 3): n.z for n in plan.nodes if n.fixed == "old"}
    assert fixed == pytest.approx({-0.457: at - 0.009525, 0.457: at + 0.009525}, abs=1e-9)
    others = np.array([n.z for n in plan.nodes]) - (at - 3 * STEP)
    assert np.abs(others / STEP - np.round(others / STEP)).max() < 1e-6


@settings(max_examples=60, deadline=None)
@given(walks(), st.floats(-1, 1))
def test_limits_of_walks_hold_on_marks_as_they_do_exactly(job, datum):
    spec, o, j, points, surface = job
    keeps([(spec, o, j)], points, {"bench": 0.0}, c.ground(surface=surface), datum)


@settings(max_examples=40, deadline=None)
@given(brick_pads(), st.floats(-1, 1))
def test_limits_of_pads_hold_on_marks_as_they_do_exactly(job, datum):
    o, j, surface = job
    fall = c.fall(across_least=0.01, across_most=0.03, along_most=0.03, across=0.02)
    keeps([(c.spec("patio", use="patio", fall=fall), o, j)], {}, {}, c.ground(surface=surface), datum)


def keeps(slabs, points, heights, g, datum):
    (problem,), _ = problems_of(slabs, points, heights, g)
    exact = solve(problem.program)
    marks = Marks(STEP, datum)
    solved, outcome = outcome_of(problem, marks)
    if exact.status is Status.OPTIMAL:
        assert solved.status is Status.OPTIMAL
        assert outcome.gave == frozenset()
        assert eased(problem.program, STEP).excess(outcome.x).max() <= 1e-6 + 1e-9
        moved = np.abs(outcome.x - solve(drawn(problem, marks)).z).max()
        assert moved <= 12 * STEP
        # small programs say the same as the whole one
        assert solve(slim(problem.program)).cost == pytest.approx(exact.cost, abs=1e-6)
    else:
        assert outcome.gave or solved.status is Status.OPTIMAL


@settings(max_examples=40, deadline=None)
@given(
    st.floats(0.3, 1.8), st.floats(0.6, 1.6), st.floats(-0.05, 0.05), st.floats(0.008, 0.02),
    st.floats(0, 0.01), st.floats(-0.02, 0.02),
)  # fmt: skip
def test_marks_are_found_wherever_there_are_any(length, width, tilt, least, more, lean):
    """Against trying all: one panel of which one end is fixed."""
    o, j = c.ribbon(length, width, 1, ends=("old", None))
    g = c.ground(
        slabs=[c.existing("old", (0, -2), (0, 2), -2 * lean, 2 * lean)], surface=c.plane_surface(tilt, 0, 0)
    )
    fall = c.fall(across=least, across_least=least, across_most=least + more)
    spec = c.spec(meets=(c.Meets(existing="old", lip="0 in"),), fall=fall)
    (problem,), _ = problems_of([(spec, o, j)], {}, {}, g)
    exact = solve(problem.program)
    if exact.status is not Status.OPTIMAL:
        return
    marks = Marks(STEP, 0.0)
    made = mark(problem, solve(drawn(problem, marks)).z, marks)
    z = made.x.copy()
    part = problem.shapes[0].part
    loose = [int(problem.column[k]) for k in range(len(part.net.xy)) if part.net.xy[k, 0] > length / 2]
    middle = np.round(z[loose] / STEP)
    can = False
    for i, k in product(range(-5, 6), repeat=2):
        z[loose] = (middle + np.array([i, k])) * STEP
        can = can or bool(problem.program.excess(z).max() <= 1e-6)
    assert bool(marks.on(made.x[loose]).all()) is can
    assert problem.program.excess(made.x).max() <= 1e-6 + 1e-9
    if can:
        assert not between(problem, made, marks)


def test_a_published_limit_that_the_exact_heights_keep_is_kept_though_the_job_allows_more():
    o, j = c.ribbon(8.0, 1.0, 7)  # 1:48 on 1 m is 6.56 marks; the nearest would pass it
    spec = c.spec(fall=c.fall(across=1 / 48, across_least=0.0, across_most=0.2, along_most=0.2))
    g = c.ground(surface=c.plane_surface(0.013, 0.004, 0))
    plan = plan_heights([(spec, o, j)], {}, {}, g)[0]
    assert plan.across[1] <= 1 / 48 + 1e-9
    assert not [f for f in plan.findings if f.code == "cross-fall-steep"]
    ten = 10 * c.FT  # and 2 % in the first 10 ft, which this job does not ask for
    o, j = c.pad(
        ten, ten, 2, 2, at=(0, -ten), kinds=(("free", None),) * 2 + (("wall", "A-B"), ("free", None))
    )
    points = {"W": (0.0, 0.0), "X": (ten, 0.0), "O": (0.0, -ten), "R": (ten, -ten)}
    shot = {"W": 1.0, "X": 1.0, "O": 1.0 - 0.02 * ten, "R": 1.0 - 0.02 * ten}
    fall = c.fall(toward=None, across=0.02, across_least=0.0, across_most=0.1, from_house=0.0)
    spec = c.spec("patio", use="patio", heights=tuple(c.Fix(at=k) for k in points), fall=fall)
    g = c.ground(walls=[Wall("A-B", (0, 0), (ten, 0))])
    plan = plan_heights([(spec, o, j)], points, shot, g)[0]
    assert not [f for f in plan.findings if f.code.startswith("house-fall")]
