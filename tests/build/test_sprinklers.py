"""Sprinklers beside new slabs: layout, choice against enumeration, pipes, figures and findings."""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.build.model_yard import SprinklerHead, SprinklerPlan
from slabwright.build.sprinklers import plan_sprinklers
from slabwright.build.sprinklers.choose import Task, choose, worth_of
from slabwright.build.sprinklers.figures import FULL, christiansen, low_part, matched_flow, own_rate, rates
from slabwright.build.sprinklers.yard import full_flow
from slabwright.build.tables import rule, source_keys
from slabwright.ground.model import XY, BuriedLine, Ground
from slabwright.measure import System, read
from slabwright.notes.models import Notes
from slabwright.slab.model import Shaped
from slabwright.sources import all_sources

FT = 0.3048
GPM = read("flow", "1 gpm")
Job = tuple[Shaped, Ground, Notes, dict[str, XY]]


def written(heads: list[dict[str, Any]], **extra: Any) -> Notes:
    return Notes.model_validate(
        {"title": "lawn", "slabs": [{"name": "walk", "use": "walk"}], "sprinklers": heads, **extra}
    )


def grid_job(
    make: Any, *, rows: int = 3, columns: int = 4, lawn: bool = True, walk: bool = True, **extra: Any
) -> Job:
    """Sprays 15 ft apart, head to head; a 3 ft walk through the middle row (or well away)."""
    heads, points = [], dict[str, XY]()
    wide, deep = (columns - 1) * 15 * FT, (rows - 1) * 15 * FT
    for r, c in itertools.product(range(rows), range(columns)):
        fx = (c == 0) - (c == columns - 1)
        fy = (r == rows - 1) - (r == 0)
        head: dict[str, Any] = {
            "head": f"H{r}{c}",
            "at": f"H{r}{c}",
            "throw": "15 ft",
            "arc": {0: 360, 1: 180, 2: 90}[abs(fx) + abs(fy)],
            "line": "west",
        }
        if fx or fy:
            head["facing"] = f"{math.degrees(math.atan2(fx, fy))} deg"
        heads.append(head)
        points[f"H{r}{c}"] = (c * 15 * FT, -r * 15 * FT)
    points |= {"L1": (0.0, 0.0), "L2": (wide, 0.0), "L3": (wide, -deep), "L4": (0.0, -deep)}
    if lawn:
        extra.setdefault("lawns", [{"name": "lawn", "corners": ["L1", "L2", "L3", "L4"]}])
    ground = make.ground(heads=tuple((h["head"], points[h["at"]], 15 * FT) for h in heads))
    y = -deep / 2 if walk else -deep - 12 * FT
    corners = [(0.0, y - 1.5 * FT), (wide, y - 1.5 * FT), (wide, y + 1.5 * FT), (0.0, y + 1.5 * FT)]
    slab = make.slab(corners, axis=[(0.0, y), (wide, y)], width=3 * FT)
    return make.job(slab), ground, written(heads, **extra), points


def planned(job: Job) -> SprinklerPlan:
    plan = plan_sprinklers(*job)
    assert plan is not None
    return plan


def codes(plan: SprinklerPlan) -> set[str]:
    return {finding.code for finding in plan.findings}


def test_full_circles_in_the_path_become_part_circles_on_both_sides(make: Any) -> None:
    plan = planned(grid_job(make))
    beside = [h for h in plan.heads if h.change in ("moved", "new")]
    above = [h for h in beside if h.y > -15 * FT]
    below = [h for h in beside if h.y < -15 * FT]
    assert len(above) == len(below) == 4
    assert all(h.arc <= math.pi + 1e-9 for h in beside)
    # every one throws away from the walk, and stands the setback off its edge
    for head in beside:
        out = 1.0 if head.y > -15 * FT else -1.0
        assert out * math.cos(head.facing) > 0.5
        off = abs(head.y + 15 * FT) - 1.5 * FT
        assert off == pytest.approx(rule("yard", "off_custom"), abs=0.005)
    assert "sprinkler-in-slab" in codes(plan)
    assert plan.proved
    assert plan.bound <= plan.cost + 1e-6


def test_the_paving_stays_dry_and_the_lawn_is_still_reached(make: Any) -> None:
    plan = planned(grid_job(make))
    assert plan.before.on_paving > 0.05
    assert plan.after.on_paving < rule("yard", "spill")
    assert plan.after.unreached <= 1.0
    assert plan.after.du > 0.7
    assert plan.after.rate == pytest.approx(plan.before.rate, rel=0.15)


