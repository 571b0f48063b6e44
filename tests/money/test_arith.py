"""Markup and margin, splitting to the cent, three-point spreads: identities."""

from __future__ import annotations

import decimal
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.money import arith
from slabwright.money.estimating import ROUNDINGS

cents = st.integers(-(10**9), 10**9).map(lambda n: Decimal(n) / 100)
shares = st.decimals("0.01", "0.95", places=4)
few = settings(max_examples=60, deadline=None)


@few
@given(cost=st.integers(1, 10**9).map(lambda n: Decimal(n) / 100), margin=shares)
def test_markup_and_margin_are_two_names_of_one_price(cost: Decimal, margin: Decimal) -> None:
    by_margin = arith.price_by_margin(cost, margin)
    by_markup = arith.price_by_markup(cost, arith.markup_of(margin))
    assert abs(by_margin - by_markup) <= cost * Decimal("1e-20")
    assert abs(arith.margin_of(arith.markup_of(margin)) - margin) < Decimal("1e-25")
    # The same number as a margin always asks for more than as a markup.
    assert by_margin > arith.price_by_markup(cost, margin)


@pytest.mark.parametrize("margin", ["1", "1.2", "-0.01"])
def test_a_margin_stays_inside_the_price(margin: str) -> None:
    with pytest.raises(ValueError, match="margin"):
        arith.price_by_margin(Decimal(100), Decimal(margin))
    with pytest.raises(ValueError, match="margin"):
        arith.markup_of(Decimal(margin))


def test_a_markup_below_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="25 % on cost"):
        arith.price_by_markup(Decimal(100), Decimal("-0.1"))


@few
@given(total=cents, weights=st.lists(st.floats(0, 1e6), min_size=1, max_size=12))
def test_parts_sum_to_the_whole(total: Decimal, weights: list[float]) -> None:
    parts = arith.split(total, weights)
    assert sum(parts) == total
    whole = sum(weights)
    for part, weight in zip(parts, weights, strict=True):
        exact = float(total) * (weight / whole if whole else 1 / len(weights))
        assert abs(float(part) - exact) <= 0.01 + 1e-6 * abs(exact)
        assert part == part.quantize(arith.CENT)


def test_the_cent_left_over_goes_to_who_lost_most() -> None:
    assert arith.split(Decimal("1.00"), [1, 1, 1]) == (Decimal("0.34"), Decimal("0.33"), Decimal("0.33"))
    assert arith.split(Decimal("-1.00"), [1, 1, 1])[0] == Decimal("-0.34")
    assert arith.split(Decimal("0.05"), [0, 0]) == (Decimal("0.03"), Decimal("0.02"))


@pytest.mark.parametrize("weights", [[], [-1, 2]])
def test_bad_weights(weights: list[int]) -> None:
    with pytest.raises(ValueError, match="weights"):
        arith.split(Decimal(1), weights)


def test_parts_of_a_cent_cannot_be_split() -> None:
    with pytest.raises(ValueError, match="cents"):
        arith.split(Decimal("1.005"), [1])


@few
@given(
    values=st.lists(st.integers(0, 10**7).map(lambda n: Decimal(n) / 100), min_size=1, max_size=8),
    retained=st.decimals("0", "0.3", places=3),
    rounding=st.sampled_from(ROUNDINGS),
)
def test_progress_payments_leave_what_is_retained(
    values: list[Decimal], retained: Decimal, rounding: str
) -> None:
    due = arith.progress_payments(values, retained, rounding)
    whole = sum(values, Decimal(0))
    assert sum(due) == arith.to_cent(whole * (1 - retained), rounding)


def test_every_mode_of_decimal_is_offered() -> None:
    modes = {name for name in dir(decimal) if name.startswith("ROUND_")}
    assert set(ROUNDINGS) == modes


def test_hours_that_cannot_be() -> None:
    with pytest.raises(ValueError, match="productive"):
        arith.per_productive_hour(Decimal(30), paid=Decimal(8), productive=Decimal(9))
    with pytest.raises(ValueError, match="billable"):
        arith.overhead_per_hour(Decimal(60_000), Decimal(0))


@few
@given(a=st.floats(0, 10), up=st.floats(0.01, 5), more=st.floats(0.01, 5), p=st.floats(0.01, 0.99))
def test_triangular_quantile_turns_its_share_over(a: float, up: float, more: float, p: float) -> None:
    t = arith.Triangular(a, a + up, a + up + more)
    x = t.quantile(p)
    wide = t.b - t.a
    low = (x - t.a) ** 2 / (wide * (t.m - t.a))
    share = low if x <= t.m else 1 - (t.b - x) ** 2 / (wide * (t.b - t.m))
    assert share == pytest.approx(p, abs=1e-9)


def test_pert_is_the_beta_that_is_drawn() -> None:
    p = arith.Pert(2.0, 3.0, 7.0)
    alpha, beta = p.shape
    drawn = p.a + (p.b - p.a) * np.random.default_rng(1).beta(alpha, beta, 400_000)
    assert float(drawn.mean()) == pytest.approx(p.mean, abs=4 * p.sd / 400_000**0.5)
    assert float(drawn.std()) == pytest.approx(p.sd, rel=0.01)
