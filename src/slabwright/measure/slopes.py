"""Slopes: 2 %, 1:48, 1/4 in per ft, 3/4" in 3', 20 mm/m, 1.2 deg; all of them a plain ratio."""

from __future__ import annotations

import re
from math import tan

from slabwright.measure.errors import MeasureError
from slabwright.measure.lengths import bare_number, named_unit, scan_length, take_unit, within
from slabwright.measure.plain import read_angle
from slabwright.measure.scan import Cursor
from slabwright.measure.units import UNITS

_QUICK = re.compile(
    r"([0-9]{1,4}(?:\.[0-9]{1,6})?) ?(%)"
    r"|([0-9]{1,4}(?:\.[0-9]{1,6})?):([0-9]{1,5}(?:\.[0-9]{1,6})?)"
    r"|(?:([0-9]{1,2}) )?([0-9]{1,2})/(2|4|8|16|32) ?(?:in|\"|″) ?"
    r"(?:per |/|in )([0-9]{1,3})? ?(?:ft|foot|'|′)"
).fullmatch
_RATIO_IN_WORDS = re.compile(r"\s*[+-]?[0-9.]+\s+in\s+[0-9.]+\s*")
_PER = frozenset(("per", "in", "over", "every", "each", "por", "en", "cada"))
_ANGLES = ("°", "º")
_DEGREES = frozenset(("deg", "degree", "degrees", "grado", "grados", "rad", "radian", "radians", "gon"))
# A slope written in two ways (1/4 in per ft (2.1 %)) may differ by the rounding of both.
_ROUNDING = 0.5 / 16.0 / 12.0 + 0.0005 + 1e-9


def read_slope(text: str | float, *, bare: str | None = None) -> float:
    """Return a slope, rise over run [-].

    `bare` says what a plain number is: '%', 'in/ft', 'mm/m' or 'ratio'; without it a plain number is
    refused, except 0. Raises MeasureError.
    """
    if not isinstance(text, str):
        return bare_number("slope", text, bare, "slope")
    found = _QUICK(text)
    if found is not None:
        value = _quick(found)
        if value is not None:
            return within("slope", text, value)
    cursor = Cursor("slope", text)
    value = _scan(cursor, bare)
    cursor.blank()
    if cursor.take("("):
        value = _second(cursor, value)
    cursor.end()
    return within("slope", text, value)


def _quick(found: re.Match[str]) -> float | None:
    if found[2]:
        return float(found[1]) * 0.01
    if found[3]:
        run = float(found[4])
        return float(found[3]) / run if run else None
    top, bottom, run = int(found[6]), int(found[7]), int(found[8] or 1)
    if top >= bottom or not run:
        return None
    return (int(found[5] or 0) + top / bottom) / 12.0 / run


def _second(cursor: Cursor, first: float) -> float:
    """Read the same slope written again in brackets, and hold the two together; return the first."""
    start = cursor.at
    cursor.blank()
    again = _scan(cursor, None)
    cursor.blank()
    if not cursor.take(")"):
        cursor.fail("the closing bracket is missing")
    if abs(again - first) > _ROUNDING:
        cursor.fail("the slope in brackets is not the slope before it", start)
    return first


def _scan(cursor: Cursor, bare: str | None) -> float:
    start = cursor.at
    sign = cursor.sign()
    number = cursor.number()
    cursor.blank()
    if cursor.take("%", "％") or _word(cursor, {"percent", "pct"}):
        return sign * number.value * 0.01
    if cursor.take(":") or _in_words(cursor):
        cursor.blank()
        run = cursor.number()
        if run.value == 0:
            cursor.fail("a slope cannot run over 0", run.start)
        return sign * number.value / run.value
    if cursor.take(*_ANGLES) or _word(cursor, _DEGREES):
        return tan(_angle(cursor, start))
    if cursor.done() or cursor.text[cursor.at] in "()":
        return sign * _plain(cursor, number.value, number.end, bare)
    cursor.at = start
    return _rise_over_run(cursor)


def _angle(cursor: Cursor, start: int) -> float:
    """Read an angle from `start` up to a bracket or the end [rad]; places of errors stay right."""
    stop = cursor.text.find("(", start)
    stop = stop if stop >= 0 else len(cursor.text)
    cursor.at = stop
    try:
        return read_angle(cursor.text[start:stop])
    except MeasureError as error:
        cursor.fail(error.reason, start + error.at, error.example)


def _plain(cursor: Cursor, value: float, end: int, bare: str | None) -> float:
    if bare is not None:
        return value * named_unit("slope", bare).factor
    if value != 0:
        cursor.fail("is this % or in per ft?", end)
    return 0.0


def _in_words(cursor: Cursor) -> bool:
    """Step over the 'in' of '1 in 48', where neither number has a unit."""
    if not _RATIO_IN_WORDS.fullmatch(cursor.text):
        return False
    cursor.take("in")
    return True


def _word(cursor: Cursor, words: set[str] | frozenset[str]) -> bool:
    word = cursor.word()
    if word.rstrip(".").lower() not in words:
        return False
    cursor.at += len(word)
    return True


def _rise_over_run(cursor: Cursor) -> float:
    """Read a rise, a word or stroke that means 'over', and a run, which may be a unit alone."""
    sign = cursor.sign()
    rise = _part(cursor, "rise")
    cursor.blank()
    if cursor.done() or not (cursor.take("/") or _word(cursor, _PER)):
        cursor.fail("a rise needs its run: 'per ft', 'in 3 ft'")
    cursor.blank()
    if cursor.done():
        cursor.fail("the run is missing")
    place = cursor.at
    if cursor.at_number():
        run = _part(cursor, "run")
    else:
        unit = take_unit(cursor)
        if not unit:
            cursor.fail("the run must be a length or a unit of length")
        run = UNITS["length"][unit].factor
    if run == 0:
        cursor.fail("a slope cannot run over 0", place)
    return sign * rise / run


def _part(cursor: Cursor, name: str) -> float:
    """Read a length of a slope [m]; its unit must be written."""
    before = cursor.at
    number = cursor.number()
    unit = take_unit(cursor)
    if not unit:
        cursor.blank()
        word = cursor.word().lower()
        if word and word not in _PER:
            cursor.fail(f"{word!r} is neither %, nor a unit of length")
        cursor.fail(f"the unit of the {name} is missing", number.end)
    if name == "rise" and unit == "in" and cursor.after_gap() >= 0:
        # 3/4 in 3': the 'in' has been taken for inches, and then nothing says 'over'.
        cursor.fail("a rise and its run need a word between them", None, "3/4 in per 3'")
    cursor.at = before
    return scan_length(cursor, None)
