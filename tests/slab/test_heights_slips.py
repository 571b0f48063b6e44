"""A misread rod where no surface keeps every limit; what could not be checked; what cannot be set."""

from __future__ import annotations

import pytest
from tests.slab import heights_cases as c

from slabwright.findings import Level
from slabwright.ground.model import DoorAt, ExistingSlab, Wall
from slabwright.measure import System
from slabwright.slab.heights.plan import GRADE, plan_heights, problems_of
from slabwright.slab.heights.slips import likely, moved_with, sizes

L = 8.0


def walk(off: dict[str, float], *, grade: float = GRADE):
    """A walk from a stoop (E1, E2) to a driveway (G1, G2), 2 % across; some shots are misread by `off`."""
    o, j = c.ribbon(L, 1.0, 6, ends=("stoop", "driveway"))
    true = {"E1": 0.0, "E2": 0.02, "G1": -0.16, "G2": -0.14}
    read = {k: h + off.get(k, 0.0) for k, h in true.items()}

    def end(name: str, x: float, a: str, b: str) -> ExistingSlab:
        run = ((x, -0.5), (x, 0.5))
        return ExistingSlab(name, (), run, (a, b), (read[a], read[b]), None, True, None, ())

    there = (end("stoop", 0.0, "E1", "E2"), end("driveway", L, "G1", "G2"))
    meets = (c.Meets(existing="stoop"), c.Meets(existing="driveway"))
    spec = c.spec(fall=c.fall(across=0.02, across_most=0.03), meets=meets)
    g = c.ground(slabs=there, surface=c.plane_surface(-0.02, 0.02, -0.03))
    return [(spec, o, j)], {}, {}, g


def codes(plan):
    return [f.code for f in plan.findings]


@pytest.mark.parametrize("point", ["E1", "E2", "G1", "G2"])
@pytest.mark.parametrize("by", [0.3048, -0.3048, -0.1524])
def test_a_rod_read_past_a_mark_is_named(point, by):
    (plan,) = plan_heights(*walk({point: by}))
    assert not plan.feasible
    stops = [f for f in plan.findings if f.level is Level.STOP]
    assert [f.code for f in stops] == ["heights-slip-high" if by > 0 else "heights-slip-low"]
    assert stops[0].values["point"] == point
    assert stops[0].values["by"].si == pytest.approx(abs(by))
    (first,) = (f for f in plan.findings if f.values.get("rank") == 1)
    assert first.code.startswith("way-slip-")
    assert first.values["point"] == point
    assert "1 m" not in " ".join(f.text().what for f in plan.findings)


def test_as_it_was_meant_there_is_nothing_to_say():
    (plan,) = plan_heights(*walk({}))
    assert plan.feasible
    assert not any("slip" in code for code in codes(plan))


def test_a_height_that_is_no_common_slip_off_keeps_its_own_stops():
    (plan,) = plan_heights(*walk({"G1": 0.55}))
    assert not plan.feasible
    assert "heights-conflict" in codes(plan)
    assert any(code.startswith("over-") for code in codes(plan))


def test_every_reading_moves_what_leans_on_it():
    (problem,), _ = problems_of(*walk({"G1": 0.3048}))
    share = moved_with(problem)
    assert set(share) == {"E1", "E2", "G1", "G2"}
    assert sum(share.values()) == pytest.approx(1.0)  # raised together, each hold rises as much
    program = problem.program
    rows = slice(problem.first_hold, problem.first_hold + len(problem.holds))
    assert {program.families[k].kind for k in program.family[rows].tolist()} == {"existing"}
    assert likely(problem, ()) == []


def test_slips_are_those_of_the_job_s_own_rod():
    assert sizes(GRADE)[0] == pytest.approx(0.3048)
    assert {0.0254, 0.1524} <= {round(s, 4) for s in sizes(GRADE)}
    assert set(sizes(0.001)) == {1.0, 0.1}
    metric = plan_heights(*walk({"G1": 0.1}), grade=0.001)[0]
    (stop,) = (f for f in metric.findings if f.level is Level.STOP)
    assert (stop.code, stop.values["point"]) == ("heights-slip-high", "G1")


def test_a_sill_read_a_foot_low_is_named():
    kinds = (("free", None), ("free", None), ("wall", "A-B"), ("free", None))
    o, j = c.pad(6, 4, 4, 3, at=(0, -4), kinds=kinds)
    door = DoorAt("back", "A-B", (2, 0), (3, 0), 0.1381 - 0.3048, "sill")
    g = c.ground(walls=[Wall("A-B", (0, 0), (6, 0))], doors=[door])
    fixes = tuple(c.Fix(at=k, below="bench", by="0 m") for k in ("P", "Q"))
    spec = c.spec(
        "patio", use="patio", fall=c.fall(toward=None, across=0.02, across_most=0.03),
        meets=(c.Meets(door="back"),), heights=fixes,
    )  # fmt: skip
    (plan,) = plan_heights([(spec, o, j)], {"P": (0.0, -4.0), "Q": (6.0, -4.0)}, {"bench": 0.0}, g)
    named = {f.values["point"] for f in plan.findings if f.code.startswith("way-slip")}
    assert named == {"sill", "bench"}  # either would explain it


def test_a_twist_is_told_by_what_a_board_shows():
    slabs, points, heights, g = walk({"G1": 0.55})
    (plan,) = plan_heights(slabs, points, heights, g)
    told = [f for f in plan.findings if f.code == "over-twist"]
    for system in System:
        assert all("plane of the other three" in f.text(system=system).what for f in told)
    bent = [f.values for f in told]
    assert all(v["off"].si > v["most"].si > 0 for v in bent)


@pytest.mark.parametrize(("siding", "bottom", "code"), [
    ("wood", None, "siding-unshot-wood"), ("stucco", None, "siding-unshot-stucco"),
    ("wood", 1.0, None), ("brick", None, None),
])  # fmt: skip
def test_siding_whose_bottom_was_not_shot_is_not_checked(siding, bottom, code):
    kinds = (("free", None), ("free", None), ("wall", "A-B"), ("free", None))
    o, j = c.pad(3, 3, 2, 2, at=(0, -3), kinds=kinds)
    g = c.ground(
        walls=[Wall("A-B", (0, 0), (3, 0))], siding=siding, siding_bottom=bottom,
        surface=c.plane_surface(0.0, 0.02, -0.1),
    )  # fmt: skip
    spec = c.spec("patio", use="patio", fall=c.fall(toward=None, across=0.02))
    (plan,) = plan_heights([(spec, o, j)], {}, {}, g)
    said = [f for f in plan.findings if f.code.startswith("siding-unshot")]
    assert [f.code for f in said] == ([code] if code else [])
    assert all(f.level is Level.NOTE for f in said)


def test_a_fall_below_what_can_be_set_is_called_level():
    o, j = c.pad(3, 3, 1, 1)
    fixes = (
        c.Fix(at="P", above="bench"),
        c.Fix(at="Q", below="bench", by="1 mm"),
        c.Fix(at="R", above="bench"),
    )
    fall = c.fall(across=0.0, across_least=-0.1, across_most=0.1, toward=None)
    spec = c.spec("pad", use="pad", fall=fall, heights=fixes)
    at = {"P": (0.0, 0.0), "Q": (3.0, 0.0), "R": (0.0, 3.0)}
    (plan,) = plan_heights([(spec, o, j)], at, {"bench": 0.0}, c.ground(), grade=0.0)
    assert 0 < plan.total[0] < 0.001
    (told,) = (f for f in plan.findings if f.code.startswith("holds-water"))
    assert told.code == "holds-water-level"
    assert "level" in told.text().what