def test_no_line_gives_more_than_it_can(make: Any) -> None:
    unknown = planned(grid_job(make))
    (line,) = unknown.lines
    assert (line.known, line.flow_most) == (False, line.flow_before)
    assert line.flow_after <= line.flow_most * (1 + 1e-6)
    assert "sprinkler-line-limit" in codes(unknown)
    tight = planned(grid_job(make, **{"sprinkler-lines": [{"line": "west", "most": "18 gpm"}]}))
    assert tight.lines[0].known
    assert tight.lines[0].flow_after <= 18 * GPM * (1 + 1e-6)
    assert "sprinkler-line-limit" not in codes(tight)
    assert tight.after.du < unknown.after.du
    assert "sprinkler-uneven" in codes(tight)


def test_a_line_that_gives_too_little_already(make: Any) -> None:
    """The heads left alone take 11.1 gpm by themselves: nothing is set, and it is said."""
    plan = planned(grid_job(make, **{"sprinkler-lines": [{"line": "west", "most": "8 gpm"}]}))
    assert not [h for h in plan.heads if h.change != "stays"]
    assert [h.name for h in plan.removed] == ["H10", "H11", "H12", "H13"]
    assert {"sprinkler-line-over", "sprinkler-uneven"} <= codes(plan)


def test_two_slabs_at_an_angle(make: Any) -> None:
    """Heads between two slabs line up with the nearer one and wet neither."""
    shaped, ground, notes, points = grid_job(make)
    slanted = [(2.0, -7.5), (3.0, -7.5), (6.0, -5.5), (5.0, -5.5)]
    both = make.job(*shaped.slabs, make.slab(slanted, name="side"))
    plan = planned((both, ground, notes, points))
    assert plan.after.on_paving < rule("yard", "spill")
    assert plan.after.on_paving < plan.before.on_paving / 5


def test_records_have_a_place_in_the_plan_file(make: Any) -> None:
    """Every float of the records has a unit in the nomenclature."""
    from slabwright.build.access import plan_access
    from slabwright.sheets.document import plain

    shaped, ground, notes, points = grid_job(make)
    data = plain(planned((shaped, ground, notes, points)))
    assert data["heads"][0]["throw_m"] == pytest.approx(15 * FT)
    assert data["after"]["unreached_m2"] >= 0
    notes = written([], access={"truck-stops-at": "L1"})
    ways = plain(plan_access(shaped, ground, notes, points))
    assert ways["hauls"][0]["run_m"] > 0


def test_rates_are_matched(make: Any) -> None:
    """Every head set anew gives the same depth over its own arc."""
    plan = planned(grid_job(make))
    made = [own_rate(h) for h in plan.heads if h.change != "stays"]
    assert made == pytest.approx([made[0]] * len(made), rel=1e-9)


def test_strict_rule_keeps_a_strip_dry(make: Any) -> None:
    plan = planned(grid_job(make, **{"off-paving": "strict"}))
    assert plan.kept_off == pytest.approx(24 * 0.0254)
    assert plan.after.on_paving == 0.0
    assert {"sprinkler-setback-strict", "sprinkler-dry"} <= codes(plan)
    near = [h for h in plan.heads if abs(h.y + 15 * FT) < (1.5 + 2) * FT - 0.01]
    assert near == []


def test_a_slab_that_leaves_the_sprinklers_alone(make: Any) -> None:
    plan = planned(grid_job(make, walk=False))
    assert "sprinkler-clear" in codes(plan)
    assert {h.change for h in plan.heads} == {"stays"}
    assert (plan.removed, plan.parts, plan.cost) == ((), (), 0.0)


def test_without_sprinklers_there_is_no_plan(make: Any) -> None:
    job = make.job(make.walk())
    assert plan_sprinklers(job, make.ground(), written([])) is None


def test_lawn_that_was_not_written_is_taken_from_the_heads(make: Any) -> None:
    plan = planned(grid_job(make, lawn=False))
    assert "sprinkler-lawn-taken" in codes(plan)
    assert plan.after.unreached <= 2.0


