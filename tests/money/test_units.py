"""Units of a price book."""

from __future__ import annotations

from decimal import Decimal

import pytest

from slabwright.money.units import book_unit, counted


@pytest.mark.parametrize(
    ("written", "key", "dimension"),
    [
        ("yd3", "yd3", "volume"),
        ("CY", "yd3", "volume"),
        ("Sq. Ft", "ft2", "area"),
        ("SF", "ft2", "area"),
        ("LF", "ft", "length"),
        ("ton", "ton", "mass"),
        ("t", "t", "mass"),
        ("hr", "h", "duration"),
        ("ea", "each", "each"),
        ("día", "day", "day"),
        ("viaje", "load", "load"),
        ("LS", "job", "job"),
        ("%", "%", "percent"),
    ],
)
def test_spellings(written: str, key: str, dimension: str) -> None:
    unit = book_unit(written)
    assert unit is not None
    assert (unit.key, unit.dimension) == (key, dimension)


@pytest.mark.parametrize("written", ["", "yd", "Yards", "ml", "furlong", "ft4", "$"])
def test_unknown_or_two_meanings(written: str) -> None:
    assert book_unit(written) is None


def test_a_day_is_not_24_hours_and_a_load_is_no_piece() -> None:
    units = [book_unit(u) for u in ("day", "h", "load", "each")]
    assert len({unit.dimension for unit in units if unit is not None}) == 4


def test_counting_takes_the_dust_off() -> None:
    yard = book_unit("yd3")
    assert yard is not None
    assert counted(4.25 * 0.764554857984, yard) == Decimal("4.25")
