"""Units of a price book: those of measure, and counts that are never taken for one another."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from slabwright.measure.units import UNITS, find_unit, squeeze

MEASURED = ("area", "volume", "mass", "length", "duration")
COUNTS: dict[str, str] = {
    "each": "each ea pc pcs piece pieces pza pieza piezas unit unidad",
    "load": "load loads truckload carga cargas viaje",
    "day": "day days d día dia días dias",
    "trip": "trip trips vuelta vueltas",
    "job": "job ls lump lumpsum obra global",
    "bag": "bag bags bulto bultos saco sacos",
}
"""Counted things with their spellings."""
MORE = {"lf": "ft", "linft": "ft", "linearft": "ft", "manhour": "h", "personhour": "h", "ml": ""}
"""Spellings of a price book alone; '' is none, for two things are written so (metre run, millilitre)."""
TWO_MEANINGS = frozenset(("yd", "yds", "yard", "yards", "ml", "yarda", "yardas"))
PERCENT = "%"
PLACES = 6  # decimals of a counted amount


@dataclass(frozen=True, slots=True)
class BookUnit:
    """A unit of a price book: one of it is `amount` [SI] of its dimension."""

    key: str
    dimension: str
    amount: float


_COUNTED = {spelling: key for key, words in COUNTS.items() for spelling in words.split()}


@lru_cache(maxsize=4096)
def book_unit(written: str) -> BookUnit | None:
    """Return the unit that is written, or None: unknown, or with two meanings (a bare yard)."""
    text = squeeze(written)
    if text == PERCENT:
        return BookUnit(PERCENT, "percent", 0.01)
    if text in _COUNTED:
        return BookUnit(_COUNTED[text], _COUNTED[text], 1.0)
    if text in TWO_MEANINGS:
        return None
    key = MORE.get(text, written.strip())
    for dimension in MEASURED:
        unit = find_unit(dimension, key)
        if unit is not None:
            return BookUnit(unit.key, dimension, UNITS[dimension][unit.key].factor)
    return None


def counted(amount: float, unit: BookUnit) -> Decimal:
    """Return an amount [SI] as a number of `unit`, to a millionth: dust of the conversion is gone."""
    return Decimal(repr(round(amount / unit.amount, PLACES)))
