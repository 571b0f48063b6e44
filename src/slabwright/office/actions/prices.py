"""What a job's price hangs on: its terms, the book in use, the crew's record; and the price itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db import transaction

from slabwright.findings import Finding
from slabwright.measure import System
from slabwright.notes.models import Notes
from slabwright.office import pricing
from slabwright.office.actions import audit
from slabwright.office.actions.jobs import name_of
from slabwright.office.models import Book, Job, Person, Revision, Shop, Terms
from slabwright.office.planning import planned
from slabwright.office.when import today
from slabwright.priced import PricedJob, demo_text

if TYPE_CHECKING:
    from slabwright.sheets.money_owner import Priced


class QuoteError(Exception):
    """Something that cannot be done with a quote: the word's key, and what else there is to say."""

    def __init__(self, key: str, findings: Sequence[Finding] = (), **values: str) -> None:
        super().__init__(key)
        self.key, self.findings, self.values = key, tuple(findings), values


# --- terms and books ------------------------------------------------------------------------------------


def terms_of(job: Job) -> Terms:
    """Return the job's terms, empty ones where none were kept."""
    return Terms.objects.select_related("book").filter(job=job).first() or Terms(job=job)


def book_of(terms: Terms) -> Book | None:
    """Return the book that a job is priced from: its own, else the one in use, None where there is none."""
    return terms.book or Book.objects.filter(used=True).order_by("-when", "-pk").first()


def units_of(job: Job) -> System:
    """Return the units of a job's notes, the shop's where they cannot be read."""
    notes = notes_of(job)
    return notes.units if notes is not None else System(Shop.own().units)


def notes_of(job: Job) -> Notes | None:
    """Return a job's newest notes, None where they cannot be read."""
    return planned(job.text, name_of(job)).notes


@transaction.atomic
def keep_terms(*, person: Person, job: Job, terms: Terms) -> None:
    """Keep what a job's price hangs on; it was read once, so that nothing unreadable is kept."""
    values = {f: getattr(terms, f) for f in ("options", "distance", "drive", "trips", "permits", "asked")}
    Terms.objects.update_or_create(job=job, defaults=values)
    audit.note("terms-changed", person=person, about=job.title, job=job.code)


def demo_csv() -> str:
    """Return the price book that comes with the program, in the shop's currency."""
    return demo_text(Shop.own().currency)


@transaction.atomic
def use_demo_book(*, person: Person) -> Book:
    """Return the price book that comes with the program, now in use; its prices are invented."""
    text = demo_csv()
    Book.objects.filter(used=True).update(used=False)
    lines = len(text.strip().splitlines()) - 1
    made = Book.objects.create(name="demo", csv=text, lines=lines, used=True, person=person)
    audit.note("book-demo", person=person, about=made.name)
    return made


def text_of(job: Job) -> tuple[str, int]:
    """Return the newest text of a job that can be planned, and its revision; 0 where there is none."""
    if job.plans or not job.good:
        return job.text, job.number if job.plans else 0
    old = Revision.objects.filter(job=job, number=job.good).first()
    return (job.text, 0) if old is None else (old.text, old.number)


def _asked(job: Job, options: Sequence[str] | None = None) -> pricing.Asked:
    terms = terms_of(job)
    book = book_of(terms)
    if book is None:
        raise QuoteError("price-no-book")
    asked = pricing.asked_of(terms, book, currency=Shop.own().currency, dated=today(), system=units_of(job))
    return asked if options is None else replace(asked, options=tuple(options))


def priced_now(job: Job, *, text: str, options: Sequence[str] | None = None) -> PricedJob:
    """Return a text of the job priced from its terms and the book in use. QuoteError, pricing.TermsError."""
    return _result(job, text, _asked(job, options))


def _result(job: Job, text: str, asked: pricing.Asked) -> PricedJob:
    made = pricing.priced(text, name_of(job), asked)
    if made.job is None:
        raise QuoteError("price-cannot", made.mistakes, why=made.problem)
    return made.job


def priced_for_owner(job: Job, *, text: str, at: Decimal | None, lang: str) -> tuple[PricedJob, Priced]:
    """Return a text of the job priced, and what its owner's page shows. QuoteError, pricing.TermsError."""
    asked = _asked(job)
    return _result(job, text, asked), pricing.for_owner(text, name_of(job), asked, at, lang)
