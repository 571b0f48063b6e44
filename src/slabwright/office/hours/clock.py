"""The clock on the wall where a job lies."""

from __future__ import annotations

from datetime import datetime, tzinfo

from slabwright.notes.models import Notes
from slabwright.pourday.from_job import site_of
from slabwright.pourday.weather import WeatherError, zone_by_longitude, zone_of


def day_and_clock(notes: Notes, at: datetime) -> tuple[str, float]:
    """Return the day (ISO) and the clock [s] that a moment has where the job lies."""
    local = at.astimezone(_zone(notes))
    return local.date().isoformat(), local.hour * 3600.0 + local.minute * 60.0 + local.second


def _zone(notes: Notes) -> tzinfo | None:
    site = site_of(notes, notes.place.zone or "")
    if site is None:
        return None
    try:
        return zone_of(site) or zone_by_longitude(site)
    except WeatherError:  # a name that no table has: the weather's own message tells it
        return zone_by_longitude(site)
