"""A status of ours between the linear solver and the rules; warm starts; prices.

HiGHS is handed plain arrays. Its answer is only ever read through `Solved`, whose status is never
'ok' by default.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import numpy as np

from slabwright.slab.heights.rows import Floats, Program

TIME_LIMIT = 20.0  # [s] far beyond any house job; a lot of thousands of panels takes a few


class Status(StrEnum):
    """What the solver proved."""

    OPTIMAL = "optimal"
    INFEASIBLE = "infeasible"
    OUT_OF_TIME = "out of time"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class Basis:
    """Where a solve ended, for the next one to start from: statuses of columns and rows."""

    columns: tuple[Any, ...]
    rows: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Solved:
    """Status, objective, x (columns,), row duals (rows,), the same for earthwork alone, and the basis.

    A dual is the change of the objective per unit that both bounds of its row are raised.
    """

    status: Status
    objective: float
    x: Floats
    dual: Floats
    earth_dual: Floats
    basis: Basis | None


class Session:
    """A solver that keeps a program, so that an edit of bounds is solved from where it stood."""

    def __init__(self, program: Program, *, basis: Basis | None = None) -> None:
        """Load the program; `basis` of a program of the same shape makes the first solve warm."""
        import highspy

        self.program = program
        self.h = highspy.Highs()
        self.h.setOptionValue("output_flag", False)
        self.h.setOptionValue("solver", "simplex")
        self.h.setOptionValue("time_limit", TIME_LIMIT)
        self.h.setOptionValue("primal_feasibility_tolerance", 1e-9)
        self.h.setOptionValue("dual_feasibility_tolerance", 1e-9)
        self.h.passModel(_model(program))
        if basis is not None:
            own = self.h.getBasis()
            own.col_status, own.row_status, own.valid = list(basis.columns), list(basis.rows), True
            self.h.setBasis(own)

    def rebound(self, lo: Floats, hi: Floats) -> None:
        """Change the bounds of the rows that differ."""
        changed = np.flatnonzero((lo != self.program.row_lo) | (hi != self.program.row_hi))
        if len(changed):
            self.h.changeRowsBounds(len(changed), changed.astype(np.int32), lo[changed], hi[changed])
            self.program = self.program.with_bounds(lo, hi)

    def solve(self, *, prices: bool = True) -> Solved:
        """Solve from where the session stands; `prices` also splits earthwork out of the duals."""
        import highspy

        self.h.run()
        raw = self.h.getModelStatus()
        known = {
            highspy.HighsModelStatus.kOptimal: Status.OPTIMAL,
            highspy.HighsModelStatus.kInfeasible: Status.INFEASIBLE,
            highspy.HighsModelStatus.kUnboundedOrInfeasible: Status.INFEASIBLE,
            highspy.HighsModelStatus.kTimeLimit: Status.OUT_OF_TIME,
        }
        status = known.get(raw, Status.FAILED)
        none = np.zeros(0)
        if status is not Status.OPTIMAL:
            return Solved(status, float("nan"), none, none, none, None)
        answer = self.h.getSolution()
        basis = self.h.getBasis()
        earth = self._earth_dual() if prices else none
        return Solved(
            status,
            float(self.h.getObjectiveValue()),
            np.array(answer.col_value),
            np.array(answer.row_dual),
            earth,
            Basis(tuple(basis.col_status), tuple(basis.row_status)),
        )

    def _earth_dual(self) -> Floats:
        """Return B^-T c for the earthwork part of the cost, at the basis of the last solve."""
        rows = len(self.program.row_lo)
        if not rows:
            return np.zeros(0)
        _, basic = self.h.getBasicVariables()
        basic = np.asarray(basic)
        c = np.where(basic >= 0, self.program.earth[np.maximum(basic, 0)], 0.0)
        _, y = self.h.getBasisTransposeSolve(c)
        return np.array(y)


def _model(program: Program) -> Any:
    import highspy

    lp = highspy.HighsLp()
    lp.num_col_ = len(program.cost)
    lp.num_row_ = len(program.row_lo)
    lp.col_cost_ = program.cost
    lp.col_lower_ = program.col_lo
    lp.col_upper_ = program.col_hi
    lp.row_lower_ = program.row_lo
    lp.row_upper_ = program.row_hi
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = program.start.astype(np.int32)
    lp.a_matrix_.index_ = program.index.astype(np.int32)
    lp.a_matrix_.value_ = program.value
    return lp


def solve(program: Program, *, basis: Basis | None = None, prices: bool = True) -> Solved:
    """Return the proved optimum of a program, or the status that says why there is none."""
    found = Session(program, basis=basis).solve(prices=prices)
    if found.status is Status.FAILED and basis is not None:  # a stale start must not decide
        found = Session(program).solve(prices=prices)
    return found


def elastic(program: Program, weight: Floats) -> Program:
    """Return the program whose objective is the least weighted give of its rows.

    `weight` (rows,): cost per unit that a row is outside its bounds; infinite where it must hold.
    Two columns are added for each row that may give: too low, then too high.
    """
    gives = np.flatnonzero(np.isfinite(weight))
    columns, count = len(program.cost), len(gives)
    step = np.zeros(len(program.row_lo) + 1, dtype=np.int64)
    step[gives + 1] = 2
    start = program.start + np.cumsum(step)
    index = np.empty(len(program.index) + 2 * count, dtype=np.int64)
    values = np.empty(len(index))
    row = np.repeat(np.arange(len(program.row_lo)), np.diff(program.start))
    shift = np.cumsum(step)[:-1]
    place = np.arange(len(program.index)) + shift[row]
    index[place], values[place] = program.index, program.value
    ends = start[gives + 1]
    index[ends - 2], values[ends - 2] = columns + np.arange(count), 1.0
    index[ends - 1], values[ends - 1] = columns + count + np.arange(count), -1.0
    cost = np.concatenate([np.zeros(columns), weight[gives], weight[gives]])
    return replace(
        program,
        cost=cost,
        earth=np.zeros(len(cost)),
        col_lo=np.concatenate([program.col_lo, np.zeros(2 * count)]),
        col_hi=np.concatenate([program.col_hi, np.full(2 * count, np.inf)]),
        start=start,
        index=index,
        value=values,
    )
