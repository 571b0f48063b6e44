"""Letters: what may be printed, how fractions are set, and how wide a text runs in the real font.

A plain fraction like 1/2 becomes 1, fraction slash, 2: shaping then sets a real fraction in the PDF
and in every browser. Copied out as text it is still read as one half.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
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
_SET_FRACTION = re.compile(rf"([0-9]*){FRACTION_SLASH}([0-9]*)")
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


# Bounded: an office that stays open for a year must not remember every text it ever measured.
@lru_cache(maxsize=20_000)
def _width_em(text: str, weight: int) -> float:
    by_letter, small = _advances(_weight(weight))
    total = sum(by_letter.get(letter, _MISSING_EM) for letter in text)
    for over, under in _SET_FRACTION.findall(text) if FRACTION_SLASH in text else ():
        # Shaping takes the small digits for these.
        total += sum(small["n" + digit] - by_letter[digit] for digit in over)
        total += sum(small["d" + digit] - by_letter[digit] for digit in under)
    return total


def width(text: str, size: float, *, weight: int = 400) -> float:
    """Return how wide one line of text runs [mm] at em height `size` [mm] in the real font.

    Kerning, which mostly pulls letters together, is left out, so the true width is rarely larger.
    A letter that the font does not have counts a full em.
    """
    return _width_em(text, weight) * size


# A label on a drawing is broken into lines of at most this width [em], and cut after so many.
LABEL_EM = 15.0
LABEL_LINES = 4


def wrapped(text: str, *, room: float, lines: int, size: float, weight: int = 400) -> str:
    """Return text broken at words into at most `lines` lines of at most `room` [mm], cut with an ellipsis.

    size: em height [mm]. A line feed in the text always breaks; a word that is too long is cut.
    """
    done: list[str] = []
    for line in text[:2000].split("\n"):
        now = ""
        for part in line.split(" "):
            longer = f"{now} {part}" if now else part
            if now and width(longer, size, weight=weight) > room:
                done.append(now)
                longer = part
            now = longer
        done.append(now)
    if len(done) > lines:
        # The ellipsis takes the place of what is lost, so the last line is made too long on purpose.
        done = [*done[: lines - 1], f"{done[lines - 1]} {done[lines]}…"]
    return "\n".join(
        one if width(one, size, weight=weight) <= room else shorten(one, room=room, size=size, weight=weight)
        for one in done
    )


def label(text: str, size: float, *, weight: int = 400) -> str:
    """Return text as a drawing's label: set, broken into a few lines, cut when it is longer still.

    size: em height [mm]. What is too long for a drawing belongs in a table beside it.
    """
    shown = typeset(clean(text[:2000])).strip("\n")
    return wrapped(shown, room=LABEL_EM * size, lines=LABEL_LINES, size=size, weight=weight)


def block(text: str, size: float, *, weight: int = 400) -> tuple[float, float]:
    """Return width and height [mm] of text of one or more lines at em height `size` [mm]."""
    lines = text.split("\n")
    wide = max(width(line, size, weight=weight) for line in lines)
    return wide, (ABOVE + BELOW + LEADING * (len(lines) - 1)) * size


def shorten(text: str, *, room: float, size: float, weight: int = 400) -> str:
    """Return text cut with an ellipsis so that it runs at most `room` [mm] at em height `size` [mm]."""
    text = " ".join(clean(text[:2000]).split())
    if width(text, size, weight=weight) <= room:
        return text
    low, high = 0, len(text)
    while low < high:
        mid = (low + high + 1) // 2
        if width(text[:mid].rstrip() + "…", size, weight=weight) <= room:
            low = mid
        else:
            high = mid - 1
    return text[:low].rstrip() + "…"
