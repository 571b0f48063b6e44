"""Which limits conflict, which are the fewest that must give, and by how much. Linear programs only.

Farkas: the rows that carry a dual when the total give is least cannot all hold. Dropping families
from that set one at a time, as long as the rest still conflicts, leaves a minimal conflicting set;
every cure must bend one of its members, so single cures are looked for there and nowhere else.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from slabwright.slab.heights.limits import INCH
from slabwright.slab.heights.rows import HEIGHT_KINDS, INF, Family, Floats, Program
from slabwright.slab.heights.solver import Solved, Status, elastic, solve

SLACK = 1e-7  # a limit is widened by this much more than it must, so that rounding does not refuse it
# What a family's give costs per unit when the least bent surface is looked for: a height that is there
# already is bent last; 1/4 in of height and half a percent of slope weigh alike.
UNIT = {"m": 0.25 * INCH, "-": 0.005, "1/m": 0.005}
LAST = 100.0


@dataclass(frozen=True, slots=True)
class Cure:
    """Families that must give together, each by how much (its unit; signed shift for heights)."""

    gives: tuple[tuple[int, float], ...]
    program: Program  # with these families widened
    solved: Solved


def weight_of(family: Family) -> float:
    """Return what one unit of give of a family weighs when cures are compared."""
    return (LAST if family.kind in HEIGHT_KINDS or family.kind in ("siding", "sill") else 1.0) / UNIT[
        family.unit
    ]


def without(program: Program, families: frozenset[int]) -> Program:
    """Return the program in which these families' rows are free."""
    off = np.isin(program.family, list(families))
    return program.with_bounds(np.where(off, -INF, program.row_lo), np.where(off, INF, program.row_hi))


def holds_up(program: Program) -> bool:
    """Return whether some heights keep every row."""
    plain = replace(program, cost=np.zeros_like(program.cost), earth=np.zeros_like(program.earth))
    return solve(plain, prices=False).status is Status.OPTIMAL


def least_bent(program: Program) -> Solved:
    """Return the heights with the least weighted give over all families."""
    weights = np.array([weight_of(f) for f in program.families] + [INF])
    return solve(elastic(program, weights[program.family]), prices=False)


def conflict(program: Program, bent: Solved) -> tuple[int, ...]:
    """Return a minimal set of families that cannot all hold; `bent` is the answer of `least_bent`."""
    carried = np.abs(bent.dual[: len(program.family)]) > 1e-9
    kept = sorted({int(k) for k in program.family[carried] if k >= 0})
    everything = frozenset(range(len(program.families)))
    if holds_up(without(program, everything - frozenset(kept))):  # a certificate lost to rounding
        kept = sorted(everything)
    for k in list(kept):
        rest = frozenset(kept) - {k}
        if not holds_up(without(program, everything - rest)):
            kept.remove(k)
    return tuple(kept)


def shift(program: Program, family: int) -> tuple[float, Program] | None:
    """Return the least common shift of a family's heights that lets all else hold, and that program."""
    rows = np.flatnonzero(program.family == family)
    grown = _with_column(program, rows, np.full(len(rows), -1.0))
    found = solve(grown, prices=False)
    if found.status is not Status.OPTIMAL:
        return None
    by = float(found.x[-2] - found.x[-1])
    lo, hi = program.row_lo.copy(), program.row_hi.copy()
    lo[rows] += by - SLACK
    hi[rows] += by + SLACK
    return by, program.with_bounds(lo, hi)


def _with_column(program: Program, rows: np.ndarray, sign: Floats) -> Program:  # type: ignore[type-arg]
    """Return the least-shift program: two columns (up, down) that move the given rows together."""
    columns = len(program.cost)
    step = np.zeros(len(program.row_lo) + 1, dtype=np.int64)
    step[rows + 1] = 2
    start = program.start + np.cumsum(step)
    index = np.empty(len(program.index) + 2 * len(rows), dtype=np.int64)
    values = np.empty(len(index))
    owner = np.repeat(np.arange(len(program.row_lo)), np.diff(program.start))
    place = np.arange(len(program.index)) + np.cumsum(step)[:-1][owner]
    index[place], values[place] = program.index, program.value
    ends = start[rows + 1]
    index[ends - 2], values[ends - 2] = columns, sign
    index[ends - 1], values[ends - 1] = columns + 1, -sign
    cost = np.zeros(columns + 2)
    cost[-2:] = 1.0
    grow = np.concatenate
    return replace(
        program,
        cost=cost,
        earth=np.zeros(columns + 2),
        col_lo=grow([program.col_lo, np.zeros(2)]),
        col_hi=grow([program.col_hi, np.full(2, INF)]),
        start=start,
        index=index,
        value=values,
    )


