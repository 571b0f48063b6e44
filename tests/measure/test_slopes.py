"""Slopes: every way of writing one is the same ratio; what cannot be one is refused in its place."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slabwright.measure import MeasureError, read_slope

GOOD = [
    ("2%", 0.02),
    ("2 %", 0.02),
    ("2 percent", 0.02),
    ("1 1/2 %", 0.015),
    ("2,5 %", 0.025),
    ("-2%", -0.02),
    ("1:48", 1 / 48),
    ("1 : 48", 1 / 48),
    ("1 in 48", 1 / 48),
    ("1/4:12", 1 / 48),
    ("4:12", 1 / 3),
    ("-1:20", -0.05),
    ("1/4 in per ft", 1 / 48),
    ("1/4 inch per foot", 1 / 48),
    ('1/4"/ft', 1 / 48),
    ("1/4\"/'", 1 / 48),
    ('¼" per ft', 1 / 48),
    ("1 1/4 in per ft", 1.25 / 12),
    ("3/4 in per 3'", 1 / 48),
    ("3/4\" in 3'", 1 / 48),
    ("3/4 in in 3 ft", 1 / 48),
    ("3/4\" over 3'", 1 / 48),
    ("3/4 in per 3' 6\"", 0.75 / 42),
    ("6 in in 10 ft", 0.05),
    ("1' per 20'", 0.05),
    ("20 mm/m", 0.02),
    ("20 mm per m", 0.02),
    ("2 cm por metro", 0.02),
    ("1/4 pulg por pie", 1 / 48),
    ("15 mm in 1.5 m", 0.01),
    ("10 mm/ft", 0.010 / 0.3048),
    ("45°", 1.0),
    ("45 deg", 1.0),
    ("1° 30'", math.tan(math.radians(1.5))),
    ("1/4 in per ft (2.1 %)", 1 / 48),
    ("1:48 (2.1 %)", 1 / 48),
    ("1° 30' (2.6 %)", math.tan(math.radians(1.5))),
    ("0", 0.0),
    ("0 %", 0.0),
    ("0:12", 0.0),
]

BAD = [
    ("0.02", 4, "is this % or in per ft?"),
    ("1/4", 3, "is this % or in per ft?"),
    ("1/4 per ft", 3, "the unit of the rise is missing"),
    ("3/4 in 3'", 6, "a rise and its run need a word between them"),
    ("1/4 in", 6, "a rise needs its run"),
    ("1/4 in per", 10, "the run is missing"),
    ("1/4 in per 3", 12, "the unit of the run is missing"),
    ("1/4 in per lb", 11, "the run must be a length or a unit of length"),
    ("3/4 in per 0 ft", 11, "a slope cannot run over 0"),
    ("1:0", 2, "a slope cannot run over 0"),
    ("1:", 2, "a number is missing here"),
    ("1::48", 2, "a number is missing here, before ':'"),
    ("1:48:2", 4, "':' was not expected here"),
    ("2 foo", 2, "'foo' is neither %, nor a unit of length"),
    ("2 lb per ft", 2, "'lb' is neither %, nor a unit of length"),
    ("5/4 in per ft", 0, "5/4 is not less than one"),
    ("1/4 in per ft (3 %)", 15, "the slope in brackets is not the slope before it"),
    ("1/4 in per ft (2.1 %", 20, "the closing bracket is missing"),
    ("1/4 in per ft (", 15, "a number is missing here"),
    ("1° 75'", 3, "minutes must be less than 60"),
    ("5000 %", 0, "no slope on a site is like this"),
    ("4/12", 0, "is this"),
    ("", 0, "nothing is written here"),
]


@pytest.mark.parametrize(("text", "slope"), GOOD)
def test_slopes(text, slope):
    assert read_slope(text) == pytest.approx(slope, rel=2e-15, abs=0)


@pytest.mark.parametrize(("text", "at", "reason"), [row for row in BAD if row[0] != "4/12"])
def test_refused(text, at, reason):
    with pytest.raises(MeasureError) as caught:
        read_slope(text)
    error = caught.value
    assert error.reason.startswith(reason)
    assert (error.kind, error.text, error.at) == ("slope", text, at)
    assert error.example


def test_roofers_pitch_is_not_guessed_at():
    with pytest.raises(MeasureError, match="is this % or in per ft"):
        read_slope("4/12")


@pytest.mark.parametrize(
    ("value", "bare", "slope"),
    [("2", "%", 0.02), (0.25, "in/ft", 1 / 48), (20, "mm/m", 0.02), (0, None, 0.0)],
)
def test_a_plain_number(value, bare, slope):
    assert read_slope(value, bare=bare) == pytest.approx(slope, rel=2e-15)


@pytest.mark.parametrize("value", [0.02, True, math.inf])
def test_a_plain_number_needs_its_unit(value):
    with pytest.raises(MeasureError):
        read_slope(value)


@given(
    rise=st.integers(1, 95),
    run=st.integers(1, 99),
    inch=st.sampled_from([" in", '"', '" ']),
    over=st.sampled_from([" per ", "/", " in ", " over "]),
    foot=st.sampled_from(["'", " ft", " feet"]),
)
def test_sixteenths_of_an_inch_over_feet(rise, run, inch, over, foot):
    whole, part = divmod(rise, 16)
    written = " ".join(filter(None, (str(whole) if whole or not part else "", f"{part}/16" if part else "")))
    assert read_slope(f"{written}{inch}{over}{run}{foot}") == pytest.approx(rise / 16 / 12 / run, rel=1e-14)


@given(st.text(max_size=120) | st.text(alphabet="0123456789 '\"-/.,:%()°inperftmd", max_size=24))
def test_any_text_is_read_or_refused(text):
    try:
        result = read_slope(text)
    except MeasureError as error:
        result = error
    if isinstance(result, float):
        assert math.isfinite(result)
    else:
        assert 0 <= result.at <= len(text)
        assert result.text == text
