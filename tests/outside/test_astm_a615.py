"""ASTM A615/A615M bar table as printed in a trade journal ('Rebar size and weights').

Bar number, diameter in inches, area in square inches, pounds per foot; soft-metric diameter in mm,
area in mm2 and kg/m beside them.
"""

from __future__ import annotations

import math

import pytest

from slabwright.slab.steel.tables import bar_size

TABLE = [
    ("3", 0.375, 0.11, 0.376, 9.5, 71, 0.560),
    ("4", 0.500, 0.20, 0.668, 12.7, 129, 0.994),
    ("5", 0.625, 0.31, 1.043, 15.9, 199, 1.552),
    ("6", 0.750, 0.44, 1.502, 19.1, 284, 2.235),
]


@pytest.mark.parametrize(("number", "inches", "square", "pounds", "mm", "mm2", "kg"), TABLE)
def test_bar(
    number: str, inches: float, square: float, pounds: float, mm: float, mm2: float, kg: float
) -> None:
    size = bar_size(number)
    assert size.diameter / 0.0254 == pytest.approx(inches, abs=0.0005)
    assert size.area / 0.0254**2 == pytest.approx(square, abs=0.005)
    assert size.mass * 0.3048 / 0.45359237 == pytest.approx(pounds, abs=0.0005)
    assert size.diameter * 1e3 == pytest.approx(mm, abs=0.0501)  # 19.05 is printed 19.1
    assert size.area * 1e6 == pytest.approx(mm2, abs=1.0)  # 0.31 in2 is 200.0 mm2; the table prints 199
    assert size.mass == pytest.approx(kg, abs=0.0005)
    # A steel bar's mass and its nominal area belong together within their rounding (7850 kg/m3).
    assert size.mass == pytest.approx(7850 * math.pi / 4 * size.diameter**2, rel=0.005)
