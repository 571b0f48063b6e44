"""The owner's sheets: from cost to price, what could come of it, every line. Never for crew or customer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from slabwright.measure import System, write_money
from slabwright.money.model import Estimate, OptionPrice, Risk
from slabwright.money.phrases import share_text
from slabwright.sheets import money_tables as tables
from slabwright.sheets.money_blocks import strip_of
from slabwright.sheets.packet import write_pdf
from slabwright.sheets.pages import (
    Block,
    Figure,
    FigureBlock,
    FindingBlock,
    Page,
    SideBySide,
    TableBlock,
    TextBlock,
)
from slabwright.sheets.table_files import csv_text, xlsx_bytes
from slabwright.sheets.tables import Table
from slabwright.sheets.words import word as say

WHOLE_SHARE = Decimal("0.001")
LARGE_ROWS = 27  # of the cost lines, that one sheet holds in large letters
LEFT = 0.54  # of the width, for the table from cost to price


@dataclass(frozen=True, slots=True)
class Priced:
    """A priced job for its owner: the estimate, what could come of it, options against it.

    `names` are those of the plan's shopping list in the reader's language.
    """

    made: Estimate
    risk: Risk
    options: tuple[OptionPrice, ...] = ()
    book: str = ""
    learned: int = 0
    system: System = System.IMPERIAL
    names: Mapping[str, str] = field(default_factory=dict)


def _share(share: Decimal) -> str:
    return share_text(share.quantize(WHOLE_SHARE, ROUND_HALF_UP))


def _days(days: int, lang: str) -> str:
    return say("money-day-one", lang) if days == 1 else say("money-days", lang, days=days)


def figures(priced: Priced, lang: str) -> tuple[Figure, ...]:
    """Return the owner's big figures: price, full cost, profit with margin and markup, hours."""
    made = priced.made

    def money(amount: Decimal) -> str:
        return write_money(amount, made.currency)

    hours = f"{tables.amount_text(tables.paid_hours(made.person_time))} h"
    return (
        Figure(
            say("money-price", lang),
            money(made.price),
            say("money-total-below", lang, total=money(made.total)),
        ),
        Figure(
            say("money-cost", lang),
            money(made.full_cost),
            say("money-cost-below", lang, direct=money(made.direct)),
        ),
        Figure(
            say("money-profit", lang),
            money(made.price - made.full_cost),
            say("money-profit-below", lang, margin=_share(made.margin), markup=_share(made.markup)),
        ),
        Figure(say("money-hours", lang), hours, say("money-hours-below", lang, days=_days(made.days, lang))),
    )


def risk_lines(priced: Priced, lang: str) -> tuple[str, ...]:
    """Return what could come of a price, in words."""
    risk, currency = priced.risk, priced.made.currency
    return (
        say(
            "money-risk-loss",
            lang,
            price=write_money(risk.price, currency),
            chance=tables.chance_text(risk.chance_loss, lang),
            pocket=tables.chance_text(risk.chance_out_of_pocket, lang),
        ),
        say("money-risk-spare", lang, spare=write_money(risk.contingency, currency)),
        say("money-risk-short", lang, chance=tables.chance_text(risk.chance_short, lang)),
        say("money-risk-how", lang, samples=f"{risk.samples:,}"),
    )


def owner_pages(priced: Priced, *, paper: str, lang: str = "en") -> tuple[Page, ...]:
    """Return the owner's pages: figures and the way to the price, risk, every line, findings."""
    made = priced.made

    def put(table: Table, *, small: bool = False) -> TableBlock:
        told = [
            column.key
            for n, column in enumerate(table.columns)
            if any(row[n] not in (None, "") for row in table.rows)
        ]
        return TableBlock(tables.on_paper(table, made.currency), columns=tuple(told), small=small)

    books = say("money-books", lang, book=priced.book, currency=made.currency)
    learned = say("money-learned-used", lang, count=priced.learned)
    right: list[Block] = [
        TextBlock(risk_lines(priced, lang), heading=say("money-risk", lang), style="list"),
        put(tables.band(priced.risk, lang), small=True),
        put(tables.drivers(priced.risk, lang), small=True),
    ]
    if len(made.by_slab) > 1:
        right.append(put(tables.slabs(made), small=True))
    if priced.options:
        right.append(put(tables.option_table(priced.options, lang), small=True))
    first: list[Block] = [FigureBlock(figures(priced, lang))]
    if not made.complete:
        first.append(TextBlock((say("money-incomplete", lang),), style="list"))
    left = TableBlock(tables.build_up_on_paper(made, lang), small=True)
    first.append(SideBySide((left,), tuple(right), LEFT))
    first.append(TextBlock((books, learned, say("money-owner-note", lang)), small=True))
    lines = put(tables.lines_on_paper(made, lang, priced.names), small=len(made.lines) > LARGE_ROWS)
    found = (*made.findings, *priced.risk.findings, *(f for o in priced.options for f in o.findings))
    told = (FindingBlock(found, heading=say("page-findings", lang)),) if found else ()
    pages = [
        Page(say("money-owner-page", lang), tuple(first), paper=paper),
        Page(say("money-lines-page", lang), (lines, *told), paper=paper),
    ]
    return tuple(pages)


def owner_tables(priced: Priced, lang: str) -> tuple[Table, ...]:
    """Return the owner's tables for files."""
    made: Sequence[Table] = (
        tables.build_up(priced.made, lang),
        tables.lines(priced.made, lang, priced.names),
        tables.slabs(priced.made),
        tables.band(priced.risk, lang),
        tables.drivers(priced.risk, lang),
    )
    return (*made, tables.option_table(priced.options, lang)) if priced.options else tuple(made)


def owner_files(
    priced: Priced, *, dated: date | None = None, paper: str, lang: str = "en"
) -> Iterator[tuple[str, bytes]]:
    """Yield (file name, content) of the owner's sheet and tables; the same for the same arguments.

    dated: printed on the sheets. paper: 'letter', 'tabloid', 'A4' or 'A3'.
    """
    strip = strip_of(priced.made.title, dated, lang)
    pages = owner_pages(priced, paper=paper, lang=lang)
    yield "owner-estimate.pdf", write_pdf(pages, strip, system=priced.system, lang=lang)
    listed = owner_tables(priced, lang)
    for table in listed:
        yield f"owner-{table.key}.csv", csv_text(table, system=priced.system, lang=lang).encode()
    yield "owner-estimate.xlsx", xlsx_bytes(listed, system=priced.system, lang=lang)
