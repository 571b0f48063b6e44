"""Columns, weather and a stiff reference integrator for the tests of the pour day."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone

import numpy as np
from scipy.integrate import LSODA

from slabwright.pourday.column import CELLS, STRETCH, Column, column
from slabwright.pourday.events import reached
from slabwright.pourday.forcing import Forcing, forcing
from slabwright.pourday.kernel import Bleed, Switch, Trace, run, switch_to
from slabwright.pourday.mix import Hydration, hydration
from slabwright.pourday.model import MixDay, PanelDay, Site, Weather
from slabwright.pourday.tables import rule
from slabwright.pourday.weather import DayFigures, from_days

CHICAGO = Site.of_degrees(41.9, -87.6, "America/Chicago")
CENTRAL = timezone(timedelta(hours=-6))
MIX = MixDay(cement="type-i", strength=31e6, entrained=False)


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def typed(
    low: float, high: float, *, rh: float = 0.55, mph: float = 6.0, sky: float = 0.3, rain: float = 0.0
) -> DayFigures:
    """A day in the trade's units."""
    return DayFigures(
        celsius(low),
        celsius(high),
        relative=rh,
        wind_speed=mph * 0.44704,
        cloud_share=sky,
        rain_chance=rain,
    )


MILD, HOT = typed(52, 74), typed(74, 95, rh=0.4, mph=12, sky=0.1)
COOL, COLD = typed(40, 55, rh=0.65, sky=0.7), typed(24, 42, rh=0.6, mph=5, sky=0.1)


def days(day: DayFigures, count: int = 4, first: date = date(2026, 5, 12), site: Site = CHICAGO) -> Weather:
    return from_days(first, (day,) * count, site)[0]


def steady(
    *,
    air: float = 20.0,
    dew: float = 10.0,
    wind: float = 0.0,
    cloud: float = 0.0,
    hours: int = 97,
    begins: datetime = datetime(2026, 5, 12, tzinfo=CENTRAL),
) -> Weather:
    """The same weather every hour."""
    one = np.ones(hours)
    return Weather(begins, air * one, dew * one, wind * one, cloud * one)


def panels(
    count: int = 3, *, start: float = 7.0, apart: float = 0.5, thickness: float = 0.1016
) -> tuple[PanelDay, ...]:
    return tuple(
        PanelDay("walk", str(n + 1), (0.0, 2.0 * n), 3.0, thickness, 0.1016, (start + apart * n) * 3600.0)
        for n in range(count)
    )


def random_weather(rng: np.random.Generator, hours: int, *, calm: float) -> Weather:
    """Weather drawn at random for `hours` and half a day more; `calm` [m/s] is the least wind."""
    t = np.arange(hours + 14)
    swing = rng.uniform(2, 9)
    air = rng.uniform(-2, 30) + swing * np.sin((t - rng.uniform(8, 10)) * 2 * np.pi / 24)
    dew = air.min() - rng.uniform(0, 8) + 0 * t
    return Weather(
        datetime(2026, int(rng.integers(3, 12)), int(rng.integers(1, 28)), tzinfo=CENTRAL),
        air,
        dew,
        rng.uniform(calm, 9) * (1 + 0.3 * np.sin(t / 3.0)),
        np.full(t.size, rng.uniform(0, 1)),
    )


def random_case(
    rng: np.random.Generator, dt: float, hours: float
) -> tuple[Column, Hydration, Bleed, Forcing, np.ndarray]:
    """A slab, mix, weather and start drawn at random."""
    weather = random_weather(rng, int(hours), calm=0.3)
    drive = forcing(weather, CHICAGO, [rng.integers(6, 12) * 3600.0], int(hours * 3600 / dt), dt)
    thickness, base = rng.uniform(0.09, 0.15), rng.uniform(0.05, 0.2)
    whole = column(thickness, base)
    begin = np.full((whole.nodes, 1, 1), weather.air_temperature.mean())
    begin[: whole.live - 1] = rng.uniform(10, 32)
    begin[whole.live - 1] = 0.5 * (begin[0] + begin[-1])
    return whole, hydration(MIX), Bleed(8 * thickness, 1.5, 0.3), drive, begin


