"""The finished slab against its plan: what was read comes back as a difference, a bent slab is named."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner

from slabwright.build.as_built import AsBuilt, compare, rule
from slabwright.cli import main
from slabwright.ground.exchange import RodRow
from slabwright.measure import read
from slabwright.notes import read_notes
from slabwright.plan import make
from slabwright.result import Plan

JOB = Path(__file__).parents[2] / "examples" / "side-walk" / "job.yaml"
SIGHT = 1.5  # m, line of sight above the datum


@cache
def plan() -> Plan:
    return make(read_notes(JOB), name="side-walk")


def heights() -> dict[str, float]:
    return {h.name: h.height for h in plan().survey.heights.values()}


def rows(off: dict[str, float] | None = None, *, bench: bool = True, sight: float = SIGHT) -> list[RodRow]:
    """Readings on every mark of a slab that is off its plan by `off` [m] at some of them."""
    nodes = plan().shaped.slabs[0].height_plan.nodes
    made = [
        RodRow(n.label, sight - (n.z + (off or {}).get(n.label, 0.0)), "", "S9", "", k)
        for k, n in enumerate(nodes, 2)
    ]
    start = [RodRow("side sill", sight - heights()["side sill"], "", "S9", "", 1)] if bench else []
    return start + made


def built(**changes: object) -> AsBuilt:
    return compare(plan().shaped, heights(), rows(**changes))  # type: ignore[arg-type]


def codes(made: AsBuilt) -> set[str]:
    return {f.code for f in made.findings}


def test_a_slab_as_planned_has_no_difference() -> None:
    made = built()
    assert len(made.marks) == len(plan().shaped.slabs[0].height_plan.nodes)
    assert max(abs(m.off) for m in made.marks) < 1e-9
    assert made.findings == ()


def test_the_line_of_sight_does_not_matter() -> None:
    one, other = built(sight=1.5), built(sight=9.0)
    assert [m.built for m in one.marks] == pytest.approx([m.built for m in other.marks])


@pytest.mark.parametrize(("inches", "within"), [("3/4 in", True), ("49/64 in", False), ("-3/4 in", True)])
def test_the_tolerance_on_each_side_of_its_edge(inches: str, within: bool) -> None:
    off = -read("length", inches[1:]) if inches.startswith("-") else read("length", inches)
    every = {n.label: off for n in plan().shaped.slabs[0].height_plan.nodes}
    made = built(off=every)
    assert {m.within for m in made.marks} == {within}
    assert ("built-off" in codes(made)) is not within


def test_a_dip_is_uneven_before_it_is_out_of_tolerance() -> None:
    made = built(off={"4": -1.5 * rule("evenness")})
    assert codes(made) == {"built-uneven"}
    assert all("4" in f.where for f in made.findings)


def test_a_slab_that_falls_back_is_a_stop() -> None:
    low = {str(n): 0.025 for n in range(1, 10)}  # the far edge stands an inch high: the cross fall turns
    made = built(off=low)
    assert "built-falls-back" in codes(made)
    assert any(f.level == "stop" for f in made.findings)


def test_without_a_bench_nothing_is_compared() -> None:
    made = built(bench=False)
    assert made.marks == ()
    assert codes(made) == {"built-no-bench"}


def test_benches_that_differ_are_named() -> None:
    more = [*rows(), RodRow("Q2", SIGHT - heights()["Q2"] - 0.02, "", "S9", "", 99)]
    made = compare(plan().shaped, heights(), more)
    assert "built-benches-differ" in codes(made)


def test_an_unknown_mark_is_left_out_and_said() -> None:
    made = compare(plan().shaped, heights(), [*rows(), RodRow("99", 1.0, "", "S9", "", 50)])
    assert codes(made) == {"built-unknown-mark"}
    assert made.findings[0].line == 50


def test_the_command_gives_the_table(tmp_path: Path) -> None:
    table = tmp_path / "after.csv"
    lines = ["point,reading", "side sill,1.500 m"]
    base = heights()["side sill"]
    nodes = plan().shaped.slabs[0].height_plan.nodes
    lines += [f"{n.label},{1.5 - (n.z - base):.4f} m" for n in nodes]
    table.write_text("\n".join(lines))
    result = CliRunner().invoke(main, ["as-built", str(JOB), str(table)])
    assert result.exit_code == 0, result.output
    assert result.stdout.splitlines()[0].startswith("Slab,Mark,Planned")
    assert len(result.stdout.splitlines()) == len(nodes) + 1
    assert "0 out of tolerance" in result.stderr
