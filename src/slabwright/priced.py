"""One way from a plan and a price book to every paper of money: the door for the command line and the site.

Books and records are read here, the crew's own record is put to use, a plan is taken off and priced, options
are planned anew, and the papers for owner and customer are made. Pure but for reading the files that it is
given: no clock, no network, no printing. What cannot be used raises ValueError with a text that says so.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from decimal import Decimal
from importlib.resources import files
from pathlib import Path

from slabwright import plan as planning
from slabwright.files import head_of
from slabwright.findings import Finding, Level
from slabwright.measure import Both
from slabwright.money import calendar_text, estimate, job_days, learn, load_book, options, risk, take_off
from slabwright.money.book import lay_over
from slabwright.money.changes import ChangeError
from slabwright.money.contract import NONE, PAY_DAYS
from slabwright.money.kept import Kept, add_bill, add_change, contract_of
from slabwright.money.learning import past_jobs, taught
from slabwright.money.model import (
    Actual,
    Book,
    Estimate,
    JobTerms,
    Learned,
    Option,
    OptionPrice,
    OrderActual,
    PlanQuantities,
)
from slabwright.money.model_paper import ChangeOrder, Invoice, Party, Quote
from slabwright.money.offering import chosen_notes
from slabwright.money.quoting import VALID_DAYS, quote
from slabwright.money.records import read_actuals, read_orders
from slabwright.money.tables_in import MOST_BYTES
from slabwright.notes.models import Notes
from slabwright.result import Plan
from slabwright.sheets import money_owner
from slabwright.sheets.files import paper_for
from slabwright.sheets.money_bills import change_pdf, invoice_pdf
from slabwright.sheets.money_quote import quote_files
from slabwright.sheets.money_tables import names_of

Given = Path | tuple[str, bytes]
"""A file: where it lies, or its name and what is in it."""
Files = Iterator[tuple[str, bytes]]
"""Files as they are made, one after another: name and content."""
LONGEST_PLACE = 24  # letters of a quote's number that come from the job's title
DRIVEN = ("driveway", "apron", "pad")  # uses that cars drive on
TO_WRITE_ON = "_" * 24  # where a party is not known


class NotUsableError(ValueError):
    """A book or a record with mistakes: nothing was priced from it; `findings` name every row."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        self.findings = findings
        wrong = [finding for finding in findings if finding.level is Level.STOP]
        super().__init__("; ".join(f"{f.where}: {f.text().what}" for f in wrong[:10]))


