"""A status of ours between the linear solver and the rules; warm edits; prices.

The program is solved by its dual, which is far smaller: one row for each node height and one column
for each side of a band, boxed by what leaving the band costs. The heights are the dual's row prices,
and what a limit costs is the value of its column. Measured on a job of 60 panels: 114 rows for 2,562,
and 5 ms for 26. The dual has always an answer (all zero keeps it), so 'unbounded' there means that
no heights keep the limits. HiGHS is handed plain arrays and its answer is only ever read through
`Solved`, whose status is never 'ok' by default.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slabwright.slab.heights.rows import Floats, Ints, Program
from slabwright.solving import Status, lp, quiet_solver, status_of

# what the dual's status says of the heights
_OF_DUAL = {
    Status.UNBOUNDED: Status.INFEASIBLE,
    Status.FEASIBLE: Status.STOPPED,
    Status.INFEASIBLE: Status.FAILED,
}


@dataclass(frozen=True, slots=True)
class Give:
    """A way in which rows may give: `rows`, and its price per unit.

    `together` shifts all the bands up or down by one amount; otherwise each band is made wider on both
    sides by up to the amount.
    """

    rows: Ints
    price: float
    together: bool


@dataclass(frozen=True, slots=True)
class Solved:
    """Status, cost [m3], heights z (columns,) [m], prices of rows, and the give of each `Give`.

    A row's `dual` is the change of the cost when both ends of its band are raised by one unit; `above`
    and `below` are what letting z past the upper and the lower end by one unit would save;
    `earth_above` and `earth_below` the earthwork in that [m3 per unit].
    """

    status: Status
    cost: float
    z: Floats
    above: Floats
    below: Floats
    earth_above: Floats
    earth_below: Floats
    gives: Floats
    family: Ints  # of each row

    @property
    def dual(self) -> Floats:
        """Return d(cost)/d(band) by row."""
        return self.below - self.above

    @property
    def earth_dual(self) -> Floats:
        """Return d(earthwork)/d(band) by row, at the limits that are in play."""
        return self.earth_below - self.earth_above


@dataclass(frozen=True, slots=True)
class _Columns:
    """Columns of the dual: its row, +1 for the upper end, -1 for the lower, 0 where the ends are one."""

    row: Ints
    side: Ints


class Session:
    """A solver that keeps a program, so that an edit is solved from where it stood."""

    def __init__(self, program: Program, gives: tuple[Give, ...] = ()) -> None:
        """Load the program's dual; `gives` let some of its rows give at a price."""
        self.program = program
        self.gives = gives
        self.columns = _columns(program, split=bool(gives))
        self.h: Any = quiet_solver(
            solver="simplex",
            presolve="off",
            simplex_dual_edge_weight_strategy=1,  # devex: a tenth faster here
            primal_feasibility_tolerance=1e-9,
            dual_feasibility_tolerance=1e-9,
        )
        self.h.passModel(_model(program, self.columns, gives))

    def rebound(self, lo: Floats, hi: Floats) -> None:
        """Move bands. A band of one height stays one; ValueError where its two ends part."""
        row, side = self.columns.row, self.columns.side
        if np.any((side == 0) & (lo[row] != hi[row])):
            raise ValueError("a band of one height cannot be given two ends in an edit; load it anew")
        cost = _cost(lo, hi, row, side)
        changed = np.flatnonzero(cost != _cost(self.program.lo, self.program.hi, row, side))
        if len(changed):
            self.h.changeColsCost(len(changed), changed.astype(np.int32), cost[changed])
        self.program = self.program.with_bounds(lo, hi)

    def allow(self, free: NDArray[np.bool_]) -> None:
        """Let some rows (rows,) give for nothing, and hold all others to the program's own prices."""
        row, side = self.columns.row, self.columns.side
        over, under = np.where(free, 0.0, self.program.over), np.where(free, 0.0, self.program.under)
        low, high = np.where(side == 0, -under[row], 0.0), np.where(side < 0, under[row], over[row])
        every = np.arange(len(row), dtype=np.int32)
        self.h.changeColsBounds(len(row), every, low, high)

    def holds(self) -> bool:
        """Return whether some heights keep the bands, from where the session stands; False if not proved."""
        self.h.run()
        return status_of(self.h) is Status.OPTIMAL

    def solve(self) -> Solved:
        """Solve from where the session stands."""
        self.h.run()
        status = status_of(self.h)
        if status is not Status.OPTIMAL:
            none = np.zeros(0)
            told = _OF_DUAL.get(status, status)
            return Solved(told, float("nan"), none, none, none, none, none, none, self.program.family)
        answer = self.h.getSolution()
        y = np.array(answer.col_value)
        z = np.array(answer.row_dual)
        n = self.program.columns
        above, below = self._sides(y)
        earth_above, earth_below = self._earth(z[:n], y)
        return Solved(
            Status.OPTIMAL,
            -float(self.h.getObjectiveValue()),
            z[:n],
            above,
            below,
            earth_above,
            earth_below,
            -z[n:],
            self.program.family,
        )

    def _sides(self, y: Floats) -> tuple[Floats, Floats]:
        """Spread a value for each column over the rows: upper ends and lower ends."""
        count = len(self.program.lo)
        row, side = self.columns.row, self.columns.side
        above, below = np.zeros(count), np.zeros(count)
        one = side == 0
        above[row[one]] = np.maximum(0.0, y[one])
        below[row[one]] = np.maximum(0.0, -y[one])
        above[row[side > 0]] = y[side > 0]
        below[row[side < 0]] = y[side < 0]
        return above, below

    def _earth(self, z: Floats, y: Floats) -> tuple[Floats, Floats]:
        """Return how the earthwork alone moves with each band's ends, with the same rows tight.

        The tight rows are the basis: z = B^-1 bands. The gradient of the earthwork over the other rows,
        carried back through the basis, is its change with each tight band.
        """
        p = self.program
        zero = np.zeros(len(p.lo))
        if self.gives or not p.earth.any():
            return zero, zero
        _, basic = self.h.getBasicVariables()
        basic = np.asarray(basic)
        a = p.activity(z)
        tight = np.zeros(len(p.lo), dtype=np.bool_)
        tight[self.columns.row[basic[basic >= 0]]] = True
        dug = np.flatnonzero((p.earth != 0) & ~tight)  # wishes for one height each: their bands are finite
        way = np.zeros(len(p.lo))
        way[dug] = np.sign(a[dug] - p.lo[dug]) * p.earth[dug]
        gradient = np.zeros(p.columns)
        np.add.at(gradient, p.index, np.repeat(way, np.diff(p.start)) * p.value)
        _, moved = self.h.getBasisSolve(gradient)
        per_column = np.zeros(len(self.columns.row))
        per_column[basic[basic >= 0]] = np.asarray(moved)[basic >= 0]
        # per_column: change of the earthwork per unit that the column's end of the band is raised
        side = self.columns.side
        above, below = zero.copy(), zero.copy()
        up = (side > 0) | ((side == 0) & (y > 0))
        # letting z past an end: the upper end goes up, the lower one down
        above[self.columns.row[up]] = -per_column[up]
        down = ~up
        signed = np.where(side < 0, -1.0, 1.0) * per_column
        below[self.columns.row[down]] = signed[down]
        return above, below


