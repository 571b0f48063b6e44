"""Every factor of the unit table against pint, a general library of units.

Source: pint (the version that the tests install), its default registry, each unit by pint's own name.
Only the acre differs: pint's is the one of US survey feet, 4 parts in a million larger.
"""

from __future__ import annotations

import pint
import pytest

from slabwright.measure.units import UNITS

REGISTRY = pint.UnitRegistry()

PINT = {
    "length": ({"in": "inch", "ft": "foot", "yd": "yard", "mi": "mile"}, "m"),
    "angle": ({"deg": "degree", "gon": "grade"}, "rad"),
    "percent": ({"%": "percent"}, ""),
    "area": (
        {"ft2": "foot**2", "in2": "inch**2", "yd2": "yard**2", "acre": "acre", "mm2": "mm**2", "cm2": "cm**2"}
        | {"m2": "m**2", "ha": "hectare"},
        "m**2",
    ),
    "volume": (
        {"yd3": "yard**3", "ft3": "foot**3", "in3": "inch**3", "gal": "gallon", "qt": "quart"}
        | {"floz": "fluid_ounce", "l": "liter", "ml": "milliliter", "m3": "m**3"},
        "m**3",
    ),
    "mass": ({"lb": "pound", "oz": "ounce", "ton": "short_ton", "g": "gram", "t": "metric_ton"}, "kg"),
    "linear_mass": ({"lb/ft": "pound/foot", "kg/m": "kg/m"}, "kg/m"),
    "area_mass": (
        {"lb/ft2": "pound/foot**2", "lb/yd2": "pound/yard**2", "kg/m2": "kg/m**2", "g/m2": "g/m**2"},
        "kg/m**2",
    ),
    "density": (
        {"lb/yd3": "pound/yard**3", "lb/ft3": "pound/foot**3", "kg/m3": "kg/m**3", "g/cm3": "g/cm**3"},
        "kg/m**3",
    ),
    "temperature_difference": ({"F": "delta_degF", "C": "delta_degC", "K": "kelvin"}, "kelvin"),
    "speed": (
        {
            "mph": "mile/hour",
            "km/h": "km/hour",
            "m/s": "m/s",
            "ft/s": "foot/s",
            "ft/min": "foot/min",
            "kn": "knot",
        },
        "m/s",
    ),
    "pressure": (
        {"psi": "psi", "psf": "force_pound/foot**2", "ksi": "ksi", "Pa": "Pa", "hPa": "hPa", "kPa": "kPa"}
        | {"MPa": "MPa", "bar": "bar", "inHg": "inch_Hg", "mmHg": "mmHg"},
        "Pa",
    ),
    "flow": (
        {
            "gpm": "gallon/min",
            "gph": "gallon/hour",
            "cfs": "foot**3/s",
            "cfm": "foot**3/min",
            "l/s": "liter/s",
        }
        | {
            "yd3/h": "yard**3/hour",
            "l/min": "liter/min",
            "l/h": "liter/hour",
            "m3/h": "m**3/hour",
            "m3/s": "m**3/s",
        },
        "m**3/s",
    ),
    "evaporation": (
        {"lb/ft2/h": "pound/foot**2/hour", "kg/m2/h": "kg/m**2/hour", "kg/m2/s": "kg/m**2/s"},
        "kg/m**2/s",
    ),
    "rain": ({"in/h": "inch/hour", "mm/h": "mm/hour", "m/s": "m/s"}, "m/s"),
    "coverage": ({"ft2/gal": "foot**2/gallon", "m2/l": "m**2/liter", "m2/m3": "m**2/m**3"}, "1/m"),
    "duration": ({"min": "minute", "h": "hour", "d": "day", "week": "week"}, "s"),
    "slope": ({"%": "percent", "in/ft": "inch/foot", "mm/m": "mm/m", "ratio": ""}, ""),
    "temperature": ({"F": "degF", "C": "degC", "K": "kelvin"}, "degC"),
}
ROWS = [(dimension, key) for dimension, table in UNITS.items() for key in table]
SURVEY = {("area", "acre")}


def by_pint(dimension: str, key: str, value: float) -> float:
    names, si = PINT[dimension]
    return REGISTRY.Quantity(value, names.get(key, key)).to(si).magnitude


@pytest.mark.parametrize(("dimension", "key"), [row for row in ROWS if row not in SURVEY])
@pytest.mark.parametrize("value", [1.0, 82.0])
def test_factor(dimension, key, value):
    unit = UNITS[dimension][key]
    # Two units in the last place: pint multiplies step by step.
    assert value * unit.factor + unit.shift == pytest.approx(
        by_pint(dimension, key, value), rel=5e-15, abs=1e-12
    )


def test_the_acre_is_of_international_feet():
    assert UNITS["area"]["acre"].factor == pytest.approx(43560 * by_pint("area", "ft2", 1.0), rel=1e-15)
    assert by_pint("area", "acre", 1.0) / UNITS["area"]["acre"].factor == pytest.approx(1 + 4e-6, abs=1e-7)
