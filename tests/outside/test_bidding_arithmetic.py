"""Worked figures of bidding arithmetic, from formulas that any estimating text prints.

The figures were worked out from the stated formulas outside this program, and are given as printed there:
markup and margin, burdened wage, overhead by the hour, a bid with overhead and profit, progress payments with
retainage, triangular and three-point (PERT) spreads, a contingency by random draws. Rates are illustrative.
"""

from __future__ import annotations

import statistics
from decimal import Decimal

import numpy as np
import pytest

from slabwright.money import arith
from slabwright.money.book import load_book
from slabwright.money.estimating import estimate
from slabwright.money.model import Amount, Need, PlanQuantities

D = Decimal


def test_markup_and_margin() -> None:
    """Cost 8,000: 25 % markup 10,000 (20 % margin); 25 % margin 10,666.67 (33.3 % markup)."""
    assert arith.price_by_markup(D(8000), D("0.25")) == 10_000
    assert arith.margin_of(D("0.25")) == D("0.20")
    assert arith.to_cent(arith.price_by_margin(D(8000), D("0.25"))) == D("10666.67")
    assert round(arith.markup_of(D("0.25")) * 100, 1) == D("33.3")


def test_burdened_wage() -> None:
    """$28, 7.65 + .6 + 2.7 + 9 + 2 % = 21.95 % -> 34.15; 2,080 paid / 1,892 productive -> 37.54."""
    shares = [D(s) / 100 for s in ("7.65", "0.6", "2.7", "9", "2")]
    assert sum(shares) == D("0.2195")
    wage = arith.burdened(D(28), shares)
    assert arith.to_cent(wage) == D("34.15")
    assert arith.to_cent(arith.per_productive_hour(wage, paid=D(2080), productive=D(1892))) == D("37.54")


def test_overhead_by_the_hour() -> None:
    """60,000 / (3 x 1,700) = 11.76."""
    assert arith.to_cent(arith.overhead_per_hour(D(60_000), D(3 * 1700))) == D("11.76")


@pytest.mark.parametrize(("basis", "printed"), [("on price", "6644.44"), ("on cost", "6578.00")])
def test_bid(basis: str, printed: str) -> None:
    """Direct 5,200, overhead 15 %, profit 10 %: on price 6,644.44; on cost 6,578.00."""
    book = load_book(
        "group,code,condition,unit,value\nmaterial,all,,job,5200\nlabour,hand,,h,20\n"
        f"term,overhead,on cost,%,15\nterm,profit,{basis},%,10\n"
    )
    need = Need("material", "all", "", (Amount("job", 1.0),), "worked example")
    quantities = PlanQuantities("bid", (("job", 1.0),), (need,), (), 1, 0.0, 0.0, 0.0, ())
    assert estimate(quantities, book).price == D(printed)


def test_progress_with_retainage() -> None:
    """2,500 / 4,000 / 3,500 at 10 %: 2,250; 3,600; 3,150; held 1,000."""
    values = [D(2500), D(4000), D(3500)]
    due = arith.progress_payments(values, D("0.10"))
    assert due == (D(2250), D(3600), D(3150))
    assert sum(values) - sum(due) == 1000


def test_triangular() -> None:
    """6.0, 6.4, 7.2: mean 6.5333, sd .2494, P50 6.5072, P80 6.7618, P90 6.8902."""
    t = arith.Triangular(6.0, 6.4, 7.2)
    found = [t.mean, t.sd, *(t.quantile(p) for p in (0.5, 0.8, 0.9))]
    assert found == pytest.approx([6.5333, 0.2494, 6.5072, 6.7618, 6.8902], abs=0.00005)


def test_pert() -> None:
    """6.0, 6.4, 7.2: mean 6.4667; sd .2000 (classic), .2211 (beta 2.333, 3.667); P80 6.6650."""
    from scipy.stats import beta

    p = arith.Pert(6.0, 6.4, 7.2)
    assert [p.mean, p.classic_sd, p.sd] == pytest.approx([6.4667, 0.2000, 0.2211], abs=0.00005)
    assert p.shape == pytest.approx((2.333, 3.667), abs=0.0005)
    assert p.a + (p.b - p.a) * beta(*p.shape).ppf(0.8) == pytest.approx(6.6650, abs=0.00005)


ITEMS = ((900, 1000, 1300), (1400, 1600, 2000), (350, 400, 600), (700, 800, 1000), (500, 650, 1100))


def test_contingency() -> None:
    """Modes 4,450; mean 4,766.67; sd 214.09; normal P80 4,946.8; drawn P80 4,949; contingency about 499."""
    items = [arith.Triangular(*row) for row in ITEMS]
    modes, mean = sum(t.m for t in items), sum(t.mean for t in items)
    sd = sum(t.sd**2 for t in items) ** 0.5
    assert modes == 4450
    assert mean == pytest.approx(4766.67, abs=0.005)
    assert sd == pytest.approx(214.09, abs=0.005)
    assert statistics.NormalDist(mean, sd).inv_cdf(0.8) == pytest.approx(4946.8, abs=0.05)
    draw = np.random.default_rng(5).random((5, 40_000))
    total = sum(np.vectorize(t.quantile)(row) for t, row in zip(items, draw, strict=True))
    eighty = float(np.percentile(total, 80))
    # 4 standard errors of a quantile of 40,000 draws.
    assert eighty == pytest.approx(4949, abs=4 * 1.43 * sd / 200)
    assert eighty - modes == pytest.approx(499, abs=6.5)
