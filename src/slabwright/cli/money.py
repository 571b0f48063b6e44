"""The commands of money: price for the owner, quote for the customer, learn from what was done."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from slabwright.cli.group import main
from slabwright.cli.money_in import (
    OPTION_EXAMPLES,
    Measured,
    learned_from,
    party_of,
    priced_options,
    quantities_of,
    read_book,
    read_records,
    tell,
    with_past,
)
from slabwright.cli.talk import (
    FAILED,
    FINE,
    STOPPED,
    UNUSABLE,
    day_of,
    leave,
    make_plan,
    read_job,
    talk,
    write_file,
)

if TYPE_CHECKING:
    from slabwright.findings import Finding
    from slabwright.money.model import (
        Book,
        Estimate,
        JobTerms,
        Learned,
        OptionPrice,
        PlanQuantities,
    )
    from slabwright.result import Plan
    from slabwright.sheets.tables import Table

FILE = click.Path(path_type=Path)
BUSINESS = "SLABWRIGHT_BUSINESS"
_PAPERS = ("letter", "tabloid", "A4", "A3")
SHARED = (
    click.argument("job", type=FILE),
    click.option(
        "--book",
        "books",
        type=FILE,
        multiple=True,
        required=True,
        help="Price book, CSV or XLSX; lines of later ones replace those of earlier ones.",
    ),
    click.option(
        "--record", "records", type=FILE, multiple=True, help="What was done: rates learned from it."
    ),
    click.option("--option", "wanted", multiple=True, help=f"Price a change: {OPTION_EXAMPLES}."),
    click.option("--distance", type=Measured("length", "12 mi"), default=0.0, help="One way, such as 12 mi."),
    click.option(
        "--drive", type=Measured("duration", "30 min"), default=0.0, help="One way, such as 30 min."
    ),
    click.option("--trips", type=click.IntRange(0), help="Trips there and back; default: one a day of work."),
    click.option("--permit", "permits", multiple=True, help="Code of a permit in the book."),
    click.option("--currency", default="USD", show_default=True, help="Of the book (ISO 4217)."),
    click.option("--date", "when", metavar="YYYY-MM-DD", help="Day of pricing; default: today."),
    click.option("--lang", type=click.Choice(["en", "es"]), default="en", help="Language."),
    click.option("--paper", type=click.Choice(_PAPERS), help="Default: from the job, else letter or A4."),
)


def shared(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the argument and options that price and quote share."""
    for one in reversed(SHARED):
        command = one(command)
    return command


@dataclass(frozen=True, slots=True)
class _Priced:
    """A job planned and priced, and what it was priced with."""

    plan: Plan
    book: Book
    terms: JobTerms
    taken: PlanQuantities
    made: Estimate
    options: tuple[OptionPrice, ...]
    learned: Learned | None
    day: date
    paper: str
    lang: str


def _priced(
    *,
    job: Path,
    books: tuple[Path, ...],
    records: tuple[Path, ...],
    wanted: tuple[str, ...],
    distance: float,
    drive: float,
    trips: int | None,
    permits: tuple[str, ...],
    currency: str,
    when: str | None,
    lang: str,
    paper: str | None,
) -> _Priced:
    """Read, plan and price; ends with a message where something cannot be used."""
    from slabwright.measure.money import CURRENCIES
    from slabwright.money import estimate
    from slabwright.money.learning import taught
    from slabwright.money.model import JobTerms
    from slabwright.sheets.files import DEFAULT_PAPER

    if currency not in CURRENCIES:
        raise click.UsageError(f"--currency {currency} is none of {', '.join(sorted(CURRENCIES))}.")
    written = day_of(when)
    day = date.fromisoformat(written) if written else date.today()
    notes = read_job(job)
    system = notes.units
    book = read_book(books, currency, system, lang)
    learned = None
    if records:
        read = read_records(records, system, lang)
        learned = learned_from(book, read, system, lang)
        book, notes = taught(book, learned), with_past(notes, read, learned)
    plan = make_plan(notes, job, quiet=False)
    terms = JobTerms(trips=trips, distance=distance, drive=drive, permits=permits, dated=day)
    taken = quantities_of(plan)
    made = estimate(taken, book, terms=terms)
    offered = priced_options(wanted, notes, made, book, terms)
    size = (paper or notes.paper or DEFAULT_PAPER[system]).lower()
    return _Priced(plan, book, terms, taken, made, offered, learned, day, size, lang)


def _say(one: _Priced, found: Iterable[Finding]) -> None:
    """Tell findings once each, those of the plan itself but the stops left to `check`."""
    told: list[Finding] = []
    for finding in found:
        if finding not in told and finding.level != "note":
            told.append(finding)
            tell(finding, one.plan.notes.units, one.lang)


def _write(folder: Path, files: Iterable[tuple[str, bytes]]) -> None:
    for name, content in files:
        write_file(folder / name, content)
        talk(f"wrote {folder / name}")


