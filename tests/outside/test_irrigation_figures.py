"""Figures of watering from training slides and from the formulas' definitions.

Sprinkler precipitation rates (slides): total-area method, 6 half heads of 1.0 gpm and 4 quarters of
.5 gpm on 60 x 15 ft give .86 in/h; by the exact factor 96.25 = 60 x 231 / 144 it is .8556. Catch test of
twelve cans worked by another hand from Christiansen's (1942) formula: CU 88.33, DU of the lowest quarter
80.00, of the lowest half 88.33.
"""

from __future__ import annotations

import numpy as np
import pytest

from slabwright.build.sprinklers.figures import christiansen, low_part, precipitation_rate
from slabwright.measure import read

CANS = np.array([0.52, 0.48, 0.61, 0.40, 0.55, 0.47, 0.36, 0.58, 0.50, 0.44, 0.53, 0.56])
INCH_AN_HOUR = read("rain", "1 in/h")


def rate_of(flow: str, area: str) -> float:
    return precipitation_rate(read("flow", flow), read("area", area)) / INCH_AN_HOUR


def test_total_area_example() -> None:
    """Slides: 8 gpm on 60 x 15 ft, printed .86 in/h; .8556 by the exact factor."""
    assert rate_of("8 gpm", "900 ft2") == pytest.approx(0.86, abs=0.005)
    assert rate_of("8 gpm", "900 ft2") == pytest.approx(0.8556, abs=0.00005)


def test_the_factor() -> None:
    """PR = 96.25 Q / (S L): one gallon a minute on one square foot."""
    assert rate_of("1 gpm", "1 ft2") == pytest.approx(96.25, abs=0.005)


@pytest.mark.parametrize(("area", "printed"), [("225 ft2", 1.58), ("194.9 ft2", 1.83)])
def test_generic_spray_in_squares_and_triangles(area: str, printed: float) -> None:
    """A full 3.7 gpm head of 15 ft: 1.58 in/h in squares, 1.83 in triangles (rows .866 x 15 ft apart)."""
    assert rate_of("3.7 gpm", area) == pytest.approx(printed, abs=0.005)


def test_measured_row_spacing_is_not_shortened_again() -> None:
    """6 gpm at 30 ft x 25 ft rows: .77 in/h; one set of slides prints .89 by shortening 25 ft once more."""
    assert rate_of("6 gpm", "750 ft2") == pytest.approx(0.77, abs=0.005)


def test_catch_cans() -> None:
    """Twelve cans, mean .500 in: CU 88.33, DU_LQ 80.00, DU_LH 88.33."""
    assert CANS.mean() == pytest.approx(0.500, abs=0.0005)
    assert 100 * christiansen(CANS) == pytest.approx(88.33, abs=0.005)
    assert 100 * low_part(CANS) == pytest.approx(80.00, abs=0.005)
    assert 100 * low_part(CANS, 0.5) == pytest.approx(88.33, abs=0.005)


def test_cu_may_be_negative() -> None:
    """Where the mean deviation exceeds the mean, CU is below nothing."""
    assert christiansen(np.array([0.0] * 9 + [1.0])) < 0
