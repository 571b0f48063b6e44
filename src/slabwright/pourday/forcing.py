"""Weather at every half step of the model: interpolated between hours, varied from sample to sample."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike

from slabwright.measure import HOUR
from slabwright.pourday.model import XY, Floats, Obstacle, Protection, Site, Weather
from slabwright.pourday.moist import saturation, sky_power
from slabwright.pourday.sun import clear_sun, lit, solar_hour, sun_place, through_cloud
from slabwright.pourday.tables import over, rule


@dataclass(frozen=True, slots=True)
class Vary:
    """How the samples' weather differs from the forecast; floats or arrays that fit the lanes.

    `air`, `dew` [K] and `cloud` [-] are added, `wind` [-] multiplies.
    """

    air: ArrayLike = 0.0
    dew: ArrayLike = 0.0
    wind: ArrayLike = 1.0
    cloud: ArrayLike = 0.0


@dataclass(frozen=True, slots=True)
class Air:
    """The air at one moment, for every lane: [degC], [kPa], wind at the slab [m/s], sky and sun [W/m2]."""

    temperature: Floats
    vapour: Floats
    wind: Floats
    sky: Floats
    sun: Floats


@dataclass(frozen=True, slots=True)
class Forcing:
    """Weather at half steps: row i holds at i dt/2 after each panel's placing. Arrays (rows, panels, 1).

    `clear` [W/m2] is what the sun would give the panel under a clear sky, `share` [-] the given part of it
    (None: from the cloud), `direct` [-] its direct sun; `hour` [h] solar time; `beyond` [-] is 1.0 where the
    weather given has ended.
    """

    dt: float
    temperature: Floats
    dew: Floats
    wind: Floats
    cloud: Floats
    clear: Floats
    share: Floats | None
    direct: Floats
    hour: Floats
    beyond: Floats
    vary: Vary = field(default_factory=Vary)

    @property
    def steps(self) -> int:
        """Return how many whole steps there are."""
        return (int(self.temperature.shape[0]) - 1) // 2

    def samples(self, part: slice) -> Forcing:
        """Return the same weather for some of the samples."""
        vary = self.vary

        def cut(value: ArrayLike) -> ArrayLike:
            array = np.asarray(value, dtype=float)
            return array if array.ndim == 0 or array.shape[-1] == 1 else array[..., part]

        return replace(self, vary=Vary(cut(vary.air), cut(vary.dew), cut(vary.wind), cut(vary.cloud)))

    def at(self, i: int) -> Air:
        """Return the air at half step i."""
        vary = self.vary
        air = self.temperature[i] + vary.air
        dew = np.minimum(self.dew[i] + vary.dew, air)
        cloud = np.clip(self.cloud[i] + vary.cloud, 0.0, 1.0)
        clear = self.clear[i]
        if not clear.any():
            sun = np.zeros_like(clear)
        else:
            passed = through_cloud(cloud) if self.share is None else self.share[i]
            kept = rule("diffuse_clear") + (1.0 - rule("diffuse_clear")) * cloud
            direct = self.direct[i]
            sun = clear * passed * (direct + (1.0 - direct) * kept)
        return Air(
            temperature=air,
            vapour=saturation(dew),
            wind=self.wind[i] * vary.wind,
            sky=sky_power(air, dew, cloud, self.hour[i]),
            sun=np.asarray(sun),
        )


def forcing(
    weather: Weather,
    site: Site,
    placed: ArrayLike,
    steps: int,
    dt: float,
    *,
    places: tuple[XY, ...] = (),
    obstacles: tuple[Obstacle, ...] = (),
    shelter: float | None = None,
    overs: tuple[tuple[str, float, float], ...] = (),
    vary: Vary | None = None,
) -> Forcing:
    """Return the weather from each panel's placing on.

    :param placed: (p,) seconds after the weather begins at which each panel is placed [s].
    :param steps: whole steps of `dt` [s].
    :param places: (x, y) [m] of each panel, for the shade of `obstacles`.
    :param shelter: wind at the slab over wind at 10 m [-]; open ground where None.
    :param overs: what stands over or round the slab: name, from, to [s after the weather begins].

    Rows past the weather's end hold its last values and are marked `beyond`: whoever reads them must not.
    """
    start = np.atleast_1d(np.asarray(placed, dtype=float))
    t = start[None, :] + 0.5 * dt * np.arange(2 * steps + 1)[:, None]
    last = (weather.hours - 1) * HOUR
    inside = np.clip(t, 0.0, last)

    def of(values: Floats) -> Floats:
        return np.asarray(np.interp(inside, np.arange(weather.hours) * HOUR, values))[..., None]

    up, bearing = sun_place(site, weather.begins, t)
    clear = clear_sun(up)
    direct = np.ones_like(clear)
    if obstacles:
        for p, at in enumerate(places):
            direct[:, p] = lit(site, up[:, p], bearing[:, p], at, obstacles)
    wind = of(weather.wind_speed) * (rule("wind_at_slab") if shelter is None else shelter)
    for name, on, off in overs:
        during = (t >= on) & (t < off)
        if name == "shade":
            clear = np.where(during, clear * over("shade", "sun"), clear)
        elif name == "windbreak":
            wind = np.where(during[..., None], wind * over("windbreak", "wind"), wind)
    return Forcing(
        dt=dt,
        temperature=of(weather.air_temperature),
        dew=of(weather.dew_point),
        wind=wind,
        cloud=of(weather.cloud_share),
        clear=clear[..., None],
        share=_share(weather, site, inside),
        direct=direct[..., None],
        hour=solar_hour(site, weather.begins, t)[..., None],
        beyond=np.asarray(t > last + 1e-6, dtype=float)[..., None],
        vary=vary or Vary(),
    )


def _share(weather: Weather, site: Site, t: Floats) -> Floats | None:
    """Return the given sun over the clear sky's, hour by hour, so that each hour keeps its energy."""
    if weather.sun_power is None:
        return None
    minutes = (np.arange(weather.hours)[:, None] * 60.0 + np.arange(2.5, 60.0, 5.0)) * 60.0
    clear = clear_sun(sun_place(site, weather.begins, minutes)[0]).mean(axis=1)
    share = np.where(clear > 20.0, weather.sun_power / np.maximum(clear, 20.0), 0.0)
    row = np.minimum((t / HOUR).astype(int), weather.hours - 1)
    return np.asarray(np.minimum(share, 1.4)[row])[..., None]


def overs_of(protections: tuple[Protection, ...], midnight: float) -> tuple[tuple[str, float, float], ...]:
    """Return shade and windbreaks as `forcing` wants them; `midnight` [s] after the weather begins."""
    return tuple(
        (p.cover, p.on + midnight, np.inf if p.off is None else p.off + midnight)
        for p in protections
        if p.cover in {"shade", "windbreak"}
    )
