"""The weather of the pour as the job file holds it: a file of hours, or a day's figures typed in."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from slabwright.notes.rows import Row
from slabwright.notes.values import Day, Share, Sky, Speed, Temperature


class WeatherNotes(Row):
    """Hourly weather in a file, or one day's low, high, moisture, wind and sky; and the day of the pour."""

    file: Annotated[str, Field(min_length=1, max_length=400)] | None = None  # beside the job file
    day: Day | None = None  # of the pour
    low: Temperature | None = None
    high: Temperature | None = None
    humidity: Share | None = None  # at the day's mean temperature
    dew_point: Temperature | None = None
    wind: Speed | None = None
    sky: Sky | None = None  # share of it that is cloud
    rain: Share | None = None  # chance of it
    days: Annotated[int, Field(ge=1, le=10)] | None = None  # for which the figures hold
