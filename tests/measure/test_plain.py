"""One number and one unit: areas, volumes, masses, temperatures, rates; angles, shares and counts."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slabwright.measure import (
    KINDS,
    MeasureError,
    read,
    read_angle,
    read_area,
    read_flow,
    read_mass,
    read_percent,
    read_pressure,
    read_rate,
    read_ratio,
    read_speed,
    read_temperature,
    read_volume,
)

FT, LB = 0.3048, 0.45359237

GOOD = [
    *[
        (read_area, text, 240 * FT**2)
        for text in ("240 ft2", "240 ft²", "240 ft^2", "240 sq ft", "240 sq. ft.")
    ],
    *[
        (read_area, text, 240 * FT**2)
        for text in ("240 sf", "240 square feet", "240 SQ FT", "240 pies2", "240sqft")
    ],
    (read_area, "2 yd2", 18 * FT**2),
    (read_area, "2 sq yd", 18 * FT**2),
    (read_area, "1/2 acre", 21780 * FT**2),
    (read_area, "2 1/2 acres", 108900 * FT**2),
    (read_area, "24.5 m2", 24.5),
    (read_area, "24,5 m²", 24.5),
    (read_area, "0.1 ha", 1000),
    *[
        (read_volume, text, 4.25 * 27 * FT**3)
        for text in ("4 1/4 yd3", "4.25 yd³", "4¼ cu yd", "4 1/4 cu. yds.")
    ],
    *[
        (read_volume, text, 4.25 * 27 * FT**3)
        for text in ("4 1/4 yards", "4-1/4 cubic yards", "4.25 CY", "4.25 yd")
    ],
    (read_volume, "9 ft3", 9 * FT**3),
    (read_volume, "9 cubic feet", 9 * FT**3),
    (read_volume, "5 gal", 5 * 231 * 0.0254**3),
    (read_volume, "5 gallons", 5 * 231 * 0.0254**3),
    (read_volume, "20 l", 0.02),
    (read_volume, "20 litros", 0.02),
    (read_volume, "3 m3", 3),
    (read_volume, "1.5 m³", 1.5),
    (read_mass, "94 lb", 94 * LB),
    (read_mass, "94 lbs.", 94 * LB),
    (read_mass, "94 pounds", 94 * LB),
    (read_mass, "8 oz", LB / 2),
    (read_mass, "42.5 kg", 42.5),
    (read_mass, "2 1/2 tons", 5000 * LB),
    (read_mass, "2.5 t", 2500),
    (read_mass, "3 toneladas", 3000),
    *[
        (read_temperature, text, 250 / 9)
        for text in ("82 F", "82F", "82°F", "82 °F", "82 deg F", "82 degrees F", "82℉")
    ],
    *[(read_temperature, text, 28) for text in ("28 C", "28 °C", "28 celsius", "28 degrees C")],
    (read_temperature, "-5 °C", -5),
    (read_temperature, "0 F", -160 / 9),
    (read_temperature, "−40 F", -40),
    (read_temperature, "300 K", 26.85),
    *[(read_speed, text, 12 * 5280 * FT / 3600) for text in ("12 mph", "12 mi/h", "12 miles per hour")],
    (read_speed, "36 km/h", 10),
    (read_speed, "3 m/s", 3),
    (read_speed, "300 ft/min", 5 * FT),
    (read_speed, "300 feet per minute", 5 * FT),
    (read_speed, "10 knots", 18520 / 3600),
    (read_pressure, "4000 psi", 4000 * LB * 9.80665 / 0.0254**2),
    (read_pressure, "28 MPa", 28e6),
    (read_pressure, "200 kPa", 2e5),
    (read_pressure, "100 psf", 100 * LB * 9.80665 / FT**2),
    (read_pressure, "1013.25 hPa", 101325),
    (read_flow, "8 gpm", 8 * 231 * 0.0254**3 / 60),
    (read_flow, "8 gallons per minute", 8 * 231 * 0.0254**3 / 60),
    (read_flow, "2 cfs", 2 * FT**3),
    (read_flow, "2 cubic feet per second", 2 * FT**3),
    (read_flow, "0.5 l/s", 5e-4),
    (read_flow, "30 l/min", 5e-4),
    (read_flow, "1.8 m3/h", 5e-4),
    *[
        (read_rate, text, 0.2 * LB / FT**2 / 3600)
        for text in ("0.2 lb/ft2/h", "0.2 lb/ft²/hr", "0.2 lb/(ft2 h)")
    ],
    *[
        (read_rate, text, 1 / 3600)
        for text in ("1 kg/m2/h", "1 kg/m2h", "1 kg/(m2·h)", "1 kg per m2 per hour")
    ],
    (read_percent, "2 %", 0.02),
    (read_percent, "2,5%", 0.025),
    (read_percent, "5 percent", 0.05),
    (read_ratio, "0.45", 0.45),
    (read_ratio, 0.45, 0.45),
    (read_angle, "45 deg", math.pi / 4),
    (read_angle, "45°", math.pi / 4),
    (read_angle, "0.5 rad", 0.5),
    (read_angle, "50 gon", math.pi / 4),
    (read_angle, "12° 30'", math.radians(12.5)),
    (read_angle, "12°30'45\"", math.radians(12 + 30 / 60 + 45 / 3600)),
    (read_angle, "12 deg 30′ 45.5″", math.radians(12 + 30 / 60 + 45.5 / 3600)),
    (read_angle, "-12° 30'", -math.radians(12.5)),
    (read_angle, '12° 45"', math.radians(12 + 45 / 3600)),
]

KIND_GOOD = [
    ("coverage", "200 ft2/gal", 200 * FT**2 / (231 * 0.0254**3)),
    ("coverage", "200 sq ft per gallon", 200 * FT**2 / (231 * 0.0254**3)),
    ("coverage", "5 m2/l", 5000),
    ("density", "564 lb/yd3", 564 * LB / (27 * FT**3)),
    ("density", "145 pcf", 145 * LB / FT**3),
    ("rain", "4 in/h", 4 * 0.0254 / 3600),
    ("rain", "4 inches per hour", 4 * 0.0254 / 3600),
    ("linear_mass", "0.668 lb/ft", 0.668 * LB / FT),
    ("area_mass", "0.6 lb per sq ft", 0.6 * LB / FT**2),
    ("temperature_difference", "18 F", 10),
    ("count", "12", 12),
    ("height_difference", '-4 3/8"', -4.375 * 0.0254),
]

BAD = [
    (read_area, "240", 3, "the unit is missing: ft2 or m2?"),
    (read_area, "240 ft", 4, "'ft' is not a unit of area (known: ft2, in2,"),
    (read_area, "240 ft2 3", 4, "'ft2 3' is not a unit of area"),
    (read_area, "12' x 20'", 2, "\"' x 20'\" is not a unit of area"),
    (read_volume, "4 1/4", 5, "the unit is missing: yd3 or m3?"),
    (read_volume, "5 bags", 2, "'bags' is not a unit of volume"),
    (read_mass, "94 ft", 3, "'ft' is not a unit of mass"),
    (read_temperature, "82", 2, "the unit is missing: F or C?"),
    (read_temperature, "0", 1, "the unit is missing: F or C?"),
    (read_temperature, "82°", 2, "degrees of which scale, F or C?"),
    (read_temperature, "-500 F", 0, "no temperature on a site is like this"),
    (read_speed, "12", 2, "the unit is missing: mph or km/h?"),
    (read_pressure, "4,000 psi", 1, "4,000 can be read in two ways"),
    (read_flow, "8 gal", 2, "'gal' is not a unit of flow"),
    (read_rate, "0.2 lb/h", 4, "'lb/h' is not a unit of evaporation"),
    (read_angle, "12° 75'", 4, "minutes must be less than 60"),
    (read_angle, "12° 30' 60\"", 8, "seconds must be less than 60"),
    (read_angle, "12.5° 30'", 0, "only the last part may have decimals"),
    (read_angle, "12 30'", 3, "the degree sign is missing before the minutes"),
    (read_angle, "12° 30' 15", 10, "the mark of seconds is missing"),
    (read_angle, "12° 30' 15\" 3", 12, "'3' was not expected here"),
    (read_percent, "2", 1, "the unit is missing"),
    (read_ratio, "0.45 %", 5, "'%' was not expected here"),
]


@pytest.mark.parametrize(("reader", "text", "si"), GOOD)
def test_read(reader, text, si):
    assert reader(text) == pytest.approx(si, rel=1e-14)


@pytest.mark.parametrize(("kind", "text", "si"), KIND_GOOD)
def test_read_by_kind(kind, text, si):
    assert read(kind, text) == pytest.approx(si, rel=1e-14)


@pytest.mark.parametrize(("reader", "text", "at", "reason"), BAD)
def test_refused(reader, text, at, reason):
    with pytest.raises(MeasureError) as caught:
        reader(text)
    assert caught.value.reason.startswith(reason)
    assert (caught.value.text, caught.value.at) == (text, at)


def test_a_count_is_whole():
    with pytest.raises(MeasureError, match="this must be a whole number"):
        read("count", "2.5")


def test_a_rate_of_one_kind_is_not_read_as_another():
    with pytest.raises(MeasureError, match="not a unit of coverage"):
        read_rate("0.2 lb/ft2/h", kind="coverage")


@pytest.mark.parametrize(
    ("value", "bare", "si"), [(82, "F", 250 / 9), ("82", "F", 250 / 9), (0, "F", -160 / 9)]
)
def test_a_temperature_without_its_scale(value, bare, si):
    assert read_temperature(value, bare=bare) == pytest.approx(si)


@pytest.mark.parametrize("value", [82, 0, math.nan])
def test_a_plain_temperature_is_refused(value):
    with pytest.raises(MeasureError):
        read_temperature(value)


def test_there_is_no_such_kind():
    with pytest.raises(ValueError, match="'girth' is not a kind of quantity; the kinds are length, "):
        read("girth", "3 ft")


def test_money_is_not_a_float():
    with pytest.raises(ValueError, match="read_money"):
        read("money", "$3")


@given(st.sampled_from([kind for kind in KINDS if kind != "money"]), st.text(max_size=24))
def test_any_text_is_read_or_refused(kind, text):
    try:
        result = read(kind, text)
    except MeasureError as error:
        result = error
    if isinstance(result, float):
        assert KINDS[kind].least <= result <= KINDS[kind].most
    else:
        assert 0 <= result.at <= len(text)
        assert result.kind == kind


@given(
    st.sampled_from([kind for kind in KINDS if kind != "money"]),
    st.text(alphabet="0123456789.,/- °'\"%:hmindaplbftyg23()²³+C", max_size=16),
)
def test_any_text_of_the_trades_letters_is_read_or_refused(kind, text):
    test_any_text_is_read_or_refused.hypothesis.inner_test(kind, text)
