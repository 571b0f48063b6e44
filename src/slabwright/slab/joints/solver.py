"""Between the solver and our rules: a model in rows with names, and an answer with a status of ours.

A solver's own 'ok' says only that it ran. `solve` returns what it can vouch for: a value and the bound
proved for it, or that there is none, or that it stopped early; nothing else may be read as an answer.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slabwright.solving import Status, lp, quiet_solver, status_of

Floats = NDArray[np.float64]

NODES_MOST = 200  # branches before giving up: forty times what any job of the tests and benches needs
WHOLE = 1e-6  # how far from a whole number a whole variable may come back


@dataclass(slots=True)
class Rows:
    """A model as it is built: columns with cost and limits, rows with name and limits.

    Costs are minimised. `whole` marks columns that must come out as whole numbers.
    """

    cost: list[float] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    row_low: list[float] = field(default_factory=list)
    row_high: list[float] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    start: list[int] = field(default_factory=lambda: [0])
    column: list[int] = field(default_factory=list)
    value: list[float] = field(default_factory=list)

    def col(self, cost: float, low: float, high: float, *, whole: bool = False) -> int:
        """Add a column and return its number."""
        self.cost.append(cost)
        self.low.append(low)
        self.high.append(high)
        self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, terms: dict[int, float], low: float, high: float, name: str) -> None:
        """Add the row low <= sum(value * column) <= high."""
        self.column += terms.keys()
        self.value += terms.values()
        self.start.append(len(self.column))
        self.row_low.append(low)
        self.row_high.append(high)
        self.names.append(name)


@dataclass(frozen=True, slots=True)
class Answer:
    """Status, the columns' values, the objective and the bound proved for it (equal when optimal).

    `work`: steps of the simplex method, a measure of effort that does not depend on the machine.
    """

    status: Status
    x: Floats
    value: float
    bound: float
    work: int = 0

    @property
    def usable(self) -> bool:
        """Whether `x` holds all rows."""
        return self.status.usable


def solve(model: Rows, *, nodes_most: int = NODES_MOST, hard: bool = False) -> Answer:
    """Return the least-cost answer of the model with its status and bound.

    hard: the model has resisted some rounds; it is then branched on at once, without starting over.
    """
    n = len(model.cost)
    none = np.zeros(0)
    if n == 0:
        holds = all(lo <= 0.0 <= hi for lo, hi in zip(model.row_low, model.row_high, strict=True))
        return Answer(Status.OPTIMAL if holds else Status.INFEASIBLE, none, 0.0, 0.0)
    h = quiet_solver(
        presolve="off",  # covers this small solve a third faster without it
        mip_rel_gap=0.0,
        mip_abs_gap=1e-9,
        mip_max_nodes=nodes_most,
        # Jumping about for a first answer took three quarters of a cover's time, and branching finds as
        # good a one at once (bench/bench_joints.py).
        mip_heuristic_run_feasibility_jump=False,
        **({"mip_heuristic_effort": 0.0, "mip_allow_restart": False} if hard else {}),
    )
    h.passModel(_given(model))
    h.run()
    status, info = status_of(h), h.getInfo()
    if status is Status.INFEASIBLE:
        return Answer(status, none, float("inf"), float("inf"))
    if not status.usable:
        return Answer(status, none, float("inf"), float("-inf"))
    x = np.array(h.getSolution().col_value, dtype=np.float64)
    value = float(info.objective_function_value)
    if not any(model.whole):
        return Answer(status, x, value, value if status is Status.OPTIMAL else float("-inf"))
    ints = np.array(model.whole)
    if np.abs(x[ints] - np.round(x[ints])).max(initial=0.0) > WHOLE:
        return Answer(Status.FAILED, none, float("inf"), float("-inf"))
    return Answer(status, x, value, float(info.mip_dual_bound), int(info.simplex_iteration_count))


def _given(model: Rows) -> Any:
    return lp(
        np.array(model.cost),
        (np.array(model.low), np.array(model.high)),
        (np.array(model.row_low), np.array(model.row_high)),
        (np.array(model.start), np.array(model.column, dtype=np.int64), np.array(model.value)),
        by_rows=True,
        whole=model.whole,
    )
