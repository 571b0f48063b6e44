"""Welded wire reinforcement: wire area per foot and weight per 100 ft2, as printed in a published table.

6x6 W1.4 0.028 in2 and 21 lb; 6x6 W2.0 0.040 and 29; 6x6 W2.9 0.058 and 42; 4x4 W2.9 0.087 and 62.
A W number is the wire's area in hundredths of a square inch, so the first column follows from the name.
"""

from __future__ import annotations

import re

import pytest

from slabwright.slab.steel.tables import meshes

TABLE = {
    "6x6 W1.4/W1.4": (0.028, 21),
    "6x6 W2.0/W2.0": (0.040, 29),
    "6x6 W2.9/W2.9": (0.058, 42),
    "4x4 W2.9/W2.9": (0.087, 62),
}
INCH, FOOT, POUND = 0.0254, 0.3048, 0.45359237


@pytest.mark.parametrize("name", TABLE)
def test_printed_row(name: str) -> None:
    mesh = next(m for m in meshes() if m.name == name)
    area, pounds = TABLE[name]
    assert mesh.area / (INCH**2 / FOOT) == pytest.approx(area, abs=0.0005)
    assert mesh.mass / (POUND / FOOT**2) * 100 == pytest.approx(pounds, abs=0.5)


@pytest.mark.parametrize("name", TABLE)
def test_area_follows_from_the_name(name: str) -> None:
    mesh = next(m for m in meshes() if m.name == name)
    spaced, wire = (float(x) for x in re.match(r"(\d)x\d W([\d.]+)", name).groups())  # type: ignore[union-attr]
    assert mesh.wire / INCH == pytest.approx(spaced)
    assert mesh.area / (INCH**2 / FOOT) == pytest.approx(wire / 100 * 12 / spaced, abs=0.0005)
