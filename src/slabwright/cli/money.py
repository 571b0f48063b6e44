"""The commands of money: price for the owner, quote for the customer, learn from what was done."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from slabwright.cli.group import main
from slabwright.cli.money_in import (
    BUSINESS,
    FILE,
    business_of,
    checked_currency,
    learn_told,
    must_not_follow,
    price_asked,
    read_book,
    read_record,
    shared,
    tell_all,
    write_all,
)
from slabwright.cli.talk import FAILED, FINE, STOPPED, UNUSABLE, day_of, leave, talk, write_file
from slabwright.cli.tongue import lang_option

if TYPE_CHECKING:
    from slabwright.findings import Finding
    from slabwright.sheets.tables import Table


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
@click.option("--at", "asked", help="Tell the risk at this price before tax, such as 3200.")
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for the owner's files.")
def price(asked: str | None, out: Path | None, **given: Any) -> None:
    """Estimate JOB for its owner: every line of cost, the way to the price, what could come of it.

    The tables go to stdout; with --out also a PDF sheet, CSV and XLSX, their names beginning with
    'owner-'. They hold cost, wages and profit: keep them from the crew's packet and the quote.
    """
    from slabwright.measure import MeasureError, read_money
    from slabwright.priced import owner_files, owner_job
    from slabwright.sheets import money_tables as tables
    from slabwright.sheets.money_owner import risk_lines

    one = price_asked(**given)
    made, lang = one.priced.made, one.lang
    try:
        at = None if asked is None else read_money(asked, bare=made.currency).amount
    except MeasureError as error:
        raise click.UsageError(f'--at "{asked}": {error.reason}; write for example 3200.') from error
    owner = owner_job(one.priced, at=at, lang=lang)
    could, offered = owner.risk, owner.options
    shown = [
        tables.lines_on_paper(made, lang, owner.names),
        tables.build_up_on_paper(made, lang),
        *([tables.slabs(made)] if len(made.by_slab) > 1 else []),
        tables.band(could, lang),
        tables.drivers(could, lang),
        *([tables.option_table(offered, lang)] if offered else []),
    ]
    for table in shown:
        click.echo(as_text(table, system=one.system, lang=lang, currency=made.currency))
    for line in risk_lines(owner, lang):
        click.echo(line)
    found = (*one.priced.findings, *could.findings)
    tell_all(one, found)
    if out is not None:
        write_all(out, owner_files(owner, one.priced, paper=one.paper, lang=lang))
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
@click.option("--take", "taken", multiple=True, help="An --option that the customer took, as it is written.")
def quote(
    out: Path,
    number: str | None,
    business: str | None,
    customer: str | None,
    valid_days: int | None,
    place: str,
    begins: str | None,
    taken: tuple[str, ...],
    **given: Any,
) -> None:
    """Write a quote for JOB that the customer can sign, a care sheet, and the days agreed.

    quote.json keeps it for `slabwright change` and `slabwright invoice`. Options that the customer took are
    named again with --take: the quote is then of the job with them.

    The quote shows the plan, the price of each slab, options, what is in it and what is not, conditions,
    payment steps and lines to sign on. It never holds a cost, a rate or a margin. The same notes, book
    and --date give the same bytes.
    """
    from slabwright.money.kept import Kept, kept_text
    from slabwright.money.wanted import option_of
    from slabwright.priced import calendar_of, party_of, quote_job, taking

    first = day_of(begins, "--begins")
    must_not_follow(out / "quote.json")
    one = price_asked(**given)
    if taken:
        try:
            keys = [option_of(option, one.system).key for option in taken]
            one = replace(one, priced=taking(one.priced, keys))
        except ValueError as error:
            raise click.UsageError(f"--take: {error}") from error
    business = business_of(business)
    made, files = quote_job(
        one.priced,
        dated=one.day,
        number=number,
        business=party_of(business),
        customer=party_of(customer) if customer else None,
        place=place,
        valid_days=valid_days,
        paper=one.paper,
        lang=one.lang,
    )
    written = [*files, ("quote.json", kept_text(Kept(made)).encode())]
    if first:
        try:
            days = calendar_of(one.priced, date.fromisoformat(first), stamped=one.day, lang=one.lang)
        except ValueError as error:
            leave(UNUSABLE, f"slabwright: {error}.")
        written.append(("quote.ics", days))
    write_all(out, written)
    found = (*one.priced.findings, *made.findings)
    tell_all(one, found)
    if not made.ready:
        talk("the quote is marked NOT READY: mend what is said above before it is sent")
    sys.exit(_code(found))


@main.command("price-book")
@click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: stdout.")
def price_book(output: Path | None) -> None:
    """Write a price book to fill in: materials, wages, rates of work, overhead and profit.

    Every price in it is invented and says so; put your own in place. A file that is there is never
    overwritten. With --output ending in .xlsx it is a workbook.
    """
    from slabwright.money.book_files import book_csv, book_xlsx
    from slabwright.priced import demo_book

    book = demo_book()
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
@lang_option("Language of the table.")
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
    from slabwright.money.book_files import book_csv, book_xlsx
    from slabwright.money.learning import taught
    from slabwright.sheets.money_tables import learned_lines, learned_table

    checked_currency(currency)
    if output is not None and output.suffix.lower() not in (".csv", ".xlsx"):
        raise click.UsageError(f"--output {output} ends in neither .csv nor .xlsx.")
    system = System.IMPERIAL
    book = read_book(books, currency, system, lang)
    made = learn_told(book, read_record(records, system, lang), system, lang, keep)
    if made.rates:
        click.echo(as_text(learned_table(made, lang), system=system, lang=lang))
    for line in learned_lines(made, lang):
        click.echo(line)
    if output is not None:
        new = taught(book, made)
        text = book_csv(new).encode() if output.suffix.lower() == ".csv" else book_xlsx(new)
        write_file(output, text)
        talk(f"wrote {output}; price with --book {output}")
    sys.exit(_code(made.findings))
