"""Which heads to set: a small whole-number programme, solved to a stated gap.

Costs are in nozzles changed. Columns: one per choice (yes or no); how many heads are moved and how many
are bought; per cell of lawn how much stays dry and how much is under-watered. Rows: one head a place;
heads moved are heads that are there; each line within its flow; every cell reached; every cell watered.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slabwright.build.sprinklers.figures import Floats
from slabwright.build.tables import rule
from slabwright.solving import Status, make_whole, quiet_solver, status_of

NODES = 400  # effort, a count and not a time, so that the same notes always give the same heads


@dataclass(frozen=True, slots=True)
class Task:
    """What to choose from, as arrays over choices (j) and cells of lawn (i).

    place, own (-1: a new place), line: (j,) indices; flow (j,) [m3/s]; rate (i, j) each choice's share of
    the wanted rate in a cell [-]; there (i,) the share that heads not in question give; area [m2] of a
    cell; in_way: heads in question; room (lines,) [m3/s] left on each line.
    """

    place: NDArray[np.int64]
    own: NDArray[np.int64]
    line: NDArray[np.int64]
    flow: Floats
    rate: Floats
    there: Floats
    area: float
    in_way: int
    room: Floats


@dataclass(frozen=True, slots=True)
class Chosen:
    """The picked choices (indices), the cost and the proved bound in nozzles, and what the solver said."""

    picked: tuple[int, ...]
    cost: float
    bound: float
    status: Status


def worth_of(task: Task, picked: Sequence[int]) -> float:
    """Return the cost of a set of choices: work, dry lawn and thin watering; inf where it is not allowed."""
    own = [j for j in picked if task.own[j] >= 0]
    new_places = len(picked) - len(own)
    if len({int(task.place[j]) for j in picked}) < len(picked):
        return float("inf")
    for k, room in enumerate(task.room):
        if sum(task.flow[j] for j in picked if task.line[j] == k) > room * (1 + 1e-9):
            return float("inf")
    moved = min(new_places, task.in_way - len(own))
    work = (
        rule("yard", "work_nozzle") * len(own)
        + rule("yard", "work_move") * moved
        + rule("yard", "work_new") * (new_places - moved)
    )
    got = task.there + task.rate[:, list(picked)].sum(axis=1)
    dry = (got <= 0).sum() * task.area
    thin = np.clip(1.0 - got, 0.0, None).sum() * task.area
    return float(work + rule("yard", "dry") * dry + rule("yard", "thin") * thin)


def choose(task: Task) -> Chosen:
    """Return the cheapest set of choices, within the table's gap of the proved bound or as good as found."""
    many = len(task.place)
    if many == 0:
        cost = worth_of(task, ())
        return Chosen((), cost, cost, Status.OPTIMAL)
    solver = quiet_solver(
        mip_rel_gap=rule("yard", "gap_proved"),
        mip_max_nodes=NODES,
        # Measured: where flow is short, searches round the first solution take most of the time and find
        # nothing that branching does not (bench/bench_sprinklers.py).
        mip_heuristic_run_rins=False,
        mip_heuristic_run_rens=False,
    )
    _columns(solver, task)
    _rows(solver, task)
    solver.run()
    status = status_of(solver)
    if not status.usable:
        return Chosen((), worth_of(task, ()), 0.0, status)
    values = np.array(solver.getSolution().col_value)[:many]
    picked = tuple(int(j) for j in np.flatnonzero(values > 0.5))
    return Chosen(picked, worth_of(task, picked), float(solver.getInfo().mip_dual_bound), status)


def _columns(solver: Any, task: Task) -> None:
    """Choices, then heads moved, heads bought, dry cells, thin cells."""
    many, lawn = task.rate.shape[1], task.rate.shape[0]
    work = np.where(task.own >= 0, rule("yard", "work_nozzle"), 0.0)
    dry = np.where(task.there > 0, 0.0, rule("yard", "dry") * task.area)
    costs = np.concatenate(
        (
            work,
            [rule("yard", "work_move"), rule("yard", "work_new")],
            dry,
            np.full(lawn, rule("yard", "thin") * task.area),
        )
    )
    upper = np.concatenate((np.ones(many), [float(task.in_way), float("inf")], np.ones(2 * lawn)))
    none = np.empty(0, np.int32)
    solver.addCols(len(costs), costs, np.zeros(len(costs)), upper, 0, none, none, np.empty(0))
    make_whole(solver, many)


def _rows(solver: Any, task: Task) -> None:
    many, lawn = task.rate.shape[1], task.rate.shape[0]
    moved, bought, dry, thin = many, many + 1, many + 2, many + 2 + lawn
    infinite = float("inf")

    def row(least: float, most: float, columns: Sequence[int], values: Sequence[float]) -> None:
        solver.addRow(
            least, most, len(columns), np.array(columns, np.int32), np.array(values, dtype=np.float64)
        )

    for place in np.unique(task.place):
        at = [int(j) for j in np.flatnonzero(task.place == place)]
        row(-infinite, 1.0, at, [1.0] * len(at))
    new = [int(j) for j in np.flatnonzero(task.own < 0)]
    stays = [int(j) for j in np.flatnonzero(task.own >= 0)]
    row(0.0, 0.0, [*new, moved, bought], [*[1.0] * len(new), -1.0, -1.0])
    row(-infinite, float(task.in_way), [*stays, moved], [1.0] * (len(stays) + 1))
    scale = float(task.flow.max())
    for k, room in enumerate(task.room):
        on = [int(j) for j in np.flatnonzero(task.line == k)]
        if on:
            row(-infinite, max(0.0, room / scale), on, [float(task.flow[j]) / scale for j in on])
    for i in range(lawn):
        near = [int(j) for j in np.flatnonzero(task.rate[i] > 0)]
        got = [float(task.rate[i, j]) for j in near]
        if task.there[i] <= 0:
            row(1.0, infinite, [*near, dry + i], [1.0] * (len(near) + 1))
        row(1.0 - task.there[i], infinite, [*near, thin + i], [*got, 1.0])
