"""The customer's sheets: the quote to sign with its plan, and the care sheet.

They are made from a `Quote`, which knows neither cost nor rate nor margin, so none can get onto them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from slabwright.measure import System, write_money
from slabwright.money.model_paper import Paper, PaperSection, PaperTable, Quote
from slabwright.money.paper import DRIVE, SEAL, WALK, care_paper, quote_paper
from slabwright.money.phrases import date_text
from slabwright.result import Plan
from slabwright.sheets import scene_slab
from slabwright.sheets.drawing import Drawing, Item, drawing
from slabwright.sheets.job_layout import block_height
from slabwright.sheets.packet import write_pdf
from slabwright.sheets.pages import (
    Block,
    DrawingBlock,
    Figure,
    FigureBlock,
    Page,
    SideBySide,
    Strip,
    TableBlock,
    TextBlock,
)
from slabwright.sheets.scene import work_window
from slabwright.sheets.scene_there import there
from slabwright.sheets.tables import Both, Cell, Column, Table
from slabwright.sheets.words import word as say

PLAN_LEAST, PLAN_MOST = 0.4, 0.75  # of the first page's height
SPARE_MM = 8.0
SIGN = "_" * 38
HALF = 0.5
DAY = 86400.0


def customer_drawing(plan: Plan, lang: str) -> Drawing:
    """Return the plan as a customer reads it: house, what is there, new concrete with sizes and joints."""
    view, system = work_window(plan), plan.notes.units
    slabs = plan.shaped.slabs
    rings = [slab.outline.ring for slab in slabs]
    items: list[Item] = [*there(plan.ground, view, system=system, lang=lang, new=rings, below=False)]
    for slab in slabs:
        items += scene_slab.base_items(slab)
        items += scene_slab.name_items(slab, system=system)
        items += scene_slab.dimension_items(slab, system=system)
        items += scene_slab.joint_items(slab, system=system, lang=lang, lines_only=True)
    alt = say("money-alt-quote", lang, title=plan.notes.title)
    return drawing(f"{plan.name} - quote", items, alt=alt)


def _table(made: PaperTable, key: str, title: str) -> TableBlock:
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


def _section(made: PaperSection, n: int) -> tuple[Block, ...]:
    """Return a section of a paper: its text as a list, or its table with the text below."""
    if made.table is None:
        return (TextBlock(made.lines, heading=made.heading, style="list"),)
    table = _table(made.table, f"section-{n}", made.heading)
    return (table, TextBlock(made.lines, style="plain")) if made.lines else (table,)


def _choices(made: PaperSection) -> tuple[Block, ...]:
    """Return options with a box each to tick."""
    rows = made.table.rows if made.table is not None else ()
    lines = tuple(f"{name}: {amount}" for name, amount in rows)
    return (
        TextBlock(made.lines, heading=made.heading),
        TextBlock(lines, style="checks"),
    )


def _parties(paper: Paper) -> SideBySide:
    """Return who quotes and to whom, beside each other."""
    left, right = (TextBlock(tuple(value.split("\n")), heading=label) for label, value in paper.facts[:2])
    return SideBySide((left,), (right,), HALF)


def _figures(quote: Quote, paper: Paper) -> FigureBlock:
    """Return what a customer looks for first: the sum to pay, until when it holds, how long it takes."""
    dated, valid = paper.facts[3:5]
    total = paper.sections[0].table
    label = total.totals[-1][0] if total is not None else ""
    return FigureBlock(
        (
            Figure(label, write_money(quote.total, quote.currency)),
            Figure(valid[0], valid[1], f"{dated[0]}: {dated[1]}"),
        )
    )


def quote_pages(quote: Quote, plan: Plan, *, paper: str, lang: str = "en") -> tuple[Page, ...]:
    """Return the quote's pages: plan and price; what is in it and what is not; conditions and signatures."""
    made = quote_paper(quote, lang)
    time = made.facts[5]
    sections = dict(enumerate(made.sections))
    price = made.sections[0]
    texts = [n for n, s in sections.items() if n and s.table is None]
    included, excluded, conditions = (sections[n] for n in texts)
    listed = [s for n, s in sections.items() if n and s.table is not None]
    payments = listed.pop()
    offered = listed.pop(0) if quote.options else None
    above = (_parties(made), _figures(quote, made))
    below = (
        *_section(price, 0),
        TextBlock((f"{time[0]}: {time[1]}.", say("money-lines-mean", lang))),
    )
    wide, high = Page("", paper=paper, landscape=False).body()
    taken = sum(block_height(b, wide, system=quote.units, lang=lang) for b in (*above, *below)) + SPARE_MM
    plan_block = DrawingBlock(
        customer_drawing(plan, lang),
        min(PLAN_MOST, max(PLAN_LEAST, (high - taken) / high)),
        bearing=plan.notes.place.north,
        heading=say("money-quote-plan", lang),
        snug=True,
    )
    first = (*above, plan_block, *below)
    second: list[Block] = [
        SideBySide(_section(included, 1), _section(excluded, 2), HALF),
        *(_choices(offered) if offered is not None else ()),
        *(block for n, s in enumerate(listed, 3) for block in _section(s, n)),
        *_section(conditions, 8),
    ]
    third: list[Block] = [
        *_section(payments, 9),
        TextBlock((say("money-local", lang),)),
        _signatures(made, lang),
    ]
    pages = (first, (*second, *third))
    return tuple(Page(made.title, tuple(blocks), paper=paper, landscape=False) for blocks in pages)


def _signatures(made: Paper, lang: str) -> SideBySide:
    left, right = (TextBlock(("", SIGN, label)) for label in made.signatures)
    left = replace(left, heading=say("money-sign-line", lang))
    right = replace(right, heading="\N{NO-BREAK SPACE}")
    return SideBySide((left,), (right,), HALF, keep=True)


def care_pages(title: str, *, system: System, paper: str, lang: str = "en") -> tuple[Page, ...]:
    """Return the care sheet: what the customer does for the new concrete."""
    made = care_paper(title, system=system, lang=lang)
    waits = tuple(
        Figure(say(f"money-care-{key}", lang), say("care-days", lang, days=round(wait / DAY)))
        for key, wait in (("walk", WALK), ("drive", DRIVE), ("seal", SEAL))
    )
    blocks = (
        TextBlock((say("money-care-poured", lang),), heading=title),
        FigureBlock(waits),
        TextBlock(made.sections[0].lines, style="list"),
    )
    return (Page(made.title, blocks, paper=paper, landscape=False),)


def quote_files(quote: Quote, plan: Plan, *, paper: str, lang: str = "en") -> Iterator[tuple[str, bytes]]:
    """Yield (file name, content) of the quote and the care sheet; the same for the same arguments."""
    dated: date = quote.dated
    strip = Strip(job=quote.title, date=dated, dated=date_text(dated, lang), signed=False)
    system = quote.units
    pages = quote_pages(quote, plan, paper=paper, lang=lang)
    yield "quote.pdf", write_pdf(pages, strip, system=system, lang=lang)
    care = care_pages(quote.title, system=system, paper=paper, lang=lang)
    yield "care.pdf", write_pdf(care, strip, system=system, lang=lang)
