"""Field types of the job file: trade text in, SI out, with what was written and on which line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, PlainValidator, WithJsonSchema

from slabwright import measure


class Written(str):
    """A scalar of the job file as written, with its place (1-based line and column)."""

    line: int | None
    column: int | None

    def __new__(cls, text: str, line: int | None = None, column: int | None = None) -> Written:
        """Return `text` carrying its place in the file."""
        self = super().__new__(cls, text)
        self.line, self.column = line, column
        return self


class Mapped(dict[str, Any]):
    """A mapping of the job file, with the 1-based line that it begins on."""

    line: int | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading: its value in SI, as it was written, and the job file's line."""

    si: float
    written: str
    line: int | None = None


def _reader(kind: str, bare: str | None) -> Callable[[Any], float]:
    def read(raw: Any) -> float:
        if isinstance(raw, bool) or not isinstance(raw, str | int | float):
            raise ValueError(f"a {kind.replace('_', ' ')} is wanted here")
        return measure.read(kind, raw, bare=bare)

    return read


def _reading(kind: str, bare: str | None) -> Callable[[Any], Reading]:
    read = _reader(kind, bare)

    def keep(raw: Any) -> Reading:
        if isinstance(raw, Reading):
            return raw
        return Reading(read(raw), str(raw), getattr(raw, "line", None))

    return keep


def _schema(what: str, example: str) -> WithJsonSchema:
    return WithJsonSchema({"type": ["string", "number"], "description": what, "examples": [example]})


# A distance on site must name its unit; a thin dimension without one is in inches, as the trade writes it.
Distance = Annotated[float, BeforeValidator(_reader("length", None)), _schema("length", "15' 6 1/2\"")]
Thin = Annotated[float, BeforeValidator(_reader("length", "in")), _schema("length, bare in inches", "3 1/2")]
Slope = Annotated[float, BeforeValidator(_reader("slope", None)), _schema("slope", "1/4 in per ft")]
Angle = Annotated[
    float, BeforeValidator(_reader("angle", "deg")), _schema("angle, bare in degrees", "12 deg")
]
Temperature = Annotated[float, BeforeValidator(_reader("temperature", None)), _schema("temperature", "82 F")]
Clock = Annotated[float, BeforeValidator(_reader("clock", None)), _schema("clock time", "7:00 am")]
Pressure = Annotated[float, BeforeValidator(_reader("pressure", "psi")), _schema("strength", "4000 psi")]
Flow = Annotated[float, BeforeValidator(_reader("flow", "gpm")), _schema("flow, bare in gpm", "1.85 gpm")]
TapeReading = Annotated[
    Reading, PlainValidator(_reading("length", None)), _schema("tape reading", "42' 0 1/4")
]
RodReading = Annotated[Reading, PlainValidator(_reading("length", None)), _schema("rod reading", "4' 6 5/8")]
Name = Annotated[str, Field(min_length=1, max_length=60)]
