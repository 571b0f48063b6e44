"""Published form-building notes: stakes 32 in on centre for a 4 in slab and 24 in at 12 in; 3 ft at most.

The first pair was read in a how-to on building forms (concretebasics.org), the last in a list of
tips for walks.
"""

from __future__ import annotations

import pytest

from slabwright.build.form_tables import stake_spacing

INCH = 0.0254


@pytest.mark.parametrize(("thickness", "spacing"), [(4, 32), (12, 24)])
def test_printed_rows(thickness: float, spacing: float) -> None:
    assert stake_spacing(thickness * INCH) / INCH == pytest.approx(spacing)


@pytest.mark.parametrize("thickness", [2, 3.5, 4, 5, 8, 12, 20])
def test_three_feet_at_most(thickness: float) -> None:
    assert stake_spacing(thickness * INCH) <= 36 * INCH
