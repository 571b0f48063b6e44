"""The room's stage: panels, weather and mix in, the day of the pour out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Literal

import numpy as np

from slabwright.findings import Finding
from slabwright.measure import HOUR
from slabwright.pourday.clocks import clock_of, since_begin
from slabwright.pourday.crew_model import Seen
from slabwright.pourday.draws import Draws, draw
from slabwright.pourday.events import bleed_rate, evaporation, freezes, shrinks
from slabwright.pourday.mix import check_mix
from slabwright.pourday.model import (
    Band,
    Cold,
    Cure,
    Floats,
    HourRow,
    MixDay,
    Obstacle,
    PanelDay,
    PanelWindow,
    PourDay,
    Protection,
    Site,
    Weather,
)
from slabwright.pourday.moist import humidity, uno
from slabwright.pourday.says import day_findings, window_findings
from slabwright.pourday.simulate import LONGEST, Ran, Setting, simulate
from slabwright.pourday.tables import over, rule
from slabwright.pourday.weather import WeatherError
from slabwright.pourday.weigh import place_of, weigh

SAMPLES = 128
PERCENTS = (0.05, 0.50, 0.95)
NAMES = (
    "initial_set",
    "final_set",
    "saw_early",
    "saw",
    "saw_by",
    "strip",
    "walk",
    "drive",
    "frost_safe",
)


def forecast(
    panels: tuple[PanelDay, ...],
    weather: Weather,
    site: Site,
    mix: MixDay,
    *,
    day: date,
    protections: tuple[Protection, ...] = (),
    obstacles: tuple[Obstacle, ...] = (),
    shelter: float | None = None,
    ground: float | None = None,
    cure: Cure = "compound",
    samples: int = SAMPLES,
    seed: int = 1,
    reach: float | None = None,
    seen: tuple[Seen, ...] = (),
) -> PourDay:
    """Return the windows of each panel, hour by hour what the weather does to it, and what to look out for.

    :param day: the day of the pour; clocks of panels and protections count from its midnight.
    :param obstacles: walls and trees that shade, in the plan's own directions (see Site.north).
    :param shelter: wind at the slab over wind at 10 m [-]; 0.7 of open ground where None.
    :param ground: temperature deep in the soil [degC]; the first day's mean air where None.
    :param cure: what goes on after the broom; burlap is kept wet.
    :param samples: simulated days, the likely one among them; `seed` chooses them.
    :param reach: follow the concrete no longer than this [s]; ten days where None.
    :param seen: what was seen during the pour: the days that agree with it count. `placed_at` of the panels
        is taken to be known already. ValueError for a panel that there is not.

    Raises ValueError for no panels or a mix that cannot be, WeatherError where the weather does not cover
    the placing of every panel. Nothing is carried on past the weather's end.
    """
    if not panels:
        raise ValueError("a pour needs a panel")
    check_mix(mix)
    placed = np.array([since_begin(weather, day, p.placed_at) for p in panels])
    last = (weather.hours - 1) * HOUR
    for panel, t in zip(panels, placed, strict=True):
        if not 0.0 <= t <= last - HOUR:
            raise WeatherError(
                f"panel {panel.panel} of {panel.slab} is placed outside the weather given, which runs from "
                f"{weather.begins.isoformat()} for {weather.hours} hours"
            )
    setting = Setting(
        weather,
        site,
        mix,
        since_begin(weather, day, 0.0),
        protections=protections,
        obstacles=obstacles,
        shelter=shelter,
        ground=ground,
        cure=cure,
        reach=LONGEST if reach is None else reach,
    )
    ran = simulate(setting, panels, placed, _draws(panels, samples, seed))
    weights = _weights(ran, panels, seen)
    windows: dict[int, PanelWindow] = {}
    hours: dict[int, tuple[HourRow, ...]] = {}
    dragged: dict[int, float] = {}
    for group in ran:
        risk = _Risk(group, setting, weights)
        for row, n in enumerate(group.panels):
            windows[n] = _window(panels[n], group, row, setting, day, risk)
            hours[n] = _hours(panels[n], group, row, setting, day, risk)
            dragged[n] = float(group.finish.dragged[row] @ risk.weights)
    order = range(len(panels))
    result = PourDay(
        date=day.isoformat(),
        zone=site.zone or str(weather.begins.tzinfo),
        known_until=clock_of(weather, day, last),
        samples=samples,
        windows=tuple(windows[n] for n in order),
        hours=tuple(row for n in order for row in hours[n]),
        cold=_cold(weather, day, placed, tuple(windows.values())),
    )
    found: list[Finding] = [*day_findings(result, weather, site, mix, placed, day)]
    found += window_findings(result, mix, tuple(dragged[n] for n in order), tuple(p.sawn for p in panels))
    return replace(result, findings=tuple(found))


def _draws(panels: tuple[PanelDay, ...], samples: int, seed: int) -> Draws:
    """Return the simulated days for panels, those of one truck with the same concrete."""
    known: dict[tuple[str, int], int] = {}
    rows = [
        known.setdefault(("own", n) if p.truck is None else ("truck", p.truck), len(known))
        for n, p in enumerate(panels)
    ]
    return draw(len(known), samples, seed).some(tuple(rows))


def _weights(ran: tuple[Ran, ...], panels: tuple[PanelDay, ...], seen: tuple[Seen, ...]) -> Floats | None:
    """Return the weights of the simulated days (samples,) by what was seen; None where nothing was."""
    names = [(p.slab, p.panel) for p in panels]
    rows = {n: (group, row) for group in ran for row, n in enumerate(group.panels)}
    took: list[Floats] = []
    known: list[float] = []
    for one in seen:
        if one.what == "placed":
            continue
        n = place_of(one, names)
        group, row = rows[n]
        finish = group.finish
        took.append((finish.sheen_gone if one.what == "sheen_gone" else finish.broom)[row])
        known.append(one.clock - panels[n].placed_at)
    return weigh(took, known).weights if took else None


def band_of(
    times: Floats, weather: Weather, day: date, offset: float = 0.0, weights: Floats | None = None
) -> Band:
    """Return the band of one event over its samples, `times` [s] counted from `offset` [s, weather].

    `weights` (samples,) of sum 1, alike where None. A percentile that falls among samples in which it does
    not happen is None.
    """
    order = np.argsort(times, kind="stable")
    ordered = times[order]
    count = ordered.size
    if weights is None:
        below = np.arange(count) / max(count - 1, 1)
    else:
        sum_ = np.cumsum(weights[order])
        below = (sum_ - sum_[0]) / max(sum_[-1] - sum_[0], 1e-300)

    def percentile(share: float) -> float | None:
        high = min(int(np.searchsorted(below, share - 1e-12)), count - 1)
        low = max(high - 1, 0)
        if not np.isfinite(ordered[high]):
            return None
        gap = below[high] - below[low]
        part = (share - below[low]) / gap if gap > 0.0 else 1.0
        value = ordered[low] + min(max(part, 0.0), 1.0) * (ordered[high] - ordered[low])
        return clock_of(weather, day, float(value) + offset)

    marks = [percentile(share) for share in PERCENTS]
    happens = np.isfinite(times)
    chance = float(happens.mean()) if weights is None else float(weights @ happens)
    return Band(marks[0], marks[1], marks[2], min(chance, 1.0))


class _Risk:
    """Evaporation of a group's panels while their surface is open, and how much each simulated day counts."""

    def __init__(self, group: Ran, setting: Setting, weights: Floats | None) -> None:
        samples = group.finish.broom.shape[1]
        self.told = weights
        self.weights = np.full(samples, 1.0 / samples) if weights is None else weights
        mix = setting.mix
        cure = group.finish.cure_on
        end = float(np.where(np.isfinite(cure), cure, 0.0).max())
        steps = min(group.trace.surface.shape[0] - 1, int(end / group.trace.dt) + 2)
        self.steps = max(1, steps)
        self.asked = evaporation(group.trace, group.forcing, self.steps)
        self.asked *= _under_film(group, setting, self.steps)
        self.rate = bleed_rate(group.trace)
        low = rule("evaporation_caution") / HOUR
        # mixes that bleed little are held to half the limit
        self.limit = low if mix.entrained else rule("evaporation_act") / HOUR
        self.caution = 0.5 * self.limit if mix.entrained else low
        self.over = shrinks(self.asked, group.trace, cure, self.limit)