def widen(program: Program, families: tuple[int, ...]) -> tuple[tuple[float, ...], Program] | None:
    """Return the least give of each family (the largest over its rows) when only they may give.

    The largest give over rows of one family is made least: the limit to which it would have to be
    set. For several families their weighted sum is made least.
    """
    lo, hi, split = _split(program, families)
    columns = len(program.cost)
    extra_cost = np.array([weight_of(program.families[k]) for k in families])
    count = len(families)
    rows = np.repeat(np.arange(len(split.row_lo)), np.diff(split.start))
    index = np.concatenate([split.index, columns + lo[1], columns + hi[1]])
    value = np.concatenate([split.value, np.ones(len(lo[0])), -np.ones(len(hi[0]))])
    owner = np.concatenate([rows, lo[0], hi[0]])
    order = np.argsort(owner, kind="stable")
    grown = replace(
        split,
        cost=np.concatenate([np.zeros(columns), extra_cost]),
        earth=np.zeros(columns + count),
        col_lo=np.concatenate([split.col_lo, np.zeros(count)]),
        col_hi=np.concatenate([split.col_hi, np.full(count, INF)]),
        start=np.searchsorted(owner[order], np.arange(len(split.row_lo) + 1)),
        index=index[order],
        value=value[order],
    )
    found = solve(grown, prices=False)
    if found.status is not Status.OPTIMAL:
        return None
    gives = tuple(float(v) for v in found.x[columns:])
    return gives, widened(program, dict(zip(families, gives, strict=True)))


def widened(program: Program, gives: dict[int, float]) -> Program:
    """Return the program with each family's bounds moved out by its give."""
    lo, hi = program.row_lo.copy(), program.row_hi.copy()
    for k, give in gives.items():
        rows = program.family == k
        lo[rows] -= give + SLACK
        hi[rows] += give + SLACK
    return program.with_bounds(lo, hi)


Ends = tuple[np.ndarray, np.ndarray]  # type: ignore[type-arg]


def _split(program: Program, families: tuple[int, ...]) -> tuple[Ends, Ends, Program]:
    """Write each two-sided row of the families as two rows; return (rows, family place) of both sides."""
    chosen = np.flatnonzero(np.isin(program.family, families))
    both = chosen[np.isfinite(program.row_lo[chosen]) & np.isfinite(program.row_hi[chosen])]
    lengths = np.diff(program.start)
    copies = [slice(program.start[r], program.start[r + 1]) for r in both]
    index = np.concatenate([program.index, *(program.index[c] for c in copies)])
    value = np.concatenate([program.value, *(program.value[c] for c in copies)])
    start = np.concatenate([[0], np.cumsum(np.concatenate([lengths, lengths[both]]))])
    hi = program.row_hi.copy()
    hi[both] = INF
    count = len(program.row_lo)
    whole = replace(
        program,
        row_lo=np.concatenate([program.row_lo, np.full(len(both), -INF)]),
        row_hi=np.concatenate([hi, program.row_hi[both]]),
        start=start,
        index=index,
        value=value,
        family=np.concatenate([program.family, program.family[both]]),
        place=np.concatenate([program.place, program.place[both]]),
    )
    number = {k: i for i, k in enumerate(families)}
    low = chosen[np.isfinite(program.row_lo[chosen])]
    high = np.concatenate([chosen[~np.isfinite(program.row_lo[chosen])], count + np.arange(len(both))])
    at = np.array([number[int(k)] for k in whole.family[low]], dtype=np.int64)
    to = np.array([number[int(k)] for k in whole.family[high.astype(np.int64)]], dtype=np.int64)
    return (low, at), (high.astype(np.int64), to), whole


def cure(program: Program, families: tuple[int, ...]) -> Cure | None:
    """Return how much these families must give, re-solved with all else held; None if it is no cure.

    One family of fixed heights is shifted as a whole where that is enough (a step keeps the edge's
    shape), otherwise each of its heights may give.
    """
    if len(families) == 1 and program.families[families[0]].kind in HEIGHT_KINDS:
        moved = shift(program, families[0])
        if moved is not None:
            solved = solve(moved[1], prices=False)
            if solved.status is Status.OPTIMAL:
                return Cure(((families[0], moved[0]),), moved[1], solved)
    wide = widen(program, families)
    if wide is None:
        return None
    gives, larger = wide
    solved = solve(larger, prices=False)
    if solved.status is not Status.OPTIMAL:
        return None
    return Cure(tuple(zip(families, gives, strict=True)), larger, solved)


def fewest(program: Program, members: tuple[int, ...], bent: Solved) -> list[Cure]:
    """Return the cures that bend the fewest families, the lightest first.

    Singles, then pairs, are tried out; past that the families that gave in `bent` are taken.
    """
    for size in (1, 2):
        found = []
        for group in combinations(range(len(program.families)), size):
            if not set(group) & set(members):
                continue
            made = cure(program, group) if holds_up(without(program, frozenset(group))) else None
            if made is not None:
                found.append(made)
        if found:
            return sorted(found, key=lambda c: (_weight(program, c), [k for k, _ in c.gives]))
    excess = program.excess(bent.x[: len(program.cost)])
    gave = tuple(sorted({int(k) for k in program.family[excess > SLACK] if k >= 0}))
    made = cure(program, gave) if gave else None
    return [made] if made is not None else []


def _weight(program: Program, made: Cure) -> float:
    return sum(abs(by) * weight_of(program.families[k]) for k, by in made.gives)
