"""A job's text and a price book to its price, kept for as long as the same is asked for again.

For owners only: what is in here holds costs, rates and margins.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

from slabwright.findings import Finding
from slabwright.measure import MeasureError, System, read, read_money
from slabwright.money.model import JobTerms
from slabwright.money.records import ACTUAL, ORDER
from slabwright.money.wanted import WantedError, options_of
from slabwright.notes.said import say
from slabwright.office.models import Book, DayRecord, LoadRecord, Terms
from slabwright.office.planning import Planned, planned
from slabwright.office.words import word
from slabwright.priced import (
    NotUsableError,
    PricedJob,
    learn_from,
    owner_job,
    plan_again,
    price_job,
    put_to_use,
    read_books,
    read_records,
)

if TYPE_CHECKING:
    from slabwright.sheets.money_owner import Priced

KEPT = 12  # priced jobs that a worker keeps
File = tuple[str, bytes]


@dataclass(frozen=True, slots=True)
class Asked:
    """All that a price hangs on besides the notes; equal ones have equal prices."""

    book: str  # its name
    csv: str
    currency: str
    records: tuple[File, ...]
    options: tuple[str, ...]
    distance: float  # [m] one way
    drive: float  # [s] one way
    trips: int | None
    permits: tuple[str, ...]
    dated: dt.date


@dataclass(frozen=True, slots=True)
class Result:
    """What became of pricing: the job with its price, or the one problem or the mistakes in the way."""

    job: PricedJob | None
    problem: str = ""
    mistakes: tuple[Finding, ...] = ()


class TermsError(ValueError):
    """A field of the terms that cannot be read: its name, why not, and what to write instead."""

    def __init__(self, field: str, why: str | Callable[[str], str], example: str = "") -> None:
        super().__init__(field)
        self.field, self.why, self.example = field, why, example

    def said(self, lang: str) -> str:
        """Return why, with what to write instead, in `lang` as far as the reason has words there."""
        why = say(self.why, lang) if isinstance(self.why, str) else self.why(lang)
        return word("terms-wrong", lang, why=why, example=self.example) if self.example else why


EXAMPLES = {"distance": "12 mi", "drive": "30 min", "asked": "$3,200"}


def _read(kind: str, field: str, text: str) -> float:
    if not text.strip():
        return 0.0
    try:
        value = read(kind, text)
    except MeasureError as error:
        raise TermsError(field, error.reason, EXAMPLES[field]) from error
    if value < 0:
        raise TermsError(field, f"{text} < 0", EXAMPLES[field])
    return value


def amount_of(text: str, currency: str) -> Decimal | None:
    """Return an amount of money as it was typed, None for nothing; TermsError where it cannot be read."""
    if not text.strip():
        return None
    try:
        asked = read_money(text, bare=currency)
    except MeasureError as error:
        raise TermsError("asked", error.reason, EXAMPLES["asked"]) from error
    if asked.currency != currency:
        raise TermsError("asked", f"{asked.currency}, {currency}", EXAMPLES["asked"])
    if asked.amount <= 0:
        raise TermsError("asked", f"{text} <= 0", EXAMPLES["asked"])
    return asked.amount


def asked_of(terms: Terms, book: Book, *, currency: str, dated: dt.date, system: System) -> Asked:
    """Return what a job's price hangs on, its terms read; TermsError names a field that cannot be."""
    try:
        options_of(terms.options, system)
    except WantedError as error:
        raise TermsError("options", error.said) from error
    return Asked(
        book=book.name,
        csv=book.csv,
        currency=currency,
        records=records_of(),
        options=tuple(terms.options),
        distance=_read("length", "distance", terms.distance),
        drive=_read("duration", "drive", terms.drive),
        trips=terms.trips,
        permits=tuple(terms.permits),
        dated=dated,
    )


def records_of() -> tuple[File, ...]:
    """Return what the crew wrote down of days and orders, as files that the engine reads."""
    days = [
        (d.day.isoformat(), d.job.code, d.step, d.condition, d.unit, d.amount, d.hours, "")
        for d in DayRecord.objects.select_related("job").only(
            "day", "step", "condition", "unit", "amount", "hours", "job__code"
        )
    ]
    loads = [
        (r.day.isoformat(), r.job.code, r.unit, r.drawn, r.delivered, r.left)
        for r in LoadRecord.objects.select_related("job").only(
            "day", "unit", "drawn", "delivered", "left", "job__code"
        )
    ]
    files = (("days.csv", ACTUAL, days), ("orders.csv", ORDER, loads))
    return tuple((name, _csv(heads, sorted(rows))) for name, heads, rows in files if rows)


def _csv(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(heads)
    writer.writerows(rows)
    return out.getvalue().encode()


@lru_cache(maxsize=KEPT)
def priced(text: str, name: str, asked: Asked) -> Result:
    """Return the price of a job file's text. What cannot be used becomes a problem or mistakes, no fault."""
    here = planned(text, name)
    if here.plan is None or here.notes is None:
        return Result(None, here.problem or "plan")
    try:
        return Result(_priced(here, name, asked))
    except NotUsableError as error:
        return Result(None, "", error.findings)
    except ValueError as error:
        return Result(None, " ".join(str(error).split())[:300])


def _priced(here: Planned, name: str, asked: Asked) -> PricedJob:
    assert here.plan is not None
    assert here.notes is not None
    book = read_books([(f"{asked.book}.csv", asked.csv.encode())], currency=asked.currency)
    plan, learned = here.plan, None
    if asked.records:
        records = read_records(asked.records)
        learned = learn_from(book, records)
        book, notes = put_to_use(book, here.notes, records, learned)
        if notes is not here.notes:
            plan = plan_again(notes, name=name)
    terms = JobTerms(
        distance=asked.distance,
        drive=asked.drive,
        trips=asked.trips,
        permits=asked.permits,
        dated=asked.dated,
    )
    choices = options_of(asked.options, here.notes.units)
    return price_job(plan, book, terms=terms, choices=choices, learned=learned)


@lru_cache(maxsize=KEPT)
def for_owner(text: str, name: str, asked: Asked, at: Decimal | None, lang: str) -> Priced:
    """Return what the owner's page shows of a job that can be priced; ValueError for one that cannot."""
    made = priced(text, name, asked)
    if made.job is None:
        raise ValueError(made.problem)
    return owner_job(made.job, at=at, lang=lang)
