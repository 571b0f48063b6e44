"""Between the solver and our rules: a model in rows with names, and an answer with a status of ours.

A solver's own 'ok' says only that it ran. `solve` returns what it can vouch for: a value and the bound
proved for it, or that there is none, or that it stopped early; nothing else may be read as an answer.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

import highspy
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

NODES_MOST = 2000  # search nodes before giving up: a count, not seconds, so that runs repeat exactly
SECONDS_MOST = 1.0  # a guard only; a job that reaches it is refused a proof
WHOLE = 1e-6  # how far from a whole number a whole variable may come back


class Status(StrEnum):
    """What an answer is worth."""

    OPTIMAL = "optimal"  # proved best
    FEASIBLE = "feasible"  # it holds, but better was not ruled out
    INFEASIBLE = "infeasible"  # proved that nothing holds all rows
    NOTHING = "nothing"  # stopped early with no answer, or the solver failed


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
        return self.status in (Status.OPTIMAL, Status.FEASIBLE)


def quiet_solver() -> Any:
    """Return a solver that has printed nothing.

    The library's own class prints a banner on standard output as soon as it is made, before it can be
    told not to; the class under it, which does the solving, does not.
    """
    made = highspy.Highs.__bases__[0]()
    made.setOptionValue("output_flag", False)
    return made


def solve(
    model: Rows, *, nodes_most: int = NODES_MOST, seconds_most: float = SECONDS_MOST, hard: bool = False
) -> Answer:
    """Return the least-cost answer of the model with its status and bound.

    hard: the model has resisted some rounds; it is then branched on at once, without starting over.
    A fresh solver each time: options set after an earlier run (threads above all) are not safe.
    """
    n, m = len(model.cost), len(model.names)
    none = np.zeros(0)
    if n == 0:
        holds = all(lo <= 0.0 <= hi for lo, hi in zip(model.row_low, model.row_high, strict=True))
        return Answer(Status.OPTIMAL if holds else Status.INFEASIBLE, none, 0.0, 0.0)
    h = quiet_solver()
    h.setOptionValue("presolve", "off")  # covers this small solve a third faster without it
    if hard:
        h.setOptionValue("mip_heuristic_effort", 0.0)
        h.setOptionValue("mip_allow_restart", False)
    h.setOptionValue("mip_rel_gap", 0.0)
    h.setOptionValue("mip_abs_gap", 1e-9)
    h.setOptionValue("mip_max_nodes", nodes_most)
    h.setOptionValue("time_limit", seconds_most)
    h.passModel(_highs_lp(model, n, m))
    h.run()
    state = h.getModelStatus()
    kinds = highspy.HighsModelStatus
    if state in (kinds.kInfeasible, kinds.kUnboundedOrInfeasible):
        return Answer(Status.INFEASIBLE, none, float("inf"), float("inf"))
    info = h.getInfo()
    mixed = any(model.whole)
    has_point = info.primal_solution_status == 2  # a point that holds all rows
    if state == kinds.kOptimal and has_point:
        status = Status.OPTIMAL
    elif state in (kinds.kTimeLimit, kinds.kSolutionLimit, kinds.kIterationLimit) and has_point:
        status = Status.FEASIBLE
    else:
        return Answer(Status.NOTHING, none, float("inf"), float("-inf"))
    x = np.array(h.getSolution().col_value, dtype=np.float64)
    value = float(info.objective_function_value)
    if not mixed:
        return Answer(status, x, value, value if status is Status.OPTIMAL else float("-inf"))
    ints = np.array(model.whole)
    if np.abs(x[ints] - np.round(x[ints])).max(initial=0.0) > WHOLE:
        return Answer(Status.NOTHING, none, float("inf"), float("-inf"))
    return Answer(status, x, value, float(info.mip_dual_bound), int(info.simplex_iteration_count))


def _highs_lp(model: Rows, n: int, m: int) -> highspy.HighsLp:
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = n, m
    lp.col_cost_ = np.array(model.cost)
    lp.col_lower_, lp.col_upper_ = np.array(model.low), np.array(model.high)
    lp.row_lower_, lp.row_upper_ = np.array(model.row_low), np.array(model.row_high)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.array(model.start, dtype=np.int32)
    lp.a_matrix_.index_ = np.array(model.column, dtype=np.int32)
    lp.a_matrix_.value_ = np.array(model.value)
    if any(model.whole):
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.integrality_ = [kinds[w] for w in model.whole]
    return lp
