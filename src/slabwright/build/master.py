"""The master programme of cutting: which patterns to cut, how often, at least cost.

Rows: one per piece (cover its number) and one per kind of board (do not use more than there are).
Columns: patterns, plus one dear way per piece to leave it uncut, so that a solution always exists.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slabwright.build.patterns import Pattern
from slabwright.solving import Status, make_whole, quiet_solver, status_of

Floats = NDArray[np.float64]


INFINITE = float("inf")


class Master:
    """Linear master: grows by columns and is re-solved warm; a clean copy is solved in whole numbers."""

    def __init__(self, numbers: Sequence[int], limits: Sequence[int | None], leave: float) -> None:
        """Rows for `numbers` of pieces and `limits` of boards; `leave`: cost of leaving a piece uncut."""
        self._numbers, self._limits, self._leave = tuple(numbers), tuple(limits), leave
        self.columns: list[tuple[int, Pattern, float]] = []
        self._known: set[tuple[int, Pattern]] = set()
        self._lp = quiet_solver()
        self._rows(self._lp, [float(n) for n in numbers], [_open(x) for x in limits])

    def _rows(self, solver: Any, numbers: Sequence[float], limits: Sequence[float]) -> None:
        for number in numbers:
            solver.addRow(number, INFINITE, 0, np.empty(0, np.int32), np.empty(0))
        for limit in limits:
            solver.addRow(-INFINITE, limit, 0, np.empty(0, np.int32), np.empty(0))
        for row in range(len(numbers)):
            solver.addCol(self._leave, 0.0, INFINITE, 1, np.array([row], np.int32), np.ones(1))

    def add(self, board: int, pattern: Pattern, cost: float) -> bool:
        """Add a pattern on a kind of board at its cost; False when it is already there."""
        if (board, pattern) in self._known:
            return False
        self._known.add((board, pattern))
        self.columns.append((board, pattern, cost))
        self._column(self._lp, board, pattern, cost)
        return True

    def _column(self, solver: Any, board: int, pattern: Pattern, cost: float) -> None:
        rows = [i for i, count in enumerate(pattern) if count]
        values = [float(pattern[i]) for i in rows] + [1.0]
        rows.append(len(self._numbers) + board)
        solver.addCol(cost, 0.0, INFINITE, len(rows), np.array(rows, np.int32), np.array(values, np.float64))

    def set_need(self, numbers: Sequence[int], limits: Sequence[int | None]) -> None:
        """Change what is still to be cut and what boards are left."""
        pieces = len(self._numbers)
        for row, number in enumerate(numbers):
            self._lp.changeRowBounds(row, float(number), INFINITE)
        for board, limit in enumerate(limits):
            self._lp.changeRowBounds(pieces + board, -INFINITE, _open(limit))

    def solve(self) -> tuple[float, Floats, Floats, Floats] | None:
        """Solve the linear master: cost, use of each column, worth of each piece, worth of each board."""
        self._lp.run()
        if status_of(self._lp) is not Status.OPTIMAL:
            return None
        solution = self._lp.getSolution()
        use = np.array(solution.col_value)[len(self._numbers) :]
        worth = np.array(solution.row_dual)
        return (
            float(self._lp.getInfo().objective_function_value),
            use,
            worth[: len(self._numbers)],
            worth[len(self._numbers) :],
        )

    def whole(
        self,
        columns: Sequence[tuple[int, Pattern, float]],
        *,
        stop_at: float,
        nodes: int,
        presolve: bool,
    ) -> tuple[Status, list[int], float]:
        """Solve over `columns` in whole numbers: status, use of each column, proved bound.

        `stop_at`: good enough; `nodes`: effort, a count and not a time, so that the same notes always
        give the same boards. `presolve`: worth its time from some thousand columns on; on the small tight
        covers of a house job it costs three times what it saves (measured).
        """
        solver = quiet_solver(
            presolve="on" if presolve else "off",
            mip_max_nodes=nodes,
            mip_rel_gap=0.0,
            mip_abs_gap=1e-7,
            objective_target=stop_at,
        )
        self._rows(solver, [float(n) for n in self._numbers], [_open(x) for x in self._limits])
        for board, pattern, cost in columns:
            self._column(solver, board, pattern, cost)
        make_whole(solver, len(self._numbers) + len(columns))
        solver.run()
        status, bound = status_of(solver), float(solver.getInfo().mip_dual_bound)
        if status is Status.INFEASIBLE:
            return status, [], INFINITE
        if not status.usable:
            return status, [], bound
        use = [round(v) for v in solver.getSolution().col_value]
        if any(use[: len(self._numbers)]):  # a piece was left uncut
            return Status.STOPPED, [], bound
        return status, use[len(self._numbers) :], bound


def _open(limit: int | None) -> float:
    return INFINITE if limit is None else float(limit)
