"""Readers of weather: good files, and everything that a file can get wrong."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.pourday.slabs import CHICAGO, MILD, typed

from slabwright.pourday.clocks import clock_of, clocks_change, since_begin
from slabwright.pourday.model import Site
from slabwright.pourday.moist import dew_from
from slabwright.pourday.weather import DayFigures, WeatherError, from_days
from slabwright.pourday.weather_files import read_csv, read_epw, read_nws

HEAD = "time,temperature F,humidity %,wind mph,sky %,rain %"


def table(rows: list[str], head: str = HEAD) -> str:
    return "\n".join([head, *rows]) + "\n"


def hours(count: int, start: str = "2026-05-04T00:00", cells: str = "70,50,10,20,0") -> list[str]:
    first = datetime.fromisoformat(start)
    return [f"{(first + timedelta(hours=k)).isoformat()},{cells}" for k in range(count)]


def codes(found: tuple) -> list[str]:
    return [f.code for f in found]


def test_a_plain_table() -> None:
    got, found = read_csv(table(hours(24)), CHICAGO)
    assert found == ()
    assert got.hours == 24
    assert got.air_temperature == pytest.approx(np.full(24, 21.111), abs=1e-3)
    assert got.wind_speed == pytest.approx(np.full(24, 4.4704))
    assert got.cloud_share == pytest.approx(np.full(24, 0.2))
    assert got.dew_point[0] == pytest.approx(10.3, abs=0.1)
    assert got.begins.isoformat() == "2026-05-04T00:00:00-05:00"


def test_units_of_cells_win_over_the_header() -> None:
    got, _ = read_csv(table(hours(8, cells="21.111 C,50 %,16.09 km/h,20,0")), CHICAGO)
    assert got.air_temperature == pytest.approx(np.full(8, 21.111), abs=1e-3)
    assert got.wind_speed == pytest.approx(np.full(8, 4.469), abs=1e-2)


@pytest.mark.parametrize(
    ("cells", "what"),
    [
        ("70,140,10,20,0", "humidity"),
        ("70,50,-3,20,0", "wind"),
        ("200,50,10,20,0", "temperature"),
        ("70,50,10,120,0", "cloud"),
        ("-80,50,10,20,0", "temperature"),
    ],
)
def test_impossible_values_are_said_and_bridged(cells: str, what: str) -> None:
    rows = hours(24)
    rows[9] = rows[9].split(",")[0] + "," + cells
    got, found = read_csv(table(rows), CHICAGO)
    assert codes(found) == ["weather-impossible", "weather-bridged"]
    assert found[0].values["what"] == what
    assert found[0].where == "row 11"
    assert got.hours == 24
    assert "cannot be" in found[0].text().what
    assert found[0].text(lang="es").what != found[0].text().what


def test_missing_hours() -> None:
    rows = hours(24)
    got, found = read_csv(table(rows[:10] + rows[12:]), CHICAGO)
    assert codes(found) == ["weather-bridged"]
    assert found[0].values["hours"] == 2
    assert got.hours == 24
    got, found = read_csv(table(rows[:10] + rows[13:]), CHICAGO)  # a gap of four hours between neighbours
    assert codes(found) == ["weather-gap"]
    assert got.hours == 10
    with pytest.raises(WeatherError, match="six"):
        read_csv(table(rows[:5] + rows[15:]), CHICAGO)


def test_rows_twice_and_out_of_order() -> None:
    rows = hours(12)
    _, found = read_csv(table([*rows[:6], rows[5], *rows[6:]]), Site.of_degrees(41.9, -87.6, "Etc/GMT+6"))
    assert codes(found) == ["weather-twice"]
    _, found = read_csv(table([rows[1], rows[0], *rows[2:]]), CHICAGO)
    assert codes(found) == ["weather-order"]


def test_what_is_missing_altogether() -> None:
    with pytest.raises(WeatherError, match="no wind"):
        read_csv(table(hours(12, cells="70,50,20"), "time,temperature F,humidity %,sky %"), CHICAGO)
    with pytest.raises(WeatherError, match="no sky"):
        read_csv(table(hours(12, cells="70,50,5"), "time,temperature F,humidity %,wind mph"), CHICAGO)
    with pytest.raises(WeatherError, match="no column 'time'"):
        read_csv("a,b\n1,2\n", CHICAGO)
    with pytest.raises(WeatherError, match="empty"):
        read_csv("\n\n", CHICAGO)
    with pytest.raises(WeatherError, match="two columns"):
        read_csv(table(hours(8), HEAD.replace("rain", "sky")), CHICAGO)
    with pytest.raises(WeatherError, match="time zone"):
        read_csv(table(hours(8)), Site.of_degrees(41.9, -87.6, "America/Nowhere"))


def test_unreadable_cells_and_times() -> None:
    rows = hours(12)
    rows[3] = rows[3].replace("70", "warm")
    rows[4] = "some day,70,50,10,20,0"
    _, found = read_csv(table(rows), CHICAGO)
    assert codes(found) == ["weather-unread", "weather-time", "weather-bridged"]
    with pytest.raises(WeatherError, match="no rows"):
        read_csv(table(hours(12)), Site.of_degrees(41.9, -87.6))  # no zone anywhere


def test_the_hour_that_repeats_and_the_one_that_is_skipped() -> None:
    """1 November 2026 has 1:00 twice in Chicago; 8 March has no 2:00."""
    first = datetime(2026, 11, 1, 5, tzinfo=UTC)
    local = [(first + timedelta(hours=k)).astimezone(_zone()).strftime("%Y-%m-%dT%H:%M") for k in range(12)]
    assert local[1] == local[2]
    got, found = read_csv(table([f"{t},70,50,10,20,0" for t in local]), CHICAGO)
    assert codes(found) == []
    assert got.hours == 12
    rows = [f"2026-03-08T{h:02d}:00,70,50,10,20,0" for h in range(12)]
    got, found = read_csv(table(rows), CHICAGO)
    assert codes(found) == ["weather-time"]
    assert "skip" in found[0].values["said"]
    assert got.hours == 11


def _zone():
    from zoneinfo import ZoneInfo

    return ZoneInfo("America/Chicago")


def test_clocks_across_the_change() -> None:
    got, _ = from_days(date(2026, 11, 1), (MILD,) * 2, CHICAGO)
    assert clocks_change(got, date(2026, 11, 1)) == -3600
    assert clocks_change(got, date(2026, 11, 2)) == 0
    assert since_begin(got, date(2026, 11, 1), 7 * 3600) == 8 * 3600
    assert clock_of(got, date(2026, 11, 1), 8 * 3600) == 7 * 3600
    assert got.hours == 50


@settings(max_examples=40, deadline=None)
@given(st.floats(-20, 35), st.floats(0, 20), st.floats(0.05, 1.0), st.integers(1, 365), st.floats(-60, 60))
def test_typed_days_stay_within_their_figures(
    low: float, rise: float, share: float, n: int, lat: float
) -> None:
    day = DayFigures(low, low + rise, relative=share)
    if dew_from(low + rise / 2, share) > 36.0:  # no air on earth holds so much water
        with pytest.raises(WeatherError, match="humidity"):
            from_days(date(2027, 1, 1), (day,), CHICAGO)
        return
    got, _ = from_days(
        date(2027, 1, 1) + timedelta(days=n), (day,) * 2, Site.of_degrees(lat, -87.6, "America/Chicago")
    )
    assert got.air_temperature.min() >= low - 1e-9
    assert got.air_temperature.max() <= low + rise + 1e-9
    assert got.air_temperature.max() >= low + 0.95 * rise - 1e-9
    assert (got.dew_point <= got.air_temperature + 1e-9).all()
    assert got.wind_speed[:24].mean() == pytest.approx(3.0, rel=0.05)


def test_typed_days_that_cannot_be() -> None:
    for day, said in (
        (DayFigures(20, 10, relative=0.5), "above the high"),
        (DayFigures(10, 20), "neither"),
        (DayFigures(10, 20, relative=1.4), "humidity"),
        (DayFigures(10, 20, relative=0.5, wind_speed=-3), "wind"),
        (DayFigures(10, 93.3, relative=0.5), "temperature"),
        (DayFigures(10, 20, dew_point=25), "dew"),
    ):
        with pytest.raises(WeatherError, match=said):
            from_days(date(2026, 5, 4), (day,), CHICAGO)
    with pytest.raises(WeatherError, match="no day"):
        from_days(date(2026, 5, 4), (), CHICAGO)


def test_zone_from_longitude_is_said() -> None:
    _, found = from_days(date(2026, 5, 4), (MILD,), Site.of_degrees(41.9, -87.6))
    assert codes(found) == ["weather-zone-guessed"]


def test_leap_day_typed() -> None:
    got, _ = from_days(date(2028, 2, 28), (typed(30, 50),) * 3, CHICAGO)
    assert got.hours == 73
    assert since_begin(got, date(2028, 3, 1), 0) == 48 * 3600


# --- EPW -----------------------------------------------------------------------------------------------


def epw(days_: tuple[tuple[int, int], ...], zone: str = "-6.0") -> str:
    head = [
        f"LOCATION,Somewhere,IL,USA,made up,0,41.90,-87.60,{zone},200.0",
        *(f"HEAD {n}" for n in range(7)),
    ]
    rows = []
    for month, day in days_:
        for hour in range(1, 25):
            sun = max(0, 800 - 100 * abs(hour - 13))
            start = ["1999", month, day, hour, 60, "x", 10 + hour / 2, 5.0, 50, 99000, 0, 0, 300, sun]
            cells = [*start, *[0] * 6, 180, 3.0, 5, 4, 20, 777, 9, *[0] * 8]
            rows.append(",".join(str(c) for c in cells))
    return "\n".join(head + rows)


MAY = tuple((5, d) for d in range(3, 9))


def test_epw_hours_and_sun() -> None:
    """Hour h ends at h o'clock; its sun belongs to the hour before."""
    got, found = read_epw(epw(MAY), date(2026, 5, 4), 2, Site.of_degrees(41.9, -87.6))
    assert codes(found) == ["weather-typical"]
    assert got.begins.isoformat() == "2026-05-04T00:00:00-06:00"
    assert got.hours == 49
    assert got.air_temperature[13] == pytest.approx(10 + 13 / 2)
    assert got.sun_power is not None
    assert got.sun_power[12] == 800  # 12:00 to 13:00 is hour 13
    assert got.cloud_share[3] == pytest.approx(0.4)


