"""Falls as crews state them: common practice, no document.

A 3 ft walk with one form 3/4 in higher than the other is at exactly 1:48; 1/8 in per ft is the least
fall that sheds water; 2 % over 12 ft is 2.88 in (site handbook, falls in the trade).
"""

from __future__ import annotations

import pytest
from tests.slab import heights_cases as c

from slabwright import measure
from slabwright.slab.heights.limits import value
from slabwright.slab.heights.plan import plan_heights


def test_three_quarters_on_three_feet_is_one_in_forty_eight():
    """Common practice: 3/4 in in 3 ft, read as written, is the accessible limit itself."""
    written = measure.read("slope", "3/4 in per 3'")
    assert written == pytest.approx(1 / 48, abs=1e-15)


def test_a_walk_made_so_has_forms_three_quarters_apart_and_no_finding():
    """Common practice: the crew writes the fall, the heights of the two forms differ by 3/4 in."""
    fall = c.fall(across=measure.read("slope", "3/4 in per 3'"), across_given=True, toward="right")
    o, j = c.ribbon(30 * c.FT, 3 * c.FT, 6)
    g = c.ground(surface=c.plane_surface(-0.01, 0.0, 0.0))
    plan = plan_heights([(c.spec(fall=fall), o, j)], {}, {}, g)[0]
    assert plan.feasible
    assert not [f for f in plan.findings if f.level != "note"]
    z = {(round(n.x, 6), round(n.y, 6)): n.z for n in plan.nodes}
    for k in range(7):
        x = round(k * 5 * c.FT, 6)
        high, low = z[x, round(1.5 * c.FT, 6)], z[x, -round(1.5 * c.FT, 6)]
        assert high - low == pytest.approx(0.75 * c.INCH, abs=1e-9)


def test_an_eighth_in_a_foot():
    """Common practice: 1/8 in per ft, printed as 1.04 %."""
    assert value("flat-panel") == pytest.approx(measure.read("slope", "1/8 in per ft"), abs=1e-15)
    assert round(100 * value("flat-panel"), 2) == 1.04


def test_two_percent_over_twelve_feet():
    """Site handbook, falls in the trade: 2 % over 12 ft = 2.88 in, as the heights of a patio."""
    o, j = c.pad(10 * c.FT, 12 * c.FT, 2, 2, at=(0, -12 * c.FT))
    fixes = (c.Fix(at="W"),)
    fall = c.fall(toward="O", across=0.02, across_given=True)
    points = {"W": (0.0, 0.0), "O": (5 * c.FT, -40.0)}
    spec = c.spec("patio", use="patio", heights=fixes, fall=fall)
    plan = plan_heights([(spec, o, j)], points, {"W": 0.0}, c.ground())[0]
    assert plan.feasible
    assert round(-min(n.z for n in plan.nodes) / c.INCH, 2) == 2.88
