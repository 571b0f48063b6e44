"""Feet, inches and slopes as the project's site handbook prints them.

Source: site handbook, section 11 (feet-inch rounding examples and the table of inches and decimals of a
foot, both marked computed there), section 2.2 (falls in the trade), section 12 (check values) and the
unit constants of its head (marked there as recalled exact definitions). Each expected figure stands as
printed, to its printed places.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from slabwright.measure import (
    read_area,
    read_flow,
    read_length,
    read_mass,
    read_pressure,
    read_rate,
    read_slope,
    read_volume,
    write_length,
    write_slope,
)

FOOT = read_length("1 ft")

# section 11, table, columns 'in' and 'ft'
INCHES = [
    ("1/8", ".0104"), ("1/4", ".0208"), ("3/8", ".0313"), ("1/2", ".0417"), ("5/8", ".0521"),
    ("3/4", ".0625"), ("7/8", ".0729"), ("1", ".0833"), ("2", ".1667"), ("3", ".2500"),
    ("4", ".3333"), ("5", ".4167"), ("6", ".5000"), ("7", ".5833"), ("8", ".6667"),
    ("9", ".7500"), ("10", ".8333"), ("11", ".9167"), ("12", "1.0000"),
]  # fmt: skip

# section 11, table, columns 'tenth ft', 'nearest 1/8 in', 'nearest 1/16 in'
TENTHS = [
    (".1", "1 1/4", "1 3/16"),
    (".2", "2 3/8", "2 3/8"),
    (".3", "3 5/8", "3 5/8"),
    (".4", "4 3/4", "4 13/16"),
    (".6", "7 1/4", "7 3/16"),
    (".7", "8 3/8", "8 3/8"),
    (".8", "9 5/8", "9 5/8"),
    (".9", "10 3/4", "10 13/16"),
]

# section 11, rounding examples: decimal feet, parts of an inch, as written
ROUNDED = [
    ("11.9974", 8, "12'-0\""),
    ("11.9974", 16, "12'-0\""),
    ("10.5781", 16, "10'-6 15/16\""),
    ("10.5781", 8, "10'-6 7/8\""),
    ("7.3646", 16, "7'-4 3/8\""),
    ("43.2666", 16, "43'-3 3/16\""),
    ("43.2666", 8, "43'-3 1/4\""),
]

# section 2.2: slope, percent as printed
FALLS = [
    ("1/8 in per ft", "1.04"),
    ("1/4 in per ft", "2.08"),
    ("1:48", "2.08"),
    ("3/8 in per ft", "3.13"),
    ("3/4 in per 3 ft", "2.08"),
]

# head of the handbook: what is read, SI, as printed
CONSTANTS = [
    (read_length, "1 ft", 1.0, "0.3048"),
    (read_volume, "1 yd3", 1.0, "0.764555"),
    (read_rate, "1 lb/yd3", 1.0, "0.593276"),
    (read_mass, "1 ton", 1000.0, "0.907185"),
    (read_pressure, "1 psi", 1000.0, "6.89476"),
]


def printed(value: float, like: str) -> bool:
    """Tell whether `value` rounds to the printed figure, halves either way."""
    places = len(like.partition(".")[2])
    return abs(value - float(like)) <= 0.5 * 10.0**-places * (1 + 1e-9)


@pytest.mark.parametrize(("inches", "feet"), INCHES)
def test_section_11_inches_to_decimals_of_a_foot(inches, feet):
    assert printed(read_length(f'{inches}"') / FOOT, feet)


@pytest.mark.parametrize(("tenths", "eighths", "sixteenths"), TENTHS)
def test_section_11_tenths_of_a_foot_to_inches(tenths, eighths, sixteenths):
    m = read_length(f"{tenths} ft")
    assert write_length(m, to=Fraction(1, 8)) == f'{eighths}"'
    assert write_length(m, to=Fraction(1, 16)) == f'{sixteenths}"'


@pytest.mark.parametrize(("feet", "parts", "shown"), ROUNDED)
def test_section_11_rounding(feet, parts, shown):
    assert write_length(read_length(f"{feet}'"), to=Fraction(1, parts)) == shown


@pytest.mark.parametrize(("text", "percent"), FALLS)
def test_section_2_2_falls(text, percent):
    assert printed(read_slope(text) * 100, percent)


def test_section_2_2_a_quarter_inch_in_a_foot_is_1_in_48():
    assert write_slope(read_slope("1/4 in per ft"), style="ratio") == "1:48"
    assert write_slope(read_slope("1:48"), style="per-foot") == "1/4 in per ft"


@pytest.mark.parametrize(
    ("slope", "run", "inches"), [("1 %", "20 ft", "2.4"), ("2 %", "12 ft", "2.88"), ("5 %", "10 ft", "6")]
)
def test_section_2_2_falls_over_runs(slope, run, inches):
    assert printed(read_slope(slope) * read_length(run) / read_length('1"'), inches)


@pytest.mark.parametrize(("reader", "text", "unit", "figure"), CONSTANTS)
def test_unit_constants(reader, text, unit, figure):
    value = reader(text, kind="density") if reader is read_rate else reader(text)
    assert printed(value / unit, figure)


def test_unit_constants_between_trade_units():
    assert read_volume("1 yd3") == pytest.approx(read_volume("27 ft3"), rel=1e-15)
    assert read_volume("1 gal") == pytest.approx(read_volume("231 in3"), rel=1e-15)
    assert read_area("1 acre") == pytest.approx(read_area("43560 ft2"), rel=1e-15)
    assert printed(read_volume("1 ft3") / read_volume("1 gal"), "7.48052")
    assert printed(read_flow("1 cfs") / read_flow("1 gpm"), "448.831")


def test_section_12_row_15_flow():
    # The handbook's Q = C i A in its customary form, without the factor 1.0083: in/h times acres as cfs.
    cfs = 0.9 * 4 * read_area("2400 ft2") / read_area("1 acre")
    assert printed(cfs, "0.19835")
    assert printed(cfs * read_flow("1 cfs") / read_flow("1 gpm"), "89.02")
