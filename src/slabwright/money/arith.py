"""Arithmetic of bidding: markup and margin, burden, splitting to the cent, three-point spreads.

Markup is a share of cost, margin a share of price; every function says which it takes. Source
bid-arithmetic.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction

CENT = Decimal("0.01")
ONE = Decimal(1)
DIGITS = 40  # of intermediate results; far beyond any sum of money


def to_cent(amount: Decimal, rounding: str = ROUND_HALF_UP) -> Decimal:
    """Return an amount to the cent by one of decimal's rounding modes."""
    with localcontext() as context:
        context.prec = DIGITS
        return amount.quantize(CENT, rounding=rounding)


def price_by_markup(cost: Decimal, markup: Decimal) -> Decimal:
    """Return the price that is `markup` (share of cost) above a cost; ValueError below 0."""
    if markup < 0:
        raise ValueError(f"a markup of {markup} is below nothing; write 0.25 for 25 % on cost")
    return cost * (ONE + markup)


def price_by_margin(cost: Decimal, margin: Decimal) -> Decimal:
    """Return the price of which `margin` (share of price) is left above a cost; ValueError outside 0..1."""
    if not 0 <= margin < 1:
        raise ValueError(f"a margin of {margin} of the price cannot be; write 0.20 for 20 % of the price")
    with localcontext() as context:
        context.prec = DIGITS
        return cost / (ONE - margin)


def margin_of(markup: Decimal) -> Decimal:
    """Return the share of the price that a markup on cost comes to."""
    with localcontext() as context:
        context.prec = DIGITS
        return markup / (ONE + markup)


def markup_of(margin: Decimal) -> Decimal:
    """Return the share of the cost that a margin of the price comes to; ValueError outside 0..1."""
    if not 0 <= margin < 1:
        raise ValueError(f"a margin of {margin} of the price cannot be")
    with localcontext() as context:
        context.prec = DIGITS
        return margin / (ONE - margin)


def burdened(wage: Decimal, shares: Sequence[Decimal]) -> Decimal:
    """Return a wage with what the employer pays on it: shares of the wage, not of each other."""
    return wage * (ONE + sum(shares, Decimal(0)))


def per_productive_hour(wage: Decimal, *, paid: Decimal, productive: Decimal) -> Decimal:
    """Return what a productive hour costs when `paid` hours are paid for `productive` ones."""
    if not 0 < productive <= paid:
        raise ValueError(f"{productive} productive hours out of {paid} paid ones cannot be")
    return wage * paid / productive


def overhead_per_hour(yearly: Decimal, billable: Decimal) -> Decimal:
    """Return overhead by the billable hour; ValueError where no hour is billable."""
    if billable <= 0:
        raise ValueError("overhead needs billable hours to stand on")
    return yearly / billable


def split(total: Decimal, weights: Sequence[float | Decimal | int]) -> tuple[Decimal, ...]:
    """Return `total` in parts as `weights`, each to the cent, that sum to it exactly.

    What is left after rounding down goes, a cent each, to the parts that lost most. Weights that are all
    zero split evenly. ValueError for a negative weight, no weight, or a total with parts of a cent.
    """
    if not weights or any(w < 0 for w in weights):
        raise ValueError("a sum is split by weights, none of them negative")
    cents = Fraction(total) * 100
    if cents.denominator != 1:
        raise ValueError(f"{total} is not a whole number of cents")
    whole, sign = abs(int(cents)), -1 if cents < 0 else 1
    parts = [Fraction(w) for w in weights]
    if not any(parts):
        parts = [Fraction(1)] * len(parts)
    exact = [whole * part / sum(parts) for part in parts]
    given = [math.floor(x) for x in exact]
    order = sorted(range(len(parts)), key=lambda i: (given[i] - exact[i], i))
    for i in order[: whole - sum(given)]:
        given[i] += 1
    return tuple(sign * Decimal(x) / 100 for x in given)


def progress_payments(
    values: Sequence[Decimal], retained: Decimal, rounding: str = ROUND_HALF_UP
) -> tuple[Decimal, ...]:
    """Return what is due after each stage: (1 - retained) of all done so far, less what was paid.

    values: work done in each stage; retained: the share held back until the end.
    """
    due: list[Decimal] = []
    done, paid = Decimal(0), Decimal(0)
    for value in values:
        done += value
        due.append(to_cent(done * (ONE - retained), rounding) - paid)
        paid += due[-1]
    return tuple(due)


@dataclass(frozen=True, slots=True)
class Triangular:
    """Triangular spread from `a` over the likely `m` to `b`, in any one unit."""

    a: float
    m: float
    b: float

    @property
    def mean(self) -> float:
        """Return the mean."""
        return (self.a + self.m + self.b) / 3.0

    @property
    def sd(self) -> float:
        """Return the standard deviation."""
        a, m, b = self.a, self.m, self.b
        return math.sqrt((a * a + m * m + b * b - a * m - a * b - m * b) / 18.0)

    def quantile(self, p: float) -> float:
        """Return the value that a share `p` [-] lies below."""
        a, m, b = self.a, self.m, self.b
        if b == a:
            return a
        if p <= (m - a) / (b - a):
            return a + math.sqrt(p * (b - a) * (m - a))
        return b - math.sqrt((1.0 - p) * (b - a) * (b - m))


@dataclass(frozen=True, slots=True)
class Pert:
    """Beta spread of a three-point estimate: least `a`, likely `m`, most `b`, in any one unit."""

    a: float
    m: float
    b: float

    @property
    def mean(self) -> float:
        """Return (a + 4 m + b) / 6."""
        return (self.a + 4.0 * self.m + self.b) / 6.0

    @property
    def classic_sd(self) -> float:
        """Return (b - a) / 6, as planning texts take it."""
        return (self.b - self.a) / 6.0

    @property
    def shape(self) -> tuple[float, float]:
        """Return the two shape numbers of the beta distribution on a..b."""
        wide = self.b - self.a
        return 1.0 + 4.0 * (self.m - self.a) / wide, 1.0 + 4.0 * (self.b - self.m) / wide

    @property
    def sd(self) -> float:
        """Return the standard deviation of that beta distribution."""
        return math.sqrt((self.mean - self.a) * (self.b - self.mean) / 7.0)
