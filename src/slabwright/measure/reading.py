"""One door for reading: `read(kind, text)`."""

from __future__ import annotations

from slabwright.measure.kinds import kind_of
from slabwright.measure.lengths import read_as
from slabwright.measure.plain import read_angle, read_plain, read_ratio
from slabwright.measure.slopes import read_slope
from slabwright.measure.times import read_clock, read_duration

_OWN = {"slope": read_slope, "angle": read_angle, "duration": read_duration, "clock": read_clock}


def read(kind: str, text: str | float, *, bare: str | None = None) -> float:
    """Return a value of `kind` (a key of KINDS) in its SI unit.

    `bare` names the unit of a number that has none. Raises MeasureError for a text that cannot be read,
    ValueError for an unknown kind and for money, which is never a float (see read_money).
    """
    row = kind_of(kind)
    if row.dimension == "length":
        return read_as(kind, text, bare)
    own = _OWN.get(kind)
    if own is not None:
        return own(text, bare=bare)
    if row.dimension in {"ratio", "count"}:
        return read_ratio(text, kind=kind)
    if kind == "money":
        raise ValueError("money is read by read_money, which returns a Decimal and a currency")
    return read_plain(kind, text, bare=bare)
