"""What follows a quote, on paper: change orders to sign, bills for the work so far, the final bill.

They are made from a `Contract` or an `Invoice`, which know neither cost nor rate nor margin.
"""

from __future__ import annotations

from datetime import date

from slabwright.measure import System, write_money
from slabwright.money.model_paper import ChangeOrder, Contract, Invoice, Paper
from slabwright.money.paper import change_paper, invoice_paper
from slabwright.sheets.money_blocks import paper_section, parties, signatures, strip_of, title_block
from slabwright.sheets.packet import write_pdf
from slabwright.sheets.pages import Block, Figure, FigureBlock, Page


def _page(made: Paper, figures: tuple[Figure, ...], more: tuple[Block, ...], paper: str) -> tuple[Page, ...]:
    sections = tuple(block for n, one in enumerate(made.sections) for block in paper_section(one, n))
    blocks = (title_block(made), parties(made), FigureBlock(figures), *sections, *more)
    return (Page(made.title, blocks, paper=paper, landscape=False),)


def change_pages(
    contract: Contract, change: ChangeOrder, *, paper: str, lang: str = "en"
) -> tuple[Page, ...]:
    """Return a change order to sign: what it adds or takes away, why, and what all comes to with it.

    KeyError if it is not one of the contract's.
    """
    made = change_paper(contract, change, lang)
    price = made.sections[-1].table
    if price is None:
        raise ValueError("a change order has a price")
    this, total = price.rows[-1], price.totals[-1]
    figures = (Figure(*this), Figure(*total))
    return _page(made, figures, (signatures(made, lang),), paper)


def invoice_pages(invoice: Invoice, *, paper: str, lang: str = "en") -> tuple[Page, ...]:
    """Return a bill: what it asks for and by when, each item with its share done, what was billed before."""
    made = invoice_paper(invoice, lang)
    table = made.sections[0].table
    if table is None:
        raise ValueError("a bill has items")
    due = write_money(invoice.due, invoice.contract.quote.currency)
    dated, pay = made.facts[3:5]
    figures = (Figure(table.totals[-1][2], due), Figure(*pay, f"{dated[0]}: {dated[1]}"))
    return _page(made, figures, (), paper)


def change_pdf(contract: Contract, change: ChangeOrder, *, paper: str, lang: str = "en") -> bytes:
    """Return a change order as PDF bytes; the same for the same arguments. KeyError as `change_pages`."""
    pages = change_pages(contract, change, paper=paper, lang=lang)
    quote = contract.quote
    return write_pdf(pages, strip_of(quote.title, change.dated, lang), system=quote.units, lang=lang)


def invoice_pdf(invoice: Invoice, *, paper: str, lang: str = "en") -> bytes:
    """Return a bill as PDF bytes; the same for the same arguments."""
    quote = invoice.contract.quote
    pages = invoice_pages(invoice, paper=paper, lang=lang)
    return write_pdf(pages, strip_of(quote.title, invoice.dated, lang), system=quote.units, lang=lang)


def agreed_pdf(
    made: Paper, figures: tuple[tuple[str, str], ...], *, dated: date, paper: str, system: System, lang: str
) -> bytes:
    """Return what was agreed on a quote as PDF bytes, its figures on top; the same for the same arguments."""
    pages = _page(made, tuple(Figure(*one) for one in figures), (), paper)
    return write_pdf(pages, strip_of(made.facts[2][1], dated, lang), system=system, lang=lang)
