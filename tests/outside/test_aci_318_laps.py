"""ACI 318-19, 25.4.2.3 and 25.5.2: Class B laps of uncoated bottom bars, fy 60 ksi, in inches.

The formula is recalled; the table of laps is worked out from it by another hand, to 0.1 in.
"""

from __future__ import annotations

import pytest

from slabwright.slab.steel.tables import bar_size, class_b_lap, lap_of

PSI = 6894.757293168361
TABLE = [  # strength psi; #3, #4, #5 with good cover and spacing; the same where close
    (3000, (21.4, 28.5, 35.6), (32.0, 42.7, 53.4)),
    (4000, (18.5, 24.7, 30.8), (27.7, 37.0, 46.2)),
    (4500, (17.4, 23.3, 29.1), (26.2, 34.9, 43.6)),
]


@pytest.mark.parametrize(("strength", "good", "close"), TABLE)
def test_class_b(strength: int, good: tuple[float, ...], close: tuple[float, ...]) -> None:
    for number, wide, near in zip("345", good, close, strict=True):
        diameter = bar_size(number).diameter
        assert class_b_lap(diameter, strength * PSI) / 0.0254 == pytest.approx(wide, abs=0.1)
        assert class_b_lap(diameter, strength * PSI, close=True) / 0.0254 == pytest.approx(near, abs=0.1)


def test_lap_to_build() -> None:
    """24.7 in, use 25."""
    assert lap_of("4", 4000 * PSI) / 0.0254 == pytest.approx(25)


def test_least_lap() -> None:
    """A lap is never under 12 in."""
    assert class_b_lap(0.005, 10_000 * PSI) / 0.0254 == pytest.approx(12)