def _columns(program: Program, *, split: bool) -> _Columns:
    """Return the dual's columns: one for a band of one height (unless split), one for each finite end."""
    one = (program.lo == program.hi) & (not split)
    rows = np.arange(len(program.lo))
    upper = rows[~one & np.isfinite(program.hi)]
    lower = rows[~one & np.isfinite(program.lo)]
    row = np.concatenate([rows[one], upper, lower])
    side = np.concatenate([np.zeros(one.sum(), int), np.ones(len(upper), int), -np.ones(len(lower), int)])
    return _Columns(row, side)


def _cost(lo: Floats, hi: Floats, row: Ints, side: Ints) -> Floats:
    return np.where(side < 0, -lo[row], hi[row])


def _model(program: Program, columns: _Columns, gives: tuple[Give, ...]) -> Any:
    row, side = columns.row, columns.side
    p = program
    lengths = np.diff(p.start)[row]
    start = np.concatenate([[0], np.cumsum(lengths)])
    take = np.arange(start[-1]) + np.repeat(p.start[row] - start[:-1], lengths)
    index, value = p.index[take], p.value[take] * np.repeat(np.where(side < 0, -1.0, 1.0), lengths)
    zero = np.zeros(p.columns)
    low, high = [zero], [zero]
    if gives:  # each way to give is one more row: the columns that it eases may sum to its price
        owner = np.repeat(np.arange(len(row)), lengths)
        for k, give in enumerate(gives):
            eased = np.flatnonzero(np.isin(row, give.rows))
            index = np.concatenate([index, np.full(len(eased), p.columns + k)])
            value = np.concatenate(
                [value, np.where(side[eased] < 0, -1.0, 1.0) if give.together else np.ones(len(eased))]
            )
            owner = np.concatenate([owner, eased])
            low.append(np.array([-give.price if give.together else -np.inf]))
            high.append(np.array([give.price]))
        order = np.argsort(owner, kind="stable")
        index, value = index[order], value[order]
        start = np.searchsorted(owner[order], np.arange(len(row) + 1))
    return lp(
        _cost(p.lo, p.hi, row, side),
        (np.where(side == 0, -p.under[row], 0.0), np.where(side < 0, p.under[row], p.over[row])),
        (np.concatenate(low), np.concatenate(high)),
        (start, index, value),
        by_rows=False,
    )


def solve(program: Program, gives: tuple[Give, ...] = ()) -> Solved:
    """Return the proved optimum of a program, or the status that says why there is none."""
    return Session(program, gives).solve()