def test_epw_leap_day_and_missing() -> None:
    feb = ((2, 27), (2, 28), (3, 1), (3, 2))
    got, found = read_epw(epw(feb), date(2028, 2, 28), 3, Site.of_degrees(41.9, -87.6))
    assert codes(found) == ["weather-leap", "weather-typical"]
    assert got.hours == 73
    text = epw(MAY).replace("60,x,15.0,5.0", "60,x,99.9,99.9")
    _, found = read_epw(text, date(2026, 5, 4), 2, Site.of_degrees(41.9, -87.6))
    assert "weather-bridged" in codes(found)


def test_epw_that_is_none() -> None:
    with pytest.raises(WeatherError, match="LOCATION"):
        read_epw("nothing", date(2026, 5, 4), 2, CHICAGO)
    with pytest.raises(WeatherError, match="time zone"):
        read_epw(epw(MAY, "central"), date(2026, 5, 4), 2, CHICAGO)
    with pytest.raises(WeatherError):
        read_epw(epw(MAY), date(2026, 9, 4), 2, CHICAGO)


# --- the weather service ----------------------------------------------------------------------------------


def periods(count: int = 24, **other: object) -> dict:
    rows = []
    for k in range(count):
        start = datetime(2026, 5, 4, 6) + timedelta(hours=k)
        row = {
            "number": k + 1,
            "name": "",
            "startTime": start.isoformat() + "-05:00",
            "isDaytime": True,
            "temperature": 68,
            "temperatureUnit": "F",
            "probabilityOfPrecipitation": {"unitCode": "wmoUnit:percent", "value": None},
            "dewpoint": {"unitCode": "wmoUnit:degC", "value": 10},
            "relativeHumidity": {"unitCode": "wmoUnit:percent", "value": 52},
            "windSpeed": "5 to 10 mph",
            "windDirection": "NW",
            "shortForecast": "Partly Sunny",
        }
        rows.append(row | other)
    return {"properties": {"periods": rows}}


