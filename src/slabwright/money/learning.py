"""What this crew really does: rates and the order's error learned from the record, the book as prior.

The logarithm of a rate, job by job, is taken as normal with unknown mean and spread; the book gives the
conjugate prior (source conjugate-normal): its value the mean, its low and high the spread, worth so many
jobs. The next job then follows a Student t about the learned mean.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache

from slabwright.build.need import PlacedNeed
from slabwright.build.record import Belief, next_job_sd
from slabwright.build.record import learn as order_belief
from slabwright.build.tables import rule
from slabwright.findings import Finding, find
from slabwright.measure import Quantity
from slabwright.money.book import with_lines
from slabwright.money.model import (
    Actual,
    Book,
    BookLine,
    Learned,
    LearnedOrder,
    LearnedRate,
    OrderActual,
)
from slabwright.money.pricing import unit_of_line
from slabwright.money.units import book_unit
from slabwright.notes.models import PastJob

PRIOR_JOBS = 2.0  # the book counts for as many jobs (source own-setting)
PRIOR_FREEDOM = 4.0  # degrees of freedom of the book's spread (source own-setting)
USUAL_SPREAD = 0.30  # of a rate without low and high, as a share (source own-setting)
ENDS = 1.6448536269514722  # low and high of a book stand for percentiles 5 and 95 of the jobs
ABSURD = 0.001  # a day this unlikely, either way, is set aside (source own-setting)
EIGHT_IN_TEN, NEARLY_ALL = 0.10, 0.01
RATE_PLACES = Decimal("0.0001")
OWN_RECORD = "own record"
"""The supplier of a learned rate: how a book that was taught is known when it comes back from a file."""


@dataclass(frozen=True, slots=True)
class NormalBelief:
    """What is believed of normal data: mean, its weight in data, spread squared, degrees of freedom."""

    mean: float
    weight: float
    variance: float
    freedom: float

    def told(self, values: Sequence[float]) -> NormalBelief:
        """Return the belief after data; the same data in any order and in any parts give the same."""
        n = len(values)
        if not n:
            return self
        middle = math.fsum(values) / n
        inside = math.fsum((value - middle) ** 2 for value in values)
        weight, freedom = self.weight + n, self.freedom + n
        between = self.weight * n / weight * (middle - self.mean) ** 2
        return NormalBelief(
            (self.weight * self.mean + n * middle) / weight,
            weight,
            (self.freedom * self.variance + inside + between) / freedom,
            freedom,
        )

    @property
    def next_sd(self) -> float:
        """Return the scale of the t distribution that the next value follows."""
        return math.sqrt(self.variance * (1.0 + 1.0 / self.weight))

    def next_at(self, p: float) -> float:
        """Return the value that the next one is below with probability `p` [-]."""
        return self.mean + self.next_sd * t_quantile(p, self.freedom)

    def surprise(self, value: float) -> float:
        """Return how likely the next value is to lie as far out on that side [-]."""
        from scipy.special import stdtr  # here: slow to import

        return float(stdtr(self.freedom, -abs(value - self.mean) / self.next_sd))


@cache
def t_quantile(p: float, freedom: float) -> float:
    """Return a quantile of Student's t."""
    from scipy.special import stdtrit  # here: slow to import

    return float(stdtrit(freedom, p))


def prior_of(line: BookLine) -> NormalBelief:
    """Return what a book's rate says of the logarithm of a rate."""
    if line.low is not None and line.high is not None and line.low < line.high:
        sd = math.log(float(line.high) / float(line.low)) / (2.0 * ENDS)
    else:
        sd = USUAL_SPREAD / ENDS
    return NormalBelief(math.log(float(line.value)), PRIOR_JOBS, sd * sd, PRIOR_FREEDOM)


def learn(
    book: Book,
    actuals: Iterable[Actual],
    orders: Iterable[OrderActual] = (),
    *,
    keep: Iterable[int] = (),
) -> Learned:
    """Return what the record teaches, with the book as prior.

    actuals: days' records; those of one job, step and condition count as one job. orders: what was
    drawn, delivered and left over. keep: rows that are right although they look absurd. A day that the
    book's own spread makes nearly impossible is a finding and is set aside until somebody keeps it.
    ValueError for a book that has been taught already: its record would count twice.
    """
    if any(line.jobs or line.supplier == OWN_RECORD for line in book.group("rate")):
        raise ValueError("this book has learned rates in it; learn from the book as it was written")
    found: list[Finding] = []
    kept = frozenset(keep)
    groups: dict[tuple[str, str], dict[str, list[Actual]]] = {}
    for actual in actuals:
        if _rate_line(book, actual, found) is not None:
            jobs = groups.setdefault((actual.step, actual.condition), {})
            jobs.setdefault(actual.job, []).append(actual)
    rates = []
    for (step, condition), jobs in groups.items():
        line = book.find("rate", step, condition)
        if line is not None:
            rates.append(_rate(line, step, condition, jobs, kept, found))
    return Learned(tuple(rate for rate in rates if rate.jobs), learn_order(orders, kept, found), tuple(found))


