"""Chvatal, Linear Programming (1983), ch. 13, cutting-stock example.

Data read in a public model library: raws of 100, final widths 45, 36, 31 and 14 ordered
97, 610, 395 and 211 times. The least number, 453, is recalled from the book and was worked out again.
"""

from __future__ import annotations

from slabwright.build.cutting import Stock, cut


def test_raws_of_100() -> None:
    plan = cut([(45.0, 97), (36.0, 610), (31.0, 395), (14.0, 211)], [Stock(100.0, 1.0)], grain=1.0)
    assert plan.cost == 453
    assert plan.proved
