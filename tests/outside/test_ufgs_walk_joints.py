"""Unified Facilities Guide Specifications 03300N, sidewalks: 4 in thick, joints 5 ft apart, 1 in deep."""

from __future__ import annotations

import pytest
from tests.slab import shape_cases as c

from slabwright.slab.joints import plan_joints
from slabwright.slab.outline import outline

FT, IN = 0.3048, 0.0254
SPACING_FT, DEPTH_IN, THICK_IN = 5.0, 1.0, 4.0  # as printed


@pytest.mark.parametrize("width", [4.0, 5.0, 6.0])
def test_a_walk_to_that_rule_has_nothing_against_it(width: float) -> None:
    """40 ft of walk: eight panels of 5 ft, joints 1 in deep, no caution from the other published rules."""
    spec = c.spec(
        along="AB", width=width * FT, thickness=THICK_IN * IN,
        joints=c.joints(every=SPACING_FT * FT, depth=DEPTH_IN * IN),
    )  # fmt: skip
    o, _ = outline(spec, {"A": (0.0, 0.0), "B": (40 * FT, 0.0)}, c.ground())
    plan = plan_joints(o, spec, c.ground())
    assert len(plan.panels) == 8
    assert plan.findings == ()
    for p in plan.panels:
        assert max(p.long, p.short) == pytest.approx(max(SPACING_FT, width) * FT)
