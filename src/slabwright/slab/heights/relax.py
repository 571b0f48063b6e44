"""Which limits conflict, which are the fewest that must give, and by how much. Linear programs only.

Farkas: the rows that carry a price when the total give is least cannot all hold. Dropping families
from that set one at a time, as long as the rest still conflicts, leaves a minimal conflicting set;
every cure must bend one of its members, so single cures are looked for there and nowhere else.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slabwright.measure import INCH
from slabwright.slab.heights.rows import HEIGHT_KINDS, INF, Family, Floats, Program
from slabwright.slab.heights.solver import Give, Session, Solved, solve
from slabwright.solving import Status

SLACK = 1e-7  # a limit is widened by this much more than it must, so that rounding does not refuse it
# What a family's give costs per unit when the least bent surface is looked for: a height that is there
# already is bent last; 1/4 in of height and half a percent of slope weigh alike.
UNIT = {"m": 0.25 * INCH, "-": 0.005, "1/m": 0.005}
LAST = 100.0
MOST_AT_ONCE = 3  # limits bent together before the answer of the least total give is taken instead
WIDEST = 40  # branches of the search kept at one size; more would be felt as a pause


@dataclass(frozen=True, slots=True)
class Cure:
    """Families that must give together, each by how much (its unit; signed shift for heights)."""

    gives: tuple[tuple[int, float], ...]
    program: Program  # with these families widened
    solved: Solved


def weight_of(family: Family) -> float:
    """Return what one unit of give of a family weighs when cures are compared."""
    last = family.kind in HEIGHT_KINDS or family.kind in ("siding", "sill")
    return (LAST if last else 1.0) / UNIT[family.unit]


def _priced(program: Program, limits: Floats) -> Program:
    """Return the program with wishes free and limits at these prices (rows,)."""
    prices = np.where(program.limits, limits, 0.0)
    return program.with_prices(prices, prices)


def without(program: Program, families: frozenset[int]) -> Program:
    """Return the program in which these families' limits are free."""
    off = np.isin(program.family, list(families)) & program.limits
    return program.with_prices(np.where(off, 0.0, program.over), np.where(off, 0.0, program.under))


class Asker:
    """Answers whether some heights keep every limit but those of some families."""

    def __init__(self, program: Program) -> None:
        """Load the limits of a program, without its wishes."""
        self.program = program.only(np.flatnonzero(program.limits))
        self.session = Session(self.program)

    def __call__(self, families: frozenset[int]) -> bool:
        """Return whether some heights keep every limit but those of `families`."""
        self.session.allow(np.isin(self.program.family, list(families)))
        return self.session.holds()


def least_bent(program: Program) -> Solved:
    """Return the heights with the least weighted give over all families."""
    weights = np.array([weight_of(f) for f in program.families] + [INF])
    return solve(_priced(program, weights[program.family]))


def conflict(program: Program, bent: Solved) -> tuple[int, ...]:
    """Return a minimal set of families that cannot all hold; `bent` is the answer of `least_bent`."""
    carried = (np.abs(bent.dual) > 1e-9) & program.limits
    kept = sorted({int(k) for k in program.family[carried] if k >= 0})
    everything = frozenset(range(len(program.families)))
    holds_up = Asker(program)
    if holds_up(everything - frozenset(kept)):  # a certificate lost to rounding
        kept = sorted(everything)
    for k in list(kept):
        if not holds_up(everything - (frozenset(kept) - {k})):
            kept.remove(k)
    return tuple(kept)


def shift(program: Program, families: tuple[int, ...]) -> Cure | None:
    """Return the least common shift of some families' heights that lets all else hold."""
    rows = np.flatnonzero(np.isin(program.family, families))
    found = solve(_priced(program, np.full(len(program.lo), INF)), (Give(rows, 1.0, together=True),))
    if found.status is not Status.OPTIMAL:
        return None
    by = float(found.gives[0])
    lo, hi = program.lo.copy(), program.hi.copy()
    hard = rows[program.limits[rows]]
    lo[hard] += by - SLACK
    hi[hard] += by + SLACK
    wished = np.setdiff1d(rows, hard)
    lo[wished] += by
    hi[wished] += by
    return _proved(program.with_bounds(lo, hi), tuple((k, by) for k in families))


def widen(program: Program, families: tuple[int, ...]) -> Cure | None:
    """Return the least give of each family (the largest over its rows) when only they may give.

    The largest give over rows of one family is made least: the value to which the limit would have
    to be set. For several families their weighted sum is made least.
    """
    ways = tuple(
        Give(np.flatnonzero((program.family == k) & program.limits), weight_of(program.families[k]), False)
        for k in families
    )
    found = solve(_priced(program, np.full(len(program.lo), INF)), ways)
    if found.status is not Status.OPTIMAL:
        return None
    lo, hi = program.lo.copy(), program.hi.copy()
    for way, give in zip(ways, found.gives, strict=True):
        lo[way.rows] -= give + SLACK
        hi[way.rows] += give + SLACK
    gives = tuple((k, float(g)) for k, g in zip(families, found.gives, strict=True))
    return _proved(program.with_bounds(lo, hi), gives)


def _proved(program: Program, gives: tuple[tuple[int, float], ...]) -> Cure | None:
    """Solve the eased program in full; None when it does not hold after all."""
    solved = solve(program)
    return Cure(gives, program, solved) if solved.status is Status.OPTIMAL else None


def cure(program: Program, families: tuple[int, ...]) -> Cure | None:
    """Return how much these families must give, re-solved with all else held; None if it is no cure.

    One family of fixed heights is shifted as a whole where that is enough (a step keeps the edge's
    shape), otherwise each of its heights may give.
    """
    if len(families) == 1 and program.families[families[0]].kind in HEIGHT_KINDS:
        moved = shift(program, families)
        if moved is not None:
            return moved
    return widen(program, families)


def fewest(program: Program, members: tuple[int, ...], bent: Solved) -> list[Cure]:
    """Return the cures that bend the fewest families, the lightest first.

    `members` is a minimal conflicting set. Every cure bends one of its members; what conflicts
    without that member has a minimal set of its own, of which the cure bends one too, and so on: all
    cures of one size are found before any larger one (a hitting-set tree). Past MOST_AT_ONCE the
    families that gave in `bent` are taken.
    """
    holds_up = Asker(program)
    level: dict[frozenset[int], tuple[int, ...]] = {frozenset(): members}
    for _ in range(MOST_AT_ONCE):
        tried = sorted({bend | {k} for bend, conflicting in level.items() for k in conflicting}, key=sorted)
        works = [bend for bend in tried if holds_up(bend)]
        found = [made for bend in works if (made := cure(program, tuple(sorted(bend)))) is not None]
        if found:
            return sorted(found, key=lambda c: (_weight(program, c), [k for k, _ in c.gives]))
        level = {}
        for bend in tried[:WIDEST]:
            rest = without(program, bend)
            level[bend] = conflict(rest, least_bent(rest))
    made = cure(program, bent_families(program, bent))
    return [made] if made is not None else []


def bent_families(program: Program, bent: Solved) -> tuple[int, ...]:
    """Return the families that gave in the answer of `least_bent`."""
    return tuple(sorted({int(k) for k in program.family[program.excess(bent.z) > SLACK] if k >= 0}))


def _weight(program: Program, made: Cure) -> float:
    return sum(abs(by) * weight_of(program.families[k]) for k, by in made.gives)