def _under_film(group: Ran, setting: Setting, steps: int) -> Floats:
    """Return the share of evaporation that an evaporation retarder lets through, (steps + 1, panels, 1)."""
    share = np.ones((steps + 1, len(group.panels), 1))
    t = group.trace.dt * np.arange(steps + 1)[:, None, None]
    for p in setting.protections:
        if p.cover == "film":
            on = p.on + setting.midnight - group.placed[:, None]
            share = np.where(t >= on, over("film", "wet"), share)
    return share


def _window(panel: PanelDay, group: Ran, row: int, setting: Setting, day: date, risk: _Risk) -> PanelWindow:
    weather, offset = setting.weather, float(group.placed[row])

    def band(times: Floats) -> Band:
        return band_of(times[row], weather, day, offset, risk.told)

    finish, times = group.finish, group.times
    never = np.full_like(finish.broom, np.inf)
    known = int(group.horizon[row] / group.trace.dt)
    surface = group.trace.surface[: known + 1, row, 0]
    frost = freezes(group.trace, times.get("frost_safe", never), group.horizon)
    lit = group.forcing.direct[:, row, 0] * (group.forcing.clear[:, row, 0] > 0.0)
    midnight = setting.midnight + 24.0 * HOUR - offset
    rows = int(np.clip(2.0 * midnight / group.trace.dt, 0, lit.size))
    return PanelWindow(
        slab=panel.slab,
        panel=panel.panel,
        placed_at=panel.placed_at,
        strike_off=band(np.zeros_like(finish.broom) + rule("strike_lag")),
        sheen_gone=band(finish.sheen_gone),
        edge=band(finish.edge),
        broom=band(finish.broom),
        broom_end=band(finish.broom_end),
        cure_on=band(finish.cure_on),
        **{name: band(times.get(name, never)) for name in NAMES},
        frost_chance=float(frost[row] @ risk.weights),
        shrink_chance=float((risk.over[:, row].max(axis=0) > 0.0) @ risk.weights),
        sun=float(lit[:rows].sum() * 0.5 * group.trace.dt),
        warmest=float(surface.max()),
        coldest=float(surface.min()),
    )


