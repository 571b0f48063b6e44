"""A program whose heights can be rounded to whole marks, and which is as small as can be.

A sheet writes heights to 1/8 in (1 mm in metric). A limit on the difference of two heights, moved in to
whole marks, is kept by rounding; method: own. Limits that others imply are left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.slab.heights.limits import EQUAL_SLOPE
from slabwright.slab.heights.problem import Problem
from slabwright.slab.heights.rows import Floats, Ints, Program

SAME = 1e-7  # [m] heights this near are one
UP = 1e-6  # a half is rounded up, also where it is a hair less: heights a whole number of marks apart stay so
DEAR = 1e4  # [m3/m] what passing a limit that was moved in to whole marks costs, far above any wish


@dataclass(frozen=True, slots=True)
class Marks:
    """The marks: every `grade` [m] up and down from `datum` [m]."""

    grade: float
    datum: float

    def nearest(self, z: Floats) -> Floats:
        """Return the mark nearest to each height [m]."""
        return self.datum + np.floor((z - self.datum) / self.grade + 0.5 + UP) * self.grade

    def on(self, z: Floats) -> NDArray[np.bool_]:
        """Return which heights are on a mark."""
        return np.abs(z - self.nearest(z)) < SAME


def eased(program: Program, grade: float) -> Program:
    """Return the program in which a fall that the crew wrote may be off by just under one mark.

    It is a wish with a give, and their own figure seldom comes to whole marks.
    """
    given = np.array([f.kind == "across-given" for f in program.families] + [False])[program.family]
    rows = np.flatnonzero(given & program.limits)
    if not len(rows):
        return program
    lo, hi = program.lo.copy(), program.hi.copy()
    cuts = [slice(program.start[r], program.start[r + 1]) for r in rows]
    steep = np.array([np.abs(program.value[c]).max(initial=0.0) for c in cuts])
    limit = np.array([f.limit for f in program.families])[program.family[rows]]
    one = grade * steep * (1 - UP)
    lo[rows] = np.minimum(lo[rows], limit - one)
    hi[rows] = np.maximum(hi[rows], limit + one)
    return program.with_bounds(lo, hi)


def slim(program: Program) -> Program:
    """Return the program without limits that others imply: the same heights, prices and costs.

    Of the limits on the difference of the same two heights only the strictest from each side stays,
    and rows that the builder marked as implied go.
    """
    p = program
    rows, key, coef = _differences(p)
    taken, _, _ = _strictest(p.lo[rows], p.hi[rows], key, coef, np.abs(coef), 0.0)
    keep = ~p.implied
    keep[rows] = False
    keep[rows[taken]] = True
    return p.only(np.flatnonzero(keep))


def _differences(p: Program) -> tuple[Ints, Ints, Floats]:
    """Return the limits on a difference of two heights: rows, a key for the two, coefficient of the first."""
    two = np.flatnonzero(p.limits & (p.lo < p.hi) & (np.diff(p.start) == 2))
    first = p.start[two]
    coef = p.value[first]
    even = np.abs(coef + p.value[first + 1]) <= np.abs(coef) * UP
    two, first, coef = two[even], first[even], coef[even]
    return two, p.index[first] * (p.columns + 1) + p.index[first + 1], coef


def drawn(problem: Problem, marks: Marks) -> Program:
    """Return the program with its heights drawn to where whole marks keep the limits.

    Each limit between two heights gets a narrower one beside it, moved in to whole marks, that costs
    dearly where it is passed. Rounding to the nearest mark keeps differences that are limited to whole
    marks; so heights that keep the narrower limits can be rounded.
    """
    p = slim(eased(problem.program, marks.grade))
    at = known(problem)
    count = len(p.lo)
    row = np.repeat(np.arange(count), np.diff(p.start))
    open_ = np.isnan(at[p.index])
    rest = np.bincount(row[~open_], p.value[~open_] * at[p.index[~open_]], minlength=count)
    terms = np.bincount(row[open_], minlength=count)
    of = np.zeros(count, dtype=np.int64)
    of[row[open_]] = np.flatnonzero(open_)  # where the one height that is not known stands
    one = np.flatnonzero(p.limits & (p.lo < p.hi) & (terms == 1))
    two, key, coef = _differences(p)
    both = terms[two] == 2
    two, key, coef = two[both], key[both], coef[both]
    rows = np.concatenate([one, two])
    single = p.value[of[one]]
    rest = np.concatenate([rest[one] + single * marks.datum, np.zeros(len(two))])
    coef = np.concatenate([single, coef])
    key = np.concatenate([-1 - p.index[of[one]], key])
    step = np.abs(coef) * marks.grade
    taken, lo, hi = _strictest(p.lo[rows] - rest, p.hi[rows] - rest, key, coef, step, EQUAL_SLOPE)
    price = DEAR / np.abs(coef[taken])
    return p.beside(rows[taken], lo + rest[taken], hi + rest[taken], price)


def _strictest(
    lo: Floats, hi: Floats, key: Ints, coef: Floats, step: Floats, slack: float
) -> tuple[Ints, Floats, Floats]:
    """Return the strictest from each side of the bands lo <= coef * d <= hi whose rows share a key.

    Rows of one key share their d. With `slack` the ends are moved in to whole steps of d, by row; a key
    in whose band no whole step is left has none. Given are places in the arrays, and both ends, one of
    them infinite.
    """
    if not len(key):
        return np.zeros(0, dtype=np.int64), lo, hi
    up = coef > 0
    least, most = np.where(up, lo, -hi) / step, np.where(up, hi, -lo) / step
    if slack:
        least, most = np.ceil(least - slack / step), np.floor(most + slack / step)
    _, place = np.unique(key, return_inverse=True)
    by_least, by_most = np.lexsort((-least, place)), np.lexsort((most, place))
    begin = np.searchsorted(place[by_least], np.arange(place.max() + 1))
    low, high = by_least[begin], by_most[begin]
    able = (least[low] <= most[high]) | (slack == 0.0)
    low, high = low[able & np.isfinite(least[low])], high[able & np.isfinite(most[high])]
    taken = np.concatenate([low, high])
    end = np.concatenate([least[low], most[high]]) * step[taken] * np.where(up[taken], 1.0, -1.0)
    below = np.concatenate([np.ones(len(low), dtype=np.bool_), np.zeros(len(high), dtype=np.bool_)])
    raised = below == up[taken]
    return taken, np.where(raised, end, -np.inf), np.where(raised, np.inf, end)


def known(problem: Problem) -> Floats:
    """Return heights [m] by column of what is fixed to one height or is to be met flush; NaN elsewhere."""
    p = problem.program
    single = np.flatnonzero((np.diff(p.start) == 1) & (p.lo == p.hi))
    kinds = np.array([f.unit == "m" and f.kind != "slab" for f in p.families] + [False])
    single = single[kinds[p.family[single]]]
    at = np.full(p.columns, np.nan)
    at[p.index[p.start[single]]] = p.lo[single] / p.value[p.start[single]]
    return at