def test_a_head_off_the_lawn_is_said_and_the_rest_still_planned(make: Any) -> None:
    shaped, ground, notes, points = grid_job(make)
    far = {"head": "far", "at": "far", "throw": "8 ft", "arc": 360, "line": "west"}
    heads = [{**h.model_dump(by_alias=True, exclude_none=True)} for h in notes.sprinklers]
    points["far"] = (-10.0, 5.0)
    ground = make.ground(heads=(*ground.heads, ("far", points["far"], 8 * FT)))
    lawns = [{"name": "lawn", "corners": ["L1", "L2", "L3", "L4"]}]
    for head in heads:
        head.update({k: f"{head[k]} m" for k in ("throw",)})
        if "facing" in head:
            head["facing"] = f"{math.degrees(head['facing'])} deg"
    plan = planned((shaped, ground, written([*heads, far], lawns=lawns), points))
    (said,) = [f for f in plan.findings if f.code == "sprinkler-off-lawn"]
    assert said.where == "far"
    assert any(h.change == "new" for h in plan.heads)


def test_part_circle_without_a_facing_is_turned_to_the_lawn(make: Any) -> None:
    shaped, _, _, points = grid_job(make)
    notes = written(
        [{"head": "edge", "at": "L1", "throw": "10 ft", "arc": 90}],
        lawns=[{"name": "lawn", "corners": ["L1", "L2", "L3", "L4"]}],
    )
    plan = planned((shaped, make.ground(heads=(("edge", points["L1"], 10 * FT),)), notes, points))
    assert math.degrees(plan.heads[0].facing) == pytest.approx(135, abs=6)
    assert {"sprinkler-facing-taken", "sprinkler-flow-taken"} <= codes(plan)


# --- the choice ---------------------------------------------------------------------------------------------


def small_task(seed: int, *, places: int = 4, cells: int = 6, room: float = 3.0) -> Task:
    rng = np.random.default_rng(seed)
    place = np.repeat(np.arange(places), 2)
    count = len(place)
    own = np.where(place == 0, 0, -1)
    rate = rng.uniform(0, 1.4, (cells, count)) * (rng.random((cells, count)) < 0.5)
    return Task(
        place=place.astype(np.int64),
        own=own.astype(np.int64),
        line=rng.integers(0, 2, count).astype(np.int64),
        flow=rng.uniform(0.3, 1.5, count),
        rate=rate,
        there=rng.uniform(0, 0.6, cells) * (rng.random(cells) < 0.5),
        area=float(rng.uniform(0.3, 1.5)),
        in_way=2,
        room=np.array([room, room / 2]),
    )


@pytest.mark.parametrize("seed", range(12))
def test_choice_against_every_set(seed: int) -> None:
    """Eight choices at four places: the solver's set is the best of all 256, to its stated gap."""
    task = small_task(seed)
    count = len(task.place)
    best = min(worth_of(task, [j for j in range(count) if mask >> j & 1]) for mask in range(2**count))
    chosen = choose(task)
    assert chosen.bound <= best + 1e-6
    assert chosen.cost == pytest.approx(worth_of(task, chosen.picked))
    assert best - 1e-9 <= chosen.cost <= best * (1 + 2 * rule("yard", "gap_proved")) + 1e-6


def test_nothing_to_choose_from_leaves_the_lawn_dry() -> None:
    task = small_task(1)
    none = Task(
        place=task.place[:0],
        own=task.own[:0],
        line=task.line[:0],
        flow=task.flow[:0],
        rate=task.rate[:, :0],
        there=task.there,
        area=task.area,
        in_way=1,
        room=task.room,
    )
    chosen = choose(none)
    assert chosen.picked == ()
    assert chosen.cost == chosen.bound == worth_of(none, ())


def test_a_line_without_room_sets_nothing() -> None:
    assert choose(small_task(3, room=0.0)).picked == ()


# --- figures ------------------------------------------------------------------------------------------------


@given(
    arc=st.sampled_from([90, 120, 180, 240, 270, 360]),
    facing=st.floats(0, FULL),
    throw=st.floats(2.0, 9.0),
)
@settings(max_examples=25, deadline=None)
def test_what_a_head_spreads_is_its_flow(arc: int, facing: float, throw: float) -> None:
    head = SprinklerHead("h", 1.0, -2.0, throw, math.radians(arc), facing, 1e-4, "")
    step = throw / 120
    axis = np.arange(-throw, throw, step) + step / 2
    x, y = np.meshgrid(axis + 1.0, axis - 2.0)
    spread = rates(head, np.column_stack((x.ravel(), y.ravel()))).sum() * step**2
    assert spread == pytest.approx(head.flow, rel=0.02)


def test_a_half_circle_waters_the_side_it_faces() -> None:
    head = SprinklerHead("h", 0.0, 0.0, 4.0, math.pi, math.pi / 2, 1e-4, "")
    east, west = rates(head, np.array([[2.0, 0.0], [-2.0, 0.0]]))
    assert east > 0
    assert west == 0


