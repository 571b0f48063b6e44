"""Falkenauer (1996) uniform class, instance u120_00, as kept in the OR-Library (file binpack1.txt).

120 sizes, capacity 150; the file names 48 as the best known number. Read in three stored public
copies that agree.
"""

from __future__ import annotations

from slabwright.build.cutting import Stock, cut

# fmt: off
SIZES = [
    42, 69, 67, 57, 93, 90, 38, 36, 45, 42, 33, 79, 27, 57, 44, 84, 86, 92, 46, 38, 85, 33, 82, 73,
    49, 70, 59, 23, 57, 72, 74, 69, 33, 42, 28, 46, 30, 64, 29, 74, 41, 49, 55, 98, 80, 32, 25, 38,
    82, 30, 35, 39, 57, 84, 62, 50, 55, 27, 30, 36, 20, 78, 47, 26, 45, 41, 58, 98, 91, 96, 73, 84,
    37, 93, 91, 43, 73, 85, 81, 79, 71, 80, 76, 83, 41, 78, 70, 23, 42, 87, 43, 84, 60, 55, 49, 78,
    73, 62, 36, 44, 94, 69, 32, 96, 70, 84, 58, 78, 25, 80, 58, 66, 83, 24, 98, 60, 42, 43, 43, 39,
]
# fmt: on


def test_u120_00() -> None:
    assert len(SIZES) == 120
    plan = cut([(float(size), 1) for size in SIZES], [Stock(150.0, 1.0)], grain=1.0)
    assert plan.cost == 48
    assert plan.proved
