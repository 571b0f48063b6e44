"""Every unit: its exact factor to SI, where the factor comes from, and the ways of spelling it.

The foot is the international foot (0.3048 m); the US survey foot is not used. A ton is the short ton
(2000 lb) and a tonne, t, is 1000 kg. A gallon is the US gallon. A yard of volume is the cubic yard, as
the trade orders concrete.

A spelling is looked up after `squeeze`: small letters, no spaces, no full stops, 'per' as '/'.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: SI value = written value * `factor` + `shift` (the shift only for temperatures)."""

    key: str
    factor: float
    source: str
    shift: float = 0.0


_SP811 = "nist-sp-811"
_H44 = "nist-hb-44"
_SI = "si-brochure"

_IN, _FT, _YD, _MILE = 0.0254, 0.3048, 0.9144, 1609.344
_IN2, _FT2, _YD2 = 0.00064516, 0.09290304, 0.83612736
_IN3, _FT3, _YD3, _GAL = 1.6387064e-5, 0.028316846592, 0.764554857984, 0.003785411784
_LB, _LBF = 0.45359237, 4.4482216152605
GRAVITY = 9.80665  # [m/s2] standard, exact
_MERCURY = 13595.1 * GRAVITY  # conventional mercury under standard gravity [Pa/m]

# The sizes that formulas need by name [m, kg, N, Pa, s]; what a table or a job holds is read with its unit.
INCH, FOOT, POUND, POUND_FORCE, PSI = _IN, _FT, _LB, _LBF, _LBF / _IN2
HOUR, DAY = 3600.0, 86400.0

