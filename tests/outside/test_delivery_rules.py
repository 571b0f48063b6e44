"""Concrete on its way: ACI 305R/306R mixture temperature, ACI 306R drop in transit, and the limits.

- A case study of extreme weather prints (read): 360 kg cement at 40 C, 122.8 kg water at 30 C, 1828.2 kg
  aggregate at 37 C and 50 kg ice give 27 C (c 0.92, 4.184; fusion 335 kJ/kg).
- Hot and cold batches in US units (0.22, 112) worked out by another hand from the recalled form.
"""

from __future__ import annotations

import pytest

from slabwright.pourday.delivery import Part, mixture, on_the_way, slump_lost
from slabwright.pourday.tables import rule

US = {"solids": 0.22, "fluid": 1.0}


def f(value: float) -> float:
    return (value - 32) / 1.8


def us(cement: float, stone: float, water: float, ice: float = 0.0) -> float:
    """Batch of 564 lb cement, 3050 lb aggregate, 204 lb water, 50 lb on the aggregate; temperatures F."""
    got = mixture(
        Part(564, f(cement)),
        Part(3050, f(stone)),
        Part(204 - ice, f(water)),
        on_stone=Part(50, f(stone)),
        ice=ice,
        fusion=144 / 1.8,
        **US,
    )
    return got * 1.8 + 32


def test_printed_example() -> None:
    got = mixture(Part(360, 40), Part(1828.2, 37), Part(122.8, 30), ice=50)
    assert got == pytest.approx(27, abs=0.5)
    assert got == pytest.approx(27.10, abs=0.05)


def test_hot_batch() -> None:
    assert us(150, 85, 70) == pytest.approx(89.77, abs=0.02)
    assert us(150, 85, 70, ice=75) == pytest.approx(76.76, abs=0.02)


def test_cold_batch() -> None:
    assert us(50, 40, 140) == pytest.approx(60.63, abs=0.02)
    assert us(50, 40, 136.8) == pytest.approx(60.0, abs=0.02)


def test_drop_on_the_way() -> None:
    """60 F mix, 20 F air, 1 h in a turning drum: 10 F."""
    assert on_the_way(f(60), f(20), 3600) * 1.8 + 32 == pytest.approx(50)
    assert on_the_way(20, 35, 3600) == 20


def test_slump() -> None:
    """0.8 in for 20 F."""
    assert slump_lost(21 + 20 / 1.8) / 0.0254 == pytest.approx(0.8)
    assert slump_lost(15) == 0


def test_limits_as_printed() -> None:
    """95 F at discharge; 55 F as placed; 40 F air; 90 min; 0.20 lb/ft2/h; 500 psi against one frost."""
    assert rule("hot_most") * 1.8 + 32 == pytest.approx(95)
    assert rule("cold_least") * 1.8 + 32 == pytest.approx(55, abs=0.01)
    assert rule("cold_air") * 1.8 + 32 == pytest.approx(40, abs=0.01)
    assert rule("discharge") == 90 * 60
    assert rule("evaporation_act") / 4.8824 == pytest.approx(0.20, abs=0.005)
    assert rule("frost_safe") / 6894.757 == pytest.approx(500, abs=10)
    assert rule("drive") / 6894.757 == pytest.approx(3000, abs=10)


def test_an_empty_batch() -> None:
    with pytest.raises(ValueError, match="batch"):
        mixture(Part(0, 20), Part(0, 20), Part(10, 20))
