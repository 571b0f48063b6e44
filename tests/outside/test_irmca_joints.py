"""Illinois Ready Mixed Concrete Association, 'Joints': depth of a contraction joint.

As printed: a quarter of the slab's thickness; a 4 in slab 1 in, 5 in 1 1/4 in, 6 in 1 1/2 in.
"""

from __future__ import annotations

import pytest
from tests.slab import shape_cases as c

from slabwright.notes.defaults import joint_depth
from slabwright.slab.joints.checks import rule_findings

IN = 0.0254
PRINTED = [(4.0, 1.0), (5.0, 1.25), (6.0, 1.5)]  # thickness, depth [in]


@pytest.mark.parametrize(("thickness", "depth"), PRINTED)
def test_depth_as_printed(thickness: float, depth: float) -> None:
    """Each pair of the list, exact."""
    assert joint_depth(thickness * IN)[0] == pytest.approx(depth * IN, abs=1e-12)


@pytest.mark.parametrize(("thickness", "depth"), PRINTED)
def test_the_printed_depth_passes_and_a_sixteenth_less_is_said(thickness: float, depth: float) -> None:
    """On the edge and 1/16 in under it."""
    for cut, said in ((depth, False), (depth - 1 / 16, True)):
        spec = c.spec(thickness=thickness * IN, joints=c.joints(depth=cut * IN))
        codes = [f.code for f in rule_findings(spec)]
        assert ("joint-shallow" in codes) is said


def test_a_three_quarter_inch_jointer_is_short_of_a_quarter_of_three_and_a_half_inches() -> None:
    """3/4 in in a 3 1/2 in slab: a quarter is 7/8 in."""
    assert 0.75 * IN < 3.5 * IN / 4
    spec = c.spec(thickness=3.5 * IN, joints=c.joints(depth=0.75 * IN, most=2.0))
    assert "joint-shallow" in [f.code for f in rule_findings(spec)]
