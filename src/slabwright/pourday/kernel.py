"""The slab's heat and setting, many samples at a time.

    rho c dT/dt = d/dz (k dT/dz) + H d alpha/dt
    into the surface:  q = a G + eps (sky - sigma T^4) + h (air - T) - latent heat of evaporation

An implicit midpoint step is written as a backward half step y and T_new = 2 y - T:

    (2 C/dt + L) y = (2 C/dt) T + q(y) + heat

The matrix is constant and the same for all samples, so it is inverted once; the surface, which differs from
sample to sample, enters as one rank. q is linearised about the temperature extrapolated to the middle of the
step, and the water that leaves is the water that the solved y pays for. Heat of hydration over a step is
H (alpha_new - alpha_old), so energy closes to rounding. After placing and after every change of cover, two
steps are taken as four plain backward half steps, which damp what the midpoint rule would let ring.

Bleed water is one continuous state: a film above 0, drying below, and the drying slows evaporation smoothly.
A hard switch there would cost half a degree and ten minutes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from slabwright.pourday.column import Column
from slabwright.pourday.fast import installed, steps_of
from slabwright.pourday.forcing import Air, Forcing
from slabwright.pourday.mix import Hydration
from slabwright.pourday.model import Floats
from slabwright.pourday.step import Fixed, Flags, Skin, State, degree_of, factored, step
from slabwright.pourday.tables import cover_row

DAMPED = 2  # steps taken as backward half steps after a change
BLOCK = 2048  # lanes worked on at a time: fewer cost calls, more no longer fit the processor's cache


@dataclass(frozen=True, slots=True)
class Bleed:
    """Bleed water: capacity [kg/m2], time [h], drying [kg/m2] that slows evaporation e-fold; by lane."""

    capacity: ArrayLike
    time: ArrayLike
    drying: ArrayLike


@dataclass(frozen=True, slots=True)
class Switch:
    """From `at` [s after placing; inf: never] on, the surface is so: by lane or a float.

    `resistance` [m2 K/W]; `wet` [-] share of evaporation that passes; `absorbed` [-] of the sun; `soaked` 1.0
    where the cover is kept wet and gives its own water.
    """

    at: ArrayLike
    resistance: float
    wet: float
    absorbed: float
    soaked: float = 0.0


def switch_to(cover: str, at: ArrayLike) -> Switch:
    """Return the switch to a cover of the table at a time [s after placing]."""
    return Switch(at, *cover_row(cover))


@dataclass(frozen=True, slots=True)
class Trace:
    """What the steps left: row k at k dt after placing. Arrays (steps + 1, panels, samples).

    `te_top`, `te_mean` [h] equivalent age of the top inch and of the whole; `surface`, `mean` [degC];
    `tilt` [K] top less bottom of the straight line through the concrete; `film` [kg/m2]; `bled` [kg/m2]
    so far. Totals (panels, samples): `stored`, `gained` through the surface, `released` by hydration,
    `gross` exchange [J/m2], `lost` water [kg/m2]. `profile` (rows, n, panels, samples) [degC] if asked for,
    else its last row only.
    """

    dt: float
    te_top: Floats
    te_mean: Floats
    surface: Floats
    mean: Floats
    tilt: Floats
    film: Floats
    bled: Floats
    profile: Floats
    stored: Floats
    gained: Floats
    released: Floats
    lost: Floats
    gross: Floats


ROWS = ("te_top", "te_mean", "surface", "mean", "tilt", "film", "bled")
TOTALS = ("stored", "gained", "released", "lost", "gross")


@dataclass(frozen=True, slots=True)
class Job:
    """Everything that a run needs but its lanes' own part of it."""

    column: Column
    weather: Forcing
    cover: str
    switches: tuple[Switch, ...]
    damped: bool
    profiles: bool


