"""What every paper to a customer is made of: who to whom, tables, lists, lines to sign on, the strip."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from slabwright.measure import Both
from slabwright.money.model_paper import Paper, PaperSection, PaperTable
from slabwright.money.phrases import date_text
from slabwright.sheets.pages import Block, SideBySide, Strip, TableBlock, TextBlock
from slabwright.sheets.tables import Cell, Column, Table
from slabwright.sheets.words import word as say

SIGN = "_" * 38
HALF = 0.5


def strip_of(job: str, dated: date | None, lang: str) -> Strip:
    """Return the strip of a paper of money: the date in words, no revision and nobody to check it."""
    return Strip(job=job, date=dated, dated=date_text(dated, lang) if dated else "", signed=False)


def paper_table(made: PaperTable, key: str, title: str) -> TableBlock:
    """Return a paper's table as a block: figures stand right, in all columns but the first."""
    columns = tuple(
        Column(f"c{n}", head, head, "text" if n == 0 else "money") for n, head in enumerate(made.headings)
    )
    rows: tuple[tuple[Cell, ...], ...] = made.rows
    totals = made.totals
    table = Table(
        key,
        Both(title, title),
        columns,
        (*rows, *totals[:-1]),
        totals[-1] if totals else None,
    )
    return TableBlock(table)


def paper_section(made: PaperSection, n: int) -> tuple[Block, ...]:
    """Return a section of a paper: its text (a list if it has several parts), or its table with text."""
    if made.table is None:
        several = len(made.lines) > 1
        return (TextBlock(made.lines, heading=made.heading, style="list" if several else "plain"),)
    table = paper_table(made.table, f"section-{n}", made.heading)
    return (table, TextBlock(made.lines, style="plain")) if made.lines else (table,)


def title_block(paper: Paper) -> TextBlock:
    """Return what a paper is, at its head, with the job that it is about."""
    return TextBlock((paper.facts[2][1], ""), heading=paper.title)


def parties(paper: Paper) -> SideBySide:
    """Return who writes and to whom, beside each other."""
    left, right = (TextBlock(tuple(value.split("\n")), heading=label) for label, value in paper.facts[:2])
    return SideBySide((left,), (right,), HALF)


def signatures(made: Paper, lang: str) -> SideBySide:
    """Return the lines to sign on, kept together."""
    left, right = (TextBlock(("", SIGN, label)) for label in made.signatures)
    left = replace(left, heading=say("money-sign-line", lang))
    right = replace(right, heading="\N{NO-BREAK SPACE}")
    return SideBySide((left,), (right,), HALF, keep=True)
