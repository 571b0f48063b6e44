"""Weather of the pour: rows from any source, checked by row, set on whole hours; or a few figures typed in.

A value that cannot be is taken as missing and said so by row. A gap of up to three hours between two good
hours is bridged and said so. At a longer gap the weather ends. Nothing is carried on past its end.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np

from slabwright.findings import Finding, find
from slabwright.measure import HOUR, Quantity
from slabwright.pourday.model import Floats, Site, Weather
from slabwright.pourday.moist import dew_from, humidity
from slabwright.pourday.sun import sun_place

BRIDGE = 3.0 * HOUR
LEAST_HOURS = 6
MOST_HOURS = 24 * 370  # a year and a bit: what lies further off is of no use to a pour
YEARS = (1900, 2100)
LIMITS = {  # what weather near the ground of a building site can be: kind of quantity, least, most [SI]
    "temperature": ("temperature", -45.0, 54.0),
    "dew": ("temperature", -60.0, 36.0),
    "humidity": ("percent", 0.01, 1.0),
    "wind": ("speed", 0.0, 50.0),
    "cloud": ("percent", 0.0, 1.0),
    "rain": ("percent", 0.0, 1.0),
    "sun": ("ratio", 0.0, 1500.0),
}
"""Fields of a row."""


class WeatherError(ValueError):
    """The weather cannot be used; says what was found, where, and what would do.

    `findings` name the rows that were bad before it was given up.
    """

    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class WeatherRow:
    """One row as read: line of the file, moment (knows its zone), values [SI] by field of LIMITS.

    `sun` [W/m2] is the mean of the hour that begins at `when`.
    """

    line: int
    when: datetime
    values: dict[str, float | None] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class DayFigures:
    """One day typed in: low and high [degC], humidity [-] at the day's mean or dew point [degC], wind [m/s].

    `cloud_share` [-]; `rain_chance` [-].
    """

    low: float
    high: float
    relative: float | None = None
    dew_point: float | None = None
    wind_speed: float = 3.0
    cloud_share: float = 0.3
    rain_chance: float = 0.0


def zone_of(site: Site) -> tzinfo | None:
    """Return the site's zone, None where it names none. WeatherError for a name that no table has."""
    if not site.zone:
        return None
    try:
        return ZoneInfo(site.zone)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise WeatherError(f"{site.zone!r} is not a time zone; write one like America/Chicago") from error


def zone_by_longitude(site: Site) -> tzinfo:
    """Return the whole-hour offset that a longitude suggests; countries and summer time may differ."""
    return timezone(timedelta(hours=round(np.degrees(site.longitude) / 15.0)))


def local_moment(text: str, zone: tzinfo | None, *, after: datetime | None = None) -> datetime:
    """Return an ISO moment with its zone. `after`: the moment of the row before, for the hour that repeats.

    WeatherError for a text that is no moment, has no zone anywhere, or falls into the hour that the clocks
    skip in spring.
    """
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError as error:
        raise WeatherError(f"{text[:60]!r} is not a date and time; write 2026-05-04T07:00") from error
    if not YEARS[0] <= moment.year <= YEARS[1]:
        raise WeatherError(f"{text[:60]!r} lies outside the years {YEARS[0]} to {YEARS[1]}")
    if moment.tzinfo is not None:
        return moment
    if zone is None:
        raise WeatherError(
            f"{text!r} has no zone; write 2026-05-04T07:00-05:00, or name the site's time zone"
        )
    moment = moment.replace(tzinfo=zone)
    if moment.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != moment.replace(tzinfo=None):
        raise WeatherError(f"{text!r} does not exist: the clocks skip that hour")
    if after is not None and moment.astimezone(UTC) <= after.astimezone(UTC):
        later = moment.replace(fold=1)
        if later.astimezone(UTC) > after.astimezone(UTC):
            return later
    return moment


def weather_of(
    rows: Iterable[WeatherRow], *, zone: tzinfo | None = None, origin: str = ""
) -> tuple[Weather, tuple[Finding, ...]]:
    """Return hourly weather from rows in any order of fields, and what was wrong with them.

    WeatherError where temperature, moisture, wind or sky are missing altogether, or fewer than six hours
    can be used.
    """
    found: list[Finding] = []
    try:
        return _gathered(rows, found, zone, origin), tuple(found)
    except WeatherError as error:
        error.findings = (*error.findings, *found)
        raise


