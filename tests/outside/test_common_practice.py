"""Facts of the trade that no document governs: common practice, as crews state it.

Each test names the custom in its docstring. Figures are the customs' own, not ours.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from slabwright.build.dig import plan_dig
from slabwright.build.dig_findings import depths_beside
from slabwright.build.form_tables import stake_length
from slabwright.build.kit import check_kit
from slabwright.ground.model import ExistingSlab, Ground, Surface
from slabwright.notes.models import Kit
from slabwright.notes.spec import FallSpec, JointSpec, SlabSpec, SteelSpec
from slabwright.slab.model import (
    XY,
    Edge,
    Facet,
    HeightPlan,
    Joint,
    JointPlan,
    Node,
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
    """A 3/4 in deep joint tool is short of a quarter of a 3 1/2 in slab, which is 7/8 in; 1 in does."""
    assert "kit-joint-tool-shallow" in kit_codes(joint_tool="3/4")
    assert "kit-joint-tool-shallow" not in kit_codes(joint_tool="1")


def laid(slab: Slab) -> Slab:
    """The walk with its top at 0, and the form's height of concrete straight on the ground."""
    nodes = tuple(Node(str(k), x, y, 0.0, None) for k, (x, y) in enumerate(slab.outline.ring))
    plan = replace(slab.height_plan, nodes=nodes, facets=(Facet((0, 1, 2, 3), "1"),))
    return replace(slab, spec=replace(slab.spec, base=0.0), height_plan=plan)


def test_dug_beside_an_existing_slab() -> None:
    """A walk that adjoins an existing slab is dug 3 to 4 in below that slab's top for a 2x4 form."""
    walk = laid(walk_3_ft_wide())
    edge = ((0.0, -2 * FOOT), (0.0, 0.0), (0.0, 2 * FOOT))
    patio = ExistingSlab("patio", (), edge, ("a", "b", "c"), (0.0, 0.0, 0.0), None, True, None, ())
    depths = depths_beside(walk, patio)
    assert len(depths) == 2
    assert all(3 * INCH <= depth <= 4 * INCH for depth in depths)


def test_inland_lawn_walk_is_dug_free_of_organic_matter() -> None:
    """An inland lawn walk is dug free of all organic matter, which decays and lets the slab settle."""
    xyz = np.array([(-9.0, -9.0, 0.0), (19.0, -9.0, 0.0), (19.0, 9.0, 0.0), (-9.0, 9.0, 0.0)])
    lawn = Surface(xyz, np.array([[0, 1, 2], [0, 2, 3]]), tuple((x, y) for x, y, _ in xyz), ("",) * 4)
    for sod in (2 * INCH, 6 * INCH):  # sod thinner and deeper than the concrete
        ground = Ground((), (), (), (), (), (), (), lawn, sod, "loam", "none", None, ())
        dig = plan_dig(Shaped((laid(walk_3_ft_wide()),), ()), ground)
        assert dig is not None
        assert dig.organic_volume >= 90 * FOOT**2 * sod
        assert min(depth for _, _, depth in dig.node_depths) >= max(sod, 3.5 * INCH) - 1e-12
        assert (dig.fill > 0) == (sod > 3.5 * INCH)


def test_full_circles_in_the_path_become_part_circles_on_both_sides() -> None:
    """Full-circle heads in the path of a walk become part-circle heads along both of its sides."""
    import numpy as np

    from slabwright.build.sprinklers import plan_sprinklers
    from slabwright.ground.model import Ground
    from slabwright.notes.models import Notes

    places = {f"H{k}": (k * 10 * FOOT, 0.0) for k in range(1, 3)}
    notes = Notes.model_validate(
        {
            "title": "lawn",
            "slabs": [{"name": "walk", "use": "walk"}],
            "sprinklers": [{"head": h, "at": h, "throw": "12 ft", "line": "lawn"} for h in places],
            "sprinkler-lines": [{"line": "lawn", "most": "15 gpm"}],
        }
    )
    heads = tuple((name, at, 12 * FOOT) for name, at in places.items())
    ground = Ground((), (), (), (), (), (), heads, None, 0.1, "loam", "none", None, ())
    plan = plan_sprinklers(Shaped((walk_3_ft_wide(),), ()), ground, notes)
    assert plan is not None
    left = [head for head in plan.heads if head.y > 1.5 * FOOT]
    right = [head for head in plan.heads if head.y < -1.5 * FOOT]
    assert left
    assert right
    assert len(left) + len(right) == len(plan.heads)
    assert all(head.arc <= np.pi + 1e-9 for head in plan.heads)
