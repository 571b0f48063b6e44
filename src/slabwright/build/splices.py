"""Bars made of two pieces: an offcut too long to throw away and a short piece, lapped.

Eleven-foot bars out of twenty-foot stock leave an offcut each that nothing else may use. Made up with
a short piece and a lap, the offcut becomes a bar. How many bars to make so is tried out, length by
length; a splice must save more stock than its price.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

from slabwright.build.cut_problem import Cutting, Stock
from slabwright.build.cutting import cut

MOST_TRIES = 8  # numbers of spliced bars tried for one length


@dataclass(frozen=True, slots=True)
class Splice:
    """Bars of a length made of two pieces [m]: whole, first and second piece, how many."""

    whole: float
    first: float
    second: float
    count: int


def with_splices(
    pieces: Counter[float],
    *,
    lap: float,
    stock: float,
    step: float,
    price: float,
    whole: Counter[float] | None = None,
) -> tuple[Counter[float], Cutting, tuple[Splice, ...]]:
    """Return the pieces to cut, their cutting, and the bars that are spliced.

    pieces: number by length [m]; lap and stock [m]; step: cutting step [m]; price: of one splice, as
    a length of bar [m]; whole: how many of each length are bars that may be spliced, None for all: a
    part of a bar that is lapped already is not lapped again.
    """
    plan = _cut(pieces, stock, step)
    splices: list[Splice] = []
    for length, number in sorted((pieces if whole is None else whole).items(), reverse=True):
        offcut = math.floor((stock - length) / step + 1e-6) * step
        second = math.ceil((length + lap - offcut) / step - 1e-6) * step
        if not (length > stock / 2 and offcut >= 2 * lap and offcut < length):
            continue
        best: tuple[float, Counter[float], Cutting, int] | None = None
        for count in _tries(number):
            tried = pieces.copy()
            tried[length] -= count
            tried[offcut] += count
            tried[second] += count
            needed = math.ceil(math.fsum(a * n for a, n in tried.items()) / stock - 1e-9) * stock
            if plan.cost - needed - count * price <= (0.0 if best is None else best[0]) + 1e-9:
                continue  # not even without waste would this be better
            other = _cut(+tried, stock, step)
            saved = plan.cost - other.cost - count * price
            if saved > 1e-9 and (best is None or saved > best[0] + 1e-9):
                best = (saved, +tried, other, count)
        if best is not None:
            _, pieces, plan, count = best
            splices.append(Splice(length, offcut, second, count))
    return pieces, plan, tuple(splices)


def _tries(number: int) -> list[int]:
    """Numbers to try, from the middle outward: a good one early spares most of the others."""
    tries = {math.ceil(number * (i + 1) / MOST_TRIES) for i in range(MOST_TRIES)}
    return sorted(tries, key=lambda n: (abs(2 * n - number), n))


def _cut(pieces: Counter[float], stock: float, step: float) -> Cutting:
    return cut(list(pieces.items()), [Stock(stock, stock)], grain=step)
