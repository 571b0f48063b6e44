"""What the work does to the yard, and how concrete gets there: frozen records, SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.build.model import Material
from slabwright.findings import Finding

XY = tuple[float, float]
Change = Literal["stays", "turned", "moved", "new"]


@dataclass(frozen=True, slots=True)
class SprinklerHead:
    """A sprinkler head: place, throw [m], arc and facing [rad], flow [m3/s], and what becomes of it.

    `facing` is the middle of the arc, clockwise from straight into the house. `turned`: it keeps its
    place and gets another nozzle; `moved` by `shift` [m] from where it stood; `hangs_on` names its line.
    """

    name: str
    x: float
    y: float
    throw: float
    arc: float
    facing: float
    flow: float
    hangs_on: str
    change: Change = "stays"
    shift: float = 0.0


@dataclass(frozen=True, slots=True)
class PipeCrossing:
    """Where a pipe passes under a slab, from p to q in plan.

    `advice`: sleeve (leave it and sleeve it), lower (it lies in the dig), move (it runs along under the
    slab: take it round), new (no pipe is known here, yet heads of its line stand on both sides).
    `bore` and `sleeve` are the sleeve's inner diameter and length [m]; `depth` as written, `cover_least`
    the depth [m] that it should have.
    """

    name: str
    slab: str
    p: XY
    q: XY
    advice: Literal["sleeve", "lower", "move", "new"]
    depth: float | None
    cover_least: float
    bore: float
    sleeve: float


@dataclass(frozen=True, slots=True)
class Coverage:
    """Watering of the lawn on a square grid.

    `at` is the middle of the first cell, rows run along y and columns along x, `step` [m] apart; `rates`
    [m/s] row by row, None off the lawn. `rate` is the mean; `cu` (Christiansen) and `du` (lowest quarter)
    are plain ratios; `unreached` [m2] is lawn that no head reaches; `on_paving` the share of all water
    that lands on the new slabs.
    """

    at: XY
    step: float
    columns: int
    rates: tuple[float | None, ...]
    rate: float
    cu: float
    du: float
    unreached: float
    on_paving: float


@dataclass(frozen=True, slots=True)
class LineFlow:
    """What a line of sprinklers uses [m3/s] before and after, and the most that it can give."""

    name: str
    flow_before: float
    flow_after: float
    flow_most: float
    known: bool  # the most was written down; otherwise it is what the line uses now


@dataclass(frozen=True, slots=True)
class SprinklerPlan:
    """Sprinklers round the new slabs: heads as they will stand, what goes, pipes, coverage, parts.

    `found` are the heads as they are, with arcs and facings taken where they were not written.
    `removed` heads are capped; `kept_off` [m] is the distance that heads keep from the new paving. `cost`
    and `bound` are in units of one nozzle changed, as the solver proved them.
    """

    heads: tuple[SprinklerHead, ...]
    removed: tuple[SprinklerHead, ...]
    crossings: tuple[PipeCrossing, ...]
    before: Coverage
    after: Coverage
    lines: tuple[LineFlow, ...]
    parts: tuple[Material, ...]
    kept_off: float
    cost: float
    bound: float
    proved: bool
    findings: tuple[Finding, ...] = ()
    found: tuple[SprinklerHead, ...] = ()


Way = Literal["chute", "barrow", "buggy", "pump"]


@dataclass(frozen=True, slots=True)
class Haul:
    """How one panel is filled, in placing order.

    `way`: chute, barrow, buggy, pump, or none when there is no way in. `path` runs from the truck to the
    panel, `run` [m] is its length, `over_base` [m] the part on planks over slabs not yet placed, `steepest`
    its steepest climb or fall (0 where the ground was not shot). `volume` [m3] is as drawn, `trips` of
    barrows, `time` [s] by the stated cycle.
    """

    slab: str
    panel: str
    way: Way | Literal["none"]
    path: tuple[XY, ...]
    run: float
    over_base: float
    steepest: float
    volume: float
    trips: int
    time: float


@dataclass(frozen=True, slots=True)
class AccessPlan:
    """Where the truck stands, how far its chute reaches [m], and every panel in placing order.

    `stand` is None when nothing says where the truck may stop. `trips` and `time` [s] are totals;
    `pushers` how many barrows run at once; `hose` [m] is the pump's line and `hose_volume` [m3] what
    stays in it. `no_way` names slabs that nothing reaches.
    """

    stand: XY | None
    stand_name: str | None
    reach: float
    hauls: tuple[Haul, ...]
    trips: int
    time: float
    pushers: int
    hose: float = 0.0
    hose_volume: float = 0.0
    no_way: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()

    def by_way(self, slab: str | None = None) -> tuple[tuple[Way, float], ...]:
        """Return each way that concrete gets to the slabs (or to one slab) with what goes by it [m3]."""
        out: dict[Way, float] = {}
        for haul in self.hauls:
            if haul.way != "none" and slab in (None, haul.slab):
                out[haul.way] = out.get(haul.way, 0.0) + haul.volume
        return tuple(out.items())
