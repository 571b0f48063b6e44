"""Lengths: feet, inches and fractions as tapes and people write them, decimal feet, yards, metric.

A length is read twice at most: by one pattern that knows the common ways (about a microsecond), and by
the scanner, which knows all of them and says where a text goes wrong. A test holds the two to the same
answers.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from math import isfinite

from slabwright.measure.errors import MeasureError
from slabwright.measure.kinds import KINDS
from slabwright.measure.numbers import feet_inches
from slabwright.measure.scan import DASHES, DENOMINATORS, SPACES, Cursor, Number
from slabwright.measure.units import FOOT, INCH, SPELLINGS, UNITS, Unit, find_unit

_UNIT = SPELLINGS["length"]
_MARKS = sorted((s for s in _UNIT if not s[0].isalpha()), key=len, reverse=True)
# What may follow a unit in one length, and how many of it make one of the unit before.
_NEXT = {
    "yd": {"ft": 3, "in": 36},
    "ft": {"in": 12},
    "km": {"m": 1000},
    "m": {"cm": 100, "mm": 1000},
    "cm": {"mm": 10},
}
_NAMES = {"in": "inches", "ft": "feet", "yd": "yards"}
_INCHES = {"yd": 36, "ft": 12, "in": 1}

_D = re.escape(DASHES)
_FEET_INCHES = re.compile(
    rf"([+{_D}]?)"
    r"(?:([0-9]{1,7})[ ]?(?:['′’]|ft\.?|feet)(?:[ ]?[-]?[ ]?(?=[0-9]))?)?"
    r"(?:([0-9]{1,3})(?![0-9/.,]))?"
    r"(?:[ ]?[-]?[ ]?([0-9]{1,2})/([0-9]{1,2})(?![0-9]))?"
    r"[ ]?([\"″”]|in\.?|)"
).fullmatch
_ONE_UNIT = re.compile(r"([+-]?[0-9]{1,9}(?:\.[0-9]{1,9})?)[ ]?([^\s0-9.]{1,4})").fullmatch
_BOTTOM = {str(n): n for n in DENOMINATORS}


def read_length(text: str | float, *, bare: str | None = None) -> float:
    """Return a length [m].

    `bare` names the unit of a number that has none ('in', 'ft', 'mm', 'm', ...); without it such a
    number is refused, except 0. A negative length carries its sign before everything (-5' 6").
    Raises MeasureError. Factors: nist-sp-811.
    """
    return read_as("length", text, bare)


def read_as(kind: str, text: str | float, bare: str | None) -> float:
    """Return a length [m], refusals naming `kind` (one of the kinds that are lengths)."""
    if isinstance(text, str):
        value = _quick(text)
        if value is None:
            cursor = Cursor(kind, text)
            value = scan_length(cursor, bare)
            cursor.end()
        return within(kind, text, value)
    return bare_number(kind, text, bare, "length")


def within(kind: str, text: str, value: float) -> float:
    """Return `value` if it is inside the limits of `kind`; MeasureError otherwise (also for NaN)."""
    row = KINDS[kind]
    if row.least <= value <= row.most:
        return value
    name = kind.replace("_", " ")
    reason = f"no {name} on a site is like this: it is not within {row.least:g} to {row.most:g} {row.si}"
    raise MeasureError(kind, text, 0, reason, row.example)


def bare_number(kind: str, value: float, bare: str | None, dimension: str) -> float:
    """Return a plain Python number in SI, its unit named by `bare`; MeasureError without one."""
    example = KINDS[kind].example
    try:
        sound = isfinite(value) and not isinstance(value, bool)
    except OverflowError:  # a whole number past the largest float; its digits may be too many to show
        raise MeasureError(kind, "(a huge number)", 0, "this is far beyond any use here", example) from None
    shown = str(value)
    if not sound:
        raise MeasureError(kind, shown, 0, "this is not a number", example)
    if bare is None:
        if value == 0 and dimension != "temperature":
            return 0.0
        raise MeasureError(kind, shown, len(shown), "the unit is missing", example)
    unit = named_unit(dimension, bare)
    return within(kind, shown, value * unit.factor + unit.shift)


def named_unit(dimension: str, bare: str) -> Unit:
    """Return the unit that `bare` names; ValueError, a slip of the program, when there is none."""
    unit = find_unit(dimension, bare)
    if unit is None:
        raise ValueError(f"{bare!r} is not a unit of {dimension}; units are {', '.join(UNITS[dimension])}")
    return unit


def _quick(text: str) -> float | None:
    """Return a length written in one of the common ways [m], or None when it needs the scanner."""
    found = _FEET_INCHES(text)
    if found is None:
        found = _ONE_UNIT(text)
        if found is None:
            return None
        unit = _UNIT.get(found[2])
        if unit is None or (unit.key == "mm" and _like_thousands(found[1])):
            return None
        return float(found[1]) * unit.factor
    sign, feet, whole, top, bottom, inch = found.groups()
    if whole is None and top is None:
        if feet is None or inch:
            return None
        value = int(feet) * FOOT
    else:
        if feet is None and not inch:
            return None
        inches: float = int(whole) if whole else 0
        if feet is not None and inches >= 12:
            return None
        if top is not None:
            over = _BOTTOM.get(bottom)
            if over is None or int(top) >= over:
                return None
            inches += int(top) / over
        # Inches first: a sum of twelfths and binary fractions is exact, so there is one rounding only.
        value = (int(feet) * 12 + inches if feet else inches) * INCH
    return -value if sign and sign != "+" else value


def scan_length(cursor: Cursor, bare: str | None) -> float:
    """Read one length at the cursor [m], with its sign, and leave the cursor after it."""
    sign = cursor.sign()
    number = cursor.number()
    unit = take_unit(cursor)
    if not unit:
        unit = _bare_unit(cursor, number, bare)
        return sign * number.value * _UNIT[unit].factor
    written = cursor.text[number.start : number.end]
    if unit == "mm" and _like_thousands(written):
        digits = written.replace(".", "")
        cursor.fail(f"{written} mm can be read in two ways", number.start, f"{digits} mm")
    parts = [(number.value, unit)]
    while (place := cursor.after_gap()) >= 0:
        number, unit = _next_part(cursor, place, number, unit)
        parts.append((number.value, unit))
    return sign * _sum(parts)


def _like_thousands(written: str) -> bool:
    """Tell whether a number of millimetres ends in a point and three digits, like 1.250 for 1250.

    No tape shows thousandths of a millimetre, and half the world marks thousands with a point.
    """
    return written[-4:-3] == "." and written.lstrip("+-")[0] not in "0."


def _sum(parts: list[tuple[float, str]]) -> float:
    """Return the parts of one length together [m]; feet and inches with one rounding, as the quick way."""
    if len(parts) > 1 and all(unit in _INCHES for _, unit in parts):
        return sum(value * _INCHES[unit] for value, unit in parts) * INCH
    return sum(value * _UNIT[unit].factor for value, unit in parts)


def _next_part(cursor: Cursor, place: int, before: Number, unit: str) -> tuple[Number, str]:
    """Read the part that follows `before` (in `unit`): inches after feet, and so on."""
    cursor.at = place
    smaller = _NEXT.get(unit, {})
    if not smaller:
        cursor.fail(f"no number can follow {cursor.text[before.start : place].strip(SPACES + DASHES)}")
    if not before.whole:
        cursor.fail(
            f"{cursor.text[before.start : before.end]} is not whole, so nothing can follow it", before.start
        )
    if cursor.text[place] in ".," and cursor.text[place + 1 : place + 2].isdigit():
        cursor.fail("write 0 before the decimals of inches, or the whole as decimal feet", place, "15' 0.5\"")
    number = cursor.number()
    found = take_unit(cursor) or ("in" if unit == "ft" else "")
    if found not in smaller:
        wanted = " or ".join(_NAMES.get(name, name) for name in smaller)
        cursor.fail(f"after {_NAMES.get(unit, unit)} only {wanted} can follow", number.start)
    if number.value >= smaller[found]:
        _too_many(cursor, before, number, unit, found, smaller[found])
    return number, found


def _too_many(cursor: Cursor, before: Number, number: Number, unit: str, found: str, most: int) -> None:
    example = None
    if unit == "ft" and number.value < 1000 and before.value < 1e6:
        # The likeliest meaning, worked out, so that the example is this very length.
        example = feet_inches((before.value * 12 + number.value) * INCH, 64)
    name, whole = _NAMES.get(found, found), _NAMES.get(unit, unit)
    cursor.fail(f"{name} after {whole} must be less than {most}", number.start, example)


def take_unit(cursor: Cursor) -> str:
    """Step over a unit of length at the cursor (after spaces) and return its key; '' if there is none."""
    start = cursor.at
    cursor.blank()
    mark = cursor.take(*_MARKS)
    if mark:
        return _UNIT[mark].key
    cursor.at = start
    return take_word(cursor, _UNIT)


def take_word(cursor: Cursor, units: Mapping[str, Unit]) -> str:
    """Step over a unit spelled in letters (after spaces) and return its key; '' if there is none."""
    start = cursor.at
    cursor.blank()
    word = cursor.word()
    unit = units.get(word.rstrip(".").lower())
    if unit is None:
        cursor.at = start
        return ""
    cursor.at += len(word)
    return unit.key


def _bare_unit(cursor: Cursor, number: Number, bare: str | None) -> str:
    """Return the unit of a number without one; fail if it has no business being without."""
    written = cursor.text[number.start : number.end]
    place = cursor.after_gap()
    if place >= 0:
        cursor.fail(f"is {written} feet? The mark that says so is missing", number.end)
    here = cursor.at
    cursor.blank()
    if not cursor.done():
        word = cursor.word() or cursor.text[cursor.at]
        cursor.fail(f"{word!r} is not a unit of length")
    cursor.at = here
    if bare is not None:
        return named_unit("length", bare).key
    if number.value != 0:
        example = f"{written}' or {written}\" or {written} m" if len(written) < 12 else None
        cursor.fail("the unit is missing", number.end, example)
    return "m"
