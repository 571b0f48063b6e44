"""2010 ADA Standards for Accessible Design, sections 303 and 403.3: limits on finished heights.

Figures as printed there: cross slope not steeper than 1:48, running slope not steeper than 1:20; changes
in level of 1/4 in may be vertical, between 1/4 in and 1/2 in bevelled, above 1/2 in they are ramped.
"""

from __future__ import annotations

import pytest
from tests.slab import heights_cases as c

from slabwright import measure
from slabwright.slab.heights.limits import value


@pytest.mark.parametrize(("printed", "name"), [("1:48", "cross-accessible"), ("1:20", "running-accessible")])
def test_slopes_of_403_3(printed, name):
    """403.3: the two ratios, read by our own grammar as printed."""
    assert measure.read("slope", printed) == pytest.approx(value(name), abs=1e-15)


@pytest.mark.parametrize(("printed", "name"), [("1/4 in", "lip-upright"), ("1/2 in", "lip-bevelled")])
def test_changes_in_level_of_303(printed, name):
    """303.2 and 303.3: heights of a vertical and of a bevelled change in level."""
    assert measure.read("length", printed) == pytest.approx(value(name), abs=1e-15)


def codes(across: str, along: str) -> set[str]:
    """Findings on a walk that its two ends hold at these slopes."""
    s, t = measure.read("slope", across), measure.read("slope", along)
    o, j = c.ribbon(9.0, 1.0, 6, ends=("old", "gate"))
    ends = [
        c.existing("old", (0, -1), (0, 1), -s, s),
        c.existing("gate", (9, -1), (9, 1), -9 * t - s, -9 * t + s),
    ]
    meets = (c.Meets(existing="old", lip="0 in"), c.Meets(existing="gate", lip="0 in"))
    fall = c.fall(across=s, across_least=0.0, across_most=0.2, along_most=0.2)
    plan = c.plan_exactly([(c.spec(meets=meets, fall=fall), o, j)], {}, {}, c.ground(slabs=ends))[0]
    return {f.code for f in plan.findings}


@pytest.mark.parametrize(
    ("across", "along", "expected"),
    [
        ("1:48", "1:20", set()),
        ("1:47", "1:20", {"cross-fall-steep"}),
        ("1:48", "1:19", {"running-steep"}),
        ("1:49", "1:21", set()),
    ],
)
def test_a_walk_at_the_printed_limits_passes_and_one_step_past_does_not(across, along, expected):
    """403.3: at the limit is allowed ('not steeper than')."""
    assert codes(across, along) == expected
