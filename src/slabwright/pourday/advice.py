"""Go, wait or no for each day that the weather covers, with the start that suits it best and the reasons."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from slabwright.findings import Level
from slabwright.measure import HOUR
from slabwright.pourday.clocks import since_begin
from slabwright.pourday.day import forecast
from slabwright.pourday.model import (
    Advice,
    Cure,
    DayAdvice,
    MixDay,
    Obstacle,
    PanelDay,
    Protection,
    Site,
    Weather,
)
from slabwright.pourday.weather import WeatherError

STARTS = (6.0 * HOUR, 8.0 * HOUR, 10.0 * HOUR, 12.0 * HOUR)
FEW = 32
REACH = 96.0 * HOUR
LEAST = 30.0 * HOUR  # of weather after the start: less says nothing of the first night
WAIT = {
    "rain-fresh",
    "shrink-likely",
    "frost-possible",
    "night-pour",
    "concrete-cold",
    "weather-ends-in-finishing",
}
"""Findings below 'stop' that speak for another day or another hour."""


def advise(
    panels: tuple[PanelDay, ...],
    weather: Weather,
    site: Site,
    mix: MixDay,
    *,
    first: date,
    days: int,
    protections: tuple[Protection, ...] = (),
    obstacles: tuple[Obstacle, ...] = (),
    cure: Cure = "compound",
    seed: int = 1,
) -> tuple[DayAdvice, ...]:
    """Return one line for each day from `first` on that the weather covers to the next day's noon.

    The panels' own clocks say how long after the first one each is placed. Days that the weather does not
    cover are left out. ValueError without panels.
    """
    if not panels:
        raise ValueError("a pour needs a panel")
    begin = min(p.placed_at for p in panels)
    ends = {min(panels, key=_placed), max(panels, key=_placed)}
    made: list[DayAdvice] = []
    for n in range(days):
        day = first + timedelta(days=n)
        tried = []
        for start in STARTS:
            if since_begin(weather, day, start) + LEAST > (weather.hours - 1) * HOUR:
                continue
            moved = tuple(
                replace(p, placed_at=p.placed_at - begin + start) for p in sorted(ends, key=_placed)
            )
            try:
                told = forecast(
                    moved,
                    weather,
                    site,
                    mix,
                    day=day,
                    protections=protections,
                    obstacles=obstacles,
                    cure=cure,
                    samples=FEW,
                    seed=seed,
                    reach=REACH,
                )
            except WeatherError:
                continue
            stops = {f.code for f in told.findings if f.level is Level.STOP}
            waits = {f.code for f in told.findings} & WAIT
            tried.append((len(stops), len(waits), start, stops | waits))
            if not stops and not waits:
                break  # no later start can be better
        if tried:
            best = min(tried, key=lambda row: row[:3])
            verdict: Advice = "no" if best[0] else "wait" if best[1] else "go"
            made.append(DayAdvice(day.isoformat(), verdict, best[2], tuple(sorted(best[3]))))
    return tuple(made)


def _placed(panel: PanelDay) -> tuple[float, str, str]:
    return panel.placed_at, panel.slab, panel.panel
