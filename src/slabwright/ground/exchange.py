"""Readings and points from other programs' files: what is common to every format.

Only open standards: CSV (RFC 4180 and its relatives), LandXML 1.2, DXF, GeoJSON (RFC 7946). The functions
take and give text or bytes; files are opened at the edge of the program.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from slabwright.notes.mistakes import Mistake, NotesError

LARGEST = {"csv": 5_000_000, "landxml": 20_000_000, "dxf": 25_000_000}  # bytes read at most
FARTHEST = 1e7  # [m] a coordinate beyond this is none on the earth

UNITS = {  # metres in one unit, as LandXML 1.2 and people spell it
    "millimeter": 0.001,
    "centimeter": 0.01,
    "meter": 1.0,
    "kilometer": 1000.0,
    "foot": 0.3048,
    "ussurveyfoot": 1200.0 / 3937.0,
    "inch": 0.0254,
    "mile": 1609.344,
}
SHORT = {"mm": "millimeter", "cm": "centimeter", "m": "meter", "ft": "foot", "in": "inch"}


class ExchangeError(NotesError):
    """A file that was brought in cannot be used; `mistakes` names file, row and field, with an example."""


@dataclass(frozen=True, slots=True)
class RodRow:
    """One row of a table of rod readings: point, reading [m], as written, set-up, remark, line."""

    point: str
    reading: float
    written: str
    set_up: str | None
    remark: str
    line: int


@dataclass(frozen=True, slots=True)
class NamedPoint:
    """A point brought in or given out: name, place [m], height [m] or None, remark."""

    name: str
    x: float
    y: float
    height: float | None = None
    remark: str = ""


class Slips:
    """Collects what is wrong with one file, so that it is all said at once."""

    def __init__(self, file: str) -> None:
        """Begin with nothing wrong in `file`."""
        self.file = file
        self.found: list[Mistake] = []

    def add(
        self, line: int | None, field: str, written: str | None, why: str, example: str | None = None
    ) -> None:
        """Note one mistake."""
        self.found.append(Mistake(self.file, line, None, field, written, why, example))

    def stop(
        self, line: int | None, field: str, written: str | None, why: str, example: str | None = None
    ) -> ExchangeError:
        """Note one mistake and return the error that holds all."""
        self.add(line, field, written, why, example)
        return ExchangeError(self.found)

    def check(self) -> None:
        """Raise when anything was found."""
        if self.found:
            raise ExchangeError(self.found)


def check_size(data: bytes | str, kind: str, slips: Slips) -> None:
    """Refuse data that is empty or larger than any job needs."""
    if not data or not data.strip():
        raise slips.stop(None, "", None, "the file is empty")
    if len(data) > LARGEST[kind]:
        most = f"{LARGEST[kind] // 1_000_000} MB"
        raise slips.stop(None, "", None, f"the file is larger than {most}; bring in only the job's points")


def decoded(data: bytes | str, slips: Slips) -> str:
    """Return text from UTF-8 (with or without its mark) or marked UTF-16."""
    if isinstance(data, str):
        text = data.removeprefix("\ufeff")
    else:
        wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
        try:
            text = data.decode("utf-16" if wide else "utf-8-sig")
        except UnicodeDecodeError as bad:
            line = data.count(b"\n", 0, bad.start) + 1
            raise slips.stop(line, "", None, "the file is not UTF-8 text; save it as CSV UTF-8") from None
    if "\0" in text:
        raise slips.stop(text.count("\n", 0, text.index("\0")) + 1, "", None, "the file is not a text file")
    return text


def metres_in(unit: str, slips: Slips, line: int | None, field: str) -> float:
    """Return the metres in one `unit` ('ft', 'foot', 'USSurveyFoot', 'm', 'meter', ...)."""
    key = unit.strip().lower()
    key = SHORT.get(key, key)
    if key not in UNITS:
        raise slips.stop(line, field, unit, "this unit of length is not known", "foot")
    return UNITS[key]


def number(text: str) -> float | None:
    """Return a plain finite number, or None."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) and not set("_") & set(text) else None


def take(
    points: dict[str, NamedPoint], point: NamedPoint, line: int | None, field: str, slips: Slips
) -> None:
    """Add a point under its name, unless the name is taken or the place is not on the earth."""
    if point.name in points:
        slips.add(line, field, point.name, "this name is used twice", f"{point.name}b")
    elif max(abs(point.x), abs(point.y), abs(point.height or 0.0)) > FARTHEST:
        slips.add(line, field, point.name, "this point is more than 10,000 km away; check the unit")
    else:
        points[point.name] = point
