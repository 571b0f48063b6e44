"""Everything that is one number and one unit: areas, volumes, masses, temperatures, rates, angles."""

from __future__ import annotations

import re

from slabwright.measure.errors import MeasureError
from slabwright.measure.kinds import KINDS
from slabwright.measure.lengths import bare_number, named_unit, within
from slabwright.measure.scan import Cursor
from slabwright.measure.units import SPELLINGS, UNITS, find_unit

_ONE = re.compile(r"([+-]?[0-9]{1,12}(?:\.[0-9]{1,12})?)[ ]?([^\s0-9.,/-][^\s.,]{0,9})?").fullmatch
_MINUTE = ("''", "′′", '"', "″", "”", "'", "′", "’")


def read_plain(kind: str, text: str | float, *, bare: str | None = None) -> float:
    """Return a value of `kind` in its SI unit: one number, with a fraction if it has one, and one unit.

    `bare` names the unit of a number without one.
    Raises MeasureError.
    """
    dimension = KINDS[kind].dimension
    if not isinstance(text, str):
        return bare_number(kind, text, bare, dimension)
    found = _ONE(text)
    if found is not None and found[2] is not None:
        unit = SPELLINGS[dimension].get(found[2])
        if unit is not None:
            return within(kind, text, float(found[1]) * unit.factor + unit.shift)
    cursor = Cursor(kind, text)
    sign = cursor.sign()
    number = cursor.number()
    cursor.blank()
    spelling = cursor.text[cursor.at :]
    if not spelling:
        if bare is None and (number.value != 0 or dimension == "temperature"):
            units = " or ".join((KINDS[kind].imperial, KINDS[kind].metric))
            cursor.fail(f"the unit is missing: {units}?", number.end)
        unit = named_unit(dimension, bare or next(iter(UNITS[dimension])))
    else:
        known = find_unit(dimension, spelling)
        if known is None:
            cursor.fail(_unknown(kind, spelling))
        unit = known
    return within(kind, text, sign * number.value * unit.factor + unit.shift)


def _unknown(kind: str, spelling: str) -> str:
    row = KINDS[kind]
    if row.dimension == "temperature" and spelling.strip() in {"°", "º", "deg", "degrees"}:
        return "degrees of which scale, F or C?"
    known = ", ".join(UNITS[row.dimension])
    return f"{spelling.strip()!r} is not a unit of {row.name.replace('_', ' ')} (known: {known})"


def read_area(text: str | float, *, bare: str | None = None) -> float:
    """Return an area [m2]."""
    return read_plain("area", text, bare=bare)


def read_volume(text: str | float, *, bare: str | None = None) -> float:
    """Return a volume [m3]; 'yd' and 'yards' are cubic yards, as concrete is ordered."""
    return read_plain("volume", text, bare=bare)


def read_mass(text: str | float, *, bare: str | None = None) -> float:
    """Return a mass [kg]; 'ton' is the short ton of 2000 lb, 't' and 'tonne' 1000 kg."""
    return read_plain("mass", text, bare=bare)


def read_temperature(text: str | float, *, bare: str | None = None) -> float:
    """Return a temperature [degC]; the scale must be written (82 F, 28 C) or named by `bare`."""
    return read_plain("temperature", text, bare=bare)


def read_speed(text: str | float, *, bare: str | None = None) -> float:
    """Return a speed [m/s]."""
    return read_plain("speed", text, bare=bare)


def read_pressure(text: str | float, *, bare: str | None = None) -> float:
    """Return a pressure or a strength [Pa]."""
    return read_plain("pressure", text, bare=bare)


def read_flow(text: str | float, *, bare: str | None = None) -> float:
    """Return a flow [m3/s]."""
    return read_plain("flow", text, bare=bare)


def read_rate(text: str | float, *, kind: str = "evaporation", bare: str | None = None) -> float:
    """Return a rate in SI: evaporation [kg/(m2 s)], rain [m/s], coverage [m2/m3], density [kg/m3],
    area_mass [kg/m2] or linear_mass [kg/m]; these are different kinds and are never mixed up.
    """
    return read_plain(kind, text, bare=bare)


def read_percent(text: str | float, *, bare: str | None = None) -> float:
    """Return a share [-]: 2 % is 0.02."""
    return read_plain("percent", text, bare=bare)


def read_ratio(text: str | float, *, kind: str = "ratio") -> float:
    """Return a plain number [-]; `kind` 'count' wants a whole one."""
    if isinstance(text, str):
        cursor = Cursor(kind, text)
        value = cursor.sign() * cursor.number().value
        cursor.end()
    else:
        value = bare_number(kind, text, "ratio", "slope")
    if kind == "count" and value != int(value):
        raise MeasureError(kind, str(text), 0, "this must be a whole number", KINDS[kind].example)
    return within(kind, str(text), value)


def read_angle(text: str | float, *, bare: str | None = None) -> float:
    """Return an angle [rad], from degrees, radians, gon, or degrees, minutes and seconds (12° 30' 15")."""
    if not isinstance(text, str) or not any(mark in text for mark in _MINUTE):
        return read_plain("angle", text, bare=bare)
    cursor = Cursor("angle", text)
    sign = cursor.sign()
    degrees = cursor.number()
    cursor.blank()
    if not cursor.take("°", "º"):
        word = cursor.word()
        if find_unit("angle", word or " ") is not UNITS["angle"]["deg"]:
            cursor.fail("the degree sign is missing before the minutes")
        cursor.at += len(word)
    total, last = degrees.value, degrees
    for size, marks, name in ((60.0, ("'", "′", "’"), "minutes"), (3600.0, _MINUTE[:5], "seconds")):
        place = cursor.after_gap()
        if place < 0:
            continue
        before, cursor.at = cursor.at, place
        part = cursor.number()
        cursor.blank()
        mark = cursor.take(*_MINUTE)
        if mark not in marks and name == "minutes":
            cursor.at = before
            continue
        if mark not in marks:
            cursor.fail(f"the mark of {name} is missing")
        if not last.whole:
            cursor.fail("only the last part may have decimals", last.start)
        if part.value >= 60.0:
            cursor.fail(f"{name} must be less than 60", part.start)
        total, last = total + part.value / size, part
    cursor.end()
    return within("angle", text, sign * total * UNITS["angle"]["deg"].factor)
