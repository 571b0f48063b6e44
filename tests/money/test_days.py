"""The days of a job: working days only, in order, as many as the hours need."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import icalendar
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from slabwright.money.book import load_book
from slabwright.money.days import ORDER, job_days, preparing
from slabwright.money.estimating import estimate
from slabwright.money.ical import calendar_text
from slabwright.money.model import Amount, Book, Estimate, PlanQuantities, Work

Small = Callable[..., PlanQuantities]
RATES = (
    "group,code,condition,unit,value,low,high\nplant,concrete,,m3,200,,\nlabour,hand,,h,20,,\n"
    "rate,finish,,m2,10,,\nrate,dig,,m3,1,0.5,2\nrate,base,,m3,1,,\nrate,compact,,m2,10,,\n"
    "rate,load spoil,,m3,1,,\nrate,forms,,m,10,,\n"
)


def steps(**amounts: float) -> tuple[Work, ...]:
    kinds = {"dig": "volume", "base": "volume", "load spoil": "volume", "compact": "area", "forms": "length"}
    named = {name.replace("_", " "): amount for name, amount in amounts.items()}
    return tuple(Work(step, "", Amount(kinds[step], amount), "a", "") for step, amount in named.items())


def test_days_of_a_real_job(taken: PlanQuantities, priced: Estimate, book: Book) -> None:
    got = job_days(taken, priced, book, date(2026, 5, 2))  # a Saturday
    dig, pour, strip, drive = got.days
    assert dig.begins == date(2026, 5, 4)
    assert isinstance(pour.begins, date)
    assert pour.begins == dig.begins + timedelta(days=dig.days)  # the week is long enough here
    assert strip.begins > pour.begins
    assert drive.begins == pour.begins + timedelta(days=7)
    assert 0.0 < got.chance_ready <= 1.0
    text = calendar_text(got.days, job="job", stamp=datetime(2026, 4, 1, tzinfo=UTC), lang="es")
    assert len(icalendar.Calendar.from_ical(text).walk("VEVENT")) == 4


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    first=st.dates(date(2026, 1, 1), date(2027, 1, 1)),
    dug=st.floats(0.1, 200),
    week=st.sets(st.integers(0, 6), min_size=1),
)
def test_only_working_days(small: Small, first: date, dug: float, week: set[int]) -> None:
    book = load_book(RATES)
    quantities = small(work=steps(dig=dug))
    got = job_days(quantities, estimate(quantities, book), book, first, week=sorted(week))
    dig, pour, strip, _ = got.days
    for day in (dig, pour, strip):
        assert day.begins.weekday() in week
    assert first <= dig.begins < pour.begins < strip.begins
    worked = sum((dig.begins + timedelta(days=n)).weekday() in week for n in range(dig.days))
    assert worked == got.prepare == max(1, math.ceil(got.whole / (8 * 3600) - 1e-9))


def test_the_crew_shares_the_work_and_the_chain_binds_where_one_works_alone(small: Small) -> None:
    book = load_book(RATES)

    def whole(**amounts: float) -> float:
        quantities = small(work=steps(**amounts))
        return job_days(quantities, estimate(quantities, book), book, date(2026, 5, 4)).whole / 3600

    # 5 h for two; at twice and at half the pace 2.5 h and 10 h, which is lopsided.
    assert whole(dig=10) == pytest.approx((2.5 + 4 * 5 + 10) / 6, rel=1e-6)
    assert whole(base=10, forms=100) == pytest.approx(10.0)  # two people, 20 h
    assert whole(compact=100) == pytest.approx(10.0)  # one plate compactor
    # Spoil is loaded while the base goes in: all hours of two people, no chain.
    assert whole(base=10, load_spoil=10) == pytest.approx(10.0)


def test_steps_follow_one_another(small: Small) -> None:
    book = load_book(RATES)
    quantities = small(work=steps(dig=10, base=10, compact=100, forms=100, load_spoil=1))
    lines = [line for line in estimate(quantities, book).lines if line.code in ORDER]
    path = preparing(lines, book, 2)
    assert path.critical == ("a: dig", "a: base", "a: compact", "a: forms")
    assert path.slack["a: load spoil"] > 0


def test_a_week_without_days(small: Small) -> None:
    book = load_book(RATES)
    made = estimate(small(), book)
    for week in ((), (7,)):
        with pytest.raises(ValueError, match="working days"):
            job_days(small(), made, book, date(2026, 5, 4), week=week)
    with pytest.raises(ValueError, match="nobody"):
        job_days(small(), made, load_book("group,code,unit,value\nplant,x,each,1\n"), date(2026, 5, 4))
