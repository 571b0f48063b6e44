"""What is cut and from what, in whole grains: pieces, boards, and the plan handed back in lengths."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from slabwright.build.patterns import Pattern

FITS = 1e-6  # part of a grain by which rounding may be off before a piece counts as too long
COST_TOLERANCE = 1e-6  # costs nearer than this are the same cost
COST_UNIT = 1e-6  # costs are whole multiples of this when looking for their common step
MOST_WAYS = 20_000  # ways to use a pile that are looked at
MOST_GRAINS = 60_000  # the longest board in grains; beyond that the tables grow too big


@dataclass(frozen=True, slots=True)
class Stock:
    """A kind of board: length [m], cost of using one, how many there are (None: as many as wanted)."""

    length: float
    cost: float
    limit: int | None = None
    origin: str = "yard"


@dataclass(frozen=True, slots=True)
class Cut:
    """One board and the pieces cut from it [m], longest first; `left` [m] after all saw cuts."""

    stock: Stock
    pieces: tuple[float, ...]
    left: float


@dataclass(frozen=True, slots=True)
class Cutting:
    """A cutting plan: cost, proved lower bound on any plan's cost, and pieces that nothing can give.

    `proved`: no plan is cheaper. `uncut`: (length [m], count) of pieces longer than every board or
    beyond what a limited pile can give; they are in no cut and in neither cost nor bound.
    """

    cuts: tuple[Cut, ...]
    cost: float
    bound: float
    proved: bool
    uncut: tuple[tuple[float, int], ...]


Choice = tuple[int, Pattern]  # a kind of board and a pattern on it
Cuts = tuple[list[Choice], list[int]]  # boards cut, and pieces of each size that are still missing


@dataclass(frozen=True, slots=True)
class Problem:
    """What to cut, in whole grains: pieces in falling size, boards without those that another beats."""

    sizes: tuple[int, ...]
    lengths: tuple[tuple[float, ...], ...]  # the true lengths behind each size, longest first
    boards: tuple[Stock, ...]
    capacities: tuple[int, ...]
    kerf: float
    step: float  # every plan's cost is a whole multiple of this; 0 when there is no useful step
    leave: float  # cost of leaving a piece uncut: dearer than any board, so nothing is left that fits

    @property
    def numbers(self) -> tuple[int, ...]:
        """How many of each size are wanted."""
        return tuple(len(same) for same in self.lengths)

    @property
    def limits(self) -> tuple[int | None, ...]:
        """How many of each kind of board there are."""
        return tuple(board.limit for board in self.boards)

    def lift(self, bound: float) -> float:
        """Raise a lower bound to the next cost that a plan can have."""
        if self.step == 0.0:
            return bound
        return math.ceil((bound - COST_TOLERANCE) / self.step) * self.step

    def cost(self, plan: Sequence[Choice]) -> float:
        """Cost of the boards cut."""
        return math.fsum(self.boards[board].cost for board, _ in plan)

    def total(self, plan: Cuts) -> float:
        """Cost of the boards cut, and of the pieces still missing."""
        return self.cost(plan[0]) + self.leave * sum(plan[1])


def cost_range(
    problem: Problem, bound: float, board_worth: Iterable[float], best: float
) -> tuple[float, float]:
    """Return the least and the most that a plan cheaper than `best`, a plan's cost, can cost.

    Both are `best` where no plan can be cheaper. bound: the linear bound; board_worth: what one more of each
    kind of board is worth to it, 0 or less. However many boards a plan takes out of the limited pile, the
    yard's boards have costs of a common step, so only some costs are left for it; and each board of the pile
    that is not taken costs the linear programme at least its worth. Every way to use the pile that is not
    too dear is looked at. Boards of odd lengths have no common step, and yet few costs are left so.
    """
    yard = [board.cost for board in problem.boards if board.limit is None]
    step = _common_step(yard) if yard else 0.0
    below = best - max(problem.step, 3.0 * COST_TOLERANCE)  # clear of what counts as the same cost
    plain = min(best, problem.lift(bound)), max(min(best, problem.lift(bound)), below)
    pile = [
        (board.cost, board.limit, max(0.0, -float(worth)))
        for board, worth in zip(problem.boards, board_worth, strict=True)
        if board.limit is not None
    ]
    if not pile or (yard and step == 0.0):
        return plain
    least, most = best, -math.inf
    ways: list[tuple[int, float, float]] = [(0, 0.0, bound)]  # kinds looked at, paid for them, bound so far
    for _ in range(MOST_WAYS):
        if not ways:
            return (least, most) if most > -math.inf else (best, best)
        kind, paid, low = ways.pop()
        if low > below + COST_TOLERANCE:
            continue
        if kind < len(pile):
            cost, limit, worth = pile[kind]
            ways += [(kind + 1, paid + n * cost, low + (limit - n) * worth) for n in range(limit + 1)]
            continue
        costs = _costs_between(paid, step, low, below)
        if costs is not None:
            least, most = min(least, costs[0]), max(most, costs[1])
    return plain


def _costs_between(paid: float, step: float, low: float, high: float) -> tuple[float, float] | None:
    """Return the least and most of paid, paid + step, ... between two costs, None where there is none."""
    if step == 0.0:
        return (paid, paid) if low - COST_TOLERANCE <= paid <= high + COST_TOLERANCE else None
    first = max(0, math.ceil((low - paid - COST_TOLERANCE) / step))
    last = math.floor((high - paid + COST_TOLERANCE) / step)
    return None if last < first else (paid + first * step, paid + last * step)


def set_up(
    pieces: Sequence[tuple[float, int]], stocks: Sequence[Stock], kerf: float, grain: float
) -> tuple[Problem, tuple[tuple[float, int], ...]]:
    """Return the problem in grains, and the pieces that are longer than every board.

    Lengths, kerf and grain in one unit [m]. Raises ValueError for what cannot be a piece or stock.
    """
    for length, number in pieces:
        if not (math.isfinite(length) and length > 0 and number >= 0):
            raise ValueError(f"a piece of {length!r} m, {number!r} times, cannot be cut")
    for stock in stocks:
        if not (math.isfinite(stock.length) and stock.length > 0 and stock.cost >= 0):
            raise ValueError(f"stock of {stock.length!r} m at {stock.cost!r} cannot be used")
    boards = [(math.floor((s.length + kerf) / grain + FITS), s) for s in stocks if s.limit != 0]
    boards = [b for b in boards if b[0] > 0 and not _beaten(b, boards)]
    boards.sort(key=lambda b: (b[1].cost / b[0], -b[0]))
    longest = max((capacity for capacity, _ in boards), default=0)
    if longest > MOST_GRAINS:
        raise ValueError(f"stock is {longest} grains long, {MOST_GRAINS} at most: use a coarser grain")
    by_size: dict[int, list[float]] = {}
    uncut: dict[float, int] = {}
    for length, number in pieces:
        size = math.ceil((length + kerf) / grain - FITS)
        if size > longest:
            uncut[length] = uncut.get(length, 0) + number
        elif number:
            by_size.setdefault(size, []).extend([length] * number)
    sizes = tuple(sorted(by_size, reverse=True))
    return (
        Problem(
            sizes,
            tuple(tuple(sorted(by_size[size], reverse=True)) for size in sizes),
            tuple(stock for _, stock in boards),
            tuple(capacity for capacity, _ in boards),
            kerf,
            _common_step([stock.cost for _, stock in boards]),
            4.0 * max((stock.cost for _, stock in boards), default=0.0) + 1.0,
        ),
        tuple(sorted(((a, n) for a, n in uncut.items() if n), reverse=True)),
    )


def _beaten(one: tuple[int, Stock], boards: Sequence[tuple[int, Stock]]) -> bool:
    """Is there a board, as many as wanted, that is longer for no more, or as long for less?"""
    capacity, stock = one
    return any(
        other.limit is None
        and other is not stock
        and (long, -other.cost) >= (capacity, -stock.cost)
        and long >= capacity
        and other.cost <= stock.cost
        and (long, other.cost) != (capacity, stock.cost)
        for long, other in boards
    )


def _common_step(costs: Sequence[float]) -> float:
    whole = [round(cost / COST_UNIT) for cost in costs]
    if any(abs(w * COST_UNIT - c) > COST_UNIT * 1e-3 for w, c in zip(whole, costs, strict=True)):
        return 0.0
    return math.gcd(*whole) * COST_UNIT


def hand_back(
    problem: Problem, plan: Cuts, bound: float, proved: bool, uncut: tuple[tuple[float, int], ...]
) -> Cutting:
    """Give the pieces their true lengths again; what is missing joins the uncut."""
    waiting = [list(same) for same in problem.lengths]
    cuts = []
    for board, pattern in sorted(plan[0], key=lambda choice: (choice[0], [-c for c in choice[1]])):
        stock = problem.boards[board]
        pieces = tuple(waiting[piece].pop(0) for piece, count in enumerate(pattern) for _ in range(count))
        over = stock.length - math.fsum(pieces) - problem.kerf * len(pieces)
        cuts.append(Cut(stock, pieces, max(0.0, over)))
    rest: dict[float, int] = dict(uncut)
    for length in (length for same in waiting for length in same):
        rest[length] = rest.get(length, 0) + 1
    return Cutting(
        tuple(cuts), problem.cost(plan[0]), bound, proved, tuple(sorted(rest.items(), reverse=True))
    )
