"""Crew and trucks through one day, all simulated days at once: a recursion over pieces and finishing tasks.

A piece is what one truck puts into one panel. It starts when the piece before it is down and the truck is
there and hooked up. Concrete grows old in a waiting truck, so its panel has that much less time. Edging and
brooming are tasks for the finishing gang: those not placing until placing ends, everybody afterwards.
The order of the tasks is that in which they come ready on the likely day.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from slabwright.pourday.chances import Table
from slabwright.pourday.crew_model import CrewDay, PanelWork
from slabwright.pourday.model import Floats
from slabwright.pourday.tables import table


@dataclass(frozen=True, slots=True)
class Piece:
    """What one truck puts into one panel: indices and volume [m3]."""

    panel: int
    truck: int
    volume: float


@dataclass(frozen=True, slots=True)
class CrewDraws:
    """How crew and trucks differ: factors (samples,), delays [s] and standard trucks (trucks, samples).

    `plant` (samples,) [s] is the part of every delay that all loads share.
    """

    placing: Floats
    edging: Floats
    brooming: Floats
    delay: Floats
    truck: Floats
    plant: Floats


@dataclass(frozen=True, slots=True)
class Day:
    """One plan over all samples. Times [s after the weather begins], (panels or trucks, samples)."""

    arrived: Floats
    began: Floats
    emptied: Floats
    placed: Floats
    edge_ready: Floats
    edged: Floats
    broom_ready: Floats
    broomed: Floats
    sheen: Floats
    deadline: Floats
    stood: Floats

    @property
    def late(self) -> Floats:
        """Return 1.0 where a panel is broomed after it is too late, (panels, samples)."""
        return np.asarray(self.broomed > self.deadline, dtype=float)


@cache
def crew_rule(key: str) -> float:
    """Return a rule of crew and trucks in SI; see [crew] of rules.toml."""
    row: dict[str, Any] = table("rules")["crew"][key]
    return float(row["is"])


def pieces_of(works: Sequence[PanelWork], loads: Sequence[float]) -> tuple[Piece, ...]:
    """Return the pieces of `loads` [m3] poured into panels in order; ValueError where they do not suffice.

    What the last truck has left over stays in it.
    """
    if not works or not loads or min(loads) <= 0.0 or min(w.volume for w in works) <= 0.0:
        raise ValueError("a pour needs panels, and loads of more than nothing")
    if sum(loads) < sum(w.volume for w in works) - 1e-9:
        raise ValueError(
            f"{sum(loads):.2f} m3 are ordered for {sum(w.volume for w in works):.2f} m3 of panels"
        )
    made: list[Piece] = []
    truck, left = 0, loads[0]
    for n, work in enumerate(works):
        want = work.volume
        while want > 1e-9:
            if left <= 1e-9 and truck + 1 < len(loads):
                truck += 1
                left = loads[truck]
            take = min(want, left) if truck + 1 < len(loads) else want
            made.append(Piece(n, truck, take))
            want -= take
            left -= take
    return tuple(made)


def crew_draws(trucks: int, samples: int, seed: int) -> CrewDraws:
    """Return how crew and trucks differ; sample 0 is the likely day, its trucks late by the mean delay."""
    rng = np.random.default_rng([seed, 7])

    def factor(key: str) -> Floats:
        made = np.exp(crew_rule(key) * rng.standard_normal(samples))
        made[0] = 1.0
        return np.asarray(made)

    placing, edging, brooming = factor("placing_sd"), factor("edging_sd"), factor("brooming_sd")
    shape = crew_rule("delay_shape")
    scale = crew_rule("delay_sd") / np.sqrt(shape)
    own = rng.gamma(shape, scale, (trucks, samples))
    plant = rng.gamma(shape, scale, samples)  # the plant is late with every load alike
    own[:, 0] = plant[0] = shape * scale
    truck = rng.standard_normal((trucks, samples))
    truck[:, 0] = 0.0
    return CrewDraws(placing, edging, brooming, own + plant, truck, plant)


def pace_of(work: PanelWork) -> float:
    """Return how fast one person places into a panel [m3/s], no faster than the carrying allows."""
    pace = crew_rule(f"pace_{work.by}")
    if work.by in {"barrow", "buggy"} and work.carry > 0.0:
        load = crew_rule(f"load_{work.by}")
        turn = crew_rule("fill_time") + 2.0 * work.carry / crew_rule("walk_speed")
        pace = min(pace, load / turn)
    return pace


def run_day(
    plan: CrewDay,
    works: Sequence[PanelWork],
    pieces: Sequence[Piece],
    windows: Table,
    draws: CrewDraws,
    midnight: float,
    breaks: Sequence[tuple[float, float]] = (),
    known: Mapping[int, float] | None = None,
) -> Day:
    """Return how one plan goes on every simulated day.

    :param midnight: of the pour's day [s after the weather begins].
    :param breaks: (clock [s], length [s]) in which nobody finishes.
    :param known: pieces by number with when they were seen to be placed [s after the weather begins].

    ValueError where nobody places, or more people place than there are.
    """
    if not 1 <= plan.placing <= plan.people:
        raise ValueError(f"{plan.placing} of {plan.people} people cannot place")
    trucks = pieces[-1].truck + 1
    arrived = midnight + plan.start + plan.load_every * np.arange(trucks)[:, None] + draws.delay[:trucks]
    began, emptied, placed, age, stood = _placing(plan, works, pieces, draws, arrived, known or {})
    first = [next(i for i, p in enumerate(pieces) if p.panel == n) for n in range(len(works))]
    count, samples = len(works), windows.samples
    ready = np.full((4, count, samples), -np.inf)
    ready[3] = np.inf
    for n, piece in enumerate(pieces):
        stretch = np.exp(windows.scale * draws.truck[piece.truck])
        for k, offset in enumerate(windows.at(placed[n])):
            moment = placed[n] + np.maximum(offset * stretch - age[n], 0.0)
            join = np.minimum if k == 3 else np.maximum
            ready[k, piece.panel] = join(ready[k, piece.panel], moment)
    edged, broomed = _finish(plan, works, ready, draws, emptied[-1], midnight, breaks)
    return Day(
        arrived=arrived,
        began=began,
        emptied=emptied,
        placed=placed[first],
        edge_ready=ready[1],
        edged=edged,
        broom_ready=ready[2],
        broomed=broomed,
        sheen=ready[0],
        deadline=ready[3],
        stood=stood,
    )


def _placing(
    plan: CrewDay,
    works: Sequence[PanelWork],
    pieces: Sequence[Piece],
    draws: CrewDraws,
    arrived: Floats,
    known: Mapping[int, float],
) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Return by truck when it begins and is empty, by piece when it is placed and how long it waited.

    A truck whose first piece was seen to be placed is taken to have come just before: `arrived` is changed.
    """
    trucks, samples = arrived.shape
    began, emptied = np.empty((trucks, samples)), np.empty((trucks, samples))
    placed, age = np.empty((len(pieces), samples)), np.empty((len(pieces), samples))
    free = np.full(samples, -np.inf)
    stood = np.zeros(samples)
    hook, unload = crew_rule("hook_up"), crew_rule("unload")
    truck = -1
    for n, piece in enumerate(pieces):
        if piece.truck != truck:
            truck = piece.truck
            if n in known:
                arrived[truck] = known[n] - hook
            if truck:
                stood += np.maximum(arrived[truck] - free, 0.0)
            free = np.maximum(free, arrived[truck]) + hook
            began[truck] = free
        if n in known:
            free = np.full(samples, known[n])
        placed[n] = free
        age[n] = np.maximum(free - hook - arrived[truck], 0.0)
        pace = np.minimum(unload, plan.placing * pace_of(works[piece.panel]) * draws.placing)
        free = free + piece.volume / pace
        emptied[truck] = free
    return began, emptied, placed, age, stood


