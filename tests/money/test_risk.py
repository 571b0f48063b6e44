"""Risk: the same seed gives the same answer; the draw agrees with closed forms where there are any."""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest

from slabwright.money.arith import Pert
from slabwright.money.book import load_book
from slabwright.money.chances import risk
from slabwright.money.estimating import estimate
from slabwright.money.model import Amount, Book, Estimate, Need, PlanQuantities

HEAD = "group,code,condition,unit,value,low,high\n"
Small = Callable[..., PlanQuantities]


def book_of(*rows: str) -> Book:
    made = load_book(HEAD + "\n".join(rows))
    assert made.findings == ()
    return made


PLAIN = ("plant,concrete,,m3,200,,", "labour,hand,,h,20,,", "rate,finish,,m2,10,,")


def test_same_seed_same_answer(taken: PlanQuantities, priced: Estimate, book: Book) -> None:
    one, two = (risk(taken, priced, book, samples=2000, seed=7) for _ in range(2))
    assert one == two
    assert risk(taken, priced, book, samples=2000, seed=8).cost != one.cost


def test_without_spread_nothing_is_uncertain(small: Small) -> None:
    quantities, book = small(need_sd=0.0), book_of(*PLAIN, "term,profit,on cost,%,10,,")
    made = estimate(quantities, book)
    r = risk(quantities, made, book, samples=500)
    assert {r.cost.low, r.cost.middle, r.cost.eighty, r.cost.high} == {made.full_cost}
    assert (r.chance_loss, r.chance_short, r.contingency) == (0.0, 0.0, Decimal(0))
    assert r.drivers == ()
    assert r.time.time_low == r.time.time_eighty == r.time.time_high == pytest.approx(36_000.0)


def test_a_price_below_cost_always_loses(small: Small) -> None:
    quantities, book = small(need_sd=0.0), book_of(*PLAIN)
    made = estimate(quantities, book)
    low = risk(quantities, made, book, samples=200, price=made.full_cost - 1)
    assert low.chance_loss == 1.0
    assert [f.code for f in low.findings] == ["loss-likely"]
    for lang in ("en", "es"):
        assert "100 %" in low.findings[0].text(lang=lang).what


def test_mean_and_spread_of_one_price_are_those_of_its_beta(small: Small) -> None:
    book = book_of("plant,concrete,,m3,200,150,350", *PLAIN[1:])
    quantities = small(need_sd=0.0)
    made = estimate(quantities, book)
    n = 40_000
    r = risk(quantities, made, book, samples=n)
    spread = Pert(150.0, 200.0, 350.0)
    expected = 10.0 * spread.mean + 200.0  # and the labour
    assert float(r.cost.mean) == pytest.approx(expected, abs=4 * 10 * spread.sd / math.sqrt(n))
    assert [d.code for d in r.drivers] == ["concrete"]
    assert r.drivers[0].variance_share == pytest.approx(1.0, abs=1e-9)


def test_a_slower_rate_takes_longer(small: Small) -> None:
    quantities = small(need_sd=0.0)
    slower = book_of(*PLAIN[:2], "rate,finish,,m2,10,5,10")
    r = risk(quantities, estimate(quantities, slower), slower, samples=20_000)
    assert r.time.time_low >= 36_000.0 * (1 - 1e-9)
    # Hours are the amount over the rate: the mean is of 1 / rate, not 1 / the mean rate.
    shape, times = Pert(0.5, 1.0, 1.0).shape, np.random.default_rng(3)
    expected = 10 * float((1 / (0.5 + 0.5 * times.beta(*shape, 200_000))).mean())
    assert float(r.cost.mean) == pytest.approx(2000 + 20 * expected, rel=0.002)
    assert [d.code for d in r.drivers] == ["rate: finish"]


def test_two_prices_share_the_variance_as_their_own_do(small: Small) -> None:
    needs = tuple(
        Need("material", code, "", (Amount("each", 100.0),), "", (("a", 1.0),)) for code in ("p", "q")
    )
    quantities = small(needs=needs, work=(), need_sd=0.0)
    book = book_of("material,p,,each,10,8,12", "material,q,,each,10,6,14", "labour,hand,,h,20,,")
    r = risk(quantities, estimate(quantities, book), book, samples=40_000)
    # Twice the reach is four times the variance.
    assert {d.code: round(d.variance_share, 1) for d in r.drivers} == {"q": 0.8, "p": 0.2}


def test_running_short_is_as_likely_as_the_order_has_it(small: Small) -> None:
    quantities = small(need=9.8, need_sd=0.2, order=10.0)
    book = book_of(*PLAIN, "plant,second-trip,,each,300,,")
    n = 40_000
    r = risk(quantities, estimate(quantities, book), book, samples=n)
    chance = 1 - statistics.NormalDist(9.8, 0.2).cdf(10.0)
    assert r.chance_short == pytest.approx(chance, abs=4 * math.sqrt(chance / n))
    # Lump and the concrete itself: chance x 300 + 200 x mean shortfall.
    z = statistics.NormalDist()
    short = 0.2 * (z.pdf(1.0) - (1 - z.cdf(1.0)))
    assert float(r.cost.mean) - 2200.0 == pytest.approx(300 * chance + 200 * short, rel=0.05)


def test_a_slow_pace_moves_all_labour(small: Small) -> None:
    book = book_of(*PLAIN, "term,pace-spread,,%,10,,", "burden,payroll,,%,50,,", "term,overhead-hour,,h,10,,")
    quantities = small(need_sd=0.0)
    made = estimate(quantities, book)
    r = risk(quantities, made, book, samples=40_000)
    # 10 h at 20, half as much burden, 10 of overhead: 40 an hour; P90 of the pace is exp(0.1 x 1.2816).
    slow = math.exp(0.1 * 1.2815515655446004)
    assert float(r.cost.high) == pytest.approx(2000 + 400 * slow, abs=4)
    assert r.time.time_high == pytest.approx(36_000 * slow, rel=0.01)
    # Overhead is no money out of pocket.
    asked = risk(quantities, made, book, samples=2000, price=made.full_cost - Decimal(60))
    assert asked.chance_loss > 0.9
    assert asked.chance_out_of_pocket < 0.5


def test_contingency_brings_the_cost_to_its_eightieth_percentile(
    taken: PlanQuantities, priced: Estimate, book: Book
) -> None:
    r = risk(taken, priced, book, samples=5000)
    spare = next(step.amount for step in priced.steps if step.code == "contingency")
    assert priced.full_cost - spare + r.contingency == max(r.cost.eighty, priced.full_cost - spare)
    assert r.cost.low <= r.cost.middle <= r.cost.eighty <= r.cost.high


def test_an_incomplete_estimate_is_said(small: Small) -> None:
    quantities, book = small(), book_of(*PLAIN[1:])
    r = risk(quantities, estimate(quantities, book), book, samples=200)
    assert "risk-incomplete" in {f.code for f in r.findings}


@pytest.mark.parametrize("samples", [0, 99, 10**7])
def test_samples(small: Small, samples: int) -> None:
    quantities, book = small(), book_of(*PLAIN)
    with pytest.raises(ValueError, match="samples"):
        risk(quantities, estimate(quantities, book), book, samples=samples)
