"""Least squares of one net, plane or heights, from a first guess to covariances.

Gauss-Newton: the factor of the first step is kept while steps shrink fast, so that most nets are
factored twice, once at the guess and once at the answer, where the covariances come from.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from slabwright.survey.fronts import Fronts

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

STEPS = 60  # Gauss-Newton steps before giving up
SETTLED = 1e-11  # [m] length of the last step of a settled solution, beside the rounding of coordinates
RUNAWAY = 1e7  # [m] a step this long comes of a net that nothing holds
FAST = 0.35  # a step this much shorter than the last one keeps the old factor
HALVINGS = 12  # times that a step which makes things worse is halved


@dataclass(frozen=True, slots=True)
class Problem:
    """One net as equations.

    predict(x (n,)) -> (values (m,), derivatives (m, k)); cols (m, k): columns, -1 for none or
    fixed; value, sd (m,); use (m,): rows that count; fronts: the elimination plan; start (n,).
    """

    predict: Callable[[Floats], tuple[Floats, Floats]]
    cols: Ints
    value: Floats
    sd: Floats
    use: Bools
    fronts: Fronts
    start: Floats

    def without(self, row: int, start: Floats | None = None) -> Problem:
        """Return the same net with one row set aside."""
        use = self.use.copy()
        use[row] = False
        return replace(self, use=use, start=self.start if start is None else start)

    @property
    def dof(self) -> int:
        """Return the degrees of freedom: rows that count less unknowns."""
        return int(self.use.sum()) - len(self.start)


@dataclass(frozen=True, slots=True)
class Solution:
    """The settled net.

    x (n,) [m]; residual (m,) adjusted less written [m or rad]; statistic: sum of squared residuals
    over variances [-]; q (m,): variance of each adjusted reading; r (m,): redundancy numbers [-]
    (of rows set aside: 0); w (m,): standardised residuals [-]; settled: whether steps died away.
    """

    x: Floats
    residual: Floats
    statistic: float
    q: Floats
    r: Floats
    w: Floats
    settled: bool


def descend(problem: Problem, ridge: float = 0.0) -> tuple[Floats, bool]:
    """Return the unknowns (n,) of the least-squares solution and whether it settled.

    ridge [1/m2] pulls each step short, for nets that leave something open.
    Raises LinAlgError when the unknowns are not determined.
    """
    x = problem.start.copy()
    weight = _weights(problem)
    value, coef = problem.predict(x)
    miss = weight * (problem.value - value)
    cost = float(miss @ miss)
    last = math.inf
    kept = False
    column = weight[:, None]
    # Coordinates carry sixteen digits; below a few units of the last one nothing can settle.
    end = SETTLED + 8e-16 * float(np.abs(x).max(initial=0.0))
    for _ in range(STEPS):
        scaled = coef * column
        if not kept:
            problem.fronts.factor(scaled, ridge)
        step = problem.fronts.solve(problem.fronts.gradient(scaled, miss))
        size = math.sqrt(_square(step))
        if not size < RUNAWAY:
            raise np.linalg.LinAlgError("the net ran away")
        # What is still missing after this step is the next one, shorter by the same factor.
        ahead = size * min(size / last, 1.0) if last < math.inf else size
        if min(size, 10.0 * ahead) < end:
            return x + step, True
        for _ in range(HALVINGS):
            value, coef = problem.predict(x + step)
            miss = weight * (problem.value - value)
            new = float(miss @ miss)
            if new <= cost * (1.0 + 1e-9) + 1e-12:
                break
            step = step / 2.0
        x = x + step
        cost = new
        kept = size < FAST * last
        last = size
    return x, False


def solve(problem: Problem) -> Solution:
    """Return the settled net with its covariances, which stay in `problem.fronts`.

    Raises LinAlgError when the unknowns are not determined.
    """
    x, settled = descend(problem)
    value, coef = problem.predict(x)
    weight = _weights(problem)
    _factor_at(problem, coef * weight[:, None])
    q = problem.fronts.row_variance(coef)
    residual = value - problem.value
    own = problem.sd**2
    r = np.minimum(np.maximum(1.0 - q / own, 0.0), 1.0) * problem.use
    # A row set aside is judged against the prediction of all the others.
    spread = np.sqrt(np.where(problem.use, own * r, own + q))
    open_rows = problem.use & (r < 1e-9)
    w = np.where(open_rows, 0.0, residual / np.where(open_rows, 1.0, spread))
    return Solution(
        x=x,
        residual=residual,
        statistic=_square(weight * residual),
        q=q,
        r=r,
        w=w,
        settled=settled,
    )


def refresh(problem: Problem, solution: Solution) -> None:
    """Put a solution's covariances back into `problem.fronts`, when something else was factored since."""
    _factor_at(problem, problem.predict(solution.x)[1] * _weights(problem)[:, None])


def _weights(problem: Problem) -> Floats:
    out: Floats = problem.use / problem.sd
    return out


def _factor_at(problem: Problem, scaled: Floats) -> None:
    """Put the covariances of these scaled rows into the fronts, unless they are there."""
    if not problem.fronts.holds(scaled):
        problem.fronts.factor(scaled)
        problem.fronts.invert()
    elif not problem.fronts.inverted:
        problem.fronts.invert()


def _square(a: Floats) -> float:
    return float(a @ a)
