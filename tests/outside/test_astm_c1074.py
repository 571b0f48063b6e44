"""ASTM C1074: maturity and equivalent age. Constants recalled; a worked history and the factors of the
NIST/FHWA kind of table, worked out by another hand.
"""

from __future__ import annotations

import pytest

from slabwright.pourday.mix import equivalent_age, nurse_saul

HOURS, WARM = (6, 6, 12, 24, 24), (15, 22, 30, 18, 12)
AT_20 = {
    0: 0.2868,
    5: 0.3986,
    10: 0.5475,
    15: 0.7438,
    20: 1,
    23: 1.1886,
    25: 1.3311,
    30: 1.7553,
    35: 2.2939,
    40: 2.9723,
}
AT_23 = {
    0: 0.2413,
    5: 0.3354,
    10: 0.4606,
    15: 0.6258,
    20: 0.8413,
    23: 1,
    25: 1.1199,
    30: 1.4768,
    35: 1.9299,
    40: 2.5006,
}


def test_nurse_saul() -> None:
    assert nurse_saul(HOURS, WARM) == 1302
    assert nurse_saul(HOURS, WARM, -10) == 2022


def test_equivalent_age() -> None:
    assert equivalent_age(HOURS, WARM, at=20) == pytest.approx(68.48, abs=0.01)
    assert equivalent_age(HOURS, WARM, at=23) == pytest.approx(57.62, abs=0.01)


@pytest.mark.parametrize(("at", "table"), [(20, AT_20), (23, AT_23)])
def test_factors(at: float, table: dict[int, float]) -> None:
    for warm, factor in table.items():
        assert equivalent_age([1.0], [warm], at=at) == pytest.approx(factor, abs=6e-5)


def test_below_the_datum_nothing_ripens() -> None:
    assert nurse_saul([10], [-12], -10) == 0
