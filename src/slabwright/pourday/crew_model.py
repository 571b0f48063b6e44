"""Crew and trucks: what is to be placed, by whom, from which loads; what plans were looked at. SI throughout.

Times of day are the clock on the wall [s], as in model.py. Effort is counted in seconds of one person's work,
so that no prices are needed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from slabwright.findings import Finding
from slabwright.measure import Quantity
from slabwright.pourday.model import Band, Cure, Protection, Way

Observed = Literal["placed", "sheen_gone", "broom"]


def standard_error(chance: float, samples: int) -> float:
    """Return the standard error [-] of a chance [-] counted in so many days; none seen is not none."""
    return math.sqrt(max(chance * (1.0 - chance), 1.0 / samples) / samples)


def said_chance(share: float) -> Quantity:
    """Return a chance [-] as a finding says it: whole percents, for no count of days is better than that."""
    return Quantity("percent", round(share, 2))


@dataclass(frozen=True, slots=True)
class PanelWork:
    """One panel as work, in placing order: `area` [m2], `volume` [m3], how concrete gets there.

    `carry` [m] from truck to panel with a barrow or buggy, 0.0 straight from the chute.
    """

    slab: str
    panel: str
    area: float
    volume: float
    by: Way
    carry: float = 0.0


@dataclass(frozen=True, slots=True)
class CrewDay:
    """One way to run the day.

    `start` [s, clock] the first truck is called for; `people` in all, of whom `placing` place while
    concrete is coming and all finish afterwards; `load_every` [s] between trucks.
    """

    start: float
    people: int
    placing: int
    load_every: float


@dataclass(frozen=True, slots=True)
class PlanRow:
    """How a way to run the day comes out over the simulated days.

    `late_chance` [-] that some panel sets before it is broomed, `error` [-] its standard error;
    `late_panels` how many on the mean; `wait_chance` [-] that a truck waits longer than is free;
    `limit_chance` [-] that a load is older than the limit when it is out; `stand_time` [s] that the crew
    stands waiting for a truck, mean; `placed_by`, `done_by` [s, clock] median; `dark_time` [s] of work after
    sunset or before sunrise, mean; `effort` [s of one person].
    """

    day: CrewDay
    late_chance: float
    error: float
    late_panels: float
    wait_chance: float
    limit_chance: float
    stand_time: float
    placed_by: float
    done_by: float
    dark_time: float
    effort: float


@dataclass(frozen=True, slots=True)
class PanelTurn:
    """One panel under the chosen plan: bands of its placing, edging, brooming and its last moment."""

    slab: str
    panel: str
    placed: Band
    edged: Band
    broomed: Band
    broom_end: Band
    late_chance: float


@dataclass(frozen=True, slots=True)
class WayOut:
    """What one change would do, worked out like the plan itself. `key` names it in says.

    `late_chance`, `shrink_chance`, `frost_chance` [-]; `broom_length` [s] from first broom to too late on the
    first panel; `done_by` [s, clock]. None where the change does not touch it. `late_chance` is counted in
    `samples` days with a standard error of `error` [-], drying and frost in `weather_samples` days.
    """

    key: str
    day: CrewDay
    late_chance: float
    shrink_chance: float
    frost_chance: float
    broom_length: float | None
    done_by: float
    error: float
    samples: int
    weather_samples: int


@dataclass(frozen=True, slots=True)
class CrewPlan:
    """The plan chosen, what was compared, and where to stop.

    `best` of `rows` by effort; `stop_after` how many panels can be placed before a construction joint so
    that the chance of a late one stays within `late_limit` [-]; None where all can. `error` [-] is the
    standard error of a chance. `rows` holds the best of each crew size and start hour.
    """

    best: PlanRow
    rows: tuple[PlanRow, ...]
    turns: tuple[PanelTurn, ...]
    trucks: tuple[tuple[float, float], ...]  # arrival [s, clock], load [m3]
    stop_after: int | None
    late_limit: float
    compared: int
    samples: int
    error: float
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Seen:
    """Something that the crew saw during the pour, and when [s, clock].

    `what`: 'placed', when the panel's concrete left the chute; 'sheen_gone'; 'broom', when it first took the
    broom. `panel` as the card names it, of `slab` where several have one of that name; '' is the first.
    """

    what: Observed
    clock: float
    panel: str = ""
    slab: str = ""


@dataclass(frozen=True, slots=True)
class PourAsked:
    """What is known of a pour beside its job and weather.

    `protections` over or round it, `cure` after the broom, None where nobody said; `set_seen`: an initial set
    that this crew saw with this mix, time after batching [s] and the concrete's temperature [degC]; `seen`
    during the pour.
    """

    protections: tuple[Protection, ...] = ()
    cure: Cure | None = None
    set_seen: tuple[float, float] | None = None
    seen: tuple[Seen, ...] = ()


@dataclass(frozen=True, slots=True)
class Updated:
    """What was learned during the pour.

    `late_chance` [-] now and `late_before`; `effective` [-] how many simulated days still speak; `later_by`
    [s] by which the end of the broom moved, mean of the panels.
    """

    seen: tuple[Seen, ...]
    late_before: float
    late_chance: float
    effective: float
    later_by: float
    findings: tuple[Finding, ...] = ()