def _gathered(rows: Iterable[WeatherRow], found: list[Finding], zone: tzinfo | None, origin: str) -> Weather:
    kept = _in_order([_checked(row, found) for row in rows], found)
    if not kept:
        raise WeatherError(f"{origin or 'the weather'} has no rows that can be used")
    first = kept[0].when.astimezone(UTC)
    begins = first.replace(minute=0, second=0, microsecond=0)
    begins += timedelta(hours=1 if begins < first else 0)
    own = zone or kept[0].when.tzinfo
    seconds = np.array([(row.when.astimezone(UTC) - begins).total_seconds() for row in kept])
    columns = {name: _column(kept, name) for name in LIMITS}
    columns["dew"] = _dew(columns)
    known = {name: values for name, values in columns.items() if not np.isnan(values).all()}
    _must_have(known, origin, found)
    known.pop("humidity", None)
    hours = np.asarray(np.arange(min(max(int(seconds[-1] // HOUR) + 1, 0), MOST_HOURS)) * HOUR, dtype=float)
    values, filled = {}, {}
    for name, column in known.items():
        values[name], filled[name] = _bridged(seconds, column, hours)
    needed = ["temperature", "dew", "wind", "cloud" if "cloud" in known else "sun"]
    first_good, end = _usable(hours, [values[name] for name in needed], begins, own, found)
    if end - first_good < LEAST_HOURS:
        raise WeatherError(
            f"{origin or 'the weather'} has only {end - first_good} whole hours together; six are the least"
        )
    begins += timedelta(hours=first_good)
    bridged = np.any([filled[name][first_good:end] for name in needed], axis=0)
    if bridged.any():
        found.append(
            find(
                "pourday",
                "weather-bridged",
                hours=int(bridged.sum()),
                first=_hour(begins, int(np.argmax(bridged)), own),
            )
        )
    whole = {name: column[first_good:end] for name, column in values.items()}
    return _made(whole, begins.astimezone(own), origin, found)


def _made(values: dict[str, Floats], begins: datetime, origin: str, found: list[Finding]) -> Weather:
    """Return the record; rain and sun with holes are said so and not made up."""
    air = values["temperature"]
    rain, sun = values.get("rain"), values.get("sun")
    if rain is not None and np.isnan(rain).any():
        found.append(find("pourday", "weather-rain-holes", hours=int(np.isnan(rain).sum())))
        rain = np.where(np.isnan(rain), 0.0, rain)
    if sun is not None and np.isnan(sun).any():
        found.append(find("pourday", "weather-sun-holes", hours=int(np.isnan(sun).sum())))
        sun = None
    return Weather(
        begins=begins,
        air_temperature=air,
        dew_point=np.minimum(values["dew"], air),
        wind_speed=values["wind"],
        cloud_share=values.get("cloud", np.full(air.size, 0.5)),
        rain_chance=rain,
        sun_power=sun,
        origin=origin,
    )


def _checked(row: WeatherRow, found: list[Finding]) -> WeatherRow:
    """Return a row without values that cannot be; each is a finding."""
    good: dict[str, float | None] = {}
    for name, value in row.values.items():
        kind, least, most = LIMITS[name]
        if value is not None and not least <= value <= most:
            shown = Quantity(kind, value) if np.isfinite(value) else str(value)
            found.append(
                find("pourday", "weather-impossible", where=f"row {row.line}", what=name, value=shown)
            )
            value = None
        good[name] = value
    warm, dew = good.get("temperature"), good.get("dew")
    if warm is not None and dew is not None and dew > warm + 1.5:
        found.append(
            find(
                "pourday",
                "weather-dew-above",
                where=f"row {row.line}",
                dew=Quantity("temperature", dew),
                air=Quantity("temperature", warm),
            )
        )
        good["dew"] = None
    return WeatherRow(row.line, row.when, good)


def _in_order(rows: list[WeatherRow], found: list[Finding]) -> list[WeatherRow]:
    """Return the rows by time, each moment once."""
    kept: dict[datetime, WeatherRow] = {}
    last: datetime | None = None
    for row in rows:
        moment = row.when.astimezone(UTC)
        if moment in kept:
            found.append(find("pourday", "weather-twice", where=f"row {row.line}", when=row.when.isoformat()))
            continue
        if last is not None and moment < last:
            found.append(find("pourday", "weather-order", where=f"row {row.line}", when=row.when.isoformat()))
        last = moment
        kept[moment] = row
    return [kept[moment] for moment in sorted(kept)]


def _column(rows: list[WeatherRow], name: str) -> Floats:
    values = [row.values.get(name) for row in rows]
    return np.array([np.nan if v is None else v for v in values], dtype=float)


def _dew(columns: dict[str, Floats]) -> Floats:
    """Return dew points, from the humidity where none is given."""
    with np.errstate(invalid="ignore"):
        worked = dew_from(columns["temperature"], columns["humidity"])
    return np.where(np.isnan(columns["dew"]), worked, columns["dew"])


def _must_have(known: dict[str, Floats], origin: str, found: list[Finding]) -> None:
    words = {"temperature": "air temperature", "dew": "dew point or humidity", "wind": "wind"}
    missing = [said for name, said in words.items() if name not in known]
    if "cloud" not in known and "sun" not in known:
        missing.append("sky (cloud) or sun")
    if missing:
        raise WeatherError(f"{origin or 'the weather'} has no {', no '.join(missing)}")
    if "cloud" not in known:
        found.append(find("pourday", "weather-no-cloud"))


def _bridged(
    seconds: Floats, values: Floats, hours: Floats
) -> tuple[Floats, np.ndarray[tuple[int, ...], np.dtype[np.bool_]]]:
    """Return values on whole hours, nan where the gap is too long, and which hours were bridged."""
    good = ~np.isnan(values)
    t, v = seconds[good], values[good]
    made = np.asarray(np.interp(hours, t, v))
    after = np.clip(np.searchsorted(t, hours - 1e-6), 0, t.size - 1)
    before = np.clip(np.searchsorted(t, hours + 1e-6) - 1, 0, t.size - 1)
    gap = t[after] - t[before]
    outside = (hours < t[0] - 1e-6) | (hours > t[-1] + 1e-6)
    made[(gap > BRIDGE) | outside] = np.nan
    return made, np.asarray((gap > HOUR + 1.0) & ~np.isnan(made))


def _usable(
    hours: Floats, needed: list[Floats], begins: datetime, zone: tzinfo | None, found: list[Finding]
) -> tuple[int, int]:
    """Return the first whole hour and the end of the whole ones that follow it.

    Hours before the first whole one are left out, for nothing stands before them to bridge from; a finding
    where that is so, and where a gap cuts the weather short.
    """
    bad = np.any([np.isnan(values) for values in needed], axis=0)
    if not bad.any() or bad.all():
        return 0, 0 if bad.any() else int(hours.size)
    first = int(np.argmin(bad))
    if first:
        when = _hour(begins, first, zone)
        found.append(find("pourday", "weather-begins-late", when=when, hours=first))
    rest = bad[first:]
    if not rest.any():
        return first, int(hours.size)
    end = first + int(np.argmax(rest))
    when = _hour(begins, end, zone)
    found.append(find("pourday", "weather-gap", when=when, hours=end - first))
    return first, end


def _hour(begins: datetime, hours: int, zone: tzinfo | None) -> str:
    """Return an hour of the weather as the clock on the site's wall shows it."""
    return (begins + timedelta(hours=hours)).astimezone(zone).strftime("%Y-%m-%d %H:%M")


def from_days(first: date, days: tuple[DayFigures, ...], site: Site) -> tuple[Weather, tuple[Finding, ...]]:
    """Return hourly weather of days typed in, from the first midnight to the last.

    Low at sunrise, high three hours after solar noon, half a cosine between (common practice); the dew
    point stays the day's; wind is a third stronger in the afternoon than on the mean, and as much weaker at
    night. WeatherError for figures that cannot be.
    """
    if not days:
        raise WeatherError("no day was typed in; give its low, high, humidity, wind and sky")
    found: list[Finding] = []
    zone = zone_of(site)
    if zone is None:
        zone = zone_by_longitude(site)
        found.append(find("pourday", "weather-zone-guessed", zone=str(zone)))
    for n, day in enumerate(days, 1):
        _check_day(n, day)
    begins = datetime(first.year, first.month, first.day, tzinfo=zone)
    end = datetime.combine(first + timedelta(days=len(days)), datetime.min.time(), tzinfo=zone)
    count = int((end.astimezone(UTC) - begins.astimezone(UTC)).total_seconds() // HOUR) + 1
    rows = []
    turns = _turning_points(begins, days, site)
    for k in range(count):
        when = (begins.astimezone(UTC) + timedelta(hours=k)).astimezone(zone)
        which = min(max((when.date() - first).days, 0), len(days) - 1)
        rows.append(_typed_row(k, when, days[which], turns))
    weather, more = weather_of(rows, zone=zone, origin="figures typed in")
    return weather, (*found, *more)


def _check_day(n: int, day: DayFigures) -> None:
    if day.low > day.high:
        raise WeatherError(f"day {n}: the low ({day.low:g} degC) is above the high ({day.high:g} degC)")
    if day.relative is None and day.dew_point is None:
        raise WeatherError(f"day {n}: neither humidity nor dew point was given")
    given = {
        "temperature": (day.low, day.high),
        "humidity": (day.relative,),
        "dew": (day.dew_point,),
        "wind": (day.wind_speed,),
        "cloud": (day.cloud_share,),
        "rain": (day.rain_chance,),
    }
    for name, values in given.items():
        _, least, most = LIMITS[name]
        for value in values:
            if value is not None and not least <= value <= most:
                raise WeatherError(f"day {n}: {name} of {value:g} cannot be ({least:g} to {most:g}, SI)")
    if day.dew_point is None and _typed_dew(day) > LIMITS["dew"][2]:
        raise WeatherError(
            f"day {n}: a humidity of {day.relative:.0%} with a high of {day.high:g} degC cannot be"
        )
    if day.dew_point is not None and day.dew_point > day.high:
        raise WeatherError(f"day {n}: the dew point ({day.dew_point:g} degC) is above the high")


def _typed_dew(day: DayFigures) -> float:
    """Return the day's dew point [degC], from the humidity at its mean temperature where none is given."""
    if day.dew_point is not None:
        return day.dew_point
    assert day.relative is not None
    return float(dew_from(0.5 * (day.low + day.high), day.relative))


def _turning_points(begins: datetime, days: tuple[DayFigures, ...], site: Site) -> tuple[Floats, Floats]:
    """Return moments [s after `begins`] and temperatures [degC] of the lows and highs, in order."""
    noon = 12.0 * HOUR - (np.degrees(site.longitude) * 240.0) % (24.0 * HOUR)
    offset = begins.utcoffset()
    assert offset is not None
    noon = (noon + offset.total_seconds()) % (24.0 * HOUR)
    times: list[float] = []
    values: list[float] = []
    for n, day in enumerate(days):
        t = np.arange(0.0, 12.0 * HOUR, 600.0) + noon - 12.0 * HOUR + n * 24.0 * HOUR
        up = sun_place(site, begins, t)[0]
        rise = float(t[np.argmax(up > 0.0)]) if (up > 0.0).any() else noon - 5.0 * HOUR + n * 24.0 * HOUR
        times += [rise, noon + 3.0 * HOUR + n * 24.0 * HOUR]
        values += [day.low, day.high]
    # the night before the first and after the last of the days belongs to their own low
    times = [times[1] - 24.0 * HOUR, *times, times[-2] + 24.0 * HOUR]
    values = [days[0].high, *values, days[-1].low]
    return np.array(times), np.array(values)


def _typed_row(k: int, when: datetime, day: DayFigures, turns: tuple[Floats, Floats]) -> WeatherRow:
    t = k * HOUR
    times, values = turns
    i = int(np.clip(np.searchsorted(times, t) - 1, 0, times.size - 2))
    part = (t - times[i]) / (times[i + 1] - times[i])
    share = 0.5 * (1.0 - np.cos(np.pi * np.clip(part, 0.0, 1.0)))
    warm = float(values[i] + share * (values[i + 1] - values[i]))
    dew = _typed_dew(day)
    swing = np.cos(2.0 * np.pi * (t - times[2]) / (24.0 * HOUR)) / 3.0
    return WeatherRow(
        k + 1,
        when,
        {
            "temperature": warm,
            "dew": min(dew, warm),
            "wind": day.wind_speed * float(1.0 + swing),
            "cloud": day.cloud_share,
            "rain": day.rain_chance,
        },
    )


def relative_humidity(weather: Weather) -> Floats:
    """Return the relative humidity [-] of each hour."""
    return humidity(weather.air_temperature, weather.dew_point)
