"""Points from LandXML 1.2 (the open schema; 1.0 and 1.1 read alike): CgPoints in the file's own unit.

The reader is a plain stream reader that refuses document types and entities before they can do harm, and
keeps nothing but points.
"""

from __future__ import annotations

from typing import NoReturn
from xml.parsers import expat

from slabwright.ground.exchange import (
    ExchangeError,
    NamedPoint,
    Slips,
    check_size,
    metres_in,
    number,
    take,
)

DEEPEST = 100  # elements inside each other
LONGEST = 1_000  # characters in one point
EXAMPLE = '<CgPoint name="P1">120.50 64.25 99.80</CgPoint>'


def points_from_landxml(
    data: bytes | str, *, name: str = "points.xml", unit: str | None = None
) -> tuple[NamedPoint, ...]:
    """Return the points of a LandXML file: x is its easting, y its northing [m].

    :param data: the file's bytes or text.
    :param unit: unit of length where the file states none ('ft', 'USSurveyFoot', 'm', ...).
    :raises ExchangeError: naming file, line and point of every mistake.
    """
    slips = Slips(name)
    check_size(data, "landxml", slips)
    raw = data.encode() if isinstance(data, str) else data
    points = _Reader(slips, unit).read(raw, text=isinstance(data, str))
    if not points:
        slips.add(None, "CgPoints", None, "the file holds no points", EXAMPLE)
    slips.check()
    return tuple(points.values())


class _Reader:
    """Collects units and points from the stream of elements."""

    def __init__(self, slips: Slips, unit: str | None) -> None:
        self.slips = slips
        self.unit = unit
        self.metres: float | None = None
        self.path: list[str] = []
        self.open: dict[str, str] | None = None
        self.words: list[str] = []
        self.size = 0
        self.rows: list[tuple[int, dict[str, str], str]] = []

    def read(self, data: bytes, *, text: bool) -> dict[str, NamedPoint]:
        parser = expat.ParserCreate("utf-8" if text else None, namespace_separator=" ")
        parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        parser.buffer_text = True
        parser.StartDoctypeDeclHandler = self._refuse
        parser.EntityDeclHandler = self._refuse
        parser.ExternalEntityRefHandler = self._refuse
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._text
        self.parser = parser
        try:
            parser.Parse(data, True)
        except expat.ExpatError as bad:
            why = expat.errors.messages.get(bad.code, str(bad))
            raise self.slips.stop(bad.lineno, "", None, f"this is not well-formed XML ({why})") from None
        return self._points()

    def _refuse(self, *_: object) -> NoReturn:
        line = self.parser.CurrentLineNumber
        raise self.slips.stop(line, "", None, "document types and entities are not read; save without them")

    def _start(self, tag: str, given: dict[str, str]) -> None:
        local = tag.rsplit(" ", 1)[-1]
        line = self.parser.CurrentLineNumber
        if not self.path and local != "LandXML":
            raise self.slips.stop(line, local, None, "this is not a LandXML file", '<LandXML version="1.2">')
        self.path.append(local)
        if len(self.path) > DEEPEST:
            raise self.slips.stop(line, local, None, f"elements are nested more than {DEEPEST} deep")
        if local in ("Metric", "Imperial") and "Units" in self.path:
            self.metres = metres_in(
                given.get("linearUnit", ""), self.slips, line, f"Units.{local}.linearUnit"
            )
        elif local == "CgPoint":
            self.open, self.words, self.size = dict(given), [], 0
            self.open[" line"] = str(line)

    def _end(self, tag: str) -> None:
        self.path.pop()
        if tag.rsplit(" ", 1)[-1] == "CgPoint" and self.open is not None:
            line = int(self.open.pop(" line"))
            self.rows.append((line, self.open, "".join(self.words).strip()))
            self.open = None

    def _text(self, words: str) -> None:
        if self.open is None:
            return
        self.size += len(words)
        if self.size > LONGEST:
            line = self.parser.CurrentLineNumber
            raise self.slips.stop(
                line, "CgPoint", words, "this point holds more than its coordinates", EXAMPLE
            )
        self.words.append(words)

    def _points(self) -> dict[str, NamedPoint]:
        if self.metres is None and self.unit is not None:
            self.metres = metres_in(self.unit, self.slips, None, "unit")
        if self.metres is None and self.rows:
            raise self.slips.stop(
                None, "Units", None, "the file states no unit of length", '<Imperial linearUnit="foot"/>'
            )
        points: dict[str, NamedPoint] = {}
        for line, given, words in self.rows:
            if "pntRef" in given and not words:
                continue  # a list that names points held elsewhere in the file
            label = given.get("name") or given.get("oID") or ""
            if not label:
                self.slips.add(line, "CgPoint.name", None, "the point has no name", EXAMPLE)
                continue
            values = [number(word) for word in words.split()]
            if len(values) not in (2, 3) or None in values:
                why = "northing, easting and, if known, height are wanted"
                self.slips.add(line, f"CgPoint {label}", words, why, EXAMPLE)
                continue
            scaled = [value * (self.metres or 1.0) for value in values if value is not None]
            height = scaled[2] if len(scaled) == 3 else None
            remark = given.get("desc") or given.get("code") or ""
            take(points, NamedPoint(label, scaled[1], scaled[0], height, remark), line, "CgPoint", self.slips)
        return points


__all__ = ["ExchangeError", "points_from_landxml"]