@dataclass(frozen=True, slots=True)
class Records:
    """What was done on days and what became of orders, as read, with what was noticed."""

    actuals: tuple[Actual, ...]
    orders: tuple[OrderActual, ...]
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class PricedJob:
    """A job planned and priced, and what it was priced with.

    `taken` is what the plan has to be paid for, `made` its estimate, `choices` the options offered and
    `options` their prices against the base.
    """

    plan: Plan
    book: Book
    terms: JobTerms
    taken: PlanQuantities
    made: Estimate
    choices: tuple[Option, ...] = ()
    options: tuple[OptionPrice, ...] = ()
    learned: Learned | None = None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was noticed in pricing the job and its options, each once."""
        found: list[Finding] = []
        for finding in (*self.made.findings, *(f for option in self.options for f in option.findings)):
            if finding not in found:
                found.append(finding)
        return tuple(found)


# --- what is read ---------------------------------------------------------------------------------------


def demo_text(currency: str = "USD") -> str:
    """Return the book that comes with the program as CSV, its invented prices said to be in `currency`."""
    text = files("slabwright").joinpath("money", "demo_book.csv").read_text(encoding="utf-8")
    return text.replace(",USD,", f",{currency},")


def demo_book() -> Book:
    """Return the book that comes with the program: a start to fill in, its prices invented."""
    return load_book(demo_text(), name="demo_book.csv")


def read_books(given: Sequence[Given], *, currency: str = "USD") -> Book:
    """Return price books laid over each other, later lines in place of earlier ones.

    currency: of every amount (ISO 4217). NotUsableError with a finding for every row that cannot be used;
    ValueError for an unknown currency or no book; OSError for a path that cannot be opened.
    """
    if not given:
        raise ValueError("a job is priced from a price book, and none was given")
    books = [
        load_book(one, currency=currency)
        if isinstance(one, Path)
        else load_book(one[1], name=one[0], currency=currency)
        for one in given
    ]
    book = lay_over(*books)
    _check(book.findings)
    return book


def read_records(given: Sequence[Given]) -> Records:
    """Return what was done, from files of days and files of orders, told apart by their headings.

    NotUsableError with a finding for every row that cannot be used; OSError for a path that cannot be opened.
    """
    actuals: list[Actual] = []
    orders: list[OrderActual] = []
    found: list[Finding] = []
    for one in given:
        name, content = (one.name, head_of(one, MOST_BYTES)) if isinstance(one, Path) else one
        days, said = read_actuals(content, name=name)
        if _headless(said):
            loads, instead = read_orders(content, name=name)
            if not _headless(instead):
                orders += loads
                found += instead
                continue
        actuals += days
        found += said
    _check(found)
    return Records(tuple(actuals), tuple(orders), tuple(found))


def _headless(found: Iterable[Finding]) -> bool:
    return any(finding.code == "columns-missing" for finding in found)


def _check(found: Iterable[Finding]) -> None:
    every = tuple(found)
    if any(finding.level is Level.STOP for finding in every):
        raise NotUsableError(every)


def learn_from(book: Book, records: Records, *, keep: Iterable[int] = ()) -> Learned:
    """Return what records teach; keep: rows that are right although they look absurd.

    ValueError for a book that has been taught already.
    """
    return learn(book, records.actuals, records.orders, keep=keep)


def put_to_use(book: Book, notes: Notes, records: Records, learned: Learned) -> tuple[Book, Notes]:
    """Return the book with learned rates, and notes whose order is planned with what became of others."""
    past = past_jobs(records.orders, learned)
    if past:
        order = notes.order.model_copy(update={"past_jobs": (*notes.order.past_jobs, *past)})
        notes = notes.model_copy(update={"order": order})
    return taught(book, learned), notes


def party_of(written: str | None) -> Party:
    """Return who is meant by 'name; a line; another'; without a word, a line to write on."""
    parts = [part.strip() for part in (written or "").split(";") if part.strip()]
    return Party(parts[0], tuple(parts[1:])) if parts else Party(TO_WRITE_ON)


# --- pricing --------------------------------------------------------------------------------------------


def quantities_of(plan: Plan) -> PlanQuantities:
    """Return all that a plan has to be paid for."""
    places = {name: (p.x, p.y) for name, p in plan.survey.points.items()}
    return take_off(plan.shaped, plan.built, plan.ground, plan.notes, places, stops=plan.findings)


def plan_again(notes: Notes, *, name: str = "job") -> Plan:
    """Return the plan of changed notes; ValueError where nothing can be planned from them."""
    try:
        return planning.make(notes, name=name, mapped=False)
    except planning.PlanError as error:
        raise ValueError(str(error)) from error


def _taken_again(notes: Notes) -> PlanQuantities:
    return quantities_of(plan_again(notes))


def price_job(
    plan: Plan,
    book: Book,
    *,
    terms: JobTerms | None = None,
    choices: Sequence[Option] = (),
    learned: Learned | None = None,
) -> PricedJob:
    """Return a job priced from a book, with each option planned and priced anew.

    choices: as `money.wanted.options_of` reads them. learned: what the book was taught, to be told on the
    owner's sheet. An option that cannot be had has no price and a finding that says why.
    """
    terms = terms or JobTerms()
    taken = quantities_of(plan)
    made = estimate(taken, book, terms=terms)
    prices = options(plan.notes, made, choices, replan=_taken_again, book=book, terms=terms)
    return PricedJob(plan, book, terms, taken, made, tuple(choices), prices, learned)


def taking(priced: PricedJob, keys: Sequence[str]) -> PricedJob:
    """Return the job planned and priced with the options that a customer took, the rest offered on it.

    keys: of the options; those that they stand on come with them. ValueError where they cannot be had.
    """
    unknown = [key for key in keys if key not in {choice.key for choice in priced.choices}]
    if unknown:
        raise ValueError(f"not offered: {', '.join(unknown)}")
    try:
        notes, order = chosen_notes(priced.plan.notes, keys, priced.choices)
    except ChangeError as error:
        raise ValueError(error.finding().text().what) from error
    rest = tuple(
        replace(choice, on_top_of=tuple(key for key in choice.on_top_of if key not in order))
        for choice in priced.choices
        if choice.key not in order
    )
    plan = plan_again(notes, name=priced.plan.name)
    return price_job(plan, priced.book, terms=priced.terms, choices=rest, learned=priced.learned)


# --- papers ---------------------------------------------------------------------------------------------


def paper_of(plan: Plan, paper: str | None = None) -> str:
    """Return the paper to print on: as asked, else the job's own, else that of its units."""
    return paper_for(plan.notes.units, paper, plan.notes.paper)


def owner_job(priced: PricedJob, *, at: Decimal | None = None, lang: str = "en") -> money_owner.Priced:
    """Return what the owner's sheets show, the risk at a price before tax among it (the asked one if None).

    `money_owner.owner_files` makes its files.
    """
    could = risk(priced.taken, priced.made, priced.book, price=at)
    count = len(priced.learned.rates) if priced.learned else 0
    names, units = names_of(priced.plan, lang), priced.plan.notes.units
    return money_owner.Priced(priced.made, could, priced.options, priced.book.name, count, units, names)


