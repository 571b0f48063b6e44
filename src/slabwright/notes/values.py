"""Field types of the job file: trade text in, SI out, with what was written and on which line."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field, PlainValidator, WithJsonSchema

from slabwright import measure


class Written(str):
    """A scalar of the job file as written, with its place (1-based line and column)."""

    __slots__ = ("column", "line")
    line: int | None
    column: int | None

    def __new__(cls, text: str, line: int | None = None, column: int | None = None) -> Written:
        """Return `text` carrying its place in the file."""
        self = super().__new__(cls, text)
        self.line, self.column = line, column
        return self


class Mapped(dict[str, Any]):
    """A mapping of the job file, with the 1-based line that it begins on; its keys are `Written`."""

    __slots__ = ("line",)
    line: int | None

    def __init__(self, items: Mapping[str, Any] | None = None, line: int | None = None) -> None:
        """Hold `items` with the line of the first."""
        super().__init__(items or {})
        self.line = line


class Listed(list[Any]):
    """A list of the job file, with the 1-based line that it begins on."""

    __slots__ = ("line",)
    line: int | None

    def __init__(self, items: Iterable[Any] = (), line: int | None = None) -> None:
        """Hold `items` with the line of the first."""
        super().__init__(items)
        self.line = line


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


# Words for the sky and the share of cloud that they stand for (a custom of forecasters: common practice).
SKIES = {
    "clear": 0.05,
    "sunny": 0.05,
    "mostly clear": 0.25,
    "mostly sunny": 0.25,
    "partly cloudy": 0.45,
    "partly sunny": 0.6,
    "mostly cloudy": 0.75,
    "cloudy": 0.95,
    "overcast": 1.0,
}


def _sky(raw: Any) -> float:
    said = " ".join(str(raw).casefold().replace("-", " ").split())
    if said in SKIES:
        return SKIES[said]
    if not any(letter.isdecimal() for letter in said):
        raise ValueError(f"must be one of {', '.join(SKIES)}, or a share of cloud in percent")
    return _reader("percent", "%")(raw)


def _iso_day(text: str) -> str:
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise ValueError("is no day; write year, month and day") from None


def _schema(what: str, example: str) -> WithJsonSchema:
    return WithJsonSchema({"type": ["string", "number"], "description": what, "examples": [example]})


def _between(least: float, most: float | None, why: str) -> AfterValidator:
    """Return a check that a value (or a reading) [SI] is more than `least` and at most `most`."""

    def check(value: Any) -> Any:
        si = value.si if isinstance(value, Reading) else value
        if not si > least or (most is not None and si > most):
            raise ValueError(why)
        return value

    return AfterValidator(check)


# A distance on site must name its unit; a thin dimension without one is in inches, as the trade writes it.
Distance = Annotated[float, BeforeValidator(_reader("length", None)), _schema("length", "15' 6 1/2\"")]
Thin = Annotated[float, BeforeValidator(_reader("length", "in")), _schema("length, bare in inches", "3 1/2")]
OutIntoYard = Annotated[Distance, AfterValidator(lambda out: 0.0 - out)]  # to plan y, into the house
Length = Annotated[Distance, _between(0.0, None, "must be more than nothing")]
Thick = Annotated[Thin, _between(0.0, None, "must be more than nothing")]
Gap = Annotated[Thin, _between(-1e-12, None, "cannot be less than nothing")]
# A slab's thickness: under an inch or over two feet, a unit was forgotten (100 for 100 mm) or misplaced.
SlabThickness = Annotated[
    Thin,
    _between(0.0254, 0.6096, "is not between 1 in and 24 in (a bare number is in inches: name the unit)"),
]
Slope = Annotated[
    float,
    BeforeValidator(_reader("slope", None)),
    _between(-1e-12, 1.0, "must be a fall between 0 and 100 % (say the way it runs with toward)"),
    _schema("slope", "1/4 in per ft"),
]
Angle = Annotated[
    float, BeforeValidator(_reader("angle", "deg")), _schema("angle, bare in degrees", "12 deg")
]
Temperature = Annotated[float, BeforeValidator(_reader("temperature", None)), _schema("temperature", "82 F")]
Clock = Annotated[float, BeforeValidator(_reader("clock", None)), _schema("clock time", "7:00 am")]
Pressure = Annotated[
    float,
    BeforeValidator(_reader("pressure", "psi")),
    _between(6e6, 1e8, "is not between 900 and 14,500 psi, the strengths that concrete has"),
    _schema("strength", "4000 psi"),
]
Flow = Annotated[float, BeforeValidator(_reader("flow", "gpm")), _schema("flow, bare in gpm", "1.85 gpm")]
Area = Annotated[float, BeforeValidator(_reader("area", None)), _schema("area", "600 ft2")]
Volume = Annotated[
    float,
    BeforeValidator(_reader("volume", None)),
    _between(-1e-12, None, "cannot be less than nothing"),
    _schema("volume", "4 1/4 yd3"),
]
Speed = Annotated[
    float,
    BeforeValidator(_reader("speed", "mph")),
    _between(-1e-12, 50.0, "is not between 0 and 110 mph"),
    _schema("speed, bare in mph", "8 mph"),
]
Share = Annotated[
    float,
    BeforeValidator(_reader("percent", "%")),
    _between(-1e-12, 1.0, "is not between 0 and 100 %"),
    _schema("share, bare in percent", "55 %"),
]
Sky = Annotated[
    float,
    BeforeValidator(_sky),
    _between(-1e-12, 1.0, "is not between 0 and 100 % cloud"),
    _schema("sky in words, or its share of cloud in percent", "partly cloudy"),
]
Day = Annotated[str, AfterValidator(_iso_day), _schema("day", "2026-05-12")]
Rain = Annotated[float, BeforeValidator(_reader("rain", None)), _schema("rainfall", "4 in/h")]
Duration = Annotated[float, BeforeValidator(_reader("duration", None)), _schema("duration", "5 min")]
TapeReading = Annotated[
    Reading, PlainValidator(_reading("length", None)), _schema("tape reading", "42' 0 1/4")
]
TapePull = Annotated[
    Reading,
    PlainValidator(_reading("length", None)),
    _between(0.0, None, "must be more than nothing"),
    _schema("tape reading", "42' 0 1/4"),
]
RodReading = Annotated[Reading, PlainValidator(_reading("length", None)), _schema("rod reading", "4' 6 5/8")]
Name = Annotated[str, Field(min_length=1, max_length=60)]