def reference(
    whole: Column,
    mix: Hydration,
    bleed: Bleed,
    drive: Forcing,
    begin: np.ndarray,
    switch: Switch | None = None,
    *,
    rtol: float = 1e-9,
    atol: float = 1e-9,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Surface [degC], te of the top inch [h] and film [kg/m2] at every whole step, by scipy's LSODA.

    Written from the equations alone: no linearisation, no shared stepping code. A switch must lie on a step.
    """
    n, live, dt = whole.nodes, whole.live, drive.dt
    half = np.arange(2 * drive.steps + 1) * 0.5 * dt
    rows = [drive.at(i) for i in range(half.size)]
    series = {
        name: np.array([float(np.ravel(getattr(row, name))[0]) for row in rows])
        for name in ("temperature", "vapour", "wind", "sky", "sun")
    }
    a, b, es0 = rule("es_a"), rule("es_b"), rule("es_0")
    tau, beta, top, heat, energy = (
        float(getattr(mix, k)) for k in ("tau", "beta", "ultimate", "heat", "energy")
    )
    te_0 = float(mix.te_0)
    at = np.inf if switch is None else float(np.asarray(switch.at))

    def slope(t: float, y: np.ndarray, after: bool) -> np.ndarray:
        warm, te, film = y[:n], y[n : n + live], y[-1]
        resistance, wet, absorbed = (0.0, 1.0, rule("absorbed_fresh"))
        if after and switch is not None:
            resistance, wet, absorbed = switch.resistance, switch.wet, switch.absorbed
        now = {name: np.interp(t, half, values) for name, values in series.items()}
        factor = rule("menzel_c") * (0.253 + 0.06 * 3.6 * now["wind"]) / 3600.0
        stir = 2.8 + 3.0 * now["wind"]

        def open_flux(surface: float) -> tuple[float, float]:
            lack = es0 * np.exp(a * surface / (surface + b)) - now["vapour"]
            gate = 1.0 if lack < 0 else np.exp(min(film, 0.0) / float(np.asarray(bleed.drying)))
            water = factor * wet * gate * lack
            flux = absorbed * now["sun"] + 0.92 * (now["sky"] - 5.670374419e-8 * (surface + 273.15) ** 4)
            return flux + stir * (now["temperature"] - surface) - 2.45e6 * water, water

        outer = warm[0]
        for _ in range(60 if resistance else 0):  # the cover's outer face, by Newton with a numerical slope
            q, _w = open_flux(outer)
            gap = outer - warm[0] - resistance * q
            step = gap / (1.0 - resistance * (open_flux(outer + 1e-4)[0] - q) / 1e-4)
            outer -= step
            if abs(step) < 1e-11:
                break
        q, water = open_flux(outer)
        rate = np.exp(energy * (1.0 / 294.25 - 1.0 / (warm[:live] + 273.15)))
        grow = top * np.exp(-((tau / te) ** beta)) * (tau / te) ** beta * beta / te
        flow = whole.conductance * (warm[:-1] - warm[1:])
        gain = np.zeros(n)
        gain[0] += q
        gain[:-1] -= flow
        gain[1:] += flow
        gain[:live] += heat * whole.concrete[:live] * grow * rate / 3600.0
        time = float(np.asarray(bleed.time))
        mean = whole.mean[:live] @ te
        up = (
            float(np.asarray(bleed.capacity))
            / time
            * np.exp(-(mean - te_0) / time)
            * (whole.mean[:live] @ rate)
        )
        return np.concatenate([gain / whole.capacity, rate / 3600.0, [up / 3600.0 - water]])

    state = np.concatenate([begin[:, 0, 0], np.full(live, te_0), [0.0]])
    times = np.arange(drive.steps + 1) * dt
    made = [state]
    pieces = [(0.0, min(at, times[-1]), False), (min(at, times[-1]), times[-1], True)]
    for first, last, after in pieces:
        if last <= first:
            continue
        solver = LSODA(
            lambda t, y, after=after: slope(t, y, after),
            first,
            state,
            last,
            rtol=rtol,
            atol=atol,
            max_step=900.0,
        )
        wanted = [t for t in times if first < t <= last + 1e-6]
        while solver.status == "running" and wanted:
            solver.step()
            dense = solver.dense_output()
            while wanted and wanted[0] <= solver.t + 1e-9:
                made.append(dense(wanted.pop(0)))
        state = solver.y
    found = np.array(made)
    return found[:, 0], found[:, n : n + live] @ whole.top[:live], found[:, -1]


def random_slab(
    seed: int, cells: tuple[int, int, int], stretch: float, dt: float, hours: int = 72
) -> tuple[Trace, list[float]]:
    """A slab drawn at random, run on a grid, with the moments [s] at which its cover changes."""
    rng = np.random.default_rng(seed)
    weather = random_weather(rng, hours, calm=0.5)
    placed = rng.integers(6, 14) * 3600.0
    thickness, base, warm = rng.uniform(0.089, 0.153), rng.uniform(0.05, 0.2), rng.uniform(10, 32)
    cure = rng.uniform(2, 8) * 3600 // 600 * 600
    changes = [0.0, cure]
    switches = [switch_to("compound", cure)]
    if rng.uniform() < 0.4:
        on = cure + rng.integers(1, 30) * 600.0
        off = on + rng.integers(20, 200) * 600.0
        switches += [switch_to("blanket", on), switch_to("compound", off)]
        changes += [on, off]
    whole = column(thickness, base, cells, stretch)
    between = whole.live - 1
    begin = np.full((whole.nodes, 1, 1), weather.air_temperature.mean())
    begin[:between] = warm
    above = 0.5 * (whole.depth[between] - whole.depth[between - 1]) * rule("concrete_c")
    share = above / whole.capacity[between]
    begin[between] = share * warm + (1.0 - share) * weather.air_temperature.mean()
    drive = forcing(weather, CHICAGO, [placed], int(hours * 3600 / dt), dt)
    made = run(whole, hydration(MIX), Bleed(8 * thickness, 1.5, 0.3), drive, begin, tuple(switches))
    return made, changes


def grid_errors(seed: int) -> tuple[float, float, float, float]:
    """Worst and rms surface error [K] away from changes, and set errors [min], against a fine grid."""
    ours, changes = random_slab(seed, CELLS, STRETCH, 600.0)
    fine = random_slab(seed, (32, 12, 28), 1.0, 60.0)[0]
    t = 600.0 * np.arange(ours.surface.shape[0])
    calm = np.all([np.abs(t - at) > 1800 for at in changes], axis=0)
    gap = (ours.surface[:, 0, 0] - fine.surface[::10, 0, 0])[calm]
    mix = hydration(MIX)
    late = [
        abs(reached(ours.te_top, mark, 600.0) - reached(fine.te_top, mark, 60.0))[0, 0] / 60
        for mark in (mix.te_initial, mix.te_final)
    ]
    return float(np.abs(gap).max()), float(np.sqrt((gap**2).mean())), float(late[0]), float(late[1])