# dimension -> rows of (key, factor to SI, source, spellings besides the key)
_ROWS: dict[str, tuple[tuple[str, float, str, str], ...]] = {
    "length": (
        ("in", _IN, _SP811, "inch inches pulg pulgada pulgadas \" ″ ” “ ʺ ＂ '' ′′ ’’ ‘‘ ´´"),
        ("ft", _FT, _SP811, "foot feet pie pies ' ′ ’ ‘ ´ ʹ ＇"),
        ("yd", _YD, _SP811, "yds yard yards yarda yardas"),
        ("mi", _MILE, _SP811, "mile miles"),
        ("mm", 0.001, _SI, "millimetre millimetres millimeter millimeters milímetro milímetros"),
        ("cm", 0.01, _SI, "centimetre centimetres centimeter centimeters centímetro centímetros"),
        ("m", 1.0, _SI, "metre metres meter meters metro metros"),
        ("km", 1000.0, _SI, "kilometre kilometres kilometer kilometers kilómetro kilómetros"),
    ),
    "angle": (
        ("deg", pi / 180.0, _SI, "° º degree degrees grado grados"),
        ("rad", 1.0, _SI, "radian radians"),
        ("gon", pi / 200.0, _SI, ""),
    ),
    "percent": (("%", 0.01, _SI, "percent pct ％ porciento"),),
    "area": (
        ("ft2", _FT2, _SP811, "sqft sf squarefoot squarefeet pie2 pies2"),
        ("in2", _IN2, _SP811, "sqin squareinch squareinches pulg2"),
        ("yd2", _YD2, _SP811, "sqyd sqyds sy squareyard squareyards"),
        ("acre", 4046.8564224, _SP811, "acres ac"),
        ("mm2", 1e-6, _SI, "sqmm"),
        ("cm2", 1e-4, _SI, "sqcm"),
        ("m2", 1.0, _SI, "sqm squaremetre squaremetres squaremeter squaremeters"),
        ("ha", 1e4, _SI, "hectare hectares hectárea hectáreas"),
    ),
    "volume": (
        ("yd3", _YD3, _SP811, "cuyd cuyds cy cubicyard cubicyards yd yds yard yards yarda yardas"),
        ("ft3", _FT3, _SP811, "cuft cf cubicfoot cubicfeet pie3 pies3"),
        ("in3", _IN3, _SP811, "cuin cubicinch cubicinches"),
        ("gal", _GAL, _H44, "gals gallon gallons galón galones"),
        ("qt", _GAL / 4.0, _H44, "qts quart quarts"),
        ("floz", _GAL / 128.0, _H44, "fluidounce fluidounces"),
        ("l", 1e-3, _SI, "litre litres liter liters litro litros"),
        ("ml", 1e-6, _SI, "millilitre millilitres milliliter milliliters"),
        ("m3", 1.0, _SI, "cum cubicmetre cubicmetres cubicmeter cubicmeters"),
    ),
    "mass": (
        ("lb", _LB, _SP811, "lbs pound pounds libra libras"),
        ("oz", _LB / 16.0, _SP811, "ounce ounces onza onzas"),
        ("ton", 2000.0 * _LB, _SP811, "tons shortton shorttons"),
        ("g", 1e-3, _SI, "gram grams gramme grammes gramo gramos"),
        ("kg", 1.0, _SI, "kgs kilo kilos kilogram kilograms kilogramo kilogramos"),
        ("t", 1000.0, _SI, "tonne tonnes metricton metrictons tonelada toneladas"),
    ),
    "linear_mass": (
        ("lb/ft", _LB / _FT, _SP811, "plf"),
        ("kg/m", 1.0, _SI, ""),
    ),
    "area_mass": (
        ("lb/ft2", _LB / _FT2, _SP811, ""),
        ("lb/yd2", _LB / _YD2, _SP811, ""),
        ("kg/m2", 1.0, _SI, ""),
        ("g/m2", 1e-3, _SI, ""),
    ),
    "density": (
        ("lb/yd3", _LB / _YD3, _SP811, "pcy"),
        ("lb/ft3", _LB / _FT3, _SP811, "pcf"),
        ("kg/m3", 1.0, _SI, ""),
        ("g/cm3", 1000.0, _SI, ""),
    ),
    "temperature_difference": (
        ("F", 5.0 / 9.0, _SP811, "f fahrenheit °f degf f° degreef degreesf ℉"),
        ("C", 1.0, _SI, "c °c degc c° degreec degreesc ℃ celsius"),
        ("K", 1.0, _SI, "k kelvin"),
    ),
    "speed": (
        ("mph", _MILE / 3600.0, _SP811, "mi/h mile/h"),
        ("km/h", 1.0 / 3.6, _SI, "kph kmh"),
        ("m/s", 1.0, _SI, ""),
        ("ft/s", _FT, _SP811, "fps"),
        ("ft/min", _FT / 60.0, _SP811, "fpm"),
        ("kn", 1852.0 / 3600.0, _SP811, "knot knots kt kts"),
    ),
    "pressure": (
        ("psi", _LBF / _IN2, _SP811, "lb/in2 lbf/in2"),
        ("psf", _LBF / _FT2, _SP811, "lb/ft2 lbf/ft2"),
        ("ksi", 1000.0 * _LBF / _IN2, _SP811, ""),
        ("Pa", 1.0, _SI, "pa n/m2"),
        ("hPa", 100.0, _SI, "hpa mbar"),
        ("kPa", 1e3, _SI, "kpa"),
        ("MPa", 1e6, _SI, "mpa n/mm2"),
        ("bar", 1e5, _SI, ""),
        ("inHg", _MERCURY * _IN, _SP811, "inhg"),
        ("mmHg", _MERCURY * 0.001, _SP811, "mmhg"),
    ),
    "flow": (
        ("gpm", _GAL / 60.0, _H44, "gal/min"),
        ("gph", _GAL / 3600.0, _H44, "gal/h"),
        ("cfs", _FT3, _SP811, "ft3/s"),
        ("cfm", _FT3 / 60.0, _SP811, "ft3/min"),
        ("yd3/h", _YD3 / 3600.0, _SP811, "yd/h"),
        ("l/s", 1e-3, _SI, "lps"),
        ("l/min", 1e-3 / 60.0, _SI, "lpm"),
        ("l/h", 1e-3 / 3600.0, _SI, ""),
        ("m3/h", 1.0 / 3600.0, _SI, ""),
        ("m3/s", 1.0, _SI, ""),
    ),
    "evaporation": (
        ("lb/ft2/h", _LB / _FT2 / 3600.0, _SP811, ""),
        ("kg/m2/h", 1.0 / 3600.0, _SI, ""),
        ("kg/m2/s", 1.0, _SI, ""),
    ),
    "rain": (
        ("in/h", _IN / 3600.0, _SP811, "iph"),
        ("mm/h", 1e-3 / 3600.0, _SI, ""),
        ("m/s", 1.0, _SI, ""),
    ),
    "coverage": (
        ("ft2/gal", _FT2 / _GAL, _H44, ""),
        ("m2/l", 1e3, _SI, ""),
        ("m2/m3", 1.0, _SI, ""),
    ),
    "duration": (
        ("s", 1.0, _SI, "sec secs second seconds segundo segundos"),
        ("min", 60.0, _SI, "mins minute minutes minuto minutos"),
        ("h", 3600.0, _SI, "hr hrs hour hours hora horas"),
        ("d", 86400.0, _SI, "day days día días dia dias"),
        ("week", 604800.0, _SI, "weeks wk wks semana semanas"),
    ),
}