def test_even_depths_are_perfect_and_none_are_nothing() -> None:
    even = np.full(9, 3.0)
    assert (christiansen(even), low_part(even)) == (1.0, 1.0)
    assert (christiansen(np.zeros(4)), low_part(np.empty(0))) == (0.0, 0.0)


def test_flow_table_between_and_beyond_its_rows() -> None:
    assert full_flow(15 * FT) / GPM == pytest.approx(3.7)
    assert full_flow(11 * FT) / GPM == pytest.approx((1.6 + 2.6) / 2)
    assert full_flow(30 * FT) / GPM == pytest.approx(4 * 3.7)
    assert full_flow(4 * FT) / GPM == pytest.approx(1.05 / 4)


def test_half_the_arc_takes_half_the_water() -> None:
    assert matched_flow(1e-5, 4.0, math.pi) == pytest.approx(matched_flow(1e-5, 4.0, FULL) / 2)


# --- pipes --------------------------------------------------------------------------------------------------


def with_pipe(
    make: Any, line: tuple[XY, ...], depth: float | None, kind: str = "sprinkler", **row: Any
) -> SprinklerPlan:
    shaped, ground, notes, points = grid_job(make)
    ground = make.ground(heads=ground.heads, buried=(BuriedLine("feed", kind, line, depth),))
    points |= {"V1": line[0], "V2": line[-1]}
    rows = [{"kind": kind, "name": "feed", "along": ["V1", "V2"], **row}]
    notes = notes.model_copy(update={"buried": written([], buried=rows).buried})
    return planned((shaped, ground, notes, points))


ACROSS: tuple[XY, ...] = ((3.0, 0.0), (3.0, -30 * FT))


def test_a_pipe_that_crosses_gets_a_sleeve_of_twice_its_bore(make: Any) -> None:
    plan = with_pipe(make, ACROSS, 0.4, pipe="3/4 in")
    (crossing,) = plan.crossings
    assert (crossing.advice, crossing.name) == ("sleeve", "feed")
    assert crossing.bore == pytest.approx(1.5 * 0.0254)
    assert crossing.sleeve == pytest.approx(3 * FT + 2 * 12 * 0.0254)
    assert math.dist(crossing.p, crossing.q) == pytest.approx(3 * FT)
    assert "pipe-sleeve" in codes(plan)
    assert any(part.said and part.said[1].key == "want-sleeve" for part in plan.parts)


@pytest.mark.parametrize(("depth", "advice"), [(0.19, "sleeve"), (0.10, "lower"), (None, "sleeve")])
def test_a_pipe_in_the_dig_is_lowered(make: Any, depth: float | None, advice: str) -> None:
    """3 1/2 in of concrete on 4 in of base is 0.1905 m: a little less is in the dig."""
    limit = 7.5 * 0.0254
    plan = with_pipe(make, ACROSS, depth if depth != 0.19 else limit)
    assert plan.crossings[0].advice == advice


def test_a_pipe_along_under_the_slab_is_taken_round(make: Any) -> None:
    plan = with_pipe(make, ((0.5, -15 * FT), (12.0, -15 * FT)), 0.4)
    assert plan.crossings[0].advice == "move"
    assert plan.crossings[0].sleeve == 0.0


def test_gas_is_left_to_the_cautions(make: Any) -> None:
    plan = with_pipe(make, ACROSS, 0.4, kind="gas")
    assert [c.advice for c in plan.crossings] == ["new"]  # the lawn's own pipe, not the gas


def test_heads_on_both_sides_and_no_pipe_known(make: Any) -> None:
    plan = planned(grid_job(make))
    (crossing,) = plan.crossings
    assert crossing.advice == "new"
    assert math.dist(crossing.p, crossing.q) == pytest.approx(3 * FT, rel=0.2)
    assert "pipe-new" in codes(plan)


# --- tables and texts ---------------------------------------------------------------------------------------


def test_every_rule_has_a_source() -> None:
    assert source_keys("yard") <= set(all_sources())


def test_findings_read_in_both_languages_and_systems(make: Any) -> None:
    plans = [
        planned(grid_job(make)),
        planned(grid_job(make, lawn=False, **{"off-paving": "strict"})),
        with_pipe(make, ACROSS, 0.1),
    ]
    for finding in (f for plan in plans for f in plan.findings):
        for lang, system in itertools.product(("en", "es"), System):
            text = finding.text(lang=lang, system=system)
            assert "{" not in text.what + text.why + text.do


def test_the_same_notes_give_the_same_heads(make: Any) -> None:
    assert planned(grid_job(make)) == planned(grid_job(make))
