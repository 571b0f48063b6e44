"""The estimate: direct cost, burden, overhead, contingency, profit, price, taxes. Each kept apart.

Every line is rounded to the cent and sums are sums of rounded lines, so that what is printed adds up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal

from slabwright.findings import Finding, find
from slabwright.measure import HOUR
from slabwright.money.arith import CENT, price_by_margin, price_by_markup, split, to_cent
from slabwright.money.model import (
    Amount,
    Book,
    BookLine,
    BuildUp,
    CostLine,
    Estimate,
    JobTerms,
    Need,
    PlanQuantities,
    Work,
)
from slabwright.money.pricing import (
    blended_wage,
    crew_of,
    invented_prices,
    labour_line,
    old_prices,
    price_need,
    price_work,
    small_loads,
    unknown_roles,
)

HUNDRED = Decimal(100)
ONE = Decimal(1)
NONE = Decimal(0)
DAY_HOURS = Decimal(8)  # paid in a day where the book does not say (source common-practice)
ROUNDINGS = (
    "ROUND_HALF_UP",
    "ROUND_HALF_EVEN",
    "ROUND_HALF_DOWN",
    "ROUND_UP",
    "ROUND_DOWN",
    "ROUND_CEILING",
    "ROUND_FLOOR",
    "ROUND_05UP",
)
"""Decimal's modes, any of which a caller may ask for."""
BLOCKING = frozenset(
    ("unpriced", "unit-clash", "no-rate", "no-wage", "no-role", "old-slab-no-outline", "drain-no-place")
)
"""Findings that leave something without a price."""


@dataclass(slots=True)
class _Sheet:
    """An estimate while it is worked out."""

    book: Book
    terms: JobTerms
    rounding: str
    found: list[Finding] = field(default_factory=list)
    lines: list[CostLine] = field(default_factory=list)
    steps: list[BuildUp] = field(default_factory=list)

    def term(self, code: str) -> BookLine | None:
        return self.book.find("term", code)

    def share(self, code: str) -> Decimal:
        line = self.term(code)
        return NONE if line is None else line.value / HUNDRED

    def step(self, code: str, base: Decimal, share: Decimal, line: BookLine | None = None) -> Decimal:
        """Add a share of a sum, to the cent, and return it; a share of nothing is no step."""
        if not share:
            return NONE
        amount = to_cent(base * share, self.rounding)
        self.steps.append(BuildUp(code, base, share, amount, *(_names(line) if line else ())))
        return amount


def estimate(
    quantities: PlanQuantities,
    book: Book,
    *,
    terms: JobTerms | None = None,
    rounding: str = ROUND_HALF_UP,
) -> Estimate:
    """Return what a job costs and what to ask for it.

    quantities: of the plan. book: prices, wages, production rates and terms, learned rates already laid
    over it. terms: what this job adds. rounding: one of decimal's modes, used at every line. A quantity
    without a price is a stop finding and makes the estimate incomplete; it is never priced at zero.
    ValueError for an unknown rounding mode.
    """
    if rounding not in ROUNDINGS:
        raise ValueError(f"{rounding!r} is not a way of rounding; the ways are {', '.join(ROUNDINGS)}")
    sheet = _Sheet(book, terms or JobTerms(), rounding, list(quantities.findings))
    _materials(sheet, quantities)
    days = _labour(sheet, quantities)
    direct = sum((line.cost for line in sheet.lines), NONE)
    full = _full_cost(sheet, direct)
    price = _priced(sheet, full)
    taxes = tuple(
        BuildUp(
            "tax", price, line.value / HUNDRED, to_cent(price * line.value / HUNDRED, rounding), *_names(line)
        )
        for line in book.group("tax")
        if line.condition == "on price"
    )
    profit = price - full
    _judge(sheet, profit, price)
    sheet.found += invented_prices(sheet.lines, book)
    sheet.found += old_prices(sheet.lines, book, sheet.terms.dated)
    return Estimate(
        title=quantities.title,
        currency=book.currency,
        rounding=rounding,
        lines=tuple(sheet.lines),
        direct=direct,
        steps=tuple(sheet.steps),
        full_cost=full,
        price=price,
        taxes=taxes,
        total=price + sum((tax.amount for tax in taxes), NONE),
        by_slab=price_by_slab(price, quantities, sheet.lines),
        person_time=math.fsum(line.person_time for line in sheet.lines),
        days=days,
        markup=profit / full if full else NONE,
        margin=profit / price if price else NONE,
        complete=not any(f.room == "money" and f.code in BLOCKING for f in sheet.found),
        findings=_once(sheet.found),
    )


def _names(line: BookLine) -> tuple[str, str]:
    """Return what a burden or a tax is called, in English and Spanish: by its code, or its Spanish name."""
    return line.code, line.name_es


def _once(found: Sequence[Finding]) -> tuple[Finding, ...]:
    every: list[Finding] = []
    for finding in found:
        if finding not in every:
            every.append(finding)
    return tuple(every)


def _materials(sheet: _Sheet, quantities: PlanQuantities) -> None:
    permits = [
        Need("permit", code, "", (Amount("each", 1.0), Amount("job", 1.0)), "job terms")
        for code in sheet.terms.permits
    ]
    needs = (*quantities.needs, *small_loads(quantities, sheet.book), *permits, *sheet.terms.extra)
    for need in needs:
        line = price_need(need, sheet.book, sheet.rounding, sheet.found, today=sheet.terms.dated)
        if line is not None:
            sheet.lines.append(line)


