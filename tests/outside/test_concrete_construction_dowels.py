"""Concrete Construction, 'Joint movement and spalling from lift-truck traffic' (question and answer).

Dowels by slab thickness as the answer gives them: 5-inch slabs 12 inches long and 5/8 inch in diameter;
6, 7 and 8-inch slabs 14 inches long and 3/4, 7/8 and 1 inch; 9 and 10-inch slabs 16 inches long and 1 1/8
and 1 1/4 inch; all 12 inches center to center. Read as an excerpt of the page, without the rest.
"""

from __future__ import annotations

import pytest

from slabwright.slab.steel.dowels import eighths
from slabwright.slab.steel.tables import dowel_sizes, rule

INCH = 0.0254
ROWS = [
    (5, 12, "5/8"),
    (6, 14, "3/4"),
    (7, 14, "7/8"),
    (8, 14, "1"),
    (9, 16, "1 1/8"),
    (10, 16, "1 1/4"),
]


@pytest.mark.parametrize(("thickness", "length", "across"), ROWS)
def test_dowels_as_printed(thickness: int, length: int, across: str) -> None:
    (size,) = (s for s in dowel_sizes() if s.thickness == pytest.approx(thickness * INCH))
    assert size.length / INCH == pytest.approx(length)
    assert eighths(size.number) == f"{across} in"


def test_no_other_rows() -> None:
    assert len(dowel_sizes()) == len(ROWS)


def test_spacing_as_printed() -> None:
    assert rule("dowel_spacing") / INCH == pytest.approx(12)
