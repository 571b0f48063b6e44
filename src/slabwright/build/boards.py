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
from slabwright.build.ring import SAME
from slabwright.build.runs import Run
from slabwright.measure import System
from slabwright.notes.models import Kit

MOST_SUMS = 20_000  # sums of boards looked at for one run
LONGEST = 30.0  # [m] stock written longer than any truck carries is left out


@dataclass(frozen=True, slots=True)
class Boards:
    """Boards cut, the pieces of each run in order [m], cost and bound [m], proved or not.

    A run's pieces are measured from its first corner, so that they say where its butts are.

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
        yard = _yard(kit, runs[numbers[0]], system)
        past = close_corners([runs[i] for i in numbers], [stock.length for stock in yard])
        wanted = [
            runs[i].form.length + before + after for i, (before, after) in zip(numbers, past, strict=True)
        ]
        pile = _pile(size, kit)
        on_sale = [stock.length for stock in (*yard, *pile)]
        trimmed = [on_whole_boards(length, on_sale) for length in wanted]
        split, plan = _best(trimmed, yard, pile)
        for i, (before, _), own, full, cut_to in zip(numbers, past, split, wanted, trimmed, strict=True):
            placed = (*own[:-1], own[-1] + full - cut_to)  # the last joint is that much open
            pieces[i] = (placed[0] - before, *placed[1:])
        made = [CutBoard(size, c.stock.length, c.stock.origin, c.pieces, c.left) for c in plan.cuts]
        boards += made
        uncut += [(size, length, number) for length, number in plan.uncut]
        cost, bound, proved = cost + plan.cost, bound + plan.bound, proved and plan.proved
        had += sum(stock.limit or 0 for stock in pile)
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


def on_whole_boards(length: float, boards: Sequence[float]) -> float:
    """Return the length [m] to cut for a run: a hair over a sum of whole boards is that sum.

    boards: lengths on hand and on sale [m]. The hair is the table's; the joint takes it up.
    """
    sums, most = {0.0}, 0.0
    while sums and len(sums) < MOST_SUMS:  # odd boards in plenty: what was found so far does
        sums = {round(a + b, 6) for a in sums for b in boards if a + b <= length + JUST}
        most = max([most, *sums])
    return most if 0.0 < length - most <= rule("joint_takes") + JUST else length


def close_corners(runs: Sequence[Run], yard: Sequence[float]) -> list[tuple[float, float]]:
    """Return how far each run's board passes its first and its last corner [m].

    At an outer corner one of the two boards must run past; which one is free. Chosen round each ring
    so that the boards bought one by one from `yard` [m] come out shortest (exact, by going round with
    both choices at the first corner).
    """
    after = {i: j for i, run in enumerate(runs) if run.past > 0 and (j := _next(runs, i)) is not None}
    past = [[0.0, run.past if i not in after else 0.0] for i, run in enumerate(runs)]
    firsts = [i for i in after if i not in after.values()] or list(after)[:1]
    seen: set[int] = set()
    for first in (*firsts, *after):
        if first in seen:
            continue
        chain = [first]
        while chain[-1] in after and after[chain[-1]] not in chain:
            chain.append(after[chain[-1]])
        seen.update(chain)
        closed = after.get(chain[-1]) == first
        for i, (before, behind) in zip(chain, _round(runs, chain, yard, closed=closed), strict=True):
            past[i] = [before, behind if i in after else past[i][1]]
    return [(before, behind) for before, behind in past]


def _next(runs: Sequence[Run], i: int) -> int | None:
    own = runs[i].form
    for j, run in enumerate(runs):
        if j != i and run.form.slab == own.slab and math.dist(run.form.p, own.q) < SAME:
            return j
    return None


def _round(
    runs: Sequence[Run], chain: Sequence[int], yard: Sequence[float], *, closed: bool
) -> list[tuple[float, float]]:
    """Choose, corner by corner along a chain of runs, whose board passes (dynamic programming)."""
    best: tuple[float, list[tuple[float, float]]] | None = None
    # The board before a closed chain's first corner is its last: try both who passes there.
    for start in (0.0, runs[chain[-1]].past) if closed else (0.0,):
        states: dict[float, tuple[float, list[tuple[float, float]]]] = {start: (0.0, [])}
        for place, i in enumerate(chain):
            run, final = runs[i], place == len(chain) - 1
            fresh: dict[float, tuple[float, list[tuple[float, float]]]] = {}
            for before, (cost, taken) in sorted(states.items()):
                last = [run.past - start] if closed else [0.0]
                choices = last if final else [run.past, 0.0]
                for behind in choices:
                    total = cost + _alone(run.form.length + before + behind, yard)
                    carried = 0.0 if final else run.past - behind
                    if carried not in fresh or total < fresh[carried][0] - JUST:
                        fresh[carried] = (total, [*taken, (before, behind)])
            states = fresh
        for cost, taken in states.values():
            if best is None or cost < best[0] - JUST:
                best = (cost, taken)
    assert best is not None
    return best[1]


def _alone(length: float, yard: Sequence[float]) -> float:
    """What a run costs when its boards are bought for it alone: stock [m], a butt as two feet of it."""
    pieces = split(length, yard)
    bought = math.fsum(min(s for s in yard if s >= piece - JUST) for piece in pieces)
    return bought + rule("butt_worth") * (len(pieces) - 1)


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