def run(
    column: Column,
    mix: Hydration,
    bleed: Bleed,
    weather: Forcing,
    begin: Floats,
    switches: tuple[Switch, ...] = (),
    *,
    lanes: tuple[int, int] = (1, 1),
    cover: str = "none",
    damped: bool = True,
    profiles: bool = False,
    block: int | None = None,
    compiled: bool | None = None,
) -> Trace:
    """Return what a column does under a weather, for `lanes` = (panels, samples) of them at once.

    :param begin: temperatures at placing [degC], shape (n, panels, samples) or what broadcasts to it.
    :param switches: changes of the surface, in their order.
    :param damped: False leaves out the damped starts; tests show what they are for.
    :param profiles: keep the temperatures of every node at every step.
    :param compiled: use the compiled twin, which gives the same numbers to rounding; None: where it is
        installed.

    The mix and bleed water may differ by lane: floats or arrays that broadcast to `lanes`.
    """
    job = Job(column, weather, cover, switches, damped, profiles)
    first = np.broadcast_to(begin, (column.nodes, *lanes))
    if installed() if compiled is None else compiled:
        return Trace(dt=weather.dt, **_at_once(job, mix, bleed, first, lanes))
    width = max(1, (block or BLOCK) // lanes[0])
    made = [
        _block(job, mix, bleed, first[..., k : k + width], lanes, slice(k, min(k + width, lanes[1])))
        for k in range(0, lanes[1], width)
    ]
    joined = made[0]
    if len(made) > 1:
        joined = {name: np.concatenate([part[name] for part in made], axis=-1) for name in made[0]}
    return Trace(dt=weather.dt, **joined)


def _at_once(
    job: Job, mix: Hydration, bleed: Bleed, first: Floats, lanes: tuple[int, int]
) -> dict[str, Floats]:
    """Run every lane in compiled code; returns the trace's arrays."""
    rows, totals, profile = steps_of(
        job.column,
        job.weather,
        (
            mix.ultimate,
            np.log(mix.tau),
            mix.beta,
            mix.heat,
            mix.energy,
            mix.te_0,
            bleed.capacity,
            bleed.time,
            bleed.drying,
        ),
        first,
        cover_row(job.cover),
        [(s.at, (s.resistance, s.wet, s.absorbed, s.soaked)) for s in job.switches],
        _line_weights(job.column),
        lanes=lanes,
        damped=DAMPED if job.damped else 0,
        profiles=job.profiles,
    )
    made = dict(zip(ROWS, rows, strict=True)) | {"profile": profile}
    order = ("stored", "gained", "released", "lost", "gross")
    return made | dict(zip(order, totals, strict=True))


def _block(
    job: Job, mix: Hydration, bleed: Bleed, first: Floats, lanes: tuple[int, int], part: slice
) -> dict[str, Floats]:
    """Run some samples of every panel from beginning to end; returns the trace's arrays."""
    column, weather = job.column, job.weather.samples(part)
    steps, dt, shape = weather.steps, weather.dt, first.shape[1:]
    fixed = _fixed(column, mix, bleed, dt, lanes, part)
    state = _begin(first.reshape(column.nodes, -1), fixed)
    m = state.film.size
    at = [_flat(s.at, lanes, part) for s in job.switches]
    skins = _Skins(job.cover, job.switches, at, m)
    rows = {name: np.empty((steps + 1, m)) for name in ROWS}
    profile = np.empty((steps + 1 if job.profiles else 1, column.nodes, m))
    watch = np.stack([column.mean, _line_weights(column)])
    store, alpha = column.capacity @ state.temperature, _total_degree(column, state)
    for k in range(steps + 1):
        _record(rows, k, state, column, watch)
        profile[k if job.profiles else 0] = state.temperature
        if k == steps:
            break
        skin, changed = skins.during(k, dt)
        if k < DAMPED:
            changed = np.ones(m, dtype=bool)
        if changed is None or not job.damped:
            step(state, fixed, _air(weather, 2 * k + 1, shape), skin, dt)
        else:
            _damped(state, fixed, weather, k, shape, skin, changed)
    totals = {
        "stored": column.capacity @ state.temperature - store,
        "gained": state.gained,
        "released": fixed.heat * (_total_degree(column, state) - alpha),
        "lost": state.lost,
        "gross": state.gross,
    }
    made = {name: rows[name].reshape(steps + 1, *shape) for name in ROWS}
    made["profile"] = profile.reshape(profile.shape[0], column.nodes, *shape)
    return made | {name: totals[name].reshape(shape) for name in TOTALS}


def _damped(
    state: State,
    fixed: Fixed,
    weather: Forcing,
    k: int,
    shape: tuple[int, ...],
    skin: Skin,
    changed: Flags,
) -> None:
    """Take step k, its changing lanes as two backward half steps, each tried once before."""
    these = np.nonzero(changed)[0]
    part, own, cover = state.part(these), fixed.part(these), skin.part(these)
    begun = part.temperature.copy(), part.film.copy()
    if these.size < changed.size:
        step(state, fixed, _air(weather, 2 * k + 1, shape), skin, weather.dt)
    for i in (2 * k + 1, 2 * k + 2):
        whole = _air(weather, i, shape)
        air = Air(*(getattr(whole, name)[these] for name in Air.__slots__))
        tried = part.part(np.arange(these.size))
        step(tried, own, air, cover, weather.dt, half=True)
        step(part, own, air, cover, weather.dt, half=True, tried=tried)
    part.before, part.film_before = begun
    state.put(these, part)


def _record(rows: dict[str, Floats], k: int, state: State, column: Column, watch: Floats) -> None:
    """Write row k of the trace."""
    rows["te_top"][k] = column.top[: column.live] @ state.te
    rows["te_mean"][k] = state.te_mean
    rows["surface"][k] = state.temperature[0]
    rows["mean"][k], rows["tilt"][k] = watch @ state.temperature
    rows["film"][k] = state.film
    rows["bled"][k] = state.bled


def _flat(value: ArrayLike, lanes: tuple[int, int], part: slice) -> Floats:
    """Return a value by lane for some samples, flattened, (m,)."""
    return np.array(np.broadcast_to(np.asarray(value, dtype=float), lanes)[:, part]).ravel()


def _fixed(
    column: Column, mix: Hydration, bleed: Bleed, dt: float, lanes: tuple[int, int], part: slice
) -> Fixed:
    """Return the lanes' constants, with the step's matrix inverted."""
    capacity = 2.0 * column.capacity / dt
    live = column.live
    return Fixed(
        capacity=capacity[:, None],
        matrix=factored(capacity, column.conductance),
        owned=column.concrete[:live, None],
        mean=column.mean[:live],
        ultimate=_flat(mix.ultimate, lanes, part),
        log_tau=np.log(_flat(mix.tau, lanes, part)),
        beta=_flat(mix.beta, lanes, part),
        heat=_flat(mix.heat, lanes, part),
        energy=_flat(mix.energy, lanes, part),
        te_0=_flat(mix.te_0, lanes, part),
        bleed=_flat(bleed.capacity, lanes, part),
        bleed_time=_flat(bleed.time, lanes, part),
        drying=_flat(bleed.drying, lanes, part),
    )


def _begin(temperature: Floats, fixed: Fixed) -> State:
    """Return the state at placing."""
    m = temperature.shape[1]
    te = np.array(np.broadcast_to(fixed.te_0, (fixed.owned.shape[0], m)))
    zero = [np.zeros(m) for _ in range(7)]
    return State(
        temperature=np.array(temperature),
        before=np.array(temperature),
        flux=zero[0],
        te=te,
        degree=degree_of(te, fixed),
        te_mean=fixed.te_0.copy(),
        bled=zero[1],
        film=zero[2],
        film_before=zero[3],
        gained=zero[4],
        gross=zero[5],
        lost=zero[6],
    )


def _total_degree(column: Column, state: State) -> Floats:
    """Return the degree of hydration times depth [m], (m,)."""
    return np.asarray(column.concrete[: column.live] @ state.degree)


def _line_weights(column: Column) -> Floats:
    """Return weights of the top-to-bottom difference of the straight line through the concrete [-]."""
    if not column.live:
        return np.zeros(column.nodes)
    thickness = column.concrete.sum()
    weights = column.mean * (0.5 - column.depth / thickness)
    # scaled so that a straight line gives back its own difference on this grid
    return np.asarray(weights / (weights @ (0.5 - column.depth / thickness)))


def _air(weather: Forcing, i: int, shape: tuple[int, ...]) -> Air:
    """Return the air of half step i, flattened."""
    air = weather.at(i)
    values = (getattr(air, name) for name in Air.__slots__)
    return Air(*(v.reshape(-1) if v.shape == shape else np.broadcast_to(v, shape).ravel() for v in values))


class _Skins:
    """What the surface is during each step, worked out anew only while some lane changes."""

    def __init__(self, cover: str, switches: tuple[Switch, ...], at: list[Floats], m: int) -> None:
        self._base = Skin(*(np.full(m, value) for value in cover_row(cover)))
        self._left = list(zip(switches, at, strict=True))

    def during(self, k: int, dt: float) -> tuple[Skin, Flags | None]:
        """Return the surface in step k, a change within it by its share, and which lanes are changing."""
        changed: Flags | None = None
        skin, done = self._base, True
        for switch, at in list(self._left):
            begun = (k + 1) * dt - at
            last = float(begun.min())
            if float(begun.max()) <= 0.0:
                done = False
                continue
            share = np.clip(begun / dt, 0.0, 1.0)
            skin = skin.toward(share, (switch.resistance, switch.wet, switch.absorbed, switch.soaked))
            fresh = (begun > 0.0) & (begun <= DAMPED * dt)
            if fresh.any():
                changed = fresh if changed is None else changed | fresh
            if done and last > DAMPED * dt:
                self._base = skin
                self._left.remove((switch, at))
            else:
                done = False
        return skin, changed