def owner_files(
    owner: money_owner.Priced, priced: PricedJob, *, paper: str | None = None, lang: str = "en"
) -> Files:
    """Return the owner's sheet and tables, as they are made; their names begin with 'owner-'."""
    size = paper_of(priced.plan, paper)
    return money_owner.owner_files(owner, dated=priced.terms.dated, paper=size, lang=lang)


def quote_number(priced: PricedJob, dated: date) -> str:
    """Return the number of a quote where nobody gives one: its day and how its title begins."""
    return f"{dated:%y%m%d} {_place_of(priced.plan.notes.title)}"


def _place_of(title: str) -> str:
    """Return how a job's title begins, which is where it is: 'Juniper Court 7 - side walk' to its number."""
    words, kept = re.split(r"\s[-–—]\s|[,;:(/]", title.strip())[0].split(), ""
    for word in words:
        if kept and len(kept) + len(word) >= LONGEST_PLACE:
            break
        kept = f"{kept} {word}".strip()
    return kept[:LONGEST_PLACE] or "job"


def quote_job(
    priced: PricedJob,
    *,
    dated: date,
    number: str | None = None,
    business: Party | None = None,
    customer: Party | None = None,
    place: str = "",
    valid_days: int | None = None,
    paper: str | None = None,
    lang: str = "en",
) -> tuple[Quote, Files]:
    """Return the quote of a priced job, and its files (quote.pdf, care.pdf) as they are made.

    number: from the day and the job where None. business, customer: a line to write on and the job's
    customer where None. place: 'US-CA', for limits on deposits. valid_days: the book's, else 30.
    """
    notes, line = priced.plan.notes, priced.book.find("term", "valid")
    days = valid_days or (int(line.value) if line else VALID_DAYS)
    made = quote(
        priced.made,
        priced.plan.shaped,
        notes,
        number=number or quote_number(priced, dated),
        dated=dated,
        business=business or party_of(None),
        customer=customer or party_of(notes.customer),
        offered=priced.options,
        place=place,
        valid_days=days,
        permits_in=bool(priced.terms.permits),
    )
    return made, quote_files(made, priced.plan, paper=paper_of(priced.plan, paper), lang=lang)


def calendar_of(priced: PricedJob, first: date, *, stamped: date, lang: str = "en") -> bytes:
    """Return the days agreed as iCalendar (RFC 5545), for a job that begins on `first` or soon after.

    stamped: the day on which it is written. ValueError where nobody works.
    """
    driven = any(slab.use in DRIVEN for slab in priced.plan.notes.slabs)
    agreed = job_days(priced.taken, priced.made, priced.book, first, terms=priced.terms, driven=driven)
    stamp = datetime(stamped.year, stamped.month, stamped.day, tzinfo=UTC)
    system = priced.plan.notes.units
    # The title is a part of it: two jobs kept in folders of one name are two jobs in a calendar too.
    job = "-".join(re.findall(r"\w+", f"{priced.plan.name} {priced.plan.notes.title}".lower()))
    text = calendar_text(agreed.days, job=job, stamp=stamp, lang=lang, system=system)
    return text.encode()


# --- what follows a quote -------------------------------------------------------------------------------


def change_job(
    kept: Kept,
    *,
    reason: Both,
    scope: Both,
    price: Decimal,
    days: int = 0,
    dated: date,
    paper: str | None = None,
    lang: str = "en",
) -> tuple[Kept, ChangeOrder, Files]:
    """Return what is kept with one more change order, the order, and its paper as it is made.

    price: before tax, negative where it takes away. days: of work added or saved. KeptError (a ValueError)
    after the final bill, or where the job would cost less than nothing.
    """
    made, change = add_change(kept, reason=reason, scope=scope, price=price, days=days, dated=dated)
    size = paper_for(kept.quote.units, paper)

    def files() -> Files:
        pdf = change_pdf(contract_of(made), change, paper=size, lang=lang)
        yield f"change-{change.number}.pdf", pdf

    return made, change, files()


def bill_job(
    kept: Kept,
    done: Mapping[str, Decimal] | None = None,
    *,
    dated: date,
    final: bool = False,
    held: Decimal = NONE,
    number: str | None = None,
    pay_days: int = PAY_DAYS,
    paper: str | None = None,
    lang: str = "en",
) -> tuple[Kept, Invoice, Files]:
    """Return what is kept with one more bill, the bill, and its paper as it is made.

    done: share done in all up to now, by slab and by 'change 1', ...; what is not named stays as it was.
    final: bills all that is left. held: share kept back until then. KeptError (a ValueError) where it cannot
    be.
    """
    made, invoice = add_bill(
        kept, done, dated=dated, final=final, held=held, number=number, pay_days=pay_days
    )
    size = paper_for(kept.quote.units, paper)

    def files() -> Files:
        yield f"invoice-{len(made.bills)}.pdf", invoice_pdf(invoice, paper=size, lang=lang)

    return made, invoice, files()
