"""The kinds of quantity: what each is in SI, how the trade writes it, and what is too much of it.

`KINDS` is the table that readers, writers and sheets look up. `imperial` and `metric` are keys of the
unit table (units.py); `places` are the decimals written in each; `fraction` is the denominator of the
inch fraction where lengths are written as fractions.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class System(StrEnum):
    """How sheets are written; any quantity may be read in either."""

    IMPERIAL = "imperial"
    METRIC = "metric"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in SI with its kind (see `KINDS`), written in trade units only at the edge."""

    kind: str
    si: float


@dataclass(frozen=True, slots=True)
class Kind:
    """One row of `KINDS`.

    `si` is the unit of `Quantity.si`; `dimension` names the rows of the unit table that can be read;
    values outside `least`..`most` [si] are refused as slips of the pen.
    """

    name: str
    means: str
    si: str
    dimension: str
    imperial: str
    metric: str
    places: tuple[int, int]
    least: float
    most: float
    example: str
    fraction: int = 0


def _kind(
    name: str,
    means: str,
    si: str,
    units: tuple[str, str, str],
    places: tuple[int, int],
    limits: tuple[float, float],
    example: str,
    fraction: int = 0,
) -> Kind:
    dimension, imperial, metric = units
    return Kind(name, means, si, dimension, imperial, metric, places, *limits, example, fraction)


# Limits are not rules of the trade: they only catch a number that cannot be meant. Lengths reach to
# 10,000 km because grid coordinates of the open survey formats do.
_LENGTH = (-1e7, 1e7)

_ROWS = (
    _kind(
        "length",
        "a distance on a sheet, to 1/8 in",
        "m",
        ("length", "ft", "m"),
        (2, 3),
        _LENGTH,
        "15' 6 1/2\"",
        8,
    ),
    _kind(
        "fine_length",
        "a distance to set out, to 1/16 in",
        "m",
        ("length", "ft", "m"),
        (2, 3),
        _LENGTH,
        "15' 6 1/2\"",
        16,
    ),
    _kind(
        "feet_inches",
        "a dimension string: feet always shown",
        "m",
        ("length", "ft", "m"),
        (2, 3),
        _LENGTH,
        "0'-8\"",
        8,
    ),
    _kind(
        "inches",
        "a thickness, a lip, a board: inches only",
        "m",
        ("length", "in", "mm"),
        (2, 0),
        _LENGTH,
        '3 1/2"',
        16,
    ),
    _kind(
        "height_difference",
        "up (+) or down (-) from the named height",
        "m",
        ("length", "in", "mm"),
        (2, 0),
        _LENGTH,
        '-4 3/8"',
        8,
    ),
    _kind(
        "slope",
        "rise over run",
        "-",
        ("slope", "in/ft", "%"),
        (2, 1),
        (-10.0, 10.0),
        "1/4 in per ft",
        16,
    ),
    _kind("percent", "a share", "-", ("percent", "%", "%"), (1, 1), (-1e4, 1e4), "2 %"),
    _kind("angle", "an angle", "rad", ("angle", "deg", "deg"), (1, 1), (-100.0, 100.0), "45 deg"),
    _kind("area", "an area", "m2", ("area", "ft2", "m2"), (1, 2), (-1e12, 1e12), "240 ft2"),
    _kind(
        "volume", "a volume, concrete first", "m3", ("volume", "yd3", "m3"), (2, 2), (-1e9, 1e9), "4.25 yd3"
    ),
    _kind("mass", "a mass", "kg", ("mass", "lb", "kg"), (1, 1), (-1e10, 1e10), "94 lb"),
    _kind(
        "linear_mass",
        "mass of a length, as of a bar",
        "kg/m",
        ("linear_mass", "lb/ft", "kg/m"),
        (3, 3),
        (0.0, 1e5),
        "0.668 lb/ft",
    ),
    _kind(
        "area_mass",
        "mass spread on an area",
        "kg/m2",
        ("area_mass", "lb/ft2", "kg/m2"),
        (2, 2),
        (0.0, 1e6),
        "0.6 lb/ft2",
    ),
    _kind(
        "density",
        "mass in a volume, as cement in concrete",
        "kg/m3",
        ("density", "lb/yd3", "kg/m3"),
        (0, 0),
        (0.0, 1e5),
        "564 lb/yd3",
    ),
    _kind(
        "temperature", "a temperature", "degC", ("temperature", "F", "C"), (0, 0), (-100.0, 2000.0), "82 F"
    ),
    _kind(
        "temperature_difference",
        "a difference of temperatures",
        "degC",
        ("temperature_difference", "F", "C"),
        (0, 0),
        (-2000.0, 2000.0),
        "20 F",
    ),
    _kind("speed", "a speed, wind first", "m/s", ("speed", "mph", "km/h"), (1, 1), (-1e3, 1e3), "12 mph"),
    _kind(
        "pressure",
        "a pressure or a strength",
        "Pa",
        ("pressure", "psi", "MPa"),
        (0, 1),
        (-1e10, 1e10),
        "4000 psi",
    ),
    _kind("flow", "a volume in a time", "m3/s", ("flow", "gpm", "l/s"), (1, 2), (-1e4, 1e4), "8 gpm"),
    _kind(
        "evaporation",
        "water leaving a surface",
        "kg/(m2 s)",
        ("evaporation", "lb/ft2/h", "kg/m2/h"),
        (2, 2),
        (-1.0, 1.0),
        "0.2 lb/ft2/h",
    ),
    _kind(
        "rain",
        "rainfall, watering: depth in a time",
        "m/s",
        ("rain", "in/h", "mm/h"),
        (2, 1),
        (0.0, 1e-2),
        "4 in/h",
    ),
    _kind(
        "coverage",
        "area that a volume covers",
        "m2/m3",
        ("coverage", "ft2/gal", "m2/l"),
        (0, 1),
        (0.0, 1e7),
        "200 ft2/gal",
    ),
    _kind("duration", "a length of time", "s", ("duration", "h", "h"), (2, 2), (0.0, 1e10), "1 h 30 min"),
    _kind(
        "clock", "a time of day, after midnight", "s", ("clock", "s", "s"), (0, 0), (0.0, 864e5), "7:00 am"
    ),
    _kind("money", "money", "currency unit", ("money", "USD", "USD"), (2, 2), (-1e12, 1e12), "$1,250.00"),
    _kind("count", "how many", "-", ("count", "", ""), (0, 0), (-1e12, 1e12), "12"),
    _kind("ratio", "one plain number over another", "-", ("ratio", "", ""), (2, 2), (-1e12, 1e12), "0.45"),
)

KINDS: dict[str, Kind] = {row.name: row for row in _ROWS}
"""Every kind by name, in the order above."""


def kind_of(name: str) -> Kind:
    """Return the row of `KINDS`; ValueError names the kinds when there is no such one."""
    try:
        return KINDS[name]
    except KeyError:
        known = ", ".join(KINDS)
        raise ValueError(f"{name!r} is not a kind of quantity; the kinds are {known}") from None