def _code(found: Iterable[Finding]) -> int:
    return STOPPED if any(finding.level == "stop" for finding in found) else FINE


def as_text(table: Table, *, system: Any, lang: str, currency: str = "USD") -> str:
    """Return a table as plain text: columns padded, figures to the right, totals under a rule."""
    from slabwright.sheets.money_tables import on_paper
    from slabwright.sheets.tables import page_rows

    shown = page_rows(on_paper(table, currency), system=system, lang=lang)
    keep = [n for n in range(len(table.columns)) if any(row[n] for row in shown)]
    heads = [table.columns[n].heading(lang) for n in keep]
    rows = [[row[n] for n in keep] for row in shown]
    wide = [max(len(cell) for cell in column) for column in zip(heads, *rows, strict=True)]
    right = [table.columns[n].kind != "text" for n in keep]

    def line(cells: list[str]) -> str:
        padded = (c.rjust(w) if r else c.ljust(w) for c, w, r in zip(cells, wide, right, strict=True))
        return "  ".join(padded).rstrip()

    rule = "-" * (sum(wide) + 2 * (len(wide) - 1))
    body = [line(row) for row in rows]
    if table.total is not None:
        body.insert(-1, rule)
    return "\n".join([table.title.of(lang), line(heads), rule, *body, ""])


@main.command()
@shared
@click.option("--at", "asked", help="Tell the risk at this price before tax, such as $3,200.")
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for the owner's files.")
def price(asked: str | None, out: Path | None, **given: Any) -> None:
    """Estimate JOB for its owner: every line of cost, the way to the price, what could come of it.

    The tables go to stdout; with --out also a PDF sheet, CSV and XLSX, their names beginning with
    'owner-'. They hold cost, wages and profit: keep them from the crew's packet and the quote.
    """
    from slabwright.measure import MeasureError, read_money
    from slabwright.money import risk
    from slabwright.sheets import money_tables as tables
    from slabwright.sheets.money_owner import Priced, owner_files, risk_lines

    one = _priced(**given)
    made, lang, system = one.made, one.lang, one.plan.notes.units
    try:
        at = None if asked is None else read_money(asked, bare=made.currency).amount
    except MeasureError as error:
        raise click.UsageError(f'--at "{asked}": {error.reason}; write for example $3,200.') from error
    could = risk(one.taken, made, one.book, price=at)
    count = len(one.learned.rates) if one.learned else 0
    names = tables.names_of(one.plan, lang)
    owner = Priced(made, could, one.options, one.book.name, count, system, names)
    shown = [
        tables.lines_on_paper(made, lang, names),
        tables.build_up_on_paper(made, lang),
        *([tables.slabs(made)] if len(made.by_slab) > 1 else []),
        tables.band(could, lang),
        tables.drivers(could, lang),
        *([tables.option_table(one.options, lang)] if one.options else []),
    ]
    for table in shown:
        click.echo(as_text(table, system=system, lang=lang, currency=made.currency))
    for line in risk_lines(owner, lang):
        click.echo(line)
    found = (*made.findings, *could.findings, *(f for o in one.options for f in o.findings))
    _say(one, found)
    if out is not None:
        _write(out, owner_files(owner, dated=one.day, paper=one.paper, lang=lang))
    sys.exit(_code(found))


@main.command()
@shared
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), required=True, help="Folder for the quote."
)
@click.option("--number", help="Number of the quote; default: from the date and the job.")
@click.option("--business", help=f"Who quotes: 'name; address; licence'. Default: ${BUSINESS}, else a line.")
@click.option("--customer", help="To whom: 'name; address'. Default: the job's customer.")
@click.option("--valid-days", type=click.IntRange(1, 365), help="Default: from the book, else 30.")
@click.option("--place", default="", help="Where the job is, such as US-CA, for limits on deposits.")
@click.option(
    "--begins", metavar="YYYY-MM-DD", help="First day on site: writes the days agreed as quote.ics."
)
def quote(
    out: Path,
    number: str | None,
    business: str | None,
    customer: str | None,
    valid_days: int | None,
    place: str,
    begins: str | None,
    **given: Any,
) -> None:
    """Write a quote for JOB that the customer can sign, a care sheet, and the days agreed.

    The quote shows the plan, the price of each slab, options, what is in it and what is not, conditions,
    payment steps and lines to sign on. It never holds a cost, a rate or a margin. The same notes, book
    and --date give the same bytes.
    """
    from slabwright.money import quote as quoted
    from slabwright.money.quoting import VALID_DAYS
    from slabwright.sheets.money_quote import quote_files

    first = day_of(begins, "--begins")
    one = _priced(**given)
    notes, line = one.plan.notes, one.book.find("term", "valid")
    days = valid_days or (int(line.value) if line else VALID_DAYS)
    business = business or os.environ.get(BUSINESS)
    if not business:
        talk("no --business was given: the quote has a line to write it on")
    made = quoted(
        one.made,
        one.plan.shaped,
        notes,
        number=number or f"{one.day:%y%m%d} {one.plan.name.replace('-', ' ')}",
        dated=one.day,
        business=party_of(business),
        customer=party_of(customer or notes.customer),
        offered=one.options,
        place=place,
        valid_days=days,
        permits_in=bool(one.terms.permits),
    )
    _write(out, quote_files(made, one.plan, paper=one.paper, lang=one.lang))
    if first:
        _write(out, [("quote.ics", _calendar(one, date.fromisoformat(first)))])
    found = (*one.made.findings, *made.findings, *(f for o in one.options for f in o.findings))
    _say(one, found)
    if not made.ready:
        talk("the quote is marked NOT READY: mend what is said above before it is sent")
    sys.exit(_code(found))


