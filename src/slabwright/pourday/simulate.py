"""Panels through the model: a base warmed by the days before, concrete placed on it, covers on and off."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from slabwright.measure import HOUR
from slabwright.pourday.column import Column, column
from slabwright.pourday.draws import Draws, bleed_of, delivered_of, hydration_of, vary_of
from slabwright.pourday.events import Finishing, finishing, later
from slabwright.pourday.forcing import Forcing, forcing, overs_of
from slabwright.pourday.kernel import BLOCK, Bleed, Switch, Trace, run, switch_to
from slabwright.pourday.mix import Hydration
from slabwright.pourday.model import Cure, Floats, MixDay, Obstacle, PanelDay, Protection, Site, Weather
from slabwright.pourday.tables import cover_row, over, rule

STEP = 600.0  # [s]
FINISHING = 36.0 * HOUR  # finishing is looked for so long
LONGEST = 10.0 * 24.0 * HOUR


@dataclass(frozen=True, slots=True)
class Setting:
    """What all panels of a run share. `midnight` [s] of the pour's day, after the weather begins.

    `shelter` [-] wind at the slab over wind at 10 m, None: open ground; `ground` [degC] deep in the soil,
    None: the mean of the first day's air.
    """

    weather: Weather
    site: Site
    mix: MixDay
    midnight: float
    protections: tuple[Protection, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()
    shelter: float | None = None
    ground: float | None = None
    cure: Cure = "compound"
    reach: float = LONGEST


@dataclass(frozen=True, slots=True)
class Ran:
    """Panels of one thickness and base, run: which ones, what the model left, and when things happen.

    `placed` [s after the weather begins] and `horizon` [s after placing] by panel; `times` by name.
    """

    panels: tuple[int, ...]
    placed: Floats
    horizon: Floats
    trace: Trace
    forcing: Forcing
    mix: Hydration
    finish: Finishing
    times: dict[str, Floats]


def with_lead(weather: Weather, hours: int) -> Weather:
    """Return the weather with its first day repeated before it, for the base's warmth only."""
    if hours <= 0:
        return weather
    first = min(24, weather.hours)
    rows = (np.arange(-hours, 0)) % first

    def led(values: Floats) -> Floats:
        return np.concatenate([values[rows], values])

    return replace(
        weather,
        begins=weather.begins - timedelta(hours=hours),
        air_temperature=led(weather.air_temperature),
        dew_point=led(weather.dew_point),
        wind_speed=led(weather.wind_speed),
        cloud_share=led(weather.cloud_share),
        rain_chance=None,
        sun_power=None if weather.sun_power is None else led(weather.sun_power),
    )


def base_profiles(
    setting: Setting, base: float, places: tuple[tuple[float, float], ...], placed: Floats
) -> Floats:
    """Return temperatures of base and soil at placing [degC], (nodes, panels), base's surface first.

    The bare, damp base lies two days under the weather before; where that is not given, the first day's
    weather stands in for the days before it (a finding says so).
    """
    bare = column(0.0, base)
    lead = int(np.ceil(max(0.0, rule("spin_up") - float(placed.min())) / HOUR))
    weather = with_lead(setting.weather, lead)
    shifted = placed + lead * HOUR
    begin = np.floor((float(shifted.min()) - rule("spin_up")) / STEP) * STEP
    steps = max(1, int(np.ceil((float(shifted.max()) - begin) / STEP)))
    day = setting.weather.air_temperature[: min(24, setting.weather.hours)]
    deep = float(np.mean(day)) if setting.ground is None else setting.ground
    drive = forcing(
        weather,
        setting.site,
        np.full(placed.size, begin),
        steps,
        STEP,
        places=places,
        obstacles=setting.obstacles,
        shelter=setting.shelter,
    )
    nothing = Hydration(*(np.asarray(1.0) for _ in range(9)))
    damp = Switch(0.0, 0.0, rule("base_wet"), rule("absorbed_fresh"))
    made = run(
        bare,
        nothing,
        Bleed(0.0, 1.0, np.inf),
        drive,
        np.full((bare.nodes, 1, 1), deep),
        (damp,),
        lanes=(placed.size, 1),
        profiles=True,
    ).profile[..., 0]
    k = np.minimum(((shifted - begin) / STEP).astype(int), steps - 1)
    part = (shifted - begin) / STEP - k
    lane = np.arange(placed.size)
    return np.asarray(((1.0 - part)[:, None] * made[k, :, lane] + part[:, None] * made[k + 1, :, lane]).T)