def _finish(
    plan: CrewDay,
    works: Sequence[PanelWork],
    ready: Floats,
    draws: CrewDraws,
    placing_ends: Floats,
    midnight: float,
    breaks: Sequence[tuple[float, float]],
) -> tuple[Floats, Floats]:
    """Return when each panel is edged and broomed, (panels, samples)."""
    tasks = [(ready[1, n, 0], 0, n) for n in range(len(works))]
    tasks += [(max(ready[2, n, 0], ready[1, n, 0] + 1e-6), 1, n) for n in range(len(works))]
    edged, broomed = np.empty(ready.shape[1:]), np.empty(ready.shape[1:])
    free = np.full(ready.shape[2], -np.inf)
    during = plan.people - plan.placing
    rests = [(midnight + clock, length) for clock, length in breaks]
    for _, kind, n in sorted(tasks):
        if kind == 0:
            need = works[n].area * crew_rule("edge_work") / draws.edging
            free = _worked(np.maximum(ready[1, n], free), need, during, plan.people, placing_ends, rests)
            edged[n] = free
        else:
            need = works[n].area * crew_rule("broom_work") / draws.brooming
            start = np.maximum(np.maximum(ready[2, n], edged[n]), free)
            free = _worked(start, need, during, plan.people, placing_ends, rests)
            broomed[n] = free
    return edged, broomed


def _worked(
    start: Floats,
    need: Floats,
    during: int,
    people: int,
    placing_ends: Floats,
    rests: Sequence[tuple[float, float]],
) -> Floats:
    """Return when `need` [s of one person] is done by the gang during placing and after it."""
    for begin, length in rests:
        start = np.where((start >= begin) & (start < begin + length), begin + length, start)
    before = np.maximum(placing_ends - start, 0.0) * during
    first = start + need / during if during else np.full_like(start, np.inf)
    second = np.maximum(start, placing_ends) + (need - before) / people
    end = np.where(need <= before, first, second)
    for begin, length in rests:
        end = np.where((start < begin) & (end > begin), end + length, end)
    return np.asarray(end)