def _hours(
    panel: PanelDay, group: Ran, row: int, setting: Setting, day: date, risk: _Risk
) -> tuple[HourRow, ...]:
    """Return the likely run of one panel by the hour, for the first day after placing."""
    made = []
    dt = group.trace.dt
    every = int(HOUR / dt)
    cure = float(group.finish.cure_on[row, 0])
    last = min(int(24 * HOUR / dt), int(group.horizon[row] / dt))
    for k in range(0, last + 1, every):
        air = group.forcing.at(2 * k)
        seconds = k * dt
        surface, film = float(group.trace.surface[k, row, 0]), float(group.trace.film[k, row, 0])
        warm, wind = float(air.temperature[row, 0]), float(air.wind[row, 0])
        dew = float(group.forcing.dew[2 * k, row, 0])
        open_ = seconds <= cure and film > -rule("drying") and k <= risk.steps
        asked = float(risk.asked[k, row, 0]) if open_ else None
        rate = float(risk.rate[min(k, risk.rate.shape[0] - 1), row, 0])
        shares = risk.over[k : k + every, row]
        made.append(
            HourRow(
                slab=panel.slab,
                panel=panel.panel,
                clock=clock_of(setting.weather, day, float(group.placed[row]) + seconds),
                air_temperature=warm,
                surface_temperature=surface,
                wind_speed=wind,
                evaporation=asked,
                evaporation_uno=float(uno(surface, warm, float(humidity(warm, min(dew, warm))), wind))
                if open_
                else None,
                bleed_rate=max(rate, 0.0),
                film=film,
                shrink_chance=float((shares.max(axis=0) > 0.0) @ risk.weights) if shares.size else 0.0,
                risk=_risk(asked, rate, risk),
            )
        )
    return tuple(made)


def _risk(asked: float | None, rate: float, risk: _Risk) -> Literal["none", "caution", "act"]:
    if asked is None or asked < risk.caution:
        return "none"
    return "act" if asked >= risk.limit and asked > rate else "caution"


def _cold(weather: Weather, day: date, placed: Floats, windows: tuple[PanelWindow, ...]) -> Cold:
    """Return whether cold weather rules bind, as the trade defines it, and for how long."""
    hours = np.arange(weather.hours) * HOUR
    begin = float(placed.min())
    end = float(placed.max()) + rule("cold_period")
    during = (hours >= begin - HOUR) & (hours <= end)
    air = weather.air_temperature
    needed = bool((air[during] < rule("cold_air")).any())
    last = (weather.hours - 1) * HOUR
    coldest = min(w.coldest for w in windows)
    return Cold(
        needed=needed,
        held=rule("cold_least"),
        begins=clock_of(weather, day, begin) if needed else None,
        until=clock_of(weather, day, end) if needed and end <= last else None,
        coldest=coldest,
    )
