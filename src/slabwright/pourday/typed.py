"""The weather of a pour as a person says it: a day's figures, or a table that begins on some day."""

from __future__ import annotations

from datetime import date, timedelta

from slabwright.findings import Finding, find
from slabwright.notes.models_weather import WeatherNotes
from slabwright.pourday.model import Site, Weather
from slabwright.pourday.weather import DayFigures, WeatherError, from_days

SAME_DAYS = 3  # for how many days figures typed in hold, where nothing says otherwise (a finding says so)
WHOLE = 36  # [h] a table shorter than this is of the day that it begins on


def of_figures(figures: WeatherNotes, site: Site, day: date) -> tuple[Weather, date, tuple[Finding, ...]]:
    """Return the weather of a day's figures, its day, and what should be known of it.

    Raises WeatherError where one of the figures is missing.
    """
    low, high, wind, sky = figures.low, figures.high, figures.wind, figures.sky
    if low is None or high is None or wind is None or sky is None:
        raise WeatherError("a day's figures are its low, high, humidity (or dew point), wind and sky")
    one = DayFigures(
        low,
        high,
        relative=figures.humidity,
        dew_point=figures.dew_point,
        wind_speed=wind,
        cloud_share=sky,
        rain_chance=figures.rain or 0.0,
    )
    count = figures.days or SAME_DAYS
    weather, found = from_days(day, (one,) * count, site)
    if count > 1:
        found = (*found, find("pourday", "weather-same-days", days=count))
    return weather, day, found


def first_day(weather: Weather) -> date:
    """Return the first day that the weather has from its midnight on, else the day that it begins on."""
    begins = weather.begins
    whole = begins.hour == 0 or weather.hours < WHOLE
    return begins.date() if whole else begins.date() + timedelta(days=1)
