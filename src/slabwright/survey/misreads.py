"""What a written reading may have been meant to say: the slips of tape, rod and pencil.

A reading's text decides which slips are possible: 42' can be 24', 3/8 can be 5/8, 4' 5" can be
5' 4". Sizes and shares stand in habits.toml.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from slabwright.measure import FOOT, INCH
from slabwright.tables import table

SAME = 1e-4  # [m] two meanings this near each other are one
SPELT = 1e-3  # [m] a text whose digits are farther than this from the value is not what was read

Sort = Literal["tape", "rod", "difference", "form"]

SORTS: dict[str, Sort] = {
    "pull": "tape",
    "along": "tape",
    "out": "tape",
    "rod": "rod",
    "difference": "difference",
    "height": "difference",
    "right": "form",
    "straight": "form",
    "x": "tape",
    "y": "tape",
}

_FEET = re.compile(
    r"(?P<sign>[+-]?)(?P<ft>\d{1,4})\s*(?:'|ft|feet|foot)[\s-]*"
    r"(?:(?P<inch>\d{1,2})(?![\d/]))?[\s-]*(?:(?P<num>\d{1,2})/(?P<den>\d{1,2}))?\s*(?:\"|in|inches|inch)?\.?"
)
_INCHES = re.compile(
    r"(?P<sign>[+-]?)(?:(?P<inch>\d{1,3})(?![\d/]))?[\s-]*"
    r"(?:(?P<num>\d{1,2})/(?P<den>\d{1,2}))?\s*(?:\"|in|inches|inch)?\.?"
)
_DECIMAL = re.compile(
    r"(?P<sign>[+-]?)(?P<digits>\d{1,6}(?:[.,]\d{1,6})?)\s*(?P<unit>mm|cm|m|'|ft|feet|foot|\"|in)?\.?"
)
_UNITS = {"mm": 0.001, "cm": 0.01, "m": 1.0, "'": FOOT, "ft": FOOT, "feet": FOOT, "foot": FOOT}
_MARKS = str.maketrans({"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "–": "-", "−": "-"})


@dataclass(frozen=True, slots=True)
class Habit:
    """One sort of slip: see habits.toml."""

    share: float
    source: str
    sorts: tuple[str, ...] = ()
    system: str = ""
    by: tuple[float, ...] = ()
    one_way: bool = False


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a reading may have been: kind of slip, the value meant [m], and its share of all slips."""

    kind: str
    value: float
    share: float


@cache
def habits() -> dict[str, Habit]:
    """Return the table of slips by kind, in its order."""
    rows = table("survey", "habits")
    return {
        kind: Habit(
            row["share"],
            row["source"],
            tuple(row.get("sorts", ())),
            row.get("system", ""),
            tuple(row.get("by", ())),
            row.get("one-way", False),
        )
        for kind, row in rows.items()
    }


@dataclass(frozen=True, slots=True)
class Spelling:
    """A written length taken apart: style 'feet' | 'inches' | 'decimal', and its parts."""

    style: str
    sign: float
    ft: int = 0
    inch: int = 0
    num: int = 0
    den: int = 0
    digits: str = ""
    unit: float = 1.0

    @property
    def metric(self) -> bool:
        """Return whether it was written in metres, centimetres or millimetres."""
        return self.style == "decimal" and self.unit in (1.0, 0.01, 0.001)


def spelling(written: str, value: float) -> Spelling:
    """Return how a reading of `value` [m] was written; from the value itself when the text is none."""
    text = written.strip().translate(_MARKS).replace("''", '"').lower()
    for found in _spellings(text):
        if abs(_meant(found) - value) < SPELT:
            return found
    sixteenths = round(abs(value) / INCH * 16.0)
    feet, rest = divmod(sixteenths, 192)
    inch, num = divmod(rest, 16)
    return Spelling("feet", -1.0 if value < 0.0 else 1.0, feet, inch, num, 16 if num else 0)


def _spellings(text: str) -> Iterator[Spelling]:
    for style, pattern in (("feet", _FEET), ("inches", _INCHES)):
        if text and (m := pattern.fullmatch(text)):
            sign = -1.0 if m["sign"] == "-" else 1.0
            inch, num, den = (int(m[k] or 0) for k in ("inch", "num", "den"))
            yield Spelling(style, sign, int(m["ft"]) if style == "feet" else 0, inch, num, den)
    if m := _DECIMAL.fullmatch(text):
        sign = -1.0 if m["sign"] == "-" else 1.0
        digits = m["digits"].replace(",", ".")
        for unit in [_UNITS[m["unit"]]] if m["unit"] in _UNITS else [1.0, FOOT, 0.001]:
            yield Spelling("decimal", sign, digits=digits, unit=unit)


