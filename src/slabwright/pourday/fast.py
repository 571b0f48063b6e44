"""The compiled twin of the steps, where it is installed: lanes dealt out to cores in blocks.

`numba` is the extra `fast`; without it nothing of this is used. The first call of all compiles (about ten
seconds, kept beside the source afterwards); later ones load.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from importlib.util import find_spec

import numpy as np
from numpy.typing import ArrayLike

from slabwright.pourday.column import Column
from slabwright.pourday.forcing import Forcing
from slabwright.pourday.model import Floats
from slabwright.pourday.step import constant, factored

TOTALS, ROWS = 5, 7


@cache
def installed() -> bool:
    """Return whether the compiled twin can be used."""
    return find_spec("numba") is not None


def steps_of(
    column: Column,
    weather: Forcing,
    own: Sequence[ArrayLike],
    begin: Floats,
    base: tuple[float, float, float, float],
    switches: Sequence[tuple[ArrayLike, tuple[float, float, float, float]]],
    tilt: Floats,
    *,
    lanes: tuple[int, int],
    damped: int,
    profiles: bool,
) -> tuple[Floats, Floats, Floats]:
    """Return rows (7, steps + 1, panels, samples), totals (5, panels, samples) and profiles of a run.

    :param own: nine numbers of each lane: ultimate, ln tau, beta, heat, energy, age at placing, bleed
        capacity and time, drying.
    :param begin: temperatures at placing (n, panels, samples) [degC].
    :param base: the first surface; `switches` the times [s] at which it becomes another one.
    :param tilt: weights (n,) of the straight line's top less bottom.
    :param damped: steps taken as backward half steps after a change, 0 for none.
    """
    from slabwright.pourday.compiled import WIDTH, block

    panels, samples = lanes
    vary = weather.vary
    each = np.stack(
        [
            np.broadcast_to(np.asarray(v, dtype=float), lanes)
            for v in (*own, vary.air, vary.dew, vary.wind, vary.cloud)
        ]
    )
    at = np.array([np.broadcast_to(np.asarray(t, dtype=float), lanes) for t, _ in switches])
    at = at.reshape(len(switches), *lanes)
    to = np.array([values for _, values in switches], dtype=float).reshape(len(switches), 4)
    drives = [_weather(weather, p) for p in range(panels)]
    c, body = _constants(), _body(column, weather.dt, tilt)
    count = weather.steps + 1
    rows, totals = np.empty((ROWS, count, *lanes)), np.empty((TOTALS, *lanes))
    profile = np.empty((count if profiles else 1, column.nodes, *lanes))
    first = np.asarray(base, dtype=float)

    def one(part: tuple[int, int]) -> None:
        p, k = part
        mine = slice(k, min(k + WIDTH, samples))
        w = mine.stop - mine.start
        which = np.minimum(np.arange(k, k + WIDTH), samples - 1)  # the last lane fills the block up
        shapes = (ROWS, count, WIDTH), (TOTALS, WIDTH), (profile.shape[0], column.nodes, WIDTH)
        got = [np.empty(shape) for shape in shapes]
        block(
            drives[p],
            np.ascontiguousarray(each[:, p, which]),
            np.ascontiguousarray(begin[:, p, which]),
            first,
            np.ascontiguousarray(at[:, p, which]),
            to,
            c,
            *body,
            weather.dt,
            damped,
            *got,
        )
        rows[:, :, p, mine], totals[:, p, mine], profile[:, :, p, mine] = (a[..., :w] for a in got)

    parts = [(p, k) for p in range(panels) for k in range(0, samples, WIDTH)]
    if len(parts) == 1:
        one(parts[0])
    else:
        with ThreadPoolExecutor(min(len(parts), os.cpu_count() or 1)) as pool:
            list(pool.map(one, parts))
    return rows, totals, profile


def _weather(weather: Forcing, panel: int) -> Floats:
    """Return the weather of a panel at half steps, (2 steps + 1, 8), in the order of compiled.W_*."""
    hour = constant("sky_day") * np.cos(2.0 * np.pi * weather.hour / 24.0)
    share = np.full_like(weather.clear, -1.0) if weather.share is None else weather.share
    names = (weather.temperature, weather.dew, weather.wind, weather.cloud, weather.clear)
    return np.ascontiguousarray(
        np.stack([values[:, panel, 0] for values in (*names, share, weather.direct, hour)], axis=1)
    )


def _body(column: Column, dt: float, tilt: Floats) -> tuple[Floats, Floats]:
    """Return the column's numbers by node (5, n) and by live node (4, live), in compiled's order."""
    capacity = 2.0 * column.capacity / dt
    matrix = factored(capacity, column.conductance)
    made = np.zeros((5, column.nodes))
    made[0], made[1], made[4] = capacity, matrix.own[:, 0], column.capacity
    made[2, :-1], made[3, :-1] = matrix.carry, matrix.carry[::-1]
    lived = np.stack([column.mean, column.top, tilt, column.concrete])[:, : column.live]
    return made, np.ascontiguousarray(lived)


def _constants() -> Floats:
    """Return the model's constants in the order of compiled's columns."""
    rule = constant
    menzel = rule("menzel_c") / 3600.0
    names = ("sky_0", "sky_1", "sky_2", "sky_cloud", "cloud_sun_c", "cloud_sun_n", "diffuse_clear")
    return np.array(
        [
            rule("emissivity"),
            rule("stefan"),
            rule("es_0"),
            rule("es_a"),
            rule("es_b"),
            menzel * rule("menzel_still"),
            menzel * rule("menzel_wind") * 3.6,
            rule("convection_still"),
            rule("convection_wind"),
            rule("latent_heat"),
            rule("reference"),
            *(rule(name) for name in names),
        ]
    )