def begin_of(whole: Column, base: float, below: Floats, concrete: Floats) -> Floats:
    """Return temperatures at placing (n, panels, samples) [degC]: concrete on its base.

    The node between them holds both and begins at their mean by capacity, so no heat is made or lost.
    """
    bare = column(0.0, base)
    between = whole.live - 1
    made = np.empty((whole.nodes, *concrete.shape))
    made[:between] = concrete
    made[between:] = below[:, :, None]
    share = bare.capacity[0] / whole.capacity[between]
    made[between] = share * below[0][:, None] + (1.0 - share) * concrete
    return made


def simulate(setting: Setting, panels: tuple[PanelDay, ...], placed: Floats, draws: Draws) -> tuple[Ran, ...]:
    """Return what happens to each panel, panels of one make together as far as memory allows.

    :param placed: when each leaves the chute [s after the weather begins], (panels,).
    :param draws: the simulated days, for as many panels.
    """
    groups: dict[tuple[float, float], list[int]] = {}
    for n, panel in enumerate(panels):
        groups.setdefault((round(panel.thickness, 6), round(panel.base, 6)), []).append(n)
    most = max(1, BLOCK // draws.samples)  # panels at a time, so that a big job's traces fit the memory
    return tuple(
        _group(setting, panels, tuple(part), placed[part], draws.some(tuple(part)), *make)
        for make, rows in groups.items()
        for part in (rows[k : k + most] for k in range(0, len(rows), most))
    )


def _group(
    setting: Setting,
    panels: tuple[PanelDay, ...],
    rows: tuple[int, ...],
    placed: Floats,
    draws: Draws,
    thickness: float,
    base: float,
) -> Ran:
    whole = column(thickness, base)
    places = tuple(panels[n].at for n in rows)
    last = (setting.weather.hours - 1) * HOUR
    horizon = np.minimum(last - placed, setting.reach)
    waited = np.array([panels[n].waited for n in rows])
    mix, bleed = hydration_of(setting.mix, draws, waited), bleed_of(setting.mix, thickness, draws)
    below = base_profiles(setting, base, places, placed)
    begin = begin_of(whole, base, below, delivered_of(setting.mix, draws))
    lanes = (len(rows), draws.samples)

    def drive(seconds: float) -> Forcing:
        return forcing(
            setting.weather,
            setting.site,
            placed,
            max(1, int(np.ceil(seconds / STEP))),
            STEP,
            places=places,
            obstacles=setting.obstacles,
            shelter=setting.shelter,
            overs=overs_of(setting.protections, setting.midnight),
            vary=vary_of(draws),
        )

    longest = float(horizon.max())
    fresh = _switches(setting, placed, np.full(lanes, np.inf))
    first = run(whole, mix, bleed, drive(min(longest, FINISHING)), begin, fresh, lanes=lanes)
    finish = finishing(first, mix, horizon)
    if setting.reach <= FINISHING:
        return Ran(rows, placed, horizon, first, drive(min(longest, FINISHING)), mix, finish, {})
    weather = drive(longest)
    trace = run(whole, mix, bleed, weather, begin, _switches(setting, placed, finish.cure_on), lanes=lanes)
    return Ran(rows, placed, horizon, trace, weather, mix, finish, later(trace, mix, horizon))


def _switches(setting: Setting, placed: Floats, cure_on: Floats) -> tuple[Switch, ...]:
    """Return the surface's changes: film, cure, then covers on and off; covers wait for the broom."""
    made: list[Switch] = []
    for p in setting.protections:
        if p.cover == "film":
            on = np.maximum(p.on + setting.midnight - placed, 0.0)[:, None]
            made.append(Switch(on, 0.0, over("film", "wet"), rule("absorbed_fresh")))
    made.append(switch_to(setting.cure, cure_on))
    for p in setting.protections:
        if p.cover in {"blanket", "sheet", "burlap"}:
            on = (p.on + setting.midnight - placed)[:, None]
            end = np.inf if p.off is None else (p.off + setting.midnight - placed)[:, None]
            begun = np.maximum(on, cure_on)
            made.append(switch_to(p.cover, np.where(begun < end, begun, np.inf)))
            back = Switch(np.where(begun < end, end, np.inf), *cover_row(setting.cure))
            made.append(back)
    return tuple(made)