_EXTRA: dict[str, tuple[Unit, ...]] = {
    "temperature": (
        Unit("F", 5.0 / 9.0, _SP811, -32.0 * 5.0 / 9.0),
        Unit("C", 1.0, _SI),
        Unit("K", 1.0, _SI, -273.15),
    ),
}

UNITS: dict[str, dict[str, Unit]] = {
    dimension: {key: Unit(key, factor, source) for key, factor, source, _ in rows}
    for dimension, rows in _ROWS.items()
} | {dimension: {unit.key: unit for unit in rows} for dimension, rows in _EXTRA.items()}
"""Dimension -> key -> unit."""

UNITS["slope"] = {
    "%": Unit("%", 0.01, _SI),
    "in/ft": Unit("in/ft", 1.0 / 12.0, _SP811),
    "mm/m": Unit("mm/m", 0.001, _SI),
    "ratio": Unit("ratio", 1.0, _SI),
}

# Spellings of the parts of a compound unit, each to its key: 'sq ft per gallon' -> 'ft2/gal'.
_PART: dict[str, str] = {
    spelling: key
    for dimension in ("length", "mass", "duration", "volume", "area")
    for key, _, _, more in _ROWS[dimension]
    for spelling in (key, *more.split())
    if spelling not in {"yd", "yds", "yard", "yards"}
} | {"yard": "yd3", "yards": "yd3", "yd": "yd", "sec": "s", "lbs": "lb"}

_SQUEEZED = str.maketrans(
    {"²": "2", "³": "3", "^": "", "·": "/", "*": "/", "(": "", ")": "", ".": ""}
    | dict.fromkeys(" \t\N{NO-BREAK SPACE}\N{THIN SPACE}\N{NARROW NO-BREAK SPACE}\N{FIGURE SPACE}", " ")
)


def squeeze(spelling: str) -> str:
    """Return a unit's spelling in the form in which it is looked up ('Sq. Ft' -> 'sqft')."""
    words = spelling.lower().translate(_SQUEEZED).split()
    return "".join("/" if word in {"per", "por"} else word for word in words)


def _spellings() -> dict[str, dict[str, Unit]]:
    table: dict[str, dict[str, Unit]] = {}
    for dimension, rows in _ROWS.items():
        found = table[dimension] = {}
        for key, _, _, more in rows:
            for spelling in (key, key.lower(), *more.split()):
                found[spelling] = UNITS[dimension][key]
    table["temperature"] = {
        spelling: UNITS["temperature"][unit.key] for spelling, unit in table["temperature_difference"].items()
    }
    table["slope"] = dict(UNITS["slope"])
    return table


SPELLINGS: dict[str, dict[str, Unit]] = _spellings()
"""Dimension -> squeezed spelling -> unit."""


def find_unit(dimension: str, spelling: str) -> Unit | None:
    """Return the unit that `spelling` names in `dimension`, or None."""
    table = SPELLINGS[dimension]
    unit = table.get(spelling)
    if unit is not None:
        return unit
    squeezed = squeeze(spelling)
    unit = table.get(squeezed)
    together = squeezed.endswith(("2h", "2hr"))
    if unit is not None or not (together or "/" in squeezed):
        return unit
    if together:  # kg/m2h is how a rate on an area is commonly run together
        head, _, tail = squeezed.rpartition("2")
        squeezed = f"{head}2/{tail}"
    parts = [_PART.get(part, part) for part in squeezed.split("/")]
    return table.get("/".join(parts))
