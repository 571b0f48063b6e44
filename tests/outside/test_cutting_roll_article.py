"""Encyclopedia article 'Cutting stock problem' (stored copy at wikisum.wiki), the paper-machine example.

As printed: rolls of 5600 mm; thirteen widths with their numbers; the least number of rolls is 73, and
the waste of that solution is 0.401 %.
"""

from __future__ import annotations

import pytest

from slabwright.build.cutting import Stock, cut

WIDTHS = [
    (1380, 22),
    (1520, 25),
    (1560, 12),
    (1710, 14),
    (1820, 18),
    (1880, 18),
    (1930, 20),
    (2000, 10),
    (2050, 12),
    (2100, 14),
    (2140, 16),
    (2150, 18),
    (2200, 20),
]


def test_rolls_of_5600_mm() -> None:
    plan = cut([(float(w), n) for w, n in WIDTHS], [Stock(5600.0, 1.0)], grain=10.0)
    assert plan.cost == 73
    assert plan.proved
    used = sum(w * n for w, n in WIDTHS)
    assert 100 * (1 - used / (73 * 5600)) == pytest.approx(0.401, abs=0.0005)
