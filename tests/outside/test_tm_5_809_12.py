"""US Army TM 5-809-12 (25 August 1987), 5-4: a panel between contraction joints at most 600 square feet.

Read in a stored copy of UFC 3-320-06A, which reprints it. The manual is for floors under heavy loads; its
other limit there, length at most 25 % over width, is stricter than the 1.5 of ACI 302.1R that is kept here.
"""

from __future__ import annotations

import pytest
from tests.slab import shape_cases as c

from slabwright.notes.defaults import joint_spacing
from slabwright.slab.joints import plan_joints
from slabwright.slab.outline import outline

FT, IN = 0.3048, 0.0254
PRINTED = 600.0  # ft2


@pytest.mark.parametrize("inches", [3.5, 4.0, 5.0, 6.0, 8.0, 12.0])
@pytest.mark.parametrize(("stone", "slump"), [(0.5, 4.5), (0.75, 4.5), (0.75, 3.0)])
def test_no_square_panel_at_the_longest_spacing_is_larger(inches: float, stone: float, slump: float) -> None:
    """600 square feet, at every thickness and for each column of the spacing table."""
    most, _ = joint_spacing(inches * IN, stone * IN, slump * IN)
    assert (most / FT) ** 2 <= PRINTED


@pytest.mark.parametrize(("wide", "deep"), [(30.0, 20.0), (36.0, 36.0), (40.0, 26.0)])
def test_a_large_thick_pad_is_cut_into_panels_that_keep_it(wide: float, deep: float) -> None:
    """6 in of stiff concrete, whose joints may stand farthest apart: no panel over 600 square feet."""
    thick, stone, slump = 6 * IN, 0.75 * IN, 3 * IN
    names, points = c.ring([(0, 0), (wide, 0), (wide, deep), (0, deep)])
    joints = c.joints(most=joint_spacing(thick, stone, slump)[0], depth=1.5 * IN)
    spec = c.spec(names, thickness=thick, aggregate=stone, slump=slump, joints=joints)
    o, _ = outline(spec, points, c.ground())
    plan = plan_joints(o, spec, c.ground())
    assert sum(p.area for p in plan.panels) / FT**2 == pytest.approx(wide * deep)
    assert max(p.area for p in plan.panels) / FT**2 <= PRINTED
    assert plan.findings == ()