def test_hourly_periods() -> None:
    got, found = read_nws(json.dumps(periods()), CHICAGO)
    assert codes(found) == []
    assert got.wind_speed[0] == pytest.approx(10 * 0.44704)
    assert got.cloud_share[0] == pytest.approx(0.6)
    assert got.rain_chance is None
    assert got.air_temperature[0] == pytest.approx(20.0)


def test_grid_layers() -> None:
    def layer(unit: str, value: float) -> dict:
        return {"uom": unit, "values": [
            {"validTime": "2026-05-04T11:00:00+00:00/PT6H", "value": value},
            {"validTime": "2026-05-04T17:00:00+00:00/P1DT2H", "value": value + 1},
        ]}  # fmt: skip

    body = {
        "temperature": layer("wmoUnit:degC", 20),
        "dewpoint": layer("wmoUnit:degC", 8),
        "relativeHumidity": layer("wmoUnit:percent", 45),
        "windSpeed": layer("wmoUnit:km_h-1", 18),
        "skyCover": layer("wmoUnit:percent", 30),
        "probabilityOfPrecipitation": layer("wmoUnit:percent", 10),
    }
    got, found = read_nws(json.dumps({"properties": body}), CHICAGO)
    assert codes(found) == []
    assert got.hours == 32
    assert got.wind_speed[0] == pytest.approx(5.0)
    assert got.air_temperature[[5, 6]] == pytest.approx([20, 21])
    assert got.begins.isoformat() == "2026-05-04T06:00:00-05:00"


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"properties": 3}', '{"properties": {"periods": [{}]}}', "null"]
)
def test_answers_that_are_none(text: str) -> None:
    with pytest.raises(WeatherError):
        read_nws(text, CHICAGO)


