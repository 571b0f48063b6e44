"""The customer's sheets: the quote to sign with its plan, and the care sheet.

They are made from a `Quote`, which knows neither cost nor rate nor margin, so none can get onto them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date

from slabwright.measure import Quantity, System, write, write_money
from slabwright.money.model_paper import Paper, PaperSection, Quote
from slabwright.money.paper import DRIVE, SEAL, WALK, care_paper, days_of, quote_paper
from slabwright.result import Plan
from slabwright.sheets import scene_slab
from slabwright.sheets.drawing import Drawing, Item, drawing
from slabwright.sheets.job_layout import BETWEEN_MM, block_height
from slabwright.sheets.lettering import width
from slabwright.sheets.money_blocks import HALF, paper_section, parties, signatures, strip_of, title_block
from slabwright.sheets.packet import write_pdf
from slabwright.sheets.pages import (
    Block,
    DrawingBlock,
    Figure,
    FigureBlock,
    Page,
    SideBySide,
    TextBlock,
)
from slabwright.sheets.scene import work_window
from slabwright.sheets.scene_there import there
from slabwright.sheets.strings import straight_runs
from slabwright.sheets.words import word as say

PLAN_LEAST, PLAN_MOST = 0.33, 0.75  # of the first page's height
SPARE_MM = 2.0
MOST_EDGES = 8  # of a slab that are told one by one
# What blocks of a letter really take [mm], measured on the pages as set; block_height is for layouts.
HEAD_MM, LINE_MM, FIGURES_MM, TABLE_LESS_MM, LETTERS_MM = 9.0, 5.75, 24.0, 6.0, 4.1


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
    alt = " ".join(_alt(plan, lang))
    return drawing(plan.notes.title, items, alt=alt)


def _alt(plan: Plan, lang: str) -> Iterator[str]:
    """Yield what is drawn in words: each slab with its size, edges and joints, and what lies beside it."""
    system = plan.notes.units
    yield say("money-alt-quote", lang, title=plan.notes.title)
    if plan.notes.house is not None:
        yield say("money-alt-house", lang)
    for slab in plan.shaped.slabs:
        joints = sum(joint.kind == "contraction" for joint in slab.joint_plan.joints)
        values = {
            "slab": slab.spec.name,
            "area": write(Quantity("area", slab.outline.area), system=system, lang=lang),
            "joints": joints,
        }
        edges = slab.outline.edges
        sides = [math.dist(run[0].p, run[-1].q) for run in straight_runs(edges)]
        if len(sides) > MOST_EDGES or any(edge.radius is not None for edge in edges):
            yield say("money-alt-slab", lang, **values)
            continue
        sizes = ", ".join(write(Quantity("feet_inches", side), system=system, lang=lang) for side in sides)
        yield say("money-alt-edges", lang, **values, sizes=sizes)
    beside = [old.name for old in plan.notes.existing]
    if beside:
        yield say("money-alt-beside", lang, names=", ".join(beside))


def _choices(made: PaperSection) -> tuple[Block, ...]:
    """Return options with a box each to tick."""
    rows = made.table.rows if made.table is not None else ()
    lines = tuple(f"{name}: {amount}" for name, amount in rows)
    return (
        TextBlock(made.lines, heading=made.heading),
        TextBlock(lines, style="checks"),
    )


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


def _high(block: Block, wide: float, system: System, lang: str) -> float:
    """Return how high [mm] a block of a letter becomes in a width [mm], a little too much at most."""
    match block:
        case TextBlock():
            lines = sum(max(1, math.ceil(width(part, LETTERS_MM) / wide)) for part in block.paragraphs)
            return (HEAD_MM if block.heading else BETWEEN_MM) + LINE_MM * lines
        case FigureBlock():
            return FIGURES_MM
        case SideBySide():
            halves = (block.left, wide * block.share), (block.right, wide * (1.0 - block.share))
            return max(sum(_high(one, w, system, lang) for one in part) for part, w in halves)
        case _:
            return block_height(block, wide, system=system, lang=lang) - TABLE_LESS_MM


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
    above = (title_block(made), parties(made), _figures(quote, made))
    below = (
        *paper_section(price, 0),
        TextBlock((f"{time[0]}: {time[1]}.", say("money-lines-mean", lang))),
    )
    wide, high = Page("", paper=paper, landscape=False).body()
    taken = sum(_high(block, wide, quote.units, lang) for block in (*above, *below)) + SPARE_MM
    plan_block = DrawingBlock(
        customer_drawing(plan, lang),
        min(PLAN_MOST, max(PLAN_LEAST, (high - taken) / high)),
        bearing=plan.notes.place.bearing,
        heading=say("money-quote-plan", lang),
        snug=True,
    )
    first = (*above, plan_block, *below)
    second: list[Block] = [
        SideBySide(paper_section(included, 1), paper_section(excluded, 2), HALF),
        *(_choices(offered) if offered is not None else ()),
        *(block for n, s in enumerate(listed, 3) for block in paper_section(s, n)),
        *paper_section(conditions, 8),
    ]
    third: list[Block] = [
        *paper_section(payments, 9),
        TextBlock((say("money-local", lang),)),
        signatures(made, lang),
    ]
    pages = (first, (*second, *third))
    return tuple(Page(made.title, tuple(blocks), paper=paper, landscape=False) for blocks in pages)


def care_pages(title: str, *, system: System, paper: str, lang: str = "en") -> tuple[Page, ...]:
    """Return the care sheet: what the customer does for the new concrete."""
    made = care_paper(title, system=system, lang=lang)
    waits = tuple(
        Figure(say(f"money-care-{key}", lang), say("care-days", lang, days=days_of(wait)))
        for key, wait in (("walk", WALK), ("drive", DRIVE), ("seal", SEAL))
    )
    blocks = (
        TextBlock((title, say("money-care-poured", lang)), heading=made.title),
        FigureBlock(waits),
        TextBlock(made.sections[0].lines, style="list"),
    )
    return (Page(made.title, blocks, paper=paper, landscape=False),)


def quote_files(quote: Quote, plan: Plan, *, paper: str, lang: str = "en") -> Iterator[tuple[str, bytes]]:
    """Yield (file name, content) of the quote and the care sheet; the same for the same arguments."""
    dated: date = quote.dated
    strip = strip_of(quote.title, dated, lang)
    system = quote.units
    pages = quote_pages(quote, plan, paper=paper, lang=lang)
    yield "quote.pdf", write_pdf(pages, strip, system=system, lang=lang)
    care = care_pages(quote.title, system=system, paper=paper, lang=lang)
    yield "care.pdf", write_pdf(care, strip, system=system, lang=lang)
