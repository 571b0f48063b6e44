"""The day of the pour: weather, panels, windows, crew and trucks, as frozen records. SI throughout.

A time of day is the clock on the wall, in seconds after midnight of the pour's day [s]: 7:00 the next
morning is 31 x 3600. A `Band` holds the 5th, 50th and 95th percentile of many simulated days.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from slabwright.findings import Finding

Floats = NDArray[np.float64]
XY = tuple[float, float]
Cover = Literal["none", "compound", "blanket", "sheet", "burlap"]
Cure = Literal["compound", "blanket", "sheet", "burlap"]
Laid = Literal["blanket", "sheet", "burlap", "shade", "windbreak", "film"]
Way = Literal["chute", "barrow", "buggy", "pump"]
Advice = Literal["go", "wait", "no"]


@dataclass(frozen=True, slots=True)
class Site:
    """Where the slab lies: latitude and longitude [rad, north and east positive], its clock's zone.

    `zone` is a name of the tz database ('America/Chicago'), or '' where the weather carries its own
    offset; `north` [rad] is clockwise from 'straight into the house' to true north.
    """

    latitude: float
    longitude: float
    zone: str = ""
    north: float = 0.0

    @classmethod
    def of_degrees(cls, latitude: float, longitude: float, zone: str = "", *, north: float = 0.0) -> Site:
        """Return a site from degrees; `north` stays in rad."""
        return cls(math.radians(latitude), math.radians(longitude), zone, north)


@dataclass(frozen=True, slots=True)
class Weather:
    """Hourly weather: row k holds at `begins` + k hours. Arrays (n,), all of one length.

    `air_temperature`, `dew_point` [degC]; `wind_speed` [m/s] at 10 m; `cloud_share` [-] of the sky;
    `rain_chance` [-] or None where the source has none; `sun_power` [W/m2] on the level, the mean of the
    hour that *begins* at the row, or None where it must come from place, date and cloud. `begins` knows
    its zone.
    """

    begins: datetime
    air_temperature: Floats
    dew_point: Floats
    wind_speed: Floats
    cloud_share: Floats
    rain_chance: Floats | None = None
    sun_power: Floats | None = None
    origin: str = ""

    @property
    def hours(self) -> int:
        """Return how many rows there are."""
        return int(self.air_temperature.size)


@dataclass(frozen=True, slots=True)
class Obstacle:
    """Something that keeps the sun off: a wall from p to q, or a tree's crown about p [m].

    `height` [m] above the slab; `radius` [m] of the crown, 0.0 for a wall. A crown is taken as a ball that
    sits at the top of its height.
    """

    p: XY
    q: XY
    height: float
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class PanelDay:
    """One panel to pour: where, how thick, and when its concrete leaves the chute.

    `at` (x, y) [m] its middle; `area` [m2], `thickness`, `base` [m]; `placed_at` [s, clock] discharge;
    `waited` [s] in the truck on site before that, which the set has on it already. `sawn`: its joints are cut
    with a saw, so that the saw's hours matter. Panels of one `truck` share its concrete; None: its own.
    """

    slab: str
    panel: str
    at: XY
    area: float
    thickness: float
    base: float
    placed_at: float
    waited: float = 0.0
    sawn: bool = True
    truck: int | None = None


@dataclass(frozen=True, slots=True)
class Protection:
    """What is laid over the slab, or stood round it, and when [s, clock].

    `cover` as in the table of covers; 'shade', 'windbreak' and 'retarding film' go over or round fresh
    concrete. `off` None: it stays.
    """

    cover: Laid
    on: float
    off: float | None = None


@dataclass(frozen=True, slots=True)
class MixDay:
    """The concrete as it will come: what sets the clock.

    `cementitious` [kg/m3]; `w_cm`, `fly_ash`, `ash_lime` (CaO of the ash), `slag` [-]; `cement` a row of
    cements.toml; `delivered` [degC] at discharge; `hauled` [s] from batching to discharge; `pace` [-] the
    admixture's factor on setting time (1.4: a retarder); `set_factor` [-] found by `calibrate`; `strength`
    [Pa] at 28 days; `entrained` says whether air is entrained.
    """

    cement: str = "type-i-ii"
    cementitious: float = 334.62
    w_cm: float = 0.45
    fly_ash: float = 0.0
    ash_lime: float = 0.10
    slag: float = 0.0
    delivered: float = 21.0
    hauled: float = 2160.0
    pace: float = 1.0
    set_factor: float = 1.0
    strength: float = 27.6e6
    entrained: bool = True


@dataclass(frozen=True, slots=True)
class Band:
    """When something happens: `early`, `likely`, `late` [s, clock] are percentiles 5, 50, 95.

    `chance` [-] that it happens within the weather given; a percentile that does not is None, never a guess.
    """

    early: float | None
    likely: float | None
    late: float | None
    chance: float


@dataclass(frozen=True, slots=True)
class PanelWindow:
    """The hours of one panel.

    `placed_at` [s, clock]; `edge`..`broom_end` are for finishing; `saw_early` with an early-entry saw, `saw`
    with a common one, `saw_by` before the slab cracks where it likes. `frost_chance` [-] that the surface
    freezes before the concrete is safe from one frost; `shrink_chance` [-] that evaporation outruns the
    bleed water past the limit while the surface is open; `sun` [s] of direct sun on the day.
    """

    slab: str
    panel: str
    placed_at: float
    strike_off: Band
    sheen_gone: Band
    edge: Band
    broom: Band
    broom_end: Band
    cure_on: Band
    initial_set: Band
    final_set: Band
    saw_early: Band
    saw: Band
    saw_by: Band
    strip: Band
    walk: Band
    drive: Band
    frost_safe: Band
    frost_chance: float
    shrink_chance: float
    sun: float
    warmest: float
    coldest: float


@dataclass(frozen=True, slots=True)
class HourRow:
    """One hour of one panel, as the likely run goes.

    `clock` [s]; `air_temperature`, `surface_temperature` [degC]; `wind_speed` [m/s] at the slab;
    `evaporation` (Menzel) and `evaporation_uno` [kg/(m2 s)] that the weather asks for while the surface is
    open and wet, else None; `bleed_rate` [kg/(m2 s)]; `film` [kg/m2] of bleed water left, negative: drying;
    `shrink_chance` [-] as in PanelWindow, for this hour; `risk` as the table of limits says.
    """

    slab: str
    panel: str
    clock: float
    air_temperature: float
    surface_temperature: float
    wind_speed: float
    evaporation: float | None
    evaporation_uno: float | None
    bleed_rate: float
    film: float
    shrink_chance: float
    risk: Literal["none", "caution", "act"]


@dataclass(frozen=True, slots=True)
class Cold:
    """Cold protection of the job: is it needed, from when to when [s, clock], with what.

    `needed` as the trade defines cold weather; `held` [degC] the least that the concrete must keep;
    `until` None where the weather ends before; `coldest` [degC] of the surface in that time.
    """

    needed: bool
    held: float
    begins: float | None
    until: float | None
    coldest: float | None


@dataclass(frozen=True, slots=True)
class DayAdvice:
    """Go, wait or no for one day, with the codes of the findings that decide it.

    `date` ISO; `begins` [s, clock] the start that it is worked out for.
    """

    date: str
    advice: Advice
    begins: float
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PourDay:
    """What the weather will do to the pour. A forecast: the crew's own eyes decide.

    `date` ISO of the day whose midnight the clocks count from; `zone` of the clock; `known_until` [s, clock]
    where the weather ends; `samples` how many days were simulated.
    """

    date: str
    zone: str
    known_until: float
    samples: int
    windows: tuple[PanelWindow, ...]
    hours: tuple[HourRow, ...]
    cold: Cold
    findings: tuple[Finding, ...] = field(default=())
