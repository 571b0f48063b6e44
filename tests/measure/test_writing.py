"""Writing: the trade's fractions, carry, sign, no false zero, and every kind read back."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from slabwright.measure import (
    KINDS,
    MeasureError,
    Quantity,
    System,
    in_units,
    read,
    read_length,
    read_money,
    read_slope,
    step_of,
    unit_of,
    write,
    write_length,
    write_slope,
)
from slabwright.measure.numbers import DUST, decimal, feet_inches
from slabwright.measure.units import UNITS

INCH, FOOT = 0.0254, 0.3048
IMPERIAL, METRIC = System.IMPERIAL, System.METRIC
LENGTHS = ("length", "fine_length", "feet_inches", "inches", "height_difference")
PLAIN = [
    k for k, row in KINDS.items() if k not in LENGTHS and k not in {"slope", "duration", "clock", "money"}
]

SHOWN = [
    # kind, SI, imperial, metric
    ("length", 186.5 * INCH, "15'-6 1/2\"", "4.737 m"),
    ("length", 4.375 * INCH, '4 3/8"', "111 mm"),
    ("length", 12 * INCH, "1'-0\"", "305 mm"),
    ("length", 144.5 * INCH, "12'-0 1/2\"", "3.670 m"),
    ("length", (143 + 15 / 16) * INCH, "12'-0\"", "3.656 m"),
    ("length", 0.9996, "3'-3 3/8\"", "1.000 m"),
    ("length", -186.5 * INCH, "-15'-6 1/2\"", "-4.737 m"),
    ("length", 0.0, '0"', "0 mm"),
    ("length", -0.0, '0"', "0 mm"),
    ("fine_length", (143 + 15 / 16) * INCH, "11'-11 15/16\"", "3.656 m"),
    ("fine_length", (143 + 31 / 32) * INCH, "12'-0\"", "3.657 m"),
    ("feet_inches", 8 * INCH, "0'-8\"", "0.203 m"),
    ("feet_inches", 3 * INCH / 8, "0'-0 3/8\"", "0.010 m"),
    ("feet_inches", 0.0, "0'-0\"", "0.000 m"),
    ("inches", 3.5 * INCH, '3 1/2"', "89 mm"),
    ("inches", 18 * INCH, '18"', "457 mm"),
    ("height_difference", 4.375 * INCH, '+4 3/8"', "+111 mm"),
    ("height_difference", -0.5 * INCH, '-1/2"', "-13 mm"),
    ("height_difference", 0.0, '0"', "0 mm"),
    ("height_difference", 16.375 * INCH, "+1'-4 3/8\"", "+416 mm"),
    ("slope", 1 / 48, "1/4 in per ft (2.1 %)", "2.1 %"),
    ("slope", 0.05, "5/8 in per ft (5 %)", "5 %"),
    ("slope", -0.02, "-1/4 in per ft (-2 %)", "-2 %"),
    ("slope", 0.0, "0 %", "0 %"),
    ("percent", 0.125, "12.5 %", "12.5 %"),
    ("angle", math.pi / 4, "45°", "45°"),
    ("area", 240 * FOOT**2, "240 ft2", "22.3 m2"),
    ("volume", 4.25 * 27 * FOOT**3, "4.25 yd3", "3.25 m3"),
    ("mass", 94 * 0.45359237, "94 lb", "42.6 kg"),
    ("linear_mass", 0.668 * 0.45359237 / FOOT, "0.668 lb/ft", "0.994 kg/m"),
    ("temperature", 250 / 9, "82 °F", "28 °C"),
    ("temperature", -0.2, "32 °F", "0 °C"),
    ("temperature", -160 / 9, "0 °F", "-18 °C"),
    ("temperature_difference", 10.0, "18 °F", "10 °C"),
    ("speed", 12 * 1609.344 / 3600, "12 mph", "19.3 km/h"),
    ("pressure", 4000 * 6894.757293168361, "4000 psi", "27.6 MPa"),
    ("pressure", 24e3, "3 psi", "24.0 kPa"),
    ("flow", 8 * 0.003785411784 / 60, "8 gpm", "0.5 l/s"),
    ("evaporation", 1 / 3600, "0.20 lb/ft2/h", "1.00 kg/m2/h"),
    ("duration", 5400.0, "1 h 30 min", "1 h 30 min"),
    ("clock", 25200.0, "7:00 am", "7:00"),
    ("money", 1250.0, "$1,250.00", "$1,250.00"),
    ("money", 1.005, "$1.01", "$1.01"),
    ("count", 12.0, "12", "12"),
    ("ratio", 0.45, "0.45", "0.45"),
]


@pytest.mark.parametrize(("kind", "si", "imperial", "metric"), SHOWN)
def test_shown(kind, si, imperial, metric):
    assert write(Quantity(kind, si)) == imperial
    assert write(Quantity(kind, si), system=METRIC) == metric


def test_every_kind_is_shown_above_or_is_a_plain_one():
    assert {row[0] for row in SHOWN} | set(PLAIN) == set(KINDS)


@pytest.mark.parametrize(
    ("inches", "shown"),
    [
        (1 / 32, '1/32"'),
        (1 / 64, '1/64"'),
        (0.008, '1/64"'),
        (0.0075, '0.008"'),
        (0.001, '0.001"'),
        (-1 / 64, '-1/64"'),
    ],
)
def test_a_small_length_is_not_written_as_zero(inches, shown):
    assert write_length(inches * INCH, to=Fraction(1, 8)) == shown


def test_a_small_dimension_keeps_its_feet():
    assert write_length(0.001 * INCH, style="dimension") == "0'-0.001\""


@pytest.mark.parametrize(
    ("kind", "si", "shown"),
    [
        ("volume", 0.001 * 0.764554857984, "0.001 yd3"),
        ("area", 1e-4 * FOOT**2, "0.0001 ft2"),
        ("mass", 0.01, "0.02 lb"),
    ],
)
def test_a_small_amount_is_not_written_as_zero(kind, si, shown):
    assert write(Quantity(kind, si)) == shown


@pytest.mark.parametrize("m", [1e-17, -1e-9, 0.9 * DUST])
def test_dust_of_the_arithmetic_is_zero(m):
    assert write(Quantity("length", m)) == '0"'
    assert write(Quantity("height_difference", m), system=METRIC) == "0 mm"
    assert write(Quantity("slope", m)) == "0 %"


@pytest.mark.parametrize(
    ("style", "shown"),
    [
        ("feet-inches", "15'-6 1/2\""),
        ("dimension", "15'-6 1/2\""),
        ("inches", '186 1/2"'),
        ("feet", "15.54 ft"),
        ("metres", "4.737 m"),
        ("millimetres", "4737 mm"),
    ],
)
def test_styles_of_a_length(style, shown):
    assert write_length(186.5 * INCH, style=style) == shown
    assert write_length(186.5 * INCH, style=style, plus=True) == "+" + shown


@pytest.mark.parametrize(
    ("slope", "style", "shown"),
    [
        (1 / 48, "ratio", "1:48"),
        (1 / 12, "ratio", "1:12"),
        (0.03, "ratio", "1:33"),
        (0.06, "ratio", "1:16.7"),
        (-1 / 20, "ratio", "-1:20"),
        (1 / 48, "per-foot", "1/4 in per ft"),
        (1 / 48, "percent", "2.1 %"),
        (1e-4, "percent", "0.01 %"),
        (0.0, "ratio", "0 %"),
    ],
)
def test_styles_of_a_slope(slope, style, shown):
    assert write_slope(slope, style=style) == shown


def test_a_slope_in_spanish():
    assert write(Quantity("slope", 1 / 48), lang="es") == "1/4 in por pie (2.1 %)"
    assert read_slope("1/4 in por pie (2.1 %)") == pytest.approx(1 / 48)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("system", System)
def test_what_is_no_number_is_not_written(kind, bad, system):
    with pytest.raises(ValueError, match="cannot be written"):
        write(Quantity(kind, bad), system=system)


def test_slips_of_the_program():
    with pytest.raises(ValueError, match="'girth' is not a kind"):
        write(Quantity("girth", 1.0))
    with pytest.raises(ValueError, match="'cubits' is not a style of length"):
        write_length(1.0, style="cubits")
    with pytest.raises(ValueError, match="'grade' is not a style of slope"):
        write_slope(1.0, style="grade")
    with pytest.raises(ValueError, match="such as 1/16, not 3/16"):
        write_length(1.0, to=Fraction(3, 16))
    with pytest.raises(ValueError, match="not 10"):
        write_length(1.0, to=Fraction(1, 10))


METRES = (
    st.floats(-300, 300)
    | st.floats(-0.02, 0.02)
    | st.integers(-100_000, 100_000).map(lambda n: n * INCH / 32)
)
PARTS = st.sampled_from([1, 2, 4, 8, 16, 32, 64])


@given(METRES, PARTS, st.sampled_from(["feet-inches", "dimension", "inches"]))
@example(INCH / 32, 16, "feet-inches")
@example(11.96875 * INCH, 16, "feet-inches")
def test_a_length_comes_back_within_half_a_fraction(m, parts, style):
    back = read_length(write_length(m, to=Fraction(1, parts), style=style))
    assert abs(back - m) <= INCH / parts / 2 * (1 + 1e-8)


@given(METRES, PARTS)
def test_the_total_is_rounded_before_it_is_split(m, parts):
    shown = write_length(m, to=Fraction(1, parts))
    found = re.fullmatch(r"-?(?:(\d+)'-)?(\d+)?(?: ?(\d+)/(\d+))?\"", shown)
    if found is None:  # below half a 64th, decimals of an inch
        assert abs(m) < INCH / 128
        return
    feet, inches, top, bottom = (int(group or 0) for group in found.groups())
    assert inches < 12
    if top:
        assert top < bottom <= max(parts, 64 if abs(m) < INCH / 2 / parts else 0)
        assert math.gcd(top, bottom) == 1
    assert (feet, inches, top) != (0, 0, 0) or abs(m) < DUST


@given(
    METRES,
    METRES,
    PARTS,
    st.sampled_from(["feet-inches", "dimension", "inches", "feet", "metres", "millimetres"]),
)
def test_a_longer_length_is_never_written_shorter(one, two, parts, style):
    low, high = sorted((one, two))
    to = Fraction(1, parts)
    assert read_length(write_length(low, to=to, style=style)) <= read_length(
        write_length(high, to=to, style=style)
    )


@given(METRES, PARTS, st.sampled_from(System))
def test_the_sign_stands_outside(m, parts, system):
    assume(abs(m) >= DUST)
    size = write_length(abs(m), to=Fraction(1, parts), system=system)
    assert write_length(-abs(m), to=Fraction(1, parts), system=system) == "-" + size
    assert write_length(abs(m), to=Fraction(1, parts), system=system, plus=True) == "+" + size


@given(st.sampled_from(LENGTHS), METRES, st.sampled_from(System))
def test_every_kind_of_length_comes_back(kind, m, system):
    half = INCH / KINDS[kind].fraction / 2 if system is IMPERIAL else 0.0005
    assert abs(read(kind, write(Quantity(kind, m), system=system)) - m) <= half * (1 + 1e-6)


@given(st.sampled_from(PLAIN), st.floats(-1, 1), st.integers(0, 4), st.sampled_from(System))
def test_every_plain_kind_comes_back(kind, unit, power, system):
    row = KINDS[kind]
    table = UNITS.get(row.dimension)
    key = unit_of(kind, system)
    factor = table[key].factor if table else 1.0
    si = unit * 10.0**power * factor
    if kind == "temperature":
        assume(si > -100)
    assume(row.least <= si <= row.most)
    text = write(Quantity(kind, si), system=system)
    if kind == "count":
        assume("." not in text)
    places = row.places[0 if system is IMPERIAL else 1] if kind != "ratio" else 2
    if kind == "mass" and abs(si) >= 1000.0 * factor:
        places = 0
    half = 0.5 * 10.0**-places * factor
    assert abs(read(kind, text) - si) <= half * (1 + 1e-6) + abs(si) * 1e-12
    digits = re.match(r"-?([0-9.]+)", text)[1]
    if kind != "temperature":
        assert text.startswith("-") == (si < 0 and float(digits) > 0)


@given(st.floats(-1, 1), st.sampled_from(System))
def test_a_slope_comes_back(slope, system):
    half = 1 / 16 / 12 / 2 if system is IMPERIAL else 0.0005
    assert abs(read_slope(write_slope(slope, system=system)) - slope) <= half * (1 + 1e-6)


@given(st.sampled_from(["volume", "area", "mass", "slope", "duration"]), st.floats(0, 5), st.floats(0, 5))
def test_more_is_never_written_as_less(kind, one, two):
    low, high = sorted((one, two))
    for system in System:
        shown = [read(kind, write(Quantity(kind, si), system=system)) for si in (low, high)]
        assert shown[0] <= shown[1]


def test_numbers_of_numpy_are_written_like_any_other():
    for kind in KINDS:
        for system in System:
            assert write(Quantity(kind, np.float64(1.25)), system=system) == write(
                Quantity(kind, 1.25), system=system
            )


@given(st.floats(0, 1e6))
def test_a_duration_comes_back(seconds):
    half = 0.5 if seconds < 599.5 else 30 if seconds < 172770 else 1800
    assert abs(read("duration", write(Quantity("duration", seconds))) - seconds) <= half + 1e-6


@given(st.floats(0, 259200), st.sampled_from(System))
def test_a_time_of_day_comes_back(seconds, system):
    assert abs(read("clock", write(Quantity("clock", seconds), system=system)) - seconds) <= 30 + 1e-6


@given(st.integers(-(10**9), 10**9))
def test_cents_in_a_float_are_the_cents_that_were_meant(cents):
    assert read_money(write(Quantity("money", cents / 100))).amount * 100 == cents


@given(st.sampled_from(list(KINDS)), st.floats(0, 100), st.sampled_from(System))
def test_a_column_has_the_unit_of_its_heading(kind, si, system):
    if KINDS[kind].dimension in {"count", "ratio", "money", "clock"}:
        assert in_units(kind, si, system) == si
        return
    unit = UNITS[KINDS[kind].dimension][unit_of(kind, system)]
    assert in_units(kind, si, system) * unit.factor + unit.shift == pytest.approx(si, abs=1e-9)


@given(st.floats(-1e6, 1e6), st.integers(0, 4))
def test_decimals_are_half_up_and_never_a_false_zero(value, places):
    back = float(decimal(value, places))
    assert abs(back - value) <= 0.5 * 10.0**-places * (1 + 1e-6)
    assert back != 0 or abs(value) <= 1e-9


@pytest.mark.parametrize(
    ("value", "places", "shown"),
    [(0.125, 2, "0.13"), (2.675, 2, "2.68"), (-0.5, 0, "-1"), (1e15, 0, "1" + "0" * 15)],
)
def test_halves_go_up(value, places, shown):
    assert decimal(value, places) == shown


def test_a_written_number_never_needs_its_unit_guessed():
    with pytest.raises(MeasureError):
        read_length(feet_inches(1.0, 16).rstrip('"').replace("'", " "))


def test_a_half_that_lost_a_bit_in_conversion_still_goes_up():
    for half in range(1, 20_000, 2):
        up = write_length((half + 1) / 32 * INCH, to=Fraction(1, 16))
        assert write_length(half / 32 * INCH, to=Fraction(1, 16)) == up


@pytest.mark.parametrize(
    ("kg", "system", "text"),
    [
        (20812.5 * 0.45359237, IMPERIAL, "20813 lb"),
        (999.94 * 0.45359237, IMPERIAL, "999.9 lb"),
        (37.3 * 0.45359237, IMPERIAL, "37.3 lb"),
        (1814.36948, System.METRIC, "1814 kg"),
    ],
)
def test_a_heavy_mass_is_written_whole(kg, system, text):
    assert write(Quantity("mass", kg), system=system) == text


@pytest.mark.parametrize(
    ("kind", "imperial"),
    [
        ("length", 1 / 8),
        ("fine_length", 1 / 16),
        ("feet_inches", 1 / 8),
        ("inches", 1 / 16),
        ("height_difference", 1 / 8),
    ],
)
@pytest.mark.parametrize("system", list(System))
def test_the_step_of_a_kind_is_the_one_in_which_it_is_written(kind, imperial, system):
    """One step more is written otherwise, a third of one is not."""
    step = step_of(kind, system)
    assert step == pytest.approx(0.001 if system == System.METRIC else imperial * 0.0254)
    for count in (1, 7, 39):
        here = write(Quantity(kind, count * step), system=system)
        assert here == write(Quantity(kind, (count + 0.33) * step), system=system)
        assert here != write(Quantity(kind, (count + 1) * step), system=system)


def test_what_is_no_length_has_no_step():
    with pytest.raises(ValueError, match="slope"):
        step_of("slope")
