"""Huang, Pavement Analysis and Design, ch. 4: Westergaard's stresses, figures recalled as printed.

A load of 10,000 lb on a circle of 6 in radius, slab 10 in, k 100 pci, E 4,000,000 psi: radius of
relative stiffness 42.97 in; stress at the corner 186.6 psi, inside 143.7 psi, at the edge 279.4 psi.
"""

from __future__ import annotations

import pytest

from slabwright.slab.thickness import PCI, PSI, Wheel, contact_radius, wheel_stresses

INCH, POUND = 0.0254, 4.4482216152605


def test_three_places() -> None:
    found = wheel_stresses(10_000 * POUND, 6 * INCH, 10 * INCH, 100 * PCI, 4e6 * PSI)
    assert found.stiffness / INCH == pytest.approx(42.97, abs=0.005)
    assert found.interior / PSI == pytest.approx(143.7, abs=0.05)
    assert found.corner / PSI == pytest.approx(186.6, abs=0.15)  # 186.7 unrounded; slide-rule rounding
    assert found.edge / PSI == pytest.approx(279.4, abs=0.05)


def test_wide_load_uses_its_own_radius() -> None:
    """Past 1.724 thicknesses the reduced radius is the radius itself: the two branches nearly meet."""
    common = (10_000 * POUND, 100 * PCI, 4e6 * PSI)
    just_under = wheel_stresses(common[0], 17.23 * INCH, 10 * INCH, common[1], common[2])
    just_over = wheel_stresses(common[0], 17.25 * INCH, 10 * INCH, common[1], common[2])
    assert just_over.interior == pytest.approx(just_under.interior, rel=2e-3)


def test_contact_circle() -> None:
    """3,000 lb at 60 psi bears on a circle of 3.99 in (area 50 in2)."""
    assert contact_radius(Wheel("pickup", 3000 * POUND, 60 * PSI)) / INCH == pytest.approx(3.99, abs=0.005)


@pytest.mark.parametrize("bad", [0.0, -1.0])
def test_nothing_may_be_zero(bad: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        wheel_stresses(bad, 0.1, 0.1, 2e7, 2e10)
