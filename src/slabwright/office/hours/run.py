"""A job file's text with its weather to the plan of its pour, kept for as long as others ask for the same."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from slabwright.findings import Finding
from slabwright.notes.models import Notes
from slabwright.notes.models_weather import WeatherNotes
from slabwright.office.planning import Planned, planned
from slabwright.plan import PlanError, pour, pour_site
from slabwright.pourday.model import Weather
from slabwright.pourday.typed import first_day, of_figures
from slabwright.pourday.weather import WeatherError
from slabwright.pourday.weather_files import read_csv
from slabwright.result import Plan

KEPT = 16


@dataclass(frozen=True, slots=True)
class Run:
    """The plan with its pour, or why there is none; `wants` says that the weather is still missing."""

    plan: Plan | None
    why: str = ""
    wants: bool = False
    rows: tuple[Finding, ...] = ()


def wants_weather(notes: Notes, table: str) -> bool:
    """Return whether nothing, or too little, was said of the weather yet."""
    if table:
        return False
    said = notes.weather
    if not isinstance(said, WeatherNotes):
        return True
    moist = said.humidity is not None or said.dew_point is not None
    return not moist or None in (said.day, said.low, said.high, said.wind, said.sky)


def half_typed(made: Planned) -> bool:
    """Return whether the notes cannot be used because of their weather, as while it is being typed."""
    return any(mistake.field.partition(".")[0] == "weather" for mistake in made.mistakes)


@lru_cache(maxsize=KEPT)
def poured(text: str, name: str, table: str = "", table_name: str = "") -> Run:
    """Return the pour of a job file's text; `table` is hourly weather brought in, as CSV.

    Takes about a second where it was not asked for before. Never raises for what somebody wrote.
    """
    made = planned(text, name)
    if made.plan is None or made.notes is None:
        return Run(None, made.problem, wants=half_typed(made))
    if wants_weather(made.notes, table):
        return Run(None, wants=True)
    try:
        weather, day, told = _weather(made.notes, table, table_name)
        return Run(pour(made.plan, weather, day=day, told=told))
    except WeatherError as error:
        return Run(None, str(error), rows=error.findings)
    except PlanError as error:
        return Run(None, str(error))


def _weather(notes: Notes, table: str, name: str) -> tuple[Weather, date, tuple[Finding, ...]]:
    site = pour_site(notes)
    said = notes.weather if isinstance(notes.weather, WeatherNotes) else None
    day = date.fromisoformat(said.day) if said is not None and said.day else None
    if table:
        weather, found = read_csv(table, site, origin=name)
        return weather, day or first_day(weather), found
    if said is None or day is None:
        raise WeatherError("figures typed in need the day of the pour, such as 2026-07-14")
    return of_figures(said, site, day)
