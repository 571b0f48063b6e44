"""The clock on the wall and the seconds after the weather begins, across the day that the clocks change."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, tzinfo

from slabwright.pourday.model import Weather


def since_begin(weather: Weather, day: date, clock: float) -> float:
    """Return seconds after the weather begins [s] at a clock [s] of a day, in the weather's own zone."""
    midnight = datetime(day.year, day.month, day.day)
    wall = (midnight + timedelta(seconds=clock)).replace(tzinfo=_zone(weather))
    return (wall.astimezone(UTC) - weather.begins.astimezone(UTC)).total_seconds()


def clock_of(weather: Weather, day: date, seconds: float) -> float:
    """Return the clock on the wall [s after midnight of `day`] at seconds after the weather begins."""
    moment = weather.begins.astimezone(UTC) + timedelta(seconds=seconds)
    wall = moment.astimezone(_zone(weather)).replace(tzinfo=None)
    return (wall - datetime(day.year, day.month, day.day)).total_seconds()


def clocks_change(weather: Weather, day: date) -> float:
    """Return how far the clocks go forward (+) or back (-) on a day [s], 0.0 on most."""
    zone = _zone(weather)
    begin = datetime(day.year, day.month, day.day, tzinfo=zone)
    end = datetime.combine(day + timedelta(days=1), datetime.min.time(), tzinfo=zone)
    first, last = begin.utcoffset(), end.utcoffset()
    assert first is not None
    assert last is not None
    return (last - first).total_seconds()


def _zone(weather: Weather) -> tzinfo:
    zone = weather.begins.tzinfo
    if zone is None:
        raise ValueError("the weather does not know its zone")
    return zone
