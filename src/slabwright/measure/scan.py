"""The scanner under every reader: a place in the text, and the numbers of the trade.

A number is whole (`15`), decimal (`12.45`, `12,45`, `.5`), a fraction (`5/8`, `⅝`) or both
(`6 5/8`, `6-5/8`, `6⅝`). Everything is one pass from left to right, so time grows with the length of
the text, which itself is bounded.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import NoReturn

from slabwright.measure.errors import MeasureError
from slabwright.measure.kinds import KINDS

LONGEST = 100
"""The longest text that is looked at [characters]."""

DENOMINATORS = frozenset((2, 3, 4, 5, 8, 10, 12, 16, 32, 64))
"""What a fraction may be of: halves to sixty-fourths of a tape, thirds, fifths, tenths and twelfths."""

SPACES = " \t\N{NO-BREAK SPACE}\N{FIGURE SPACE}\N{THIN SPACE}\N{HAIR SPACE}\N{NARROW NO-BREAK SPACE}"
DASHES = "-\N{HYPHEN}\N{NON-BREAKING HYPHEN}\N{FIGURE DASH}\N{EN DASH}\N{EM DASH}\N{MINUS SIGN}"
VULGAR = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5),
    "⅘": (4, 5), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8), "⅒": (1, 10),
}  # fmt: skip

_S, _D = re.escape(SPACES), re.escape(DASHES)
_NUMERAL = re.compile(r"[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+")
_FRACTION = re.compile(r"([0-9]+)[/\u2044]([0-9]+)")
_GAP = re.compile(f"[{_S}]*[{_D}]?[{_S}]*")
_BLANK = re.compile(f"[{_S}]*")
_WORD = re.compile(r"[^\W\d_]+\.?")
_STARTS = frozenset("0123456789.,") | frozenset(VULGAR)


@dataclass(frozen=True, slots=True)
class Number:
    """A number as written: value, where it stands, whether it is whole, whether it has a fraction."""

    value: float
    start: int
    end: int
    whole: bool
    fraction: bool


class Cursor:
    """A place in a text that is being read as `kind`; the only thing here that changes."""

    __slots__ = ("at", "kind", "text")

    def __init__(self, kind: str, text: str) -> None:
        self.kind, self.text, self.at = kind, text, 0
        if len(text) > LONGEST:
            self.fail(f"this is {len(text)} characters long; a value has at most {LONGEST}", LONGEST)
        self.blank()
        if self.done():
            self.fail("nothing is written here", 0)

    def fail(self, reason: str, at: int | None = None, example: str | None = None) -> NoReturn:
        """Raise a MeasureError at `at`, or at the present place."""
        place = self.at if at is None else at
        raise MeasureError(self.kind, self.text, place, reason, example or KINDS[self.kind].example) from None

    def done(self) -> bool:
        """Tell whether the text is used up."""
        return self.at >= len(self.text)

    def blank(self) -> None:
        """Step over spaces."""
        found = _BLANK.match(self.text, self.at)
        assert found is not None
        self.at = found.end()

    def end(self) -> None:
        """Fail unless only spaces are left."""
        self.blank()
        if not self.done():
            self.fail(f"{self.text[self.at]!r} was not expected here")

    def take(self, *choices: str) -> str:
        """Step over the first of `choices` that stands here and return it, or ''."""
        for choice in choices:
            if self.text.startswith(choice, self.at):
                self.at += len(choice)
                return choice
        return ""

    def word(self) -> str:
        """Return the word of letters that stands here, with a full stop after it, or ''; the cursor stays."""
        found = _WORD.match(self.text, self.at)
        return found.group() if found else ""

    def sign(self) -> float:
        """Step over one sign and the spaces after it; return 1.0 or -1.0."""
        if self.done():
            return 1.0
        mark = self.text[self.at]
        if mark == "+" or mark in DASHES:
            self.at += 1
            self.blank()
            return 1.0 if mark == "+" else -1.0
        return 1.0

    def at_number(self) -> bool:
        """Tell whether a number starts here."""
        return not self.done() and self.text[self.at] in _STARTS

    def after_gap(self) -> int:
        """Return the place of a number that follows here after spaces and at most one dash, or -1."""
        found = _GAP.match(self.text, self.at)
        assert found is not None
        place = found.end()
        return place if place < len(self.text) and self.text[place] in _STARTS else -1

    def number(self) -> Number:
        """Read a number with its fraction, if it has one."""
        start = self.at
        if self.done():
            self.fail("a number is missing here")
        if self.text[start] in VULGAR:
            return Number(self._vulgar(), start, self.at, False, True)
        fraction = _FRACTION.match(self.text, start)
        if fraction:
            return Number(self._fraction(fraction), start, self.at, False, True)
        found = _NUMERAL.match(self.text, start)
        if not found:
            self.fail(f"a number is missing here, before {self.text[start]!r}")
        value = self._numeral(found.group(), start)
        self.at = found.end()
        whole = found.group().isdigit()
        part = self._trailing_fraction(whole, found.group())
        if part is None:
            return Number(value, start, self.at, whole, False)
        return Number(value + part, start, self.at, False, True)

    def _trailing_fraction(self, whole: bool, written: str) -> float | None:
        gap = _GAP.match(self.text, self.at)
        assert gap is not None
        place = gap.end()
        vulgar = place < len(self.text) and self.text[place] in VULGAR
        fraction = None if vulgar else _FRACTION.match(self.text, place)
        if not vulgar and (fraction is None or place == self.at):
            return None
        if not whole:
            self.fail(f"{written} has decimals and cannot have a fraction as well", place)
        self.at = place
        return self._vulgar() if fraction is None else self._fraction(fraction)

    def _vulgar(self) -> float:
        top, bottom = VULGAR[self.text[self.at]]
        self.at += 1
        return top / bottom

    def _fraction(self, found: re.Match[str]) -> float:
        top, bottom = int(found[1]), int(found[2])
        if bottom == 0:
            self.fail("a fraction cannot be over 0", found.start(2))
        if bottom not in DENOMINATORS:
            known = ", ".join(map(str, sorted(DENOMINATORS)))
            self.fail(f"a fraction over {found[2]} is on no tape; it may be over {known}", found.start(2))
        if top >= bottom:
            self.fail(
                f"{found[0]} is not less than one; leave a space between a whole number and its fraction",
                found.start(),
                _apart(found[1], found[2]),
            )
        self.at = found.end()
        return top / bottom

    def _numeral(self, written: str, start: int) -> float:
        plain = plain_numeral(written)
        if plain is None:
            self.fail(
                f"{written} can be read in two ways; leave thousands unmarked and use a point for decimals",
                start + min(i for i, c in enumerate(written) if c in ".,"),
                _both_ways(written),
            )
        return float(plain)


def _both_ways(written: str) -> str | None:
    """Return '1250 or 1.250' for 1,250."""
    head, _, tail = written.partition(",")
    return f"{head}{tail} or {head}.{tail}" if (head + tail).isdigit() and len(written) < 12 else None


def _apart(top: str, bottom: str) -> str | None:
    """Return '1 1/2' for 11/2 when that is the likely meaning."""
    if len(top) > 1 and 0 < int(top[1:]) < int(bottom) and top[1] != "0":
        return f"{top[0]} {top[1:]}/{bottom}"
    return None


def plain_numeral(written: str) -> str | None:
    """Return digits and marks ('1,250.5', '12,45') as a plain decimal, or None if they have two meanings.

    A comma before other than three digits, or after a lone 0, marks decimals; marks of both sorts, or
    one sort more than once, tell thousands from decimals when every group has three digits.
    """
    if "," not in written:
        if written.count(".") <= 1:
            return written
        return _grouped(written, ".", "")
    if "." in written:
        last = max(written, key=lambda c: written.rfind(c) if c in ".," else -1)
        other = "," if last == "." else "."
        return _grouped(written, other, last) if written.count(last) == 1 else None
    if written.count(",") > 1:
        return _grouped(written, ",", "")
    head, tail = written.split(",")
    if len(tail) == 3 and head not in {"", "0"}:
        return None
    return f"{head}.{tail}"


def _grouped(written: str, thousands: str, decimal: str) -> str | None:
    whole, _, tail = written.partition(decimal) if decimal else (written, "", "")
    first, *rest = whole.split(thousands)
    if not 1 <= len(first) <= 3 or any(len(group) != 3 for group in rest) or thousands in tail:
        return None
    return "".join((first, *rest)) + (f".{tail}" if tail else "")
