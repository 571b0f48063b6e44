"""The record: rows and their mistakes, rates learned with the book as prior, the order's error."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.money.book import load_book
from slabwright.money.estimating import estimate
from slabwright.money.learning import NormalBelief, learn, past_jobs, prior_of, taught
from slabwright.money.model import Actual, Book, OrderActual, PlanQuantities
from slabwright.money.records import read_actuals, read_orders
from slabwright.notes.models import Notes
from slabwright.result import Plan

HEAD = "date,job,step,condition,unit,amount,hours,note\n"
DAY = date(2026, 5, 4)


@pytest.fixture
def own() -> Book:
    return load_book(
        "group,code,condition,unit,value,low,high\n"
        "plant,concrete,,m3,200,,\nlabour,hand,,h,20,,\nrate,finish,,m2,10,7,14\nrate,forms,straight,ft,20,,\n"
    )


def days(rate: float, jobs: int, hours: float = 8.0, spread: float = 0.05, seed: int = 1) -> list[Actual]:
    rng = random.Random(seed)
    made = []
    for n in range(jobs):
        done = Decimal(f"{rate * hours * math.exp(rng.gauss(0, spread)):.2f}")
        made.append(Actual(DAY, f"job {n}", "finish", "broom", "m2", done, Decimal(str(hours)), n + 2))
    return made


def test_without_a_record_nothing_is_learned(own: Book) -> None:
    learned = learn(own, [])
    assert learned.rates == ()
    assert learned.order is None
    assert taught(own, learned) == own


def test_more_jobs_pull_the_rate_from_the_book_to_the_record(own: Book) -> None:
    middles, widths = [], []
    for jobs in (1, 3, 10, 40):
        (rate,) = learn(own, days(7.0, jobs)).rates
        middles.append(float(rate.rate_middle))
        widths.append(float(rate.rate_high / rate.rate_low))
        assert rate.jobs == jobs
        assert rate.from_book == 10
    assert middles == sorted(middles, reverse=True)
    assert 7.0 < middles[-1] < 7.2
    assert widths[-1] < widths[0]


def test_the_order_of_the_record_does_not_matter(own: Book) -> None:
    record = days(8.0, 12, spread=0.3)
    shuffled = random.Random(3).sample(record, len(record))
    assert learn(own, record).rates == learn(own, shuffled).rates


values = st.lists(st.floats(-3, 3), min_size=1, max_size=12)


@settings(max_examples=50, deadline=None)
@given(first=values, second=values)
def test_learning_in_two_parts_is_learning_at_once(first: list[float], second: list[float]) -> None:
    prior = NormalBelief(0.3, 2.0, 0.5, 4.0)
    at_once, in_parts = prior.told([*first, *second]), prior.told(first).told(second)
    for name in ("mean", "weight", "variance", "freedom"):
        assert getattr(at_once, name) == pytest.approx(getattr(in_parts, name), rel=1e-9, abs=1e-12)


def test_the_prior_is_the_book(own: Book) -> None:
    line = own.find("rate", "finish")
    assert line is not None
    belief = prior_of(line)
    assert math.exp(belief.mean) == pytest.approx(10.0)
    # Low and high are the 5th and 95th percentile of jobs: 1.645 sd either way.
    assert math.sqrt(belief.variance) * 2 * 1.6448536 == pytest.approx(math.log(2.0))


def test_bands_cover_the_next_job(own: Book) -> None:
    inside = 0
    for seed in range(120):
        *record, following = days(8.0, 9, spread=0.2, seed=seed)
        (rate,) = learn(own, record).rates
        seen = float(following.amount / following.hours)
        inside += float(rate.rate_low) <= seen <= float(rate.rate_high)
    assert 0.72 * 120 <= inside <= 0.97 * 120  # eight in ten, on the safe side while the book still counts


@pytest.mark.parametrize("hours", ["0.01", "2000"])
def test_one_absurd_day_is_set_aside_until_it_is_kept(own: Book, hours: str) -> None:
    record = days(9.0, 5)
    slip = replace(record[2], hours=Decimal(hours))
    spoiled = [*record[:2], slip, *record[3:]]
    learned = learn(own, spoiled)
    assert [f.code for f in learned.findings] == ["record-absurd"]
    assert learned.findings[0].line == slip.row
    assert learned.rates == learn(own, [*record[:2], *record[3:]]).rates
    assert learned.findings[0].text(lang="es").what
    kept = learn(own, spoiled, keep=[slip.row])
    assert kept.findings == ()
    assert kept.rates[0].rate_middle != learned.rates[0].rate_middle


def test_only_absurd_days_teach_nothing(own: Book) -> None:
    slip = replace(days(9.0, 1)[0], hours=Decimal("0.01"))
    assert learn(own, [slip]).rates == ()


def test_days_of_one_job_are_one_job(own: Book) -> None:
    one = Actual(DAY, "a", "finish", "broom", "m2", Decimal(60), Decimal(8), 2)
    two = replace(one, amount=Decimal(20), hours=Decimal(2), row=3)
    (rate,) = learn(own, [one, two]).rates
    (whole,) = learn(own, [replace(one, amount=Decimal(80), hours=Decimal(10))]).rates
    assert rate == whole
    assert rate.jobs == 1


def test_units_of_the_record_convert(own: Book) -> None:
    metric = Actual(DAY, "a", "finish", "", "m2", Decimal("9.290304"), Decimal(1), 2)
    feet = replace(metric, unit="ft2", amount=Decimal(100))
    assert learn(own, [metric]).rates == learn(own, [feet]).rates
    clash = learn(own, [replace(metric, unit="yd3")])
    assert [f.code for f in clash.findings] == ["unit-clash"]
    assert clash.rates == ()


def test_a_taught_book_is_no_prior(own: Book) -> None:
    record = days(5.0, 3)
    with pytest.raises(ValueError, match="as it was written"):
        learn(taught(own, learn(own, record)), record)


def test_unknown_steps_are_said(own: Book) -> None:
    made = learn(own, [Actual(DAY, "a", "polish", "", "m2", Decimal(9), Decimal(1), 2)])
    assert [f.code for f in made.findings] == ["record-unknown-step"]


def test_the_next_estimate_uses_it(own: Book, small: Callable[..., PlanQuantities]) -> None:
    before = estimate(small(), own)
    after = estimate(small(), taught(own, learn(own, days(5.0, 30))))
    assert after.person_time > 1.8 * before.person_time
    line = taught(own, learn(own, days(5.0, 30))).find("rate", "finish", "broom")
    assert line is not None
    assert (line.supplier, line.jobs) == ("own record", 30)
    assert line.low is not None
    assert line.high is not None
    assert line.low < line.value < line.high
    # Other finishes keep the book's rate.
    other = taught(own, learn(own, days(5.0, 30))).find("rate", "finish", "salt")
    assert other is not None
    assert other.value == 10


# --- the order ------------------------------------------------------------------------------------------


def order(used: str, row: int = 2, drawn: str = "10") -> OrderActual:
    return OrderActual(DAY, f"job {row}", "yd3", Decimal(drawn), Decimal(used) + 1, Decimal(1), row)


def test_the_orders_error_is_learned(own: Book) -> None:
    record = [order(used, row) for row, used in enumerate(("11.3", "11.5", "11.1", "11.4") * 5, 2)]
    learned = learn(own, [], record).order
    assert learned is not None
    assert learned.jobs == 20
    assert 1.11 < learned.used_middle < 1.14
    assert learned.used_low < learned.used_middle < learned.used_high


def test_the_next_order_is_planned_with_it(
    own: Book, walk: Plan, again: Callable[[Notes], PlanQuantities]
) -> None:
    record = [order(used, row) for row, used in enumerate(("11.9", "12.1", "11.8", "12.0") * 5, 2)]
    record.append(order("100", 90))
    past = past_jobs(record, learn(own, [], record))
    assert len(past) == 20
    assert past[0].drawn == pytest.approx(10 * 0.764554857984)
    notes = walk.notes
    told = notes.model_copy(update={"order": notes.order.model_copy(update={"past_jobs": past})})
    before, after = again(notes), again(told)
    assert after.need > 1.05 * before.need
    assert after.order >= before.order


def test_an_absurd_order_is_set_aside(own: Book) -> None:
    learned = learn(own, [], [order("10.6", 2), order("100", 3)])
    assert [f.code for f in learned.findings] == ["order-absurd"]
    assert learned.order is not None
    assert learned.order.jobs == 1


# --- rows -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ("5/4/2026,a,finish,,m2,9,1,", "row-date"),
        (",a,finish,,m2,9,1,", "row-date"),
        ("2026-05-04,,finish,,m2,9,1,", "record-missing"),
        ("2026-05-04,a,,,m2,9,1,", "record-missing"),
        ("2026-05-04,a,finish,,m2,,1,", "record-missing"),
        ("2026-05-04,a,finish,,m2,0,1,", "record-zero"),
        ("2026-05-04,a,finish,,m2,9,0,", "record-zero"),
        ("2026-05-04,a,finish,,m2,9,-1,", "row-negative"),
        ("2026-05-04,a,finish,,m2,nine,1,", "row-not-number"),
        ("2026-05-04,a,finish,,mm5,9,1,", "row-unit"),
    ],
)
def test_bad_days(row: str, code: str) -> None:
    actuals, found = read_actuals(HEAD + row + "\n2026-05-04,a,Finish,Broom,m2,9,1,ok\n")
    assert [f.code for f in found] == [code]
    assert found[0].line == 2
    assert actuals == (Actual(DAY, "a", "finish", "broom", "m2", Decimal(9), Decimal(1), 3, "ok"),)


def test_days_in_spanish() -> None:
    actuals, found = read_actuals("fecha;obra;paso;unidad;cantidad;horas\n2026-05-04;a;finish;m2;9,5;1,25\n")
    assert found == ()
    assert (actuals[0].amount, actuals[0].hours) == (Decimal("9.5"), Decimal("1.25"))


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ("2026-05-04,a,yd3,5,5.5,6", "record-left"),
        ("2026-05-04,a,yd3,0,5.5,0", "record-zero"),
        ("2026-05-04,a,yd3,5,,0", "record-missing"),
        ("2026-05-04,a,ton,5,5.5,0", "row-unit"),
        ("2026-05-04,a,yd3,5,5.5,-1", "row-negative"),
    ],
)
def test_bad_orders(row: str, code: str) -> None:
    orders, found = read_orders(f"date,job,unit,drawn,delivered,left\n{row}\n2026-05-04,b,yd3,5,5.5,\n")
    assert [f.code for f in found] == [code]
    assert [o.job for o in orders] == ["b"]
