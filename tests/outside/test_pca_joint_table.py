"""PCA, Design and Control of Concrete Mixtures (EB001): joint spacing in feet by thickness and aggregate.

As printed in a stored copy of a masonry and concrete text, p. 32 (its slump heading reads 3 to 5 in;
the original says 4 to 6 in, recalled). The columns: largest stone under 3/4 in; 3/4 in and over; slump
under 4 in.
"""

from __future__ import annotations

import pytest

from slabwright.notes.defaults import joint_spacing

FT, IN = 0.3048, 0.0254
PRINTED = [  # thickness [in], stone < 3/4 in, stone >= 3/4 in, slump < 4 in [ft]
    (4, 8, 10, 12),
    (5, 10, 13, 15),
    (6, 12, 15, 18),
]


@pytest.mark.parametrize(("inches", "small", "large", "low"), PRINTED)
def test_spacing_as_printed(inches: float, small: float, large: float, low: float) -> None:
    """Each cell of the table, whole feet as printed (p. 32)."""
    t = inches * IN
    assert round(joint_spacing(t, 0.5 * IN, 4.5 * IN)[0] / FT, 9) == small
    assert round(joint_spacing(t, 0.75 * IN, 4.5 * IN)[0] / FT, 9) == large
    assert round(joint_spacing(t, 0.75 * IN, 3 * IN)[0] / FT, 9) == low
    assert joint_spacing(t, 0.75 * IN, 4 * IN)[1] == "pca-joint-table"
