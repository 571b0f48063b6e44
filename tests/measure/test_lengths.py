"""Lengths: what can be written, what is refused and where the caret stands."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from slabwright.measure import MeasureError, read, read_length
from slabwright.measure.lengths import _quick, scan_length
from slabwright.measure.scan import DENOMINATORS, Cursor

INCH = 0.0254

# what is written, inches
GOOD = [
    ("42' 0 1/4", 504.25),
    ("42' 1/4", 504.25),
    ("15' 6 1/2\"", 186.5),
    ("15'-6 1/2\"", 186.5),
    ("15'6 1/2\"", 186.5),
    ("15'6½\"", 186.5),
    ("15' 6½", 186.5),
    ("15' - 6 - 1/2\"", 186.5),
    ("15'–6 1⁄2″", 186.5),
    ("15′ 6-1/2″", 186.5),
    ("15’ 6 1/2”", 186.5),
    ("15' 6 1/2''", 186.5),
    ("15 ft 6 1/2 in", 186.5),
    ("15 ft. 6 1/2 in.", 186.5),
    ("15 feet 6 1/2 inches", 186.5),
    ("15FT 6 1/2IN", 186.5),
    ("15 pies 6 1/2 pulg", 186.5),
    ("3' 6-1/2\"", 42.5),
    ("5' 6.5\"", 66.5),
    ("1 foot 1 inch", 13),
    ("15' 6", 186),
    ("15'", 180),
    ("12.45'", 149.4),
    ("12.45 ft", 149.4),
    ("2 1/2 ft", 30),
    ("2½'", 30),
    ('6 5/8"', 6.625),
    ("6⅝ in", 6.625),
    ('30"', 30),
    ("5/8 in", 0.625),
    ('.5"', 0.5),
    ('6 3/5"', 6.6),
    ('7 7/10"', 7.7),
    ('1 63/64"', 1 + 63 / 64),
    ("3 yd", 108),
    ("3 yards 2 ft 4 in", 136),
    ("-5' 6\"", -66),
    ('−1/2"', -0.5),
    ('- 1/2"', -0.5),
    ('+4 3/8"', 4.375),
    ("  15'   6 1/2\"  ", 186.5),
    ("15'\N{NO-BREAK SPACE}6 1/2\"", 186.5),
    ("0", 0),
    ("0'-0\"", 0),
    ("1 mi", 63360),
]
# what is written, metres
METRIC = [
    ("4.724 m", 4.724),
    ("4724 mm", 4.724),
    ("472.4 cm", 4.724),
    ("4 m 72 cm", 4.72),
    ("4 m 72 cm 4 mm", 4.724),
    ("1 km 250 m", 1250),
    ("12,45 m", 12.45),
    ("0,125 m", 0.125),
    ("1,250.5 mm", 1.2505),
    ("1.250,5 mm", 1.2505),
    ("1,250,000 mm", 1250),
    ("1.250 m", 1.25),
    ("0.125 mm", 0.000125),
    ("1.25 mm", 0.00125),
    ("4 metros", 4),
    ("3 Meters", 3),
    ("-20 mm", -0.02),
]
# what is written, place of the caret, words of the reason, example
BAD = [
    ("", 0, "nothing is written here", "15' 6 1/2\""),
    ("   ", 0, "nothing is written here", "15' 6 1/2\""),
    ("5' 13\"", 3, "inches after feet must be less than 12", "6'-1\""),
    ("5' 12", 3, "inches after feet must be less than 12", "6'-0\""),
    ("5' 13 1/2\"", 3, "inches after feet must be less than 12", "6'-1 1/2\""),
    ("1 yd 3 ft", 5, "feet after yards must be less than 3", "15' 6 1/2\""),
    ("2 m 100 cm", 4, "cm after m must be less than 100", "15' 6 1/2\""),
    ('1/0"', 2, "a fraction cannot be over 0", "15' 6 1/2\""),
    ('6 1/7"', 4, "a fraction over 7 is on no tape", "15' 6 1/2\""),
    ('11/2"', 0, "11/2 is not less than one; leave a space", "1 1/2"),
    ("15' 65/8\"", 4, "65/8 is not less than one; leave a space", "6 5/8"),
    ('8/8"', 0, "8/8 is not less than one", "15' 6 1/2\""),
    ("12", 2, "the unit is missing", "12' or 12\" or 12 m"),
    ("3 1/2", 5, "the unit is missing", "3 1/2' or 3 1/2\" or 3 1/2 m"),
    ('15 6 1/2"', 2, "is 15 feet? The mark that says so is missing", "15' 6 1/2\""),
    ("3-6", 1, "is 3 feet? The mark that says so is missing", "15' 6 1/2\""),
    ("5.5' 6\"", 0, "5.5 is not whole, so nothing can follow it", "15' 6 1/2\""),
    ("5' 20 cm", 3, "after feet only inches can follow", "15' 6 1/2\""),
    ("5 m 20", 4, "after m only cm or mm can follow", "15' 6 1/2\""),
    ("5' 6\" 7", 6, 'no number can follow 6"', "15' 6 1/2\""),
    ("5'--6\"", 2, "'-' was not expected here", "15' 6 1/2\""),
    ("5' -", 3, "'-' was not expected here", "15' 6 1/2\""),
    ("--5'", 1, "a number is missing here, before '-'", "15' 6 1/2\""),
    ("-", 1, "a number is missing here", "15' 6 1/2\""),
    ('6 1/2/3"', 5, "'/' is not a unit of length", "15' 6 1/2\""),
    ('6.5 1/2"', 4, "6.5 has decimals and cannot have a fraction as well", "15' 6 1/2\""),
    ('6 ½ ½"', 3, "is 6 ½ feet?", "15' 6 1/2\""),
    ("1,250 mm", 1, "1,250 can be read in two ways", "1250 or 1.250"),
    ("12,45.6,7 m", 2, "12,45.6,7 can be read in two ways", "15' 6 1/2\""),
    ("1.250 mm", 0, "1.250 mm can be read in two ways", "1250 mm"),
    ("15'.5", 3, "write 0 before the decimals of inches", "15' 0.5\""),
    ("5', 6\"", 2, "a number is missing here, before ','", "15' 6 1/2\""),
    ("12 foo", 3, "'foo' is not a unit of length", "15' 6 1/2\""),
    ("12 lb", 3, "'lb' is not a unit of length", "15' 6 1/2\""),
    ("abc", 0, "a number is missing here, before 'a'", "15' 6 1/2\""),
    ("nan", 0, "a number is missing here, before 'n'", "15' 6 1/2\""),
    ("1e5 ft", 1, "'e' is not a unit of length", "15' 6 1/2\""),
    ("0x10 ft", 1, "'x' is not a unit of length", "15' 6 1/2\""),
    ("5' 6x", 4, "'x' was not expected here", "15' 6 1/2\""),
    ("12 ft\n", 5, "'\\n' was not expected here", "15' 6 1/2\""),
    ("12\0ft", 2, "'\\x00' is not a unit of length", "15' 6 1/2\""),
    ("٣ ft", 0, "a number is missing here, before '٣'", "15' 6 1/2\""),
    ("99999999999 km", 0, "no length on a site is like this", "15' 6 1/2\""),
    ("1" * 90 + " ft", 0, "no length on a site is like this", "15' 6 1/2\""),
    ("(5')", 0, "a number is missing here, before '('", "15' 6 1/2\""),
]


@pytest.mark.parametrize(("text", "inches"), GOOD)
def test_feet_and_inches(text, inches):
    assert read_length(text) == pytest.approx(inches * INCH, rel=1e-15, abs=0)


@pytest.mark.parametrize(("text", "metres"), METRIC)
def test_metric(text, metres):
    assert read_length(text) == pytest.approx(metres, rel=1e-15)


@pytest.mark.parametrize(("text", "at", "reason", "right"), BAD)
def test_refused(text, at, reason, right):
    with pytest.raises(MeasureError) as caught:
        read_length(text)
    error = caught.value
    assert error.reason.startswith(reason)
    assert (error.kind, error.text, error.at, error.example) == ("length", text, at, right)


def test_the_error_shows_the_place():
    with pytest.raises(MeasureError) as caught:
        read_length("5' 13\"")
    assert str(caught.value) == ("5' 13\"\n   ^\ninches after feet must be less than 12; for example 6'-1\"")
    assert caught.value.one_line() == (
        "cannot read '5\\' 13\"' at character 4: inches after feet must be less than 12; for example 6'-1\""
    )


def test_the_caret_stays_under_its_character_in_a_long_text():
    with pytest.raises(MeasureError) as caught:
        read_length("5'" + " " * 60 + "x" + " " * 30)
    shown, caret, _ = str(caught.value).split("\n")
    assert shown[caret.index("^")] == "x"


def test_a_text_without_end_is_not_looked_at():
    with pytest.raises(MeasureError, match="1000000 characters long"):
        read_length("1" * 1_000_000)


@pytest.mark.parametrize(
    ("text", "bare", "metres"),
    [
        ("3 1/2", "in", 3.5 * INCH),
        ("3 1/2", "inches", 3.5 * INCH),
        (4, "in", 4 * INCH),
        (8.5, "ft", 8.5 * 12 * INCH),
        ("90", "mm", 0.09),
        ("-2", "m", -2.0),
        ("15' 6", "mm", 186 * INCH),
        (0, None, 0.0),
    ],
)
def test_a_number_without_a_unit(text, bare, metres):
    assert read_length(text, bare=bare) == pytest.approx(metres, rel=1e-15)


@pytest.mark.parametrize("value", [12, -0.5, math.nan, math.inf, True, 10**400])
def test_a_plain_number_is_refused_without_its_unit(value):
    with pytest.raises(MeasureError):
        read_length(value)


@pytest.mark.parametrize("value", [math.nan, -math.inf, False, 10**400, 1e8])
def test_no_unit_makes_sense_of_these(value):
    with pytest.raises(MeasureError):
        read_length(value, bare="m")


def test_a_number_with_more_digits_than_python_prints():
    with pytest.raises(MeasureError, match="far beyond any use"):
        read_length(10**6000, bare="m")


def test_a_wrong_bare_unit_is_a_slip_of_the_program():
    with pytest.raises(ValueError, match="'lb' is not a unit of length"):
        read_length(3, bare="lb")


def test_the_error_names_the_kind_that_was_asked_for():
    with pytest.raises(MeasureError) as caught:
        read("inches", "3 1/2")
    assert caught.value.kind == "inches"


def _slowly(text, bare=None):
    cursor = Cursor("length", text)
    value = scan_length(cursor, bare)
    cursor.end()
    return value


FRACTIONS = st.sampled_from(sorted(DENOMINATORS)).flatmap(
    lambda over: st.integers(1, over - 1).map(lambda top: f"{top}/{over}")
)


@given(
    sign=st.sampled_from(["", "-", "+", "−"]),
    feet=st.integers(0, 99_999),
    foot=st.sampled_from(["'", "′", "’", " ft", "ft.", " feet"]),
    gap=st.sampled_from(["", " ", "-", " - ", "- "]),
    inches=st.integers(0, 11),
    join=st.sampled_from([" ", "-", " - "]),
    fraction=st.none() | FRACTIONS,
    inch=st.sampled_from(["", '"', "″", "”", " in", "in."]),
)
def test_every_way_of_putting_feet_inches_and_a_fraction(sign, feet, foot, gap, inches, join, fraction, inch):
    text = f"{sign}{feet}{foot}{gap}{inches}{join + fraction if fraction else ''}{inch}"
    top, _, over = (fraction or "0/1").partition("/")
    wanted = (feet * 12 + inches + int(top) / int(over)) * INCH * (-1 if sign in {"-", "−"} else 1)
    # Tape fractions are exact; a third or a fifth is rounded once more, in whichever order it is added.
    near = 0.0 if int(over) in {1, 2, 4, 8, 16, 32, 64} else 1e-15
    assert read_length(text) == pytest.approx(wanted, rel=near, abs=0)
    assert _slowly(text) == pytest.approx(wanted, rel=near, abs=0)


@given(st.text(alphabet="0123456789 '\"-/.,+ftinmc½″−:%", max_size=14))
@example("5' -")
@example("-'6")
@example('1/2"-')
def test_the_quick_way_reads_nothing_that_the_scanner_does_not(text):
    quick = _quick(text)
    if quick is not None:
        assert _slowly(text) == pytest.approx(quick, rel=1e-15)


@given(st.text(max_size=120) | st.text(alphabet="0123456789 '\"-/.,+ftinmc½″−", max_size=30))
def test_any_text_is_read_or_refused(text):
    try:
        result = read_length(text, bare="ft")
    except MeasureError as error:
        result = error
    if isinstance(result, float):
        assert math.isfinite(result)
    else:
        assert 0 <= result.at <= len(text)
        assert len(str(result).split("\n")) == 3
