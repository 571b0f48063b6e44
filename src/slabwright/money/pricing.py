"""Needs and work to cost lines: one line of the book each, to the cent, split among slabs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal

from slabwright.findings import Finding, find
from slabwright.measure import HOUR, LANGUAGES
from slabwright.money.arith import split, to_cent
from slabwright.money.book import small_load_under
from slabwright.money.model import (
    Amount,
    Book,
    BookLine,
    CostLine,
    JobTerms,
    Need,
    PlanQuantities,
    Work,
)
from slabwright.money.phrases import called
from slabwright.money.units import BookUnit, book_unit, counted

HOUR_PLACES = Decimal("0.01")
INVENTED = "invented"  # how the note of such a price begins, in the book that comes with the program
OLD_DAYS = 180  # a price is asked for again after half a year (source own-setting)


def unit_of_line(line: BookLine) -> BookUnit:
    """Return the unit of a book's line, which was checked when it was read; ValueError if it was not."""
    unit = book_unit(line.unit)
    if unit is None:
        raise ValueError(f"{line.unit!r} is not a unit of a price book")
    return unit


def packed(count: Decimal, pack: Decimal | None) -> Decimal:
    """Return a count rounded up to whole packs, where a line is sold by the pack."""
    if pack is None:
        return count
    return (count / pack).to_integral_value(rounding="ROUND_CEILING") * pack


def spread_cost(cost: Decimal, shares: Iterable[tuple[str, float]]) -> tuple[tuple[str, Decimal], ...]:
    """Return a cost split among slabs to the cent; nothing where it belongs to the job as a whole."""
    pairs = tuple(shares)
    if not pairs:
        return ()
    parts = split(cost, [weight for _, weight in pairs])
    return tuple((slab, part) for (slab, _), part in zip(pairs, parts, strict=True))


def _priced(need: Need, line: BookLine, count: Decimal, rounding: str) -> CostLine:
    count = packed(count, line.pack)
    cost, by_minimum = to_cent(count * line.value, rounding), False
    if line.least is not None and line.value and count and cost < line.least:
        cost, by_minimum = to_cent(line.least, rounding), True
    return CostLine(
        group=need.group,
        code=need.code,
        condition=need.condition,
        what=need.what or line.name,
        what_es="" if need.what else line.name_es,
        unit=line.unit,
        count=count,
        price=line.value,
        cost=cost,
        by_minimum=by_minimum,
        takes=need.takes,
        book=line.book,
        row=line.row,
        by_slab=spread_cost(cost, need.shares),
    )


def price_need(
    need: Need, book: Book, rounding: str, found: list[Finding], *, today: date | None = None
) -> CostLine | None:
    """Return a need with its price, or None with a finding: no line, or a unit that does not convert."""
    line = book.find("price", need.code, need.condition)
    if line is None:
        name = f"{need.code} {need.condition}".strip()
        found.append(find("money", "unpriced", where=need.what or name, item=name, book=book.name))
        return None
    unit = unit_of_line(line)
    amount = next((a for a in need.amounts if a.dimension == unit.dimension), None)
    if amount is None:
        kinds = ", ".join(a.dimension for a in need.amounts)
        found.append(
            find(
                "money",
                "unit-clash",
                where=f"{line.book}:{line.row}",
                line=line.row,
                item=need.code,
                unit=line.unit,
                kinds=kinds,
            )
        )
        return None
    _remark(line, found, today)
    return _priced(need, line, counted(amount.amount, unit), rounding)


def _remark(line: BookLine, found: list[Finding], today: date | None) -> None:
    place = f"{line.book}:{line.row}"
    if not line.value:
        found.append(find("money", "priced-free", where=place, line=line.row, item=line.code))
    if today is None or line.dated is None:
        return
    if line.dated > today:
        day = line.dated.isoformat()
        found.append(find("money", "price-ahead", where=place, line=line.row, item=line.code, day=day))


def names_of_lines(rows: Sequence[BookLine], lang: str, most: int = 6) -> str:
    """Return what lines of a book are called, a few of them and three dots for more."""
    names = [
        called(line.name or f"{line.code} {line.condition}".strip(), line.name_es, lang) for line in rows
    ]
    names = list(dict.fromkeys(names))
    return ", ".join(names[:most]) + (", ..." if len(names) > most else "")


def _used(lines: Iterable[CostLine], book: Book) -> tuple[BookLine, ...]:
    """Return the lines of the book that prices of an estimate were taken from, each once."""
    every = (book.find("price", line.code, line.condition) for line in lines if line.group != "labour")
    return tuple({(line.book, line.row): line for line in every if line is not None}.values())


def is_invented(line: BookLine) -> bool:
    """Return whether a line still says that its price is invented, as the book to fill in does."""
    return line.note.lower().startswith(INVENTED)


def invented_prices(lines: Iterable[CostLine], book: Book) -> Iterator[Finding]:
    """Yield one finding that names every price and wage used that still says that it is invented."""
    used = tuple(lines)
    wages = book.group("labour") if any(line.group == "labour" for line in used) else ()
    rows = [line for line in (*_used(used, book), *wages) if is_invented(line)]
    if rows:
        en, es = (names_of_lines(rows, lang) for lang in LANGUAGES)
        yield find("money", "price-invented", where=book.name, count=len(rows), items=en, items_es=es)