def _labour(sheet: _Sheet, quantities: PlanQuantities) -> int:
    """Price every step of work and the way there; return the days that the crew works."""
    crew = crew_of(quantities, sheet.book, sheet.terms)
    for role in unknown_roles(sheet.book, sheet.terms):
        sheet.found.append(find("money", "no-role", where=role, item=role, book=sheet.book.name))
    if not crew:
        sheet.found.append(find("money", "no-wage", where=sheet.book.name, book=sheet.book.name))
        return 0
    wage, people = blended_wage(crew), sum(count for _, count in crew)
    productive = sheet.term("productive")
    paid = ONE if productive is None else HUNDRED / productive.value
    for work in quantities.work:
        line = price_work(work, sheet.book, wage, paid, sheet.rounding, sheet.found)
        if line is not None:
            sheet.lines.append(line)
    hours = sum((line.count for line in sheet.lines if line.group == "labour"), NONE)
    day = sheet.term("day")
    days = math.ceil(hours / (people * (DAY_HOURS if day is None else day.value)))
    trips = sheet.terms.trips
    if trips is None:  # forms come off on a later day than the pour
        trips = max(days, 2) if any(work.step == "strip forms" for work in quantities.work) else days
    if trips and sheet.terms.drive > 0:
        drive = Work("drive", "", Amount("trip", float(trips)), None, "job terms")
        driven = Decimal(repr(round(2.0 * sheet.terms.drive / HOUR, 6))) * trips * people
        sheet.lines.append(labour_line(drive, crew[0][0], driven, wage, sheet.rounding))
    if trips and sheet.terms.distance > 0:
        amounts = (Amount("length", 2.0 * sheet.terms.distance * trips), Amount("trip", float(trips)))
        need = Need("travel", "mileage", "", amounts, "job terms", (), "")
        line = price_need(need, sheet.book, sheet.rounding, sheet.found, today=sheet.terms.dated)
        if line is not None:
            sheet.lines.append(line)
    return days


def _full_cost(sheet: _Sheet, direct: Decimal) -> Decimal:
    """Add burden, taxes on what is bought, contingency and overhead; return the cost without profit."""
    wages = sum((line.cost for line in sheet.lines if line.group == "labour"), NONE)
    hours = sum((line.count for line in sheet.lines if line.group == "labour"), NONE)
    bought = sum((line.cost for line in sheet.lines if line.group in ("material", "plant")), NONE)
    cost = direct
    for line in sheet.book.group("burden"):
        cost += sheet.step("burden", wages, line.value / HUNDRED, line)
    for line in sheet.book.group("tax"):
        if line.condition == "on material":
            cost += sheet.step("tax on material", bought, line.value / HUNDRED, line)
    spread = sheet.step("contingency", cost, sheet.share("contingency"))
    hourly = sheet.term("overhead-hour")
    recovered = sheet.step("overhead", cost, sheet.share("overhead"))
    if hourly is not None:
        amount = to_cent(hours * hourly.value, sheet.rounding)
        sheet.steps.append(BuildUp("overhead by the hour", hours, None, amount))
        recovered += amount
    return cost + spread + recovered


def _priced(sheet: _Sheet, full: Decimal) -> Decimal:
    """Add the profit, on cost or on price as the book says, and lift the price to the least job."""
    line, price = sheet.term("profit"), full
    if line is not None:
        share = line.value / HUNDRED
        on_price = line.condition == "on price"
        price = to_cent((price_by_margin if on_price else price_by_markup)(full, share), sheet.rounding)
        code, base = ("profit on price", price) if on_price else ("profit on cost", full)
        sheet.steps.append(BuildUp(code, base, share, price - full))
    least = sheet.term("least-job")
    if least is not None and 0 < price < least.value:
        low, price = price, to_cent(least.value, sheet.rounding)
        sheet.steps.append(BuildUp("least job", low, None, price - low))
    return price


def _judge(sheet: _Sheet, profit: Decimal, price: Decimal) -> None:
    name = sheet.book.name
    if price and profit <= 0:
        sheet.found.append(find("money", "no-profit", where=name, book=name))
    if not sheet.book.group("burden") and any(line.group == "labour" for line in sheet.lines):
        sheet.found.append(find("money", "no-burden", where=name, book=name))
    if sheet.term("overhead") is None and sheet.term("overhead-hour") is None:
        sheet.found.append(find("money", "no-overhead", where=name, book=name))


def price_by_slab(
    price: Decimal, quantities: PlanQuantities, lines: Sequence[CostLine]
) -> tuple[tuple[str, Decimal], ...]:
    """Return a price split among slabs by the direct cost of each, to the cent.

    Costs shared by a driver (concrete by volume, forms by length, ...) are in each slab's own; what
    belongs to the job as a whole follows those.
    """
    own = {slab: NONE for slab, _ in quantities.areas}
    for line in lines:
        for slab, part in line.by_slab:
            own[slab] = own.get(slab, NONE) + part
    if not own:
        return ()
    parts = split(price.quantize(CENT), list(own.values()))
    return tuple(zip(own, parts, strict=True))
