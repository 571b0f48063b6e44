"""Facts of the trade that no document governs: common practice, as crews state it.

Each test names the custom in its docstring. Figures are the customs' own, not ours.
"""

from __future__ import annotations

import math

import pytest

from slabwright.build.form_tables import stake_length
from slabwright.build.kit import check_kit
from slabwright.notes.models import Kit
from slabwright.notes.spec import FallSpec, JointSpec, SlabSpec, SteelSpec
from slabwright.slab.model import (
    XY,
    Edge,
    HeightPlan,
    Joint,
    JointPlan,
    Outline,
    Panel,
    Shaped,
    Slab,
    SteelPlan,
)
from slabwright.slab.steel import plan_steel

INCH, FOOT = 0.0254, 0.3048
PSI = 6894.757293168361


def walk_3_ft_wide(length: float = 30 * FOOT, thickness: float = 3.5 * INCH) -> Slab:
    """A straight walk, forms 3 ft apart, joints tooled."""
    width = 3 * FOOT
    ring: tuple[XY, ...] = (
        (0.0, -width / 2),
        (length, -width / 2),
        (length, width / 2),
        (0.0, width / 2),
    )
    edges = tuple(Edge(p, q, "free", None) for p, q in zip(ring, (*ring[1:], ring[0]), strict=True))
    spec = SlabSpec(
        name="walk",
        use="walk",
        line=None,
        corners=(),
        along=(),
        width=width,
        side="centre",
        thickness=thickness,
        base=4 * INCH,
        meets=(),
        heights=(),
        fall=FallSpec(1 / 48, 0.01, 1 / 48, 0.05, 0.02, None, False, False),
        joints=JointSpec(6 * FOOT, 8 * FOOT, 1.5, "tooled", 0.75 * INCH),
        steel=SteelSpec("bars", "4", 18 * INCH, False, 3 * INCH),
        openings=(),
        finish="broom",
        aggregate=0.75 * INCH,
        slump=4 * INCH,
        strength=4000 * PSI,
        taken=(),
    )
    outline = Outline(
        "walk", ring, edges, (), ((0.0, 0.0), (length, 0.0)), width, length * width, 2 * (length + width)
    )
    joint = Joint(
        "contraction",
        ((6 * FOOT, -width / 2), (6 * FOOT, width / 2)),
        0.75 * INCH,
        "tooled",
        "crew-rule",
    )
    panels = (Panel("1", ring, outline.area, length, width),)
    return Slab(
        spec,
        outline,
        JointPlan((joint,), panels, 0.0, 0.0, True, ()),
        HeightPlan((), (), (0, 0), (0, 0), (0, 0), True, {}, ()),
        SteelPlan("none", "", (), 0.0, 0.0, 0.0, 0.0, 0.0, 0, 0, ()),
    )


def kit_codes(**tools: str) -> set[str]:
    return {f.code for f in check_kit(Kit(**tools), Shaped((walk_3_ft_wide(),), ()))}  # type: ignore[arg-type]


def test_bars_run_the_long_way() -> None:
    """A narrow walk cracks across, so its bars run the long way."""
    slab = walk_3_ft_wide()
    plan = plan_steel(slab.outline, slab.joint_plan, slab.spec)
    assert plan.bars
    for bar in plan.bars:
        (x0, y0), (x1, y1) = bar.line[0], bar.line[-1]
        assert abs(math.atan2(y1 - y0, abs(x1 - x0))) < 1e-9
        assert abs(x1 - x0) > 0.9 * 30 * FOOT


def test_stakes_are_18_in_and_stand_above_the_form() -> None:
    """Stakes 18 in long are left standing above a 2x4 form, so that they can be gripped."""
    assert stake_length(3.5 * INCH, "loam") / INCH == pytest.approx(18)
    # What is left above the form after driving: a grip of two inches or more.
    from slabwright.build.form_tables import rule

    assert 18 * INCH - 3.5 * INCH - rule("drive_loam") >= 2 * INCH - 1e-9


@pytest.mark.parametrize(("length", "fits"), [("3 ft", False), ("2' 6\"", True)])
def test_float_between_forms_3_ft_apart(length: str, fits: bool) -> None:
    """A 3 ft float does not fit between forms 3 ft apart and a 2 ft 6 in one does."""
    assert ("kit-float-long" not in kit_codes(float_=length)) == fits


def test_joint_tool_of_three_quarters() -> None:
    """A 3/4 in deep joint tool is short of a quarter of a 3 1/2 in slab, which is 7/8 in."""
    assert "kit-joint-tool-shallow" in kit_codes(joint_tool="3/4")
    assert "kit-joint-tool-shallow" not in kit_codes(joint_tool="7/8")
