"""Cutting boards and bars: least stock for the pieces wanted, with the proof.

One-dimensional cutting stock with several stock lengths, the crew's own limited pile, and the saw's
cut. Gilmore and Gomory's column generation gives the bound; rounding heuristics and a whole-number
master give the plan; where the two do not meet, every pattern whose reduced cost could still beat the
plan is enumerated and the whole-number programme over those is the proof.

Lengths are handled in whole grains (1/16 in unless said otherwise): pieces with their saw cut are
rounded up, boards down, so a plan that fits in grains fits in wood. Proof and bound are with respect
to those grains.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slabwright.build.cut_problem import (
    COST_TOLERANCE,
    Choice,
    Cut,
    Cuts,
    Cutting,
    Problem,
    Stock,
    cost_range,
    hand_back,
    set_up,
)
from slabwright.build.master import Floats, Master
from slabwright.build.patterns import LEAST_GAIN, Pattern, best_patterns, fill, fullest, maximal_patterns
from slabwright.solving import remembered


@dataclass(frozen=True, slots=True)
class _Effort:
    """How far a proof may go: columns of its programme and branch-and-bound nodes, presolved or not."""

    columns: int
    nodes: int
    presolve: bool


GRAIN = 0.0254 / 16  # [m] a carpenter cuts to a sixteenth of an inch (common practice)
MOST_ROUNDS = 2000  # rounds of pattern making; the published cases take under 100
MASTER_NODES = 400  # branch-and-bound nodes over the patterns found
# The proof is tried twice: at once where few patterns are in play, else after the plan is improved.
FEW, MANY = _Effort(600, 300, presolve=False), _Effort(5_000, 120, presolve=True)
PROOF_STEPS = 150_000  # steps of enumerating those

__all__ = ["Cut", "Cutting", "Stock", "cut"]

_Root = tuple[float, Floats, Floats, Floats]  # linear cost, use of columns, worth of pieces and of boards


def cut(
    pieces: Sequence[tuple[float, int]],
    stocks: Sequence[Stock],
    *,
    kerf: float = 0.0,
    grain: float = GRAIN,
) -> Cutting:
    """Return a least-cost cutting plan and its proof.

    pieces: (length [m], count) wanted, any order, lengths may repeat; stocks: kinds of board; kerf:
    width of the saw's cut [m], one after each piece but not after a piece that ends the board;
    grain: the step to which lengths are cut [m] (any unit will do if all lengths use it).
    Raises ValueError for a length or cost that is not positive and finite, or a board longer than
    60,000 grains. Source: Gilmore and Gomory (1961, 1963), method; key gilmore-gomory.
    """
    return _cut(tuple(pieces), tuple(stocks), kerf, grain)


@remembered(512)
def _cut(
    pieces: tuple[tuple[float, int], ...], stocks: tuple[Stock, ...], kerf: float, grain: float
) -> Cutting:
    problem, uncut = set_up(pieces, stocks, kerf, grain)
    if not problem.sizes:
        return Cutting((), 0.0, 0.0, True, uncut)
    master = Master(problem.numbers, problem.limits, problem.leave)
    best = _first_plans(problem, master)
    root = _grow(problem, master, problem.numbers, problem.limits)
    if root is None:  # the solver gave no optimum: keep the first plan, claim nothing
        return hand_back(problem, best, 0.0, False, uncut)
    lifted = cost_range(problem, root[0], root[3], problem.total(best))[0]
    if problem.total(best) > lifted + COST_TOLERANCE:
        best = min(best, _dive(problem, master, root[1]), key=problem.total)
        lifted = cost_range(problem, root[0], root[3], problem.total(best))[0]
    proved = problem.total(best) <= lifted + COST_TOLERANCE
    # With few patterns in play the proof finds the best plan itself; else the plan is improved first.
    for effort in (FEW, MANY):
        if not proved:
            best = best if effort is FEW else _whole(problem, master, best, lifted)
            proved = problem.total(best) <= lifted + COST_TOLERANCE
        if not proved:
            best, proved, lifted = _prove(problem, master, best, root, effort, lifted)
    if any(best[1]):  # a limited pile that cannot give every piece: the bound holds dummy costs, so say none
        return hand_back(problem, best, 0.0, False, uncut)
    return hand_back(problem, best, problem.cost(best[0]) if proved else lifted, proved, uncut)


def _first_plans(problem: Problem, master: Master) -> Cuts:
    """Greedy plans: one that takes the best-value full board each time, and first fit on each board."""
    plans = [_greedy(problem)]
    for board, stock in enumerate(problem.boards):
        if stock.limit is None:
            plans.append(_greedy(problem, only=board))
    for plan, _ in plans:
        for board, pattern in plan:
            master.add(board, pattern, problem.boards[board].cost)
    return min(plans, key=problem.total)


def _greedy(problem: Problem, only: int | None = None) -> Cuts:
    left, boards = list(problem.numbers), list(problem.limits)
    plan: list[Choice] = []
    while any(left):
        kinds = [b for b, limit in enumerate(boards) if limit != 0 and only in (None, b)]
        rooms = [problem.capacities[b] for b in kinds]
        if only is None:  # one table serves all kinds of board
            patterns = fullest(problem.sizes, left, rooms) if kinds else []
        else:
            patterns = [fill(problem.sizes, left, room) for room in rooms]
        offers = []
        for board, pattern in zip(kinds, patterns, strict=True):
            used = sum(c * s for c, s in zip(pattern, problem.sizes, strict=True))
            if used:
                offers.append((problem.boards[board].cost / used, board, pattern))
        if not offers:
            break
        _, board, pattern = min(offers)
        plan.append((board, pattern))
        left = [n - c for n, c in zip(left, pattern, strict=True)]
        if boards[board] is not None:
            boards[board] = (boards[board] or 0) - 1
    return _shorter(problem, plan), left


def _shorter(problem: Problem, plan: Sequence[Choice]) -> list[Choice]:
    """Move each pattern to the cheapest kind of board that still holds it."""
    left = list(problem.limits)
    for board, _ in plan:
        if left[board] is not None:
            left[board] = (left[board] or 0) - 1
    moved = []
    for board, pattern in plan:
        used = sum(c * s for c, s in zip(pattern, problem.sizes, strict=True))
        fits = [
            (problem.boards[b].cost, b)
            for b, capacity in enumerate(problem.capacities)
            if capacity >= used and (b == board or left[b] is None or (left[b] or 0) > 0)
        ]
        to = min(fits)[1]
        if to != board:
            left[board] = None if left[board] is None else (left[board] or 0) + 1
            left[to] = None if left[to] is None else (left[to] or 0) - 1
        moved.append((to, pattern))
    return moved


def _grow(
    problem: Problem, master: Master, need: Sequence[int], limits: Sequence[int | None]
) -> tuple[float, Floats, Floats, Floats] | None:
    """Add patterns until none can lower the linear cost of what is still needed."""
    for _ in range(MOST_ROUNDS):
        solved = master.solve()
        if solved is None:
            return None
        _, _, worth, board_worth = solved
        open_boards = [b for b, limit in enumerate(limits) if limit is None or limit > 0]
        if not open_boards:
            return solved
        offers = best_patterns(problem.sizes, need, worth, [problem.capacities[b] for b in open_boards])
        added = False
        for board, (value, pattern) in zip(open_boards, offers, strict=True):
            cost = problem.boards[board].cost
            if value > cost - board_worth[board] + LEAST_GAIN * max(1.0, cost):
                added |= master.add(board, pattern, cost)
        if not added:
            return solved
    return None


def _whole(problem: Problem, master: Master, best: Cuts, good: float) -> Cuts:
    """Improve a plan by the whole-number master over the patterns found so far."""
    status, counts, _ = master.whole(
        master.columns, stop_at=good + COST_TOLERANCE, nodes=MASTER_NODES, presolve=False
    )
    if not status.usable:
        return best
    return min(best, _plan_of(problem, master.columns, counts), key=problem.total)


def _plan_of(problem: Problem, columns: Sequence[tuple[int, Pattern, float]], counts: Sequence[int]) -> Cuts:
    plan = [
        (board, pattern)
        for (board, pattern, _), count in zip(columns, counts, strict=True)
        for _ in range(count)
    ]
    return _trim(problem, plan)


def _trim(problem: Problem, plan: Sequence[Choice]) -> Cuts:
    """Take off pieces beyond the number wanted, then move what became short to cheaper boards."""
    left = list(problem.numbers)
    kept: list[Choice] = []
    for board, pattern in plan:
        counts = tuple(min(c, n) for c, n in zip(pattern, left, strict=True))
        left = [n - c for n, c in zip(left, counts, strict=True)]
        if any(counts):
            kept.append((board, counts))
    return _shorter(problem, kept), left


def _dive(problem: Problem, master: Master, use: Floats) -> Cuts:
    """Fix the whole part of the linear solution, or its largest fraction, and solve for the rest."""
    need, boards = list(problem.numbers), list(problem.limits)
    plan: list[Choice] = []
    while any(need):
        takes = [(i, math.floor(u + 1e-6)) for i, u in enumerate(use)]
        takes = [(i, n) for i, n in takes if n > 0]
        if not takes:
            best = int(np.argmax(use)) if len(use) else -1
            if best < 0 or use[best] < 1e-6:
                break
            takes = [(best, 1)]
        for column, number in takes:
            board, pattern, _ = master.columns[column]
            for _ in range(number):
                useful = tuple(min(c, n) for c, n in zip(pattern, need, strict=True))
                if not any(useful) or boards[board] == 0:
                    break
                plan.append((board, useful))
                need = [n - c for n, c in zip(need, useful, strict=True)]
                boards[board] = None if boards[board] is None else (boards[board] or 0) - 1
        master.set_need(need, boards)
        solved = _grow(problem, master, need, boards)
        if solved is None:
            break
        use = solved[1]
    master.set_need(problem.numbers, problem.limits)
    return _shorter(problem, plan), need


def _prove(
    problem: Problem, master: Master, best: Cuts, root: _Root, effort: _Effort, lifted: float
) -> tuple[Cuts, bool, float]:
    """Enumerate every pattern that could stand in a cheaper plan, and solve over those to the end.

    In a plan cheaper than `best`, reduced costs add up to its cost less the linear bound, so no single
    pattern in it has more than the most of that gap. lifted: the bound so far. Returns the plan,
    proved or not, bound.
    """
    bound, _, worth, board_worth = root
    total = problem.total(best)
    gap = cost_range(problem, bound, board_worth, total)[1] - bound + COST_TOLERANCE
    columns: list[tuple[int, Pattern, float]] = []
    for board, capacity in enumerate(problem.capacities):
        cost = problem.boards[board].cost
        need = cost - board_worth[board] - gap
        patterns = maximal_patterns(problem.sizes, problem.numbers, worth, capacity, need, PROOF_STEPS)
        if patterns is None or len(columns) + len(patterns) > effort.columns:
            return best, False, lifted
        columns += [(board, pattern, cost) for pattern in patterns]
    if not columns:
        return best, True, total
    status, counts, dual = master.whole(
        columns, stop_at=lifted + COST_TOLERANCE, nodes=effort.nodes, presolve=effort.presolve
    )
    if status.usable:
        best = min(best, _plan_of(problem, columns, counts), key=problem.total)
    # A plan outside the enumeration costs at least `total`, so the lower of the two is a bound on all.
    lifted = max(lifted, min(total, problem.lift(dual)))
    return best, problem.total(best) <= lifted + COST_TOLERANCE, lifted
