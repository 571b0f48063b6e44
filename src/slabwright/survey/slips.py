"""Finding the one reading whose likely slip makes a failed net close.

Every reading in turn is set aside and the net solved without it; what the others say that it should
have read is compared with each slip a person may have made in it. A slip is judged by how well the
net closes with it and by how usual it is, so that 'a foot long' beats 'ten and three eighths inches
short' when both fit. Scores are minus twice the logarithm of a chance, so that they add up with the
sum of squares of the net.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.survey.chi_square import chi_square_quantile, normal_quantile
from slabwright.survey.misreads import SORTS, habits, meanings
from slabwright.survey.rows import Tag
from slabwright.survey.solve import Problem, Solution

Floats = NDArray[np.float64]

SUSPECT = 2.3  # |w| from which a reading is looked at when a net fails
LOOKS = 14  # readings looked at in a net of up to SMALL rows; a larger one gets FEW
SMALL, FEW = 500, 5
BENT = 1000.0  # past this statistic per degree of freedom a net is bent, and more rows are looked at
MANY = 10_000  # rows looked at in a bent net, times its rows: all of a house lot's, for time is short
LEAST_SHARE = 0.002  # a redundancy number below this leaves a reading unjudged
RESTORED = 0.995  # a net counts as restored inside this share of chi-square
SLACK = 6.0  # [-] and this much over, for the reading itself still carries its noise
MUCH = 0.7  # a slip beside another one must take away at least three tenths of the sum of squares
RANGE = 6.0  # [m] a slip of no known kind may have any size, long or short, over about this span;
FADE = (1.0, 2.0)  # [m] past the first it grows rarer, by e for each of the second (common practice)
EQUAL = 4.0  # two explanations whose scores differ by less fit equally (1 to 7 in chance)
GAIN = 1.0  # how much better than 'no slip' an explanation must score
FAMILY = 0.01  # chance that the largest |w| of a good net starts a search


@dataclass(frozen=True, slots=True)
class Without:
    """The net solved without one row.

    statistic: of the rest; miss [m]: written less predicted; spread [m]: sd of that; start (n,): the
    unknowns; line [m]: length of a square-off's line; burden [-]: what makes this net unlikely besides
    its readings (pegs that would stand indoors), on the scale of the statistic.
    """

    row: int
    statistic: float
    miss: float
    spread: float
    start: Floats
    line: float | None = None
    burden: float = 0.0


@dataclass(frozen=True, slots=True)
class Guess:
    """One explanation: row, kind of slip, written less what was meant [m], score (lower is likelier).

    point: instead of a row (then -1), the point that stands on the other side of a line.
    """

    row: int
    kind: str
    by: float
    score: float
    statistic: float
    start: Floats
    point: str = ""


def suspicious(problem: Problem, solution: Solution) -> bool:
    """Return whether a net fails its global test, or one reading stands out too far."""
    dof = problem.dof
    if dof <= 0:
        return False
    if solution.statistic > chi_square_quantile(0.95, dof):
        return True
    used = max(int(problem.use.sum()), 1)
    return float(np.abs(solution.w).max(initial=0.0)) > normal_quantile(1.0 - FAMILY / (2.0 * used))


def suspects(problem: Problem, solution: Solution) -> list[int]:
    """Return the rows to look at, the most striking first."""
    good = problem.use & (solution.r > LEAST_SHARE)
    small = len(problem.value) <= SMALL
    # A gross slip bends the whole net, and the reading at fault need not stand out in it.
    bent = small and solution.statistic > BENT * max(problem.dof, 1)
    if not bent:
        good &= np.abs(solution.w) > SUSPECT
    rows = np.flatnonzero(good)
    rows = rows[np.argsort(-np.abs(solution.w[rows]), kind="stable")]
    most = max(LOOKS, MANY // len(problem.value)) if bent else LOOKS if small else FEW
    return [int(row) for row in rows[:most]]


def guesses(tag: Tag, value: float, out: Without) -> list[Guess]:
    """Return every explanation of one row, scored: a known slip, or one of any other size."""
    table = habits()
    rate = table["rate"].share
    found: list[Guess] = []
    for meaning in meanings(tag.kind, tag.written, value, out.line):
        by = value - meaning.value
        fit = ((out.miss - by) / out.spread) ** 2
        score = out.statistic + out.burden + fit - 2.0 * math.log(rate * meaning.share)
        found.append(Guess(out.row, meaning.kind, by, score, out.statistic + fit, out.start))
    sort = SORTS[tag.kind]
    kind = "not-so" if sort == "form" else "unknown"
    # A slip of any size spreads its chance over the whole range; a corner's over a radian.
    width = math.sqrt(2.0 * math.pi) * out.spread / (1.0 if tag.kind == "right" else RANGE)
    score = out.statistic + out.burden - 2.0 * math.log(rate * table[kind].share * min(width, 1.0))
    score += 2.0 * max(abs(out.miss) - FADE[0], 0.0) / FADE[1]
    found.append(Guess(out.row, kind, out.miss, score, out.statistic, out.start))
    return found


@dataclass(frozen=True, slots=True)
class Verdict:
    """The explanations that fit equally, likeliest first, with their chances; empty when none does."""

    named: tuple[tuple[Guess, float], ...]


def judge(
    problem: Problem,
    solution: Solution,
    tags: Sequence[Tag],
    without: Callable[[Problem, Solution, int], Sequence[Without]],
    more: Sequence[Guess] = (),
    *,
    restores: bool = True,
) -> Verdict:
    """Return which slips explain the failure of a net best.

    without(problem, solution, row): the net solved without that row, in every way it can be (none, or
    two where that leaves a point on either side of a line); more:
    explanations that are not a single row's (a point on the other side of a wall); restores: whether
    the net must pass with the slip mended, or only be much better (when there may be another one).
    """
    every = list(more)
    for row in suspects(problem, solution):
        for out in without(problem, solution, row):
            every += guesses(tags[row], float(problem.value[row]), out)
    limit = restored(max(problem.dof - 1, 1)) if restores else MUCH * solution.statistic
    nothing = solution.statistic - GAIN
    best: dict[tuple[int, str], Guess] = {}
    for guess in sorted(every, key=lambda g: g.score):
        if guess.score < nothing and guess.statistic <= limit:
            best.setdefault((guess.row, guess.point), guess)
    fit = list(best.values())
    if not fit:
        return Verdict(())
    least = fit[0].score
    chance = [math.exp(-(g.score - least) / 2.0) for g in fit]
    total = sum(chance)
    named = [(g, c / total) for g, c in zip(fit, chance, strict=True) if g.score - least < EQUAL]
    return Verdict(tuple(named))


def restored(dof: int) -> float:
    """Return the sum of squares up to which a net with `dof` degrees of freedom counts as restored."""
    return chi_square_quantile(RESTORED, dof) + SLACK


def linear_without(problem: Problem, solution: Solution, row: int) -> tuple[Without, ...]:
    """Return a linear net without one row, from its residuals alone (no new solution needed).

    Miss = -v / r, spread = sd / sqrt(r), statistic less w^2 (`baarda-1968`).
    """
    r = float(solution.r[row])
    out = Without(
        row=row,
        statistic=solution.statistic - float(solution.w[row]) ** 2,
        miss=-float(solution.residual[row]) / r,
        spread=float(problem.sd[row]) / math.sqrt(r),
        start=solution.x,
    )
    return (out,)
