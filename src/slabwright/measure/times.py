"""Durations (1 h 30 min, 90 min, 1:30 h) and times of day (7:00 am, 19:30, noon)."""

from __future__ import annotations

import re

from slabwright.measure.errors import MeasureError
from slabwright.measure.lengths import bare_number, named_unit, take_word, within
from slabwright.measure.scan import Cursor, Number
from slabwright.measure.units import DAY, HOUR, SPELLINGS, UNITS

_UNIT = SPELLINGS["duration"]
_SMALLER = {"week": ("d", "h"), "d": ("h", "min"), "h": ("min", "s"), "min": ("s",)}
_NOON = {"noon": 12.0, "midday": 12.0, "mediodía": 12.0, "mediodia": 12.0, "midnight": 0.0, "medianoche": 0.0}
_HALVES = {"am": 0.0, "pm": 12.0, "a": 0.0, "p": 12.0}
_HALF = re.compile(r"([ap])\.?\s?m?\.?(?![^\W\d_])", re.IGNORECASE)
_LATER = re.compile(r"\+([0-9]{1,2})\s?d")


def read_duration(text: str | float, *, bare: str | None = None) -> float:
    """Return a duration [s]. `bare` names the unit of a plain number ('h', 'min', 's', 'd', 'week')."""
    if not isinstance(text, str):
        return bare_number("duration", text, bare, "duration")
    cursor = Cursor("duration", text)
    number = cursor.number()
    total = _colon(cursor, number) if cursor.take(":") else _parts(cursor, number, bare)
    cursor.end()
    return within("duration", text, total)


def _colon(cursor: Cursor, hours: Number) -> float:
    """Read the rest of 1:30 h (hours and minutes) or 1:30:15."""
    minutes = _sixty(cursor, hours, "minutes")
    seconds = 0.0
    if cursor.take(":"):
        seconds = _sixty(cursor, minutes, "seconds").value
    elif take_word(cursor, _UNIT) != "h":
        cursor.fail("hours and minutes, or minutes and seconds? Write h after it", None, "1:30 h")
    else:
        return hours.value * HOUR + minutes.value * 60.0
    take_word(cursor, _UNIT)
    return hours.value * HOUR + minutes.value * 60.0 + seconds


def _sixty(cursor: Cursor, before: Number, name: str) -> Number:
    if not before.whole:
        cursor.fail("the part before the colon must be whole", before.start)
    part = cursor.number()
    if not part.whole or part.end - part.start != 2:
        cursor.fail(f"{name} are written with two digits", part.start)
    if part.value >= 60:
        cursor.fail(f"{name} must be less than 60", part.start)
    return part


def _parts(cursor: Cursor, number: Number, bare: str | None) -> float:
    unit = take_word(cursor, _UNIT)
    if not unit:
        cursor.blank()
        if not cursor.done():
            cursor.fail(f"{cursor.word() or cursor.text[cursor.at]!r} is not a unit of time")
        if bare is None and number.value:
            cursor.fail("the unit is missing: h or min?", number.end)
        return number.value * named_unit("duration", bare or "s").factor
    total = number.value * UNITS["duration"][unit].factor
    while True:
        cursor.blank()
        if not cursor.at_number():
            return total
        if not number.whole:
            cursor.fail("only the last part may have decimals", number.start)
        allowed = _SMALLER.get(unit, ())
        number, before = cursor.number(), unit
        unit = take_word(cursor, _UNIT) or ("min" if before == "h" else "")
        if unit not in allowed:
            wanted = " or ".join(allowed) or "nothing"
            cursor.fail(f"{wanted} can follow {before} here", number.start)
        size = UNITS["duration"][unit].factor
        if number.value * size >= UNITS["duration"][before].factor:
            most = UNITS["duration"][before].factor / size
            cursor.fail(f"{unit} after {before} must be less than {most:g}", number.start)
        total += number.value * size


def read_clock(text: str | float, *, bare: str | None = None) -> float:
    """Return a time of day as seconds after midnight [s]: 7:00 am, 7 am, 19:30, 19:30:15, noon.

    '+1 d' after it is the next day. A plain number is refused unless `bare` is 'h' (7 is 7:00) or 's'.
    Raises MeasureError.
    """
    if not isinstance(text, str):
        if bare is None:
            raise MeasureError("clock", str(text), 0, "am or pm? Write the hour with its minutes", "7:00 am")
        return bare_number("clock", text, bare, "duration")
    cursor = Cursor("clock", text)
    word = cursor.word()
    if word:
        if word.lower() not in _NOON:
            cursor.fail(f"{word!r} is not a time of day")
        cursor.at += len(word)
        total = _NOON[word.lower()] * HOUR
    else:
        total = _hours(cursor, bare)
    cursor.blank()
    later = _LATER.match(text, cursor.at)
    if later:
        cursor.at = later.end()
        total += int(later[1]) * DAY
    cursor.end()
    return within("clock", text, total)


def _hours(cursor: Cursor, bare: str | None) -> float:
    hours = cursor.number()
    if not hours.whole or hours.end - hours.start > 2:
        cursor.fail("the hour is written as a whole number of one or two digits", hours.start)
    minutes = seconds = 0.0
    colon = bool(cursor.take(":", "h"))
    if colon and cursor.at_number():
        part = _sixty(cursor, hours, "minutes")
        minutes = part.value
        if cursor.take(":"):
            seconds = _sixty(cursor, part, "seconds").value
    elif colon and cursor.text[cursor.at - 1] == ":":
        cursor.fail("the minutes are missing")
    cursor.blank()
    half = _HALF.match(cursor.text, cursor.at)
    if half:
        if not 1 <= hours.value <= 12:
            cursor.fail(f"with {half.group()} the hour is 1 to 12", hours.start)
        cursor.at = half.end()
        hour = hours.value % 12 + _HALVES[half[1].lower()]
    else:
        if not colon and bare != "h":
            cursor.fail("am or pm?", hours.end, f"{hours.value:g}:00 am" if 1 <= hours.value <= 12 else None)
        cursor.take("h", "hrs", "hr")
        hour = hours.value
    if hour > 23:
        cursor.fail("the hour is 0 to 23; midnight is 0:00", hours.start, "0:00")
    return hour * HOUR + minutes * 60.0 + seconds
