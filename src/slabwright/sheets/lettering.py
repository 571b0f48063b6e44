"""Letters: what may be printed, how fractions are set, and how wide a text runs in the real font.

A plain fraction like 1/2 becomes 1, fraction slash, 2: shaping then sets a real fraction in the PDF
and in every browser. Copied out as text it is still read as one half.
"""

from __future__ import annotations

import re
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

from slabwright.sheets.styles import letter_size

FRACTION_SLASH = "\u2044"
NARROW_SPACE = "\u202f"
FONT = "Source Sans Pro"

# Only the fractions that a tape, a rod or a board shows are set; a date or a share of pages is not.
_FRACTION = re.compile(
    r"(?<![\d/.,])(?:(\d{1,4})[ \u202f])?(\d{1,2})/(2|3|4|5|8|10|12|16|32|64)(?![\d/]|\.\d)"
)
# A minus before a figure is set as one: a hyphen is lost at arm's length.
_MINUS = re.compile(r"(?:(?<=\s)|(?<=[(])|^)-(?= ?\d)", re.MULTILINE)
_POWER = re.compile(r"((?:^|[\d\[(/ ])(?:ft|yd|in|mm|cm|m))([23])(?![\w])")
_RAISED = {"2": "²", "3": "³"}
MINUS = "\u2212"
_LOWERED = str.maketrans({raised: digit for digit, raised in _RAISED.items()} | {MINUS: "-"})
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
# Marks that turn the direction of the text round them, so that a sheet would not show what it holds.
_TURNERS = re.compile("[\u200e\u200f\u202a-\u202e\u2066-\u2069]")

# The box of a line of letters, in em above and below the baseline.
ABOVE = 0.72
BELOW = 0.21
LEADING = 1.12
# A letter that the font lacks is set in a stand-in; none of those runs wider than this.
_MISSING_EM = 1.0

_FILES = {400: "SourceSansPro-Regular.ttf", 600: "SourceSansPro-Semibold.ttf", 700: "SourceSansPro-Bold.ttf"}


def clean(text: str) -> str:
    """Return text without characters that no sheet can hold: controls, half pairs, direction marks."""
    return _TURNERS.sub("", _FORBIDDEN.sub("\ufffd", text))


def typeset(text: str) -> str:
    """Return text as it is set: real fractions for tape and rod, a raised 2 or 3 in ft2 or yd3, a minus."""

    def put(found: re.Match[str]) -> str:
        whole, over, under = found.groups()
        lead = f"{whole}{NARROW_SPACE}" if whole else ""
        return f"{lead}{over}{FRACTION_SLASH}{under}"

    if "/" in text:
        text = _FRACTION.sub(put, text)
    if "-" in text:
        text = _MINUS.sub(MINUS, text)
    return _POWER.sub(lambda found: found[1] + _RAISED[found[2]], text)


def plain(text: str) -> str:
    """Return text as it is typed: the reverse of `typeset`, for files that hold plain letters."""
    return text.replace(FRACTION_SLASH, "/").replace(NARROW_SPACE, " ").translate(_LOWERED)


def has_fraction(text: str) -> bool:
    """Say whether text holds a fraction that is set as one."""
    return FRACTION_SLASH in text or _FRACTION.search(text) is not None


def size_for(text: str, size: float) -> float:
    """Return the em height [mm] to print text at: `size` [mm], or more where a fraction needs it."""
    return max(size, letter_size("fraction")) if has_fraction(text) else size


def font_folder() -> Path:
    """Return the folder that holds the open font; FileNotFoundError when its package is missing."""
    spec = find_spec("font_source_sans_pro")
    if spec is None or spec.origin is None:
        raise FileNotFoundError("the package font-source-sans-pro is not installed")
    return Path(spec.origin).parent / "files"


@cache
def _advances(weight: int) -> tuple[dict[str, float], dict[str, float]]:
    """Return the advance [em] of every letter, and those of a fraction's digits as 'n1' over 'd2'."""
    TTFont = import_module("fontTools.ttLib").TTFont  # here: only a sheet needs it

    font = TTFont(font_folder() / _FILES[weight], lazy=True)
    em = float(font["head"].unitsPerEm)
    widths = font["hmtx"].metrics
    by_letter = {chr(code): widths[name][0] / em for code, name in font.getBestCmap().items()}
    digits = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    small = {
        f"{kind[0]}{value}": widths[f"{name}.{kind}"][0] / em
        for kind in ("numr", "dnom")
        for value, name in enumerate(digits)
    }
    font.close()
    return by_letter, small


def _weight(weight: int) -> int:
    return min(_FILES, key=lambda w: abs(w - weight))


@cache
def _width_em(text: str, weight: int) -> float:
    by_letter, small = _advances(_weight(weight))
    total = 0.0
    end = len(text)
    for at, letter in enumerate(text):
        if letter.isascii() and letter.isdigit():
            after, before = at + 1, at - 1
            while after < end and text[after].isdigit():
                after += 1
            while before >= 0 and text[before].isdigit():
                before -= 1
            if after < end and text[after] == FRACTION_SLASH:
                total += small["n" + letter]
                continue
            if before >= 0 and text[before] == FRACTION_SLASH:
                total += small["d" + letter]
                continue
        total += by_letter.get(letter, _MISSING_EM)
    return total


def width(text: str, size: float, *, weight: int = 400) -> float:
    """Return how wide one line of text runs [mm] at em height `size` [mm] in the real font.

    Kerning, which mostly pulls letters together, is left out, so the true width is rarely larger.
    A letter that the font does not have counts a full em.
    """
    return _width_em(text, weight) * size


def block(text: str, size: float, *, weight: int = 400) -> tuple[float, float]:
    """Return width and height [mm] of text of one or more lines at em height `size` [mm]."""
    lines = text.split("\n")
    wide = max(width(line, size, weight=weight) for line in lines)
    return wide, (ABOVE + BELOW + LEADING * (len(lines) - 1)) * size
