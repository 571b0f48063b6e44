"""What was solved is remembered by all that it hangs on, and by nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

from slabwright import solving
from slabwright.notes import Set, parse_notes, update
from slabwright.plan import make
from slabwright.sheets import document
from slabwright.slab.joints import plan as joints

PATIO = (Path(__file__).parents[2] / "examples" / "corner-patio" / "job.yaml").read_text(encoding="utf-8")


@pytest.fixture
def searches(monkeypatch):
    """Count the searches for joints that are really made."""
    made = []
    real = joints.best_lines
    monkeypatch.setattr(joints, "best_lines", lambda *given: made.append(given) or real(*given))
    solving.forget()
    yield made
    solving.forget()


def planned(*changes):
    return make(parse_notes(update(PATIO, changes)), mapped=False)


def test_an_edit_that_leaves_the_shape_is_not_searched_again(searches):
    first = planned()
    assert len(searches) == 1
    dearer = planned(Set(("crew", "people"), "6"), Set(("title",), "Another"))
    assert len(searches) == 1
    assert dearer.shaped.slabs[0].joint_plan.panels == first.shaped.slabs[0].joint_plan.panels


def told(plan):
    """Return all that a plan says."""
    return document.plan_bytes(plan)


@pytest.mark.parametrize(
    "change",
    [
        Set(("slabs", 0, "joints"), {"every": "6'"}),
        Set(("slabs", 0, "thickness"), "5 in"),
        Set(("house", "doors", 0, "from"), "13'"),
        Set(("tape", 8, "P1-P6"), "20' 1/8"),
    ],
)
def test_what_joints_hang_on_is_searched_anew_and_comes_out_as_if_nothing_were_kept(searches, change):
    planned()
    kept = planned(change)
    assert len(searches) == 2
    solving.forget()
    assert told(planned(change)) == told(kept)


def test_the_same_bars_and_boards_are_cut_once():
    from slabwright.build.cutting import Stock, cut

    solving.forget()
    first = cut([(1.0, 3), (2.0, 2)], [Stock(6.0, 1.0)])
    assert cut([(1.0, 3), (2.0, 2)], (Stock(6.0, 1.0),)) is first
    assert cut([(1.0, 3), (2.0, 2)], [Stock(6.0, 1.0, 1)]) is not first
    assert cut([(1.0, 3), (2.0, 2)], [Stock(6.0, 1.0)], kerf=0.003) is not first


def test_a_plan_from_memory_is_the_plan():
    solving.forget()
    new = planned()
    assert told(planned()) == told(new)
