"""Boards for the runs: where long runs are butted, and what is cut from pile and yard.

Where a butt falls is free, so a long run is split to suit the lengths at hand: once with as few butts
as can be, once using up the pile first. Both are cut to proof and the cheaper is taken, a butt
counting as two feet of board for its gusset and stakes.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.build.cutting import Cutting, Stock, cut
from slabwright.build.form_tables import JUST, rule, rule_lengths
from slabwright.build.model import CutBoard
from slabwright.build.runs import Run
from slabwright.measure import System
from slabwright.notes.models import Kit

LONGEST = 30.0  # [m] stock written longer than any truck carries is left out


@dataclass(frozen=True, slots=True)
class Boards:
    """Boards cut, the pieces of each run in order [m], cost and bound [m], proved or not.

    `pile` counts the pile's boards of the sizes that the job uses, and how many of them are used.
    """

    cut: tuple[CutBoard, ...]
    pieces: tuple[tuple[float, ...], ...]
    cost: float
    bound: float
    proved: bool
    uncut: tuple[tuple[str, float, int], ...]
    pile: tuple[int, int]


def cut_boards(runs: Sequence[Run], kit: Kit, system: System) -> Boards:
    """Return the boards for all runs, each size cut on its own.

    system: whose lengths the yard sells, where the kit does not say.
    """
    pieces: dict[int, tuple[float, ...]] = {}
    boards: list[CutBoard] = []
    uncut: list[tuple[str, float, int]] = []
    cost = bound = 0.0
    proved, had, used = True, 0, 0
    for i, run in enumerate(runs):
        if _is_tube(run):
            pieces[i] = (run.form.length,)
    for size in sorted({run.form.board for run in runs if not _is_tube(run)}):
        numbers = [i for i, run in enumerate(runs) if run.form.board == size]
        wanted = [runs[i].form.length + runs[i].past for i in numbers]
        split, plan = _best(wanted, _yard(kit, runs[numbers[0]], system), _pile(size, kit))
        pieces |= dict(zip(numbers, split, strict=True))
        made = [CutBoard(size, c.stock.length, c.stock.origin, c.pieces, c.left) for c in plan.cuts]
        boards += made
        uncut += [(size, length, number) for length, number in plan.uncut]
        cost, bound, proved = cost + plan.cost, bound + plan.bound, proved and plan.proved
        had += sum(stock.limit or 0 for stock in _pile(size, kit))
        used += sum(board.origin == "pile" for board in made)
    return Boards(
        tuple(boards),
        tuple(pieces[i] for i in range(len(runs))),
        cost,
        bound,
        proved,
        tuple(uncut),
        (had, used),
    )


def _is_tube(run: Run) -> bool:
    return run.curve is not None and run.curve.cut == "tube"


def _yard(kit: Kit, run: Run, system: System) -> list[Stock]:
    if run.curve is not None and run.curve.cut == "strip":
        return [Stock(rule("strip"), rule("strip"))]
    written = [length for length in kit.stock if length <= LONGEST]
    usual = rule_lengths("stock" if system is System.IMPERIAL else "stock_metric")
    return [Stock(length, length) for length in sorted(set(written or usual))]


def _pile(size: str, kit: Kit) -> list[Stock]:
    counts: Counter[float] = Counter()
    for board in kit.boards:
        if board.size == size and board.length <= LONGEST:
            counts[board.length] += board.count
    return [Stock(length, rule("pile_share") * length, n, "pile") for length, n in sorted(counts.items())]


def _best(
    wanted: Sequence[float], yard: Sequence[Stock], pile: Sequence[Stock]
) -> tuple[list[tuple[float, ...]], Cutting]:
    lengths = [stock.length for stock in yard]
    tries = [[split(length, lengths) for length in wanted]]
    if pile:
        tries.append(_pile_first(wanted, lengths, pile))
    made: list[tuple[float, int, list[tuple[float, ...]], Cutting]] = []
    for number, pieces in enumerate(tries):
        plan = cut([(piece, 1) for run in pieces for piece in run], [*yard, *pile], kerf=rule("kerf"))
        butts = sum(len(run) - 1 for run in pieces)
        made.append((plan.cost + rule("butt_worth") * butts, number, pieces, plan))
    _, _, pieces, plan = min(made, key=lambda m: (round(m[0], 9), m[1]))
    return pieces, plan


def split(length: float, stock: Sequence[float]) -> tuple[float, ...]:
    """Return the pieces of a run [m] with as few butts as the longest stock [m] allows.

    All but one are whole boards of one stock length, chosen so that the rest wastes least and is not
    a stub; where no length does that, the pieces are equal.
    """
    longest = max(stock)
    if length <= longest + JUST:
        return (length,)
    number = math.ceil(length / longest - JUST)
    best: tuple[float, float] | None = None
    for whole in sorted(stock, reverse=True):
        rest = length - (number - 1) * whole
        if rest < min(rule("shortest_piece"), whole) - JUST or rest > longest + JUST:
            continue
        waste = min(s for s in stock if s >= rest - JUST) - rest
        if best is None or waste < best[0] - JUST:
            best = (waste, whole)
    if best is None:
        return (length / number,) * number
    return (best[1],) * (number - 1) + (length - (number - 1) * best[1],)


def _pile_first(
    wanted: Sequence[float], yard: Sequence[float], pile: Sequence[Stock]
) -> list[tuple[float, ...]]:
    """Split runs, longest first, to use whole boards of the pile; the rest as few butts as can be."""
    left: Counter[float] = Counter()
    for stock in pile:
        left[stock.length] += stock.limit or 0
    short = rule("shortest_piece")
    pieces: dict[int, tuple[float, ...]] = {}
    for i in sorted(range(len(wanted)), key=lambda n: (-wanted[n], n)):
        rest, taken = wanted[i], []
        while rest > JUST:
            have = sorted(length for length, n in left.items() if n > 0 and length >= short - JUST)
            whole = [length for length in have if length >= rest - JUST]
            part = [length for length in have if length <= rest - short + JUST]
            if not whole and not part:
                break
            board = whole[0] if whole else part[-1]
            left[board] -= 1
            taken.append(min(board, rest))
            rest -= taken[-1]
        pieces[i] = (*taken, *(split(rest, yard) if rest > JUST else ()))
    return [pieces[i] for i in range(len(wanted))]