def _calendar(one: _Priced, first: date) -> bytes:
    """Return the days agreed as iCalendar; ends with UNUSABLE where nobody works."""
    from datetime import UTC, datetime

    from slabwright.money import calendar_text
    from slabwright.money.days import job_days

    try:
        agreed = job_days(one.taken, one.made, one.book, first, terms=one.terms)
    except ValueError as error:
        leave(UNUSABLE, f"slabwright: {error}.")
    stamp = datetime(one.day.year, one.day.month, one.day.day, tzinfo=UTC)
    system = one.plan.notes.units
    text = calendar_text(agreed.days, job=one.plan.name, stamp=stamp, lang=one.lang, system=system)
    return text.encode()


@main.command("price-book")
@click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: stdout.")
def price_book(output: Path | None) -> None:
    """Write a price book to fill in: materials, wages, rates of work, overhead and profit.

    Every price in it is invented and says so; put your own in place. A file that is there is never
    overwritten. With --output ending in .xlsx it is a workbook.
    """
    from importlib.resources import files

    from slabwright.money import load_book
    from slabwright.money.book_files import book_csv, book_xlsx

    text = files("slabwright").joinpath("money", "demo_book.csv").read_text(encoding="utf-8")
    book = load_book(text, name="price-book")
    if output is None:
        click.echo(book_csv(book), nl=False)
        return
    if output.exists():
        leave(FAILED, f"slabwright: {output} is there already and was left alone; choose another name.")
    write_file(output, book_xlsx(book) if output.suffix.lower() == ".xlsx" else book_csv(book).encode())
    talk(f"wrote {output}; put your own prices in, then: slabwright price JOB --book {output}")


@main.command()
@click.argument("records", type=FILE, nargs=-1, required=True)
@click.option(
    "--book", "books", type=FILE, multiple=True, required=True, help="Price book: what is believed."
)
@click.option("--keep", type=int, multiple=True, help="Row of a day that is right although it looks absurd.")
@click.option("--currency", default="USD", show_default=True, help="Of the book (ISO 4217).")
@click.option("--lang", type=click.Choice(["en", "es"]), default="en", help="Language of the table.")
@click.option(
    "-o",
    "--output",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write the book with the learned rates here, CSV or XLSX by its ending.",
)
def learn(
    records: tuple[Path, ...],
    books: tuple[Path, ...],
    keep: tuple[int, ...],
    currency: str,
    lang: str,
    output: Path | None,
) -> None:
    """Learn from RECORDS what this crew really does; the book is what is believed before.

    \b
    days    date, job, step, condition, unit, amount, hours (of all people together)
    orders  date, job, unit, drawn, delivered, left

    A file is one or the other, told apart by its headings. The table shows each step with the band that
    eight of the next ten jobs fall in, and how many jobs stand behind it.
    """
    from slabwright.measure import System
    from slabwright.measure.money import CURRENCIES
    from slabwright.money.book_files import book_csv, book_xlsx
    from slabwright.money.learning import taught
    from slabwright.sheets.money_tables import learned_lines, learned_table

    if currency not in CURRENCIES:
        raise click.UsageError(f"--currency {currency} is none of {', '.join(sorted(CURRENCIES))}.")
    if output is not None and output.suffix.lower() not in (".csv", ".xlsx"):
        raise click.UsageError(f"--output {output} ends in neither .csv nor .xlsx.")
    system = System.IMPERIAL
    book = read_book(books, currency, system, lang)
    made = learned_from(book, read_records(records, system, lang), system, lang, keep)
    if made.rates:
        click.echo(as_text(learned_table(made), system=system, lang=lang))
    for line in learned_lines(made, lang):
        click.echo(line)
    if output is not None:
        new = taught(book, made)
        text = book_csv(new).encode() if output.suffix.lower() == ".csv" else book_xlsx(new)
        write_file(output, text)
        talk(f"wrote {output}; price with --book {output}")
    sys.exit(_code(made.findings))
