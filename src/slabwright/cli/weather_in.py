"""Weather at the edge: a file that the job or the person names, or figures typed in."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from slabwright.cli.talk import UNUSABLE, Steps, leave, show
from slabwright.files import head_of

if TYPE_CHECKING:
    from datetime import date

    from slabwright.findings import Finding
    from slabwright.notes.models import Notes, WeatherNotes
    from slabwright.pourday.crew_model import PourAsked
    from slabwright.pourday.model import Site, Weather
    from slabwright.result import Plan

TYPICAL_BEFORE, TYPICAL_DAYS = 2, 10  # days taken from a typical year: before the pour, and in all
KINDS = (".csv", ".epw", ".json")


@dataclass(frozen=True, slots=True)
class Fetch:
    """That the weather service is to be asked: by whom, and the folder of its answers."""

    contact: str
    kept: Path


@dataclass(frozen=True, slots=True)
class Typed:
    """What was said of the weather: a file, a day's figures, or to ask; `day` of the pour as ISO text."""

    file: Path | None = None
    day: str | None = None
    figures: WeatherNotes | None = None
    fetch: Fetch | None = None


def of_notes(notes: Notes, job: Path) -> Typed | None:
    """Return what the job file says of the weather, its file looked for beside it; None where nothing."""
    written = notes.weather
    if written is None:
        return None
    if isinstance(written, str):
        return Typed(file=job.parent / written)
    if written.file is not None:
        return Typed(file=job.parent / written.file, day=written.day)
    return Typed(day=written.day, figures=written)


def with_pour(
    plan: Plan,
    said: Typed,
    *,
    start: float | None = None,
    asked: PourAsked | None = None,
    lang: str,
    quiet: bool = False,
) -> Plan:
    """Return the plan with its pour; ends with a message where the weather cannot be used."""
    from slabwright.plan import PlanError, pour
    from slabwright.pourday.weather import WeatherError

    steps = Steps(quiet)
    try:
        if said.fetch is not None:
            steps("asking the weather service")
        weather, day, told = _read(plan.notes, said)
        return pour(plan, weather, day=day, start=start, told=told, asked=asked, on_stage=steps)
    except WeatherError as error:
        steps.end()
        for finding in error.findings:
            show(finding, plan.notes, lang, err=True)
        leave(UNUSABLE, f"slabwright: weather: {error}. Nothing was planned for the pour.")
    except PlanError as error:
        steps.end()
        leave(UNUSABLE, f"slabwright: pour: {error}")
    finally:
        steps.end()


def _read(notes: Notes, said: Typed) -> tuple[Weather, date, tuple[Finding, ...]]:
    from datetime import date

    from slabwright.plan import pour_site
    from slabwright.pourday.typed import of_figures
    from slabwright.pourday.weather import WeatherError

    site = pour_site(notes)
    day = date.fromisoformat(said.day) if said.day else None
    if said.fetch is not None:
        return _of_service(said.fetch, site, day)
    if said.file is not None:
        return _of_file(said.file, site, day)
    if said.figures is None or day is None:
        raise WeatherError("figures typed in need the day of the pour, such as 2026-07-14")
    return of_figures(said.figures, site, day)


def _of_service(fetch: Fetch, site: Site, day: date | None) -> tuple[Weather, date, tuple[Finding, ...]]:
    from slabwright import __version__
    from slabwright.pourday import fetch as client
    from slabwright.pourday.typed import first_day
    from slabwright.pourday.weather_files import read_nws

    agent = f"slabwright/{__version__} ({fetch.contact})"
    text = client.fetch_forecast(site, agent=agent, cache=fetch.kept, service=client.SERVICE)
    weather, found = read_nws(text, site, origin="the weather service's forecast")
    return weather, day or first_day(weather), found


def _of_file(file: Path, site: Site, day: date | None) -> tuple[Weather, date, tuple[Finding, ...]]:
    from datetime import timedelta

    from slabwright.pourday.typed import first_day
    from slabwright.pourday.weather import WeatherError
    from slabwright.pourday.weather_files import MOST_BYTES, read_csv, read_epw, read_nws

    kind = file.suffix.lower()
    if kind not in KINDS:
        raise WeatherError(f"{file} is none of {', '.join(KINDS)}")
    try:
        text = head_of(file, 4 * MOST_BYTES).decode("utf-8-sig")
    except OSError as error:
        raise WeatherError(f"{file} cannot be read: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise WeatherError(f"{file} is no text: byte {error.start + 1} belongs to no letter") from error
    if kind == ".epw":
        if day is None:
            raise WeatherError(f"{file} is a typical year: say the day of the pour, such as 2026-07-14")
        first = day - timedelta(days=TYPICAL_BEFORE)
        weather, found = read_epw(text, first, TYPICAL_DAYS, site, origin=file.name)
        return weather, day, found
    reader = read_csv if kind == ".csv" else read_nws
    weather, found = reader(text, site, origin=file.name)
    return weather, day or first_day(weather), found