@settings(max_examples=60, deadline=None)
@given(st.text(alphabet="time,temprauF%0123456789-:T\n ", max_size=200))
def test_no_text_breaks_the_reader(text: str) -> None:
    """Either weather or a WeatherError, never another exception."""
    try:
        read_csv("time,temperature F\n" + text, CHICAGO)
    except WeatherError:
        return
    raise AssertionError("a table without wind cannot be used")


def test_tables_that_would_take_the_memory() -> None:
    rows = [*hours(12), "2099-01-01T00:00,70,50,10,20,0"]
    got, found = read_csv(table(rows), CHICAGO)
    assert got.hours == 12
    assert "weather-gap" in codes(found)
    with pytest.raises(WeatherError) as caught:
        read_csv(table(["0001-01-01T00:00+14:00,70,50,10,20,0"]), CHICAGO)
    assert "years" in str(caught.value.findings[0].values["said"])
    with pytest.raises(WeatherError, match="not a table"):
        read_csv(table(["a" * 200_000]), CHICAGO)
    long = {"uom": "x", "values": [{"validTime": "2026-05-04T11:00:00+00:00/P999999D", "value": 1}]}
    with pytest.raises(WeatherError, match="spell"):
        read_nws(json.dumps({"properties": {"temperature": long}}), CHICAGO)
    with pytest.raises(WeatherError):
        read_nws("[" * 100_000, CHICAGO)
    with pytest.raises(WeatherError, match="characters"):
        read_csv(" " * 20_000_001, CHICAGO)


BITS = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(-5, 200), st.floats(-50, 150), st.text(max_size=12)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(
            st.sampled_from(["startTime", "temperature", "value", "values", "validTime", "windSpeed", "uom"]),
            inner,
            max_size=4,
        ),
    ),
    max_leaves=12,
)


@settings(max_examples=80, deadline=None)
@given(st.lists(BITS, max_size=4), BITS)
def test_no_answer_breaks_the_reader(rows: list, layer: object) -> None:
    for body in ({"periods": rows}, {"temperature": layer, "windSpeed": layer}, {"periods": layer}):
        with pytest.raises(WeatherError):
            read_nws(json.dumps({"properties": body}), CHICAGO)