def _rate_line(book: Book, actual: Actual, found: list[Finding]) -> BookLine | None:
    line = book.find("rate", actual.step, actual.condition)
    name = f"{actual.step} {actual.condition}".strip()
    if line is None:
        found.append(
            find("money", "record-unknown-step", where=actual.job, line=actual.row, item=name, book=book.name)
        )
        return None
    done, unit = book_unit(actual.unit), unit_of_line(line)
    if done is None or done.dimension != unit.dimension:
        values = {"item": name, "unit": actual.unit, "kinds": line.unit}
        found.append(find("money", "unit-clash", where=actual.job, line=actual.row, **values))
        return None
    return line


def _seen(days: Sequence[Actual], line: BookLine) -> float:
    """Return the rate of a job's days in the book's unit, an hour of one person."""
    unit = unit_of_line(line)
    done = 0.0
    for day in days:
        own = book_unit(day.unit)
        assert own is not None, "checked when the day was taken in"
        done += float(day.amount) * own.amount / unit.amount
    return done / math.fsum(float(day.hours) for day in days)


def _rate(
    line: BookLine,
    step: str,
    condition: str,
    jobs: dict[str, list[Actual]],
    kept: frozenset[int],
    found: list[Finding],
) -> LearnedRate:
    belief = prior_of(line)
    values: list[float] = []
    for job, days in jobs.items():
        # A day is judged by the book's prior alone, so that the order of the record does not matter.
        usable = []
        for day in days:
            rate = _seen([day], line)
            if day.row not in kept and belief.surprise(math.log(rate)) < ABSURD:
                found.append(_absurd(job, day, rate, line))
            else:
                usable.append(day)
        if usable:
            values.append(math.log(_seen(usable, line)))
    belief = belief.told(values)
    low, high, least, most = (
        _places(math.exp(belief.next_at(p)))
        for p in (EIGHT_IN_TEN, 1.0 - EIGHT_IN_TEN, NEARLY_ALL, 1.0 - NEARLY_ALL)
    )
    middle = _places(math.exp(belief.mean))
    rates, names = (middle, low, high, least, most, line.value), (line.name, line.name_es)
    return LearnedRate(step, condition, line.unit, *rates, len(values), *names)


def _places(value: float) -> Decimal:
    return max(RATE_PLACES, Decimal(repr(round(value, 4))))


def _absurd(job: str, day: Actual, rate: float, line: BookLine) -> Finding:
    return find(
        "money",
        "record-absurd",
        where=job,
        line=day.row,
        item=f"{day.step} {day.condition}".strip(),
        day=day.day.isoformat(),
        seen=f"{rate:.3g} {line.unit}/h",
        book=f"{line.value.normalize():f} {line.unit}/h",
    )


def learn_order(
    orders: Iterable[OrderActual], kept: frozenset[int], found: list[Finding]
) -> LearnedOrder | None:
    """Return concrete used over concrete drawn, by the same rule as the order itself; None without a record.

    The planning errors of a patio of 20 m2 are the prior. A plan learns from `past_jobs`; this shows it.
    """
    prior = _planning_error()
    values = []
    for order in orders:
        used = float((order.delivered - order.left) / order.drawn)
        away = abs(used - 1.0 - prior.mean) / next_job_sd(prior)
        if order.row not in kept and t_quantile(ABSURD, prior.sd_jobs) > -away:
            share = Quantity("percent", used)
            found.append(find("money", "order-absurd", where=order.job, line=order.row, used=share))
        else:
            values.append(used - 1.0)
    if not values:
        return None
    after = order_belief(prior, values)
    middle, sd = 1.0 + after.mean, next_job_sd(after)
    scale = after.sd * math.sqrt(1.0 + 1.0 / after.mean_jobs)
    reach = scale * t_quantile(1.0 - EIGHT_IN_TEN, after.sd_jobs)
    return LearnedOrder(middle, middle - reach, middle + reach, sd, len(values))


@cache
def _planning_error() -> Belief:
    """Return the planning errors of a patio of 20 m2, 0.1 m thick, as the order's own prior has them."""
    usual = PlacedNeed(20.0, 0.1)
    weights = rule("pour", "record_mean_jobs"), rule("pour", "record_sd_jobs")
    doubt = next_job_sd(Belief(0.0, 1.0, *weights))
    return Belief(usual.mean / 2.0 - 1.0, usual.sd / 2.0 / doubt, *weights)


def past_jobs(orders: Iterable[OrderActual], learned: Learned) -> tuple[PastJob, ...]:
    """Return orders as past jobs of a job file, so that the next order is planned with them.

    learned: from the same orders; those that it set aside are left out.
    """
    aside = {finding.line for finding in learned.findings if finding.code == "order-absurd"}
    return tuple(
        PastJob.model_validate(
            {
                "name": f"{order.job} {order.day.isoformat()}",
                "drawn": f"{order.drawn:f} {order.unit}",
                "ordered": f"{order.delivered:f} {order.unit}",
                "left-over": f"{order.left:f} {order.unit}",
            }
        )
        for order in orders
        if order.row not in aside
    )


def taught(book: Book, learned: Learned) -> Book:
    """Return a book whose rates are the learned ones, so that the next estimate uses them."""
    lines = []
    for rate in learned.rates:
        line = book.find("rate", rate.step, rate.condition)
        if line is not None:
            lines.append(
                replace(
                    line,
                    condition=rate.condition,
                    value=rate.rate_middle,
                    low=min(rate.rate_least, rate.rate_middle),
                    high=max(rate.rate_most, rate.rate_middle),
                    supplier=OWN_RECORD,
                    jobs=rate.jobs,
                )
            )
    return with_lines(book, lines)
