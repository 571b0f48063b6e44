"""US Army FM 5-434 (2000), chapter 1, soil conversion factors: recalled, not read again.

What can be checked of a recalled table is that it agrees with itself: each factor is printed to two
places, so a product or a reciprocal of two of them is good to about two units in the second place.
"""

from __future__ import annotations

import pytest

from slabwright.build.earth import soil_factor

SOILS = ("sand", "loam", "clay", "rock")
RECALLED = {  # in the order of CHANGES
    "sand": (1.11, 0.95, 0.90, 0.86, 1.05, 1.17),
    "loam": (1.25, 0.90, 0.80, 0.72, 1.11, 1.39),
    "clay": (1.43, 0.90, 0.70, 0.63, 1.11, 1.59),
    "rock": (1.50, 1.30, 0.67, 0.87, 0.77, 1.15),
}
CHANGES = (
    "bank_loose",
    "bank_compacted",
    "loose_bank",
    "loose_compacted",
    "compacted_bank",
    "compacted_loose",
)


@pytest.mark.parametrize("soil", SOILS)
def test_as_recalled(soil: str) -> None:
    assert tuple(soil_factor(soil, change) for change in CHANGES) == RECALLED[soil]


@pytest.mark.parametrize("soil", SOILS)
@pytest.mark.parametrize(
    ("there", "back"),
    [
        ("bank_loose", "loose_bank"),
        ("bank_compacted", "compacted_bank"),
        ("loose_compacted", "compacted_loose"),
    ],
)
def test_there_and_back(soil: str, there: str, back: str) -> None:
    assert soil_factor(soil, there) * soil_factor(soil, back) == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("soil", SOILS)
def test_through_the_bank(soil: str) -> None:
    """Loam .80 x .90 = .72, clay .70 x .90 = .63, rock .67 x 1.30 = .87."""
    product = soil_factor(soil, "loose_bank") * soil_factor(soil, "bank_compacted")
    assert product == pytest.approx(soil_factor(soil, "loose_compacted"), abs=0.006)


@pytest.mark.parametrize(
    ("soil", "least", "most"), [("sand", 5, 15), ("loam", 10, 35), ("clay", 30, 60), ("rock", 50, 80)]
)
def test_within_the_textbook_ranges(soil: str, least: int, most: int) -> None:
    """Swell in per cent by Peurifoy, table 4-1, as quoted in a stored mailing list (seaintarchive.org)."""
    assert least <= round(100 * (soil_factor(soil, "bank_loose") - 1)) <= most
