"""A levelling loop from the sample output of an open-source geodetic adjustment library.

Source: the 1-D sample output page of that library (read in a stored copy; kept there at
vrmapper.com, gama/1doutput.html). Inputs and adjusted heights, standard deviations, sum of squares and
largest normalised residual as printed. Metres; every sight 5 mm.
"""

from __future__ import annotations

import pytest

from slabwright.survey import adjust
from slabwright.survey.net import HeightDifference, KnownHeight, Net

SIGHTS = [
    ("1a", "4", -1.225),
    ("4", "3", -0.848),
    ("3", "2", 1.342),
    ("2", "1a", 0.720),
    ("1a", "2", -0.724),
    ("2", "3", -1.335),
    ("3", "4", 0.842),
    ("4", "1a", 1.231),
]


@pytest.fixture(scope="module")
def sample():
    net = Net(
        height_differences=tuple(
            HeightDifference(a, b, up, sd=0.005, where=str(k + 1)) for k, (a, b, up) in enumerate(SIGHTS)
        ),
        known_heights=(KnownHeight("1a", 1000.000),),
    )
    return adjust(net)


def test_heights(sample):
    """H4 998.77513, H3 997.93325, H2 999.27487 m."""
    got = [sample.heights[name].height for name in ("4", "3", "2")]
    assert got == pytest.approx([998.77513, 997.93325, 999.27487], abs=5.1e-6)


def test_standard_deviations(sample):
    """3.1, 3.5, 3.1 mm from the a-priori 5 mm; m0' a posteriori 5.42 mm."""
    assert sample.levels.s0 * 5.0 == pytest.approx(5.42, abs=5e-3)
    a_priori = [1000 * sample.heights[name].sd for name in ("4", "3", "2")]
    assert a_priori == pytest.approx([3.1, 3.5, 3.1], abs=0.05)


def test_sum_of_squares(sample):
    """[pvv] 146.625 mm2 with unit weights, 5 degrees of freedom."""
    assert sample.levels.statistic * 25.0 == pytest.approx(146.625, abs=5e-4)
    assert sample.levels.dof == 5


def test_largest_residual(sample):
    """Normalised residual 1.68 (by the a-priori sd), on observation 6, below 1.96."""
    worst = max(sample.readings, key=lambda row: abs(row.standardised))
    assert worst.name == "6"
    assert abs(worst.standardised) == pytest.approx(1.68, abs=5e-3)
    assert sample.slips == ()