def _meant(s: Spelling) -> float:
    """Return the value [m] that a spelling says."""
    if s.style == "decimal":
        return s.sign * float(s.digits) * s.unit
    part = s.num / s.den if s.den else 0.0
    return s.sign * (s.ft * FOOT + (s.inch + part) * INCH)


def meanings(part: str, written: str, value: float, line: float | None = None) -> list[Meaning]:
    """Return what a reading may have been, likeliest first; each value once.

    part: as in ReadingFit; value [m]; line [m]: length of the line of a square-off, for the slip of
    measuring from its other end.
    """
    sort = SORTS[part]
    spelt = spelling(written, value)
    found: list[Meaning] = []
    for kind, habit in habits().items():
        if sort not in habit.sorts or habit.system == ("imperial" if spelt.metric else "metric"):
            continue
        values = [value - step for by in habit.by for step in ((by,) if habit.one_way else (by, -by))]
        values += list(_by_text(kind, spelt, part, value, line))
        signed = part not in ("pull", "rod")
        good = [v for v in values if abs(v - value) > SAME and (signed or v > 0.0)]
        found += [Meaning(kind, v, habit.share / len(good)) for v in good]
    found.sort(key=lambda m: -m.share)
    kept: list[Meaning] = []
    for one in found:
        same = next((k for k, other in enumerate(kept) if abs(one.value - other.value) <= SAME), None)
        if same is None:
            kept.append(one)
        else:
            # Two slips that lead to one value are told as the likelier, and count together.
            kept[same] = replace(kept[same], share=kept[same].share + one.share)
    return kept


def _by_text(kind: str, s: Spelling, part: str, value: float, line: float | None) -> Iterator[float]:
    """Yield the values [m] that a slip of this kind would have come from."""
    if kind == "swapped":
        yield from (_meant(one) for one in _swaps(s))
    elif kind == "fraction" and s.style != "decimal":
        yield from (_meant(one) for one in _fractions(s))
    elif kind == "tenths-as-inches" and s.style == "decimal" and s.unit == FOOT and "." in s.digits:
        whole, tail = s.digits.split(".")
        if int(tail) < 12:
            yield s.sign * (int(whole) * FOOT + int(tail) * INCH)
    elif kind == "tenths-as-inches" and s.style == "feet" and not s.num and 0 < s.inch < 10:
        yield s.sign * (s.ft + s.inch / 10.0) * FOOT
    elif kind == "upside-down":
        mark = 0.1 if s.metric else FOOT
        below = value // mark * mark
        # Counting the wrong way inside the right foot, from the mark below, or from the one above.
        yield from (2.0 * below + mark - value, 2.0 * below - value, 2.0 * (below + mark) - value)
    elif kind == "wrong-way" or (kind == "side" and part == "out"):
        yield -value
    elif kind == "other-corner" and part == "along" and line is not None:
        yield line - value


def _swaps(s: Spelling) -> Iterator[Spelling]:
    if s.style == "decimal":
        for k in range(len(s.digits) - 1):
            a, b = s.digits[k], s.digits[k + 1]
            if "." not in (a, b) and a != b:
                yield Spelling(
                    "decimal", s.sign, digits=s.digits[:k] + b + a + s.digits[k + 2 :], unit=s.unit
                )
        return
    for k in range(len(str(s.ft)) - 1):
        feet = list(str(s.ft))
        feet[k], feet[k + 1] = feet[k + 1], feet[k]
        yield Spelling(s.style, s.sign, int("".join(feet)), s.inch, s.num, s.den)
    turned = int(str(s.inch)[::-1])
    if s.inch > 9 and (s.style == "inches" or turned < 12):
        yield Spelling(s.style, s.sign, s.ft, turned, s.num, s.den)
    if s.style == "feet" and 0 < s.ft < 12 and s.inch > 0:
        yield Spelling(s.style, s.sign, s.inch, s.ft, s.num, s.den)


def _fractions(s: Spelling) -> Iterator[Spelling]:
    def with_part(num: int, den: int) -> Spelling:
        return Spelling(s.style, s.sign, s.ft, s.inch, num, den)

    if not s.num:
        yield from (with_part(1, 2), with_part(1, 4), with_part(3, 4))
        return
    yield with_part(0, 1)
    yield with_part(s.den - s.num, s.den)
    if s.den in (4, 8):
        yield with_part(s.num, 2 * s.den)
    if s.den in (8, 16) and 2 * s.num < s.den:
        yield with_part(2 * s.num, s.den)
    if s.den == 16:
        yield from (with_part(num, 16) for num in (s.num - 2, s.num + 2) if 0 < num < 16)
    if s.den == 8:
        yield from (with_part(num, 8) for num in (s.num - 1, s.num + 1) if 0 < num < 8)
