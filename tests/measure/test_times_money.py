"""Durations, times of day and money."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slabwright.measure import (
    MeasureError,
    Money,
    System,
    read_clock,
    read_duration,
    read_money,
    write_clock,
    write_duration,
    write_money,
)
from slabwright.measure.money import CURRENCIES

DURATIONS = [
    *[
        (text, 5400)
        for text in ("1 h 30 min", "90 min", "1:30 h", "1h30", "1.5 h", "1 1/2 hours", "1 hr. 30 mins.")
    ],
    *[(text, 5400) for text in ("1 hora 30 minutos", "1,5 h", "5400 s", "1:30:00")],
    ("7 days", 604800),
    ("1 week", 604800),
    ("2 d 6 h", 194400),
    ("4 min 30 s", 270),
    ("45 s", 45),
    ("0", 0),
    ("1:05 hrs", 3900),
]
BAD_DURATIONS = [
    ("90", 2, "the unit is missing: h or min?"),
    ("1:30", 4, "hours and minutes, or minutes and seconds?"),
    ("1:60 h", 2, "minutes must be less than 60"),
    ("1:5 h", 2, "minutes are written with two digits"),
    ("1.5:30 h", 0, "the part before the colon must be whole"),
    ("1 h 60 min", 4, "min after h must be less than 60"),
    ("1.5 h 30 min", 0, "only the last part may have decimals"),
    ("30 min 1 h", 7, "s can follow min here"),
    ("30 s 5", 5, "nothing can follow s here"),
    ("-5 min", 0, "a number is missing here, before '-'"),
    ("5 ft", 2, "'ft' is not a unit of time"),
    ("9" * 20 + " weeks", 0, "no duration on a site is like this"),
]
CLOCKS = [
    *[
        (text, 25200)
        for text in ("7:00 am", "7 am", "7am", "7:00am", "7:00 AM", "7:00 a.m.", "7 a. m.", "07:00")
    ],
    *[(text, 25200) for text in ("7:00", "7h", "7h00", "7:00 h", "7 a")],
    *[(text, 70200) for text in ("19:30", "7:30 pm", "7:30 p.m.", "19h30", "19:30:00")],
    ("noon", 43200),
    ("Mediodía", 43200),
    ("12 pm", 43200),
    ("12:15 pm", 44100),
    ("midnight", 0),
    ("12 am", 0),
    ("12:15 am", 900),
    ("0:00", 0),
    ("23:59:59", 86399),
    ("1:30 am +1 d", 91800),
    ("1:30 +1 d", 91800),
]
BAD_CLOCKS = [
    ("7", 1, "am or pm?"),
    ("13 pm", 0, "with pm the hour is 1 to 12"),
    ("0:30 am", 0, "with am the hour is 1 to 12"),
    ("24:00", 0, "the hour is 0 to 23"),
    ("7:60", 2, "minutes must be less than 60"),
    ("7:5", 2, "minutes are written with two digits"),
    ("7:", 2, "the minutes are missing"),
    ("7:00:61", 5, "seconds must be less than 60"),
    ("7.30", 0, "the hour is written as a whole number"),
    ("700", 0, "the hour is written as a whole number"),
    ("7:00 xm", 5, "'x' was not expected here"),
    ("tea time", 0, "'tea' is not a time of day"),
    ("-7:00", 0, "a number is missing here, before '-'"),
]
MONEY = [
    ("$1,250.00", "1250.00", "USD"),
    ("$1,250", "1250", "USD"),
    ("$ 1250.5", "1250.5", "USD"),
    ("1250 USD", "1250", "USD"),
    ("USD 1,250.00", "1250.00", "USD"),
    ("US$12", "12", "USD"),
    ("-$3.50", "-3.50", "USD"),
    ("$-3.50", "-3.50", "USD"),
    ("$.75", "0.75", "USD"),
    ("$0.0375", "0.0375", "USD"),
    ("12 dollars", "12", "USD"),
    ("€1.250,50", "1250.50", "EUR"),
    ("12,50 €", "12.50", "EUR"),
    ("£9.99", "9.99", "GBP"),
    ("1,250.00 MXN", "1250.00", "MXN"),
    ("$123,456,789.01", "123456789.01", "USD"),
]
BAD_MONEY = [
    ("", 0, "nothing is written here"),
    ("$", 1, "an amount is missing here"),
    ("1250", 4, "the currency is missing"),
    ("1250 shells", 5, "this is not a currency"),
    ("$1250 USD", 6, "'U' was not expected here"),
    ("€1,250", 1, "1,250 can be read in two ways"),
    ("€1.250", 1, "1.250 can be read in two ways"),
    ("$1,25,0", 1, "1,25,0 can be read in two ways"),
    ("$1,250.00.00", 1, "1,250.00.00 can be read in two ways"),
    ("$1e3", 2, "'e' was not expected here"),
    ("$nan", 1, "an amount is missing here"),
    ("$" + "9" * 40, 1, "no job costs this much"),
]


@pytest.mark.parametrize(("text", "seconds"), DURATIONS)
def test_duration(text, seconds):
    assert read_duration(text) == pytest.approx(seconds, rel=1e-15)


@pytest.mark.parametrize(("text", "at", "reason"), BAD_DURATIONS)
def test_duration_refused(text, at, reason):
    with pytest.raises(MeasureError) as caught:
        read_duration(text)
    assert caught.value.reason.startswith(reason)
    assert (caught.value.kind, caught.value.at) == ("duration", at)


def test_duration_without_a_unit():
    assert read_duration(90, bare="min") == read_duration("90", bare="min") == 5400


@pytest.mark.parametrize(("text", "seconds"), CLOCKS)
def test_clock(text, seconds):
    assert read_clock(text) == seconds


@pytest.mark.parametrize(("text", "at", "reason"), BAD_CLOCKS)
def test_clock_refused(text, at, reason):
    with pytest.raises(MeasureError) as caught:
        read_clock(text)
    assert caught.value.reason.startswith(reason)
    assert (caught.value.kind, caught.value.at) == ("clock", at)


def test_a_plain_hour():
    assert read_clock(7, bare="h") == read_clock("7", bare="h") == 25200
    with pytest.raises(MeasureError, match="am or pm"):
        read_clock(7)


@pytest.mark.parametrize(
    ("seconds", "shown"),
    [
        (0, "0 s"),
        (0.25, "0.3 s"),
        (59.4, "59 s"),
        (59.5, "1 min"),
        (270, "4 min 30 s"),
        (599.4, "9 min 59 s"),
        (599.5, "10 min"),
        (629, "10 min"),
        (3570, "1 h"),
        (5400, "1 h 30 min"),
        (172769, "47 h 59 min"),
        (172770, "2 d"),
        (604800, "7 d"),
        (194400, "2 d 6 h"),
    ],
)
def test_write_duration(seconds, shown):
    assert write_duration(seconds) == shown


@pytest.mark.parametrize(
    ("seconds", "us", "metric"),
    [
        (0, "12:00 am", "0:00"),
        (29, "12:00 am", "0:00"),
        (30, "12:01 am", "0:01"),
        (25200, "7:00 am", "7:00"),
        (43200, "12:00 pm", "12:00"),
        (70200, "7:30 pm", "19:30"),
        (86399, "12:00 am +1 d", "0:00 +1 d"),
        (91800, "1:30 am +1 d", "1:30 +1 d"),
    ],
)
def test_write_clock(seconds, us, metric):
    assert write_clock(seconds) == us
    assert write_clock(seconds, system=System.METRIC) == write_clock(seconds, system="metric") == metric


@pytest.mark.parametrize("writer", [write_duration, write_clock])
def test_no_time_is_negative(writer):
    with pytest.raises(ValueError, match="cannot be written"):
        writer(-1.0)


@pytest.mark.parametrize(("text", "amount", "currency"), MONEY)
def test_money(text, amount, currency):
    money = read_money(text)
    assert (str(money.amount), money.currency) == (str(Decimal(amount)), currency)


@pytest.mark.parametrize(("text", "at", "reason"), BAD_MONEY)
def test_money_refused(text, at, reason):
    with pytest.raises(MeasureError) as caught:
        read_money(text)
    assert caught.value.reason.startswith(reason)
    assert (caught.value.kind, caught.value.at) == ("money", at)


def test_money_without_a_currency():
    assert read_money(1250, bare="USD") == read_money("1,250.00", bare="USD") == Money(Decimal(1250), "USD")
    assert read_money("$5", bare="CAD") == Money(Decimal(5), "CAD")
    assert read_money("€5", bare="CAD") == Money(Decimal(5), "EUR")


@pytest.mark.parametrize("value", [12.5, True, Decimal("NaN"), Decimal("Infinity"), 10**13])
def test_what_is_not_money(value):
    with pytest.raises(MeasureError):
        read_money(value, bare="USD")


def test_a_currency_nobody_knows_is_a_slip_of_the_program():
    with pytest.raises(ValueError, match="'XTS' is not a known currency"):
        read_money(3, bare="XTS")


@pytest.mark.parametrize(
    ("amount", "shown"),
    [
        ("1250", "$1,250.00"),
        ("-3.5", "-$3.50"),
        ("0.005", "$0.01"),
        ("0.004", "$0.004"),
        ("-0.004", "-$0.004"),
        ("0", "$0.00"),
        ("-0", "$0.00"),
        ("2.675", "$2.68"),
        ("999.995", "$1,000.00"),
    ],
)
def test_write_money(amount, shown):
    assert write_money(Decimal(amount)) == shown


@given(st.decimals("-1e9", "1e9", places=2), st.sampled_from(sorted(CURRENCIES)))
def test_money_comes_back_to_the_cent(amount, currency):
    money = read_money(write_money(amount, currency))
    assert money == Money(amount, currency)
    assert write_money(money) == write_money(amount, currency)


@given(st.text(max_size=20) | st.text(alphabet="0123456789.,$€- USD", max_size=12))
def test_any_text_is_money_or_refused(text):
    try:
        result = read_money(text)
    except MeasureError as error:
        result = error
    if isinstance(result, Money):
        assert result.amount.is_finite()
        assert result.currency in CURRENCIES
    else:
        assert result.kind == "money"
