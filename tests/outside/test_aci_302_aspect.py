"""ACI 302.1R, quoted in a trade journal ('Elongated slabs are likely to crack'): a panel's length to width.

The quoted limit: length at most 1.5 times width.
"""

from __future__ import annotations

from typing import get_args

import pytest
from tests.slab import shape_cases as c

from slabwright.notes import Notes, specify
from slabwright.notes.models import Use
from slabwright.slab.joints.checks import panel_findings
from slabwright.slab.model import Panel

FT = 0.3048
PRINTED = 1.5


def panel(long: float, short: float) -> Panel:
    ring = ((0.0, 0.0), (long * FT, 0.0), (long * FT, short * FT), (0.0, short * FT))
    return Panel("1", ring, long * short * FT * FT, long * FT, short * FT)


def test_the_limit_is_the_printed_one() -> None:
    """1.5, as quoted."""
    shape = {"along": ["P1", "P2"], "width": "3'"}
    for use in get_args(Use):
        notes = Notes.model_validate({"title": "t", "slabs": [{"name": "s", "use": use, **shape}]})
        assert specify(notes)[0].joints.aspect_most == PRINTED


@pytest.mark.parametrize(
    ("long", "short", "said"),
    [(9.0, 6.0, False), (4.5, 3.0, False), (8.9, 6.0, False), (9.1, 6.0, True), (6.0, 3.0, True)],
)
def test_panels_on_each_side_of_the_limit(long: float, short: float, said: bool) -> None:
    """At 1.5 a panel is within the limit; past it, it is pointed out with its ratio."""
    found = [f for f in panel_findings([panel(long, short)], c.spec()) if f.code == "panel-too-thin"]
    assert bool(found) is said
    if found:
        assert found[0].values["ratio"].si == pytest.approx(long / short)
        assert found[0].values["most"].si == PRINTED
        assert "ACI 302.1R" in found[0].text().source


def test_no_planned_panel_of_a_plain_patio_is_past_it() -> None:
    """A 12 by 9 ft 10 in patio: one joint across would leave 6 by 9 ft 10 in, 1.64 to 1."""
    from slabwright.slab.joints import plan_joints
    from slabwright.slab.outline import outline

    names, points = c.ring([(0, 0), (12, 0), (12, 9 + 10 / 12), (0, 9 + 10 / 12)])
    spec = c.spec(names)
    o, _ = outline(spec, points, c.ground())
    plan = plan_joints(o, spec, c.ground())
    assert max(p.long / p.short for p in plan.panels) <= PRINTED
