"""The one way to the solver of linear and whole-number programs: silent, options checked, a status of ours.

A solver's own 'ok' says only that it ran. What its answer is worth is said by `status_of`, and nothing
else may be read as one. Effort is limited by counts of steps and of branches, never by a clock, so that
the same notes give the same plan on a busy machine. The solver is loaded when it is first asked for.

The same program has the same answer, so what was solved last is remembered: a plan is made anew at every
edit of its notes, and few edits change a slab's shape or its bars.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import StrEnum
from functools import lru_cache
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

F = TypeVar("F", bound=Callable[..., Any])
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

STEPS_MOST = 100_000
"""Steps of the simplex method before giving up: fifteen times what a lot of 3,000 panels takes."""


class Status(StrEnum):
    """What an answer is worth."""

    OPTIMAL = "optimal"  # proved best
    FEASIBLE = "feasible"  # it holds, but better was not ruled out
    INFEASIBLE = "infeasible"  # proved that nothing holds all rows
    UNBOUNDED = "unbounded"  # none is best; the solver may not have looked whether any holds
    STOPPED = "stopped early"  # the effort allowed was spent before any was found
    FAILED = "failed"

    @property
    def usable(self) -> bool:
        """Whether there is an answer that holds all rows."""
        return self in (Status.OPTIMAL, Status.FEASIBLE)


def quiet_solver(**options: Any) -> Any:
    """Return a solver that prints nothing, with these options; ValueError for one that it does not take.

    The library's usual class prints a banner on standard output, which belongs to data, before it can be
    told not to; the class under it, which does the solving, does not. Make one for each program: options
    set after an earlier run (threads above all) are not safe.
    """
    import highspy

    made = highspy.Highs.__bases__[0]()
    for name, value in {"output_flag": False, "simplex_iteration_limit": STEPS_MOST, **options}.items():
        if made.setOptionValue(name, value) != highspy.HighsStatus.kOk:
            raise ValueError(f"the solver does not take {value!r} for {name!r}")
    return made


_remembered: list[Callable[[], None]] = []


def remembered(most: int) -> Callable[[F], F]:
    """Return a decorator that keeps a pure function's last answers, `most` of them, by its arguments.

    Arguments can be hashed; nobody changes an answer.
    """

    def keep(function: F) -> F:
        kept = lru_cache(maxsize=most)(function)
        _remembered.append(kept.cache_clear)
        return cast(F, kept)

    return keep


def forget() -> None:
    """Forget every answer, so that work can be timed as if it were new."""
    for clear in _remembered:
        clear()


def rest() -> None:
    """End the threads that the solver keeps; a process that is about to fork must not have any."""
    import highspy

    highspy.Highs.resetGlobalScheduler(True)


def status_of(solver: Any) -> Status:
    """Return what the answer of a solver's last run is worth."""
    import highspy

    state, known = solver.getModelStatus(), highspy.HighsModelStatus
    holds = solver.getInfo().primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    if state == known.kOptimal:
        return Status.OPTIMAL if holds else Status.FAILED
    if state == known.kInfeasible:
        return Status.INFEASIBLE
    if state in (known.kUnbounded, known.kUnboundedOrInfeasible):
        return Status.UNBOUNDED
    if state in (known.kIterationLimit, known.kSolutionLimit, known.kObjectiveTarget, known.kTimeLimit):
        return Status.FEASIBLE if holds else Status.STOPPED
    return Status.FAILED


def lp(
    cost: Floats,
    columns: tuple[Floats, Floats],
    rows: tuple[Floats, Floats],
    matrix: tuple[Ints, Ints, Floats],
    *,
    by_rows: bool,
    whole: Sequence[bool] = (),
) -> Any:
    """Return a program as the solver takes it: least cost * x, with x and matrix * x between two ends.

    cost (n,); columns and rows: least and most of each, (n,) and (m,). matrix: where each row (or column,
    where not `by_rows`) starts, the places of its entries, and their values. whole (n,): which columns are
    to come out as whole numbers; none where it is empty.
    """
    import highspy

    made = highspy.HighsLp()
    made.num_col_, made.num_row_ = len(cost), len(rows[0])
    made.col_cost_ = cost
    made.col_lower_, made.col_upper_ = columns
    made.row_lower_, made.row_upper_ = rows
    kinds = highspy.MatrixFormat
    made.a_matrix_.format_ = kinds.kRowwise if by_rows else kinds.kColwise
    start, index, value = matrix
    made.a_matrix_.start_ = start.astype(np.int32)
    made.a_matrix_.index_ = index.astype(np.int32)
    made.a_matrix_.value_ = value
    if any(whole):
        of = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        made.integrality_ = [of[w] for w in whole]
    return made


def make_whole(solver: Any, count: int) -> None:
    """Ask that the first `count` columns of a solver come out as whole numbers."""
    import highspy

    kinds = np.full(count, highspy.HighsVarType.kInteger)
    solver.changeColsIntegrality(count, np.arange(count, dtype=np.int32), kinds)