def old_prices(lines: Iterable[CostLine], book: Book, today: date | None) -> Iterator[Finding]:
    """Yield one finding that names every price used that is older than half a year, the oldest first."""
    if today is None:
        return
    old = [line for line in _used(lines, book) if line.dated and (today - line.dated).days > OLD_DAYS]
    rows = sorted(old, key=lambda line: line.dated or today)
    if rows:
        en, es = (names_of_lines(rows, lang) for lang in LANGUAGES)
        age = (today - (rows[0].dated or today)).days
        yield find("money", "price-old", where=book.name, count=len(rows), days=age, items=en, items_es=es)


def small_loads(quantities: PlanQuantities, book: Book) -> list[Need]:
    """Return the plant's charge for loads under its threshold, as volume short of it."""
    needs = []
    for line in book.lines.values():
        under = small_load_under(line.condition) if line.code == "small-load" else None
        if under is None:
            continue
        short = math.fsum(max(0.0, under - load) for load in quantities.loads)
        if short > 1e-9:
            shares = next((n.shares for n in quantities.needs if n.code == "concrete"), ())
            amounts = (Amount("volume", short),)
            needs.append(Need("plant", "small-load", line.condition, amounts, "build.order.loads", shares))
    return needs


def crew_of(quantities: PlanQuantities, book: Book, terms: JobTerms) -> tuple[tuple[BookLine, int], ...]:
    """Return who works: the job's crew, else the book's, else one of each role and the rest of the last.

    Roles without a wage are left out (`unknown_roles` names them); nothing where the book has no wage.
    """
    wages = {line.code: line for line in book.group("labour")}
    asked = _asked(book, terms)
    if asked:
        return tuple((wages[role], count) for role, count in asked if role in wages and count > 0)
    roles = list(wages.values())[: quantities.people]
    return tuple(
        (line, quantities.people - len(roles) + 1 if i == len(roles) - 1 else 1)
        for i, line in enumerate(roles)
    )


def _asked(book: Book, terms: JobTerms) -> tuple[tuple[str, int], ...]:
    return terms.crew or tuple((line.code, int(line.value)) for line in book.group("crew"))


def unknown_roles(book: Book, terms: JobTerms) -> tuple[str, ...]:
    """Return the roles of the crew that the book has no wage for."""
    return tuple(role for role, _ in _asked(book, terms) if book.find("labour", role) is None)


def blended_wage(crew: tuple[tuple[BookLine, int], ...]) -> Decimal:
    """Return the crew's mean wage an hour, before burden; ValueError for nobody."""
    people = sum(count for _, count in crew)
    if not people:
        raise ValueError("nobody works here: the book has no wage")
    total = sum(
        (line.value * count * Decimal(repr(HOUR / unit_of_line(line).amount)) for line, count in crew)
    )
    return Decimal(total) / people


def hours_of(work: Work, line: BookLine) -> Decimal | None:
    """Return the person-hours of a step by its rate, to a hundredth; None where the unit does not convert."""
    unit = unit_of_line(line)
    if unit.dimension != work.amount.dimension:
        return None
    return (counted(work.amount.amount, unit) / line.value).quantize(HOUR_PLACES, rounding="ROUND_CEILING")


def price_work(
    work: Work, book: Book, wage: Decimal, paid: Decimal, rounding: str, found: list[Finding]
) -> CostLine | None:
    """Return a step of work with its cost, or None with a finding.

    wage: of one person-hour. paid: hours paid for each hour on the task, 1 or more.
    """
    line = book.find("rate", work.step, work.condition)
    name = f"{work.step} {work.condition}".strip()
    if line is None:
        found.append(find("money", "no-rate", where=work.slab or name, item=name, book=book.name))
        return None
    hours = hours_of(work, line)
    if hours is None:
        kinds, place = work.amount.dimension, f"{line.book}:{line.row}"
        found.append(
            find("money", "unit-clash", where=place, line=line.row, item=name, unit=line.unit, kinds=kinds)
        )
        return None
    return labour_line(work, line, hours * paid, wage, rounding)


def labour_line(work: Work, line: BookLine, hours: Decimal, wage: Decimal, rounding: str) -> CostLine:
    """Return a labour line for paid hours, to a hundredth."""
    hours = hours.quantize(HOUR_PLACES, rounding="ROUND_CEILING")
    cost = to_cent(hours * wage, rounding)
    return CostLine(
        group="labour",
        code=work.step,
        condition=work.condition,
        what=line.name,
        what_es=line.name_es,
        unit="h",
        count=hours,
        price=to_cent(wage, rounding),
        cost=cost,
        by_minimum=False,
        takes=work.takes,
        book=line.book,
        row=line.row,
        by_slab=((work.slab, cost),) if work.slab else (),
        person_time=float(hours) * HOUR,
    )
