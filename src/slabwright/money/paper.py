"""Papers in words: quote, change order, invoice, care sheet, written out in one language for pages to set."""

from __future__ import annotations

import math
from decimal import Decimal

from slabwright.measure import DAY, Quantity, System, read, write_money
from slabwright.money.contract import with_changes
from slabwright.money.model_paper import (
    ChangeOrder,
    Contract,
    Invoice,
    Paper,
    PaperSection,
    PaperTable,
    Party,
    Quote,
    TaxLine,
)
from slabwright.money.phrases import Phrase, called, date_text, say, share_text, signed

Row = tuple[str, ...]

WALK = read("duration", "48 h")  # before feet (source common-practice)
DRIVE = read("duration", "7 d")  # before cars (source opening-3000)
SEAL = read("duration", "28 d")  # before a sealer (source common-practice)


def days_of(wait: float) -> int:
    """Return a wait [s] in whole days, the last begun one counted."""
    return math.ceil(wait / DAY)


class _Writer:
    """Writes phrases and money in one language."""

    def __init__(self, lang: str, system: System, currency: str) -> None:
        self.lang, self.system, self.currency = lang, system, currency

    def text(self, key: str, **values: str | int | Quantity) -> str:
        return say(Phrase(key, values), self.lang, self.system)

    def money(self, amount: Decimal) -> str:
        return write_money(amount, self.currency)

    def change(self, amount: Decimal) -> str:
        """Return a difference with its sign."""
        return signed(amount, self.currency)

    def party(self, label: str, party: Party) -> tuple[str, str]:
        return self.text(label), "\n".join((party.name, *party.lines))

    def taxes(self, taxes: tuple[TaxLine, ...]) -> list[Row]:
        return [
            (f"{called(tax.name, tax.name_es, self.lang)}, {share_text(tax.share)}", self.money(tax.amount))
            for tax in taxes
        ]


def quote_paper(quote: Quote, lang: str = "en") -> Paper:
    """Return a quote in words; a quote that is not ready says so in its title."""
    w = _Writer(lang, quote.units, quote.currency)
    title = w.text("quote", number=quote.number)
    days = w.text("day-one") if quote.days <= 1 else w.text("days", days=quote.days)
    facts = (
        w.party("from", quote.business),
        w.party("for", quote.customer),
        (w.text("job"), quote.title),
        (w.text("dated"), date_text(quote.dated, lang)),
        (w.text("valid"), date_text(quote.valid_until, lang)),
        (w.text("time"), days),
    )
    sections = [PaperSection(w.text("price"), table=_price_table(quote, w))]
    if quote.options:
        sections.append(_options(quote, w))
    sections += [
        PaperSection(w.text(key), tuple(say(said, lang, quote.units) for said in lines))
        for key, lines in (("included", quote.includes), ("excluded", quote.excludes))
    ]
    if quote.allowances:
        rows = tuple((a.what.of(lang), w.money(a.amount)) for a in quote.allowances)
        table = PaperTable((w.text("item"), w.text("amount")), rows)
        sections.append(PaperSection(w.text("allowances"), (w.text("allowance-note"),), table))
    conditions = tuple(say(said, lang, quote.units) for said in quote.conditions)
    sections.append(PaperSection(w.text("conditions"), conditions))
    steps = tuple(
        (say(p.when, lang, quote.units), share_text(p.share), w.money(p.amount)) for p in quote.payments
    )
    total = (w.text("total"), "", w.money(quote.total))
    pay = PaperTable((w.text("payments"), "%", w.text("amount")), steps, (total,))
    sections.append(PaperSection(w.text("payments"), table=pay))
    head = title if quote.ready else f"{title} - {w.text('not-ready')}"
    return Paper(head, facts, tuple(sections), _signatures(w, quote))


def _signatures(w: _Writer, quote: Quote) -> Row:
    return w.text("sign-customer"), w.text("sign-business", name=quote.business.name)


def _price_table(quote: Quote, w: _Writer) -> PaperTable:
    rows = tuple((say(line.what, w.lang, w.system), w.money(line.price)) for line in quote.lines)
    totals: list[Row] = []
    if quote.taxes:
        totals += [(w.text("sum"), w.money(quote.price)), *w.taxes(quote.taxes)]
    totals.append((w.text("total"), w.money(quote.total)))
    return PaperTable((w.text("item"), w.text("amount")), rows, tuple(totals))


def _options(quote: Quote, w: _Writer) -> PaperSection:
    rows = []
    for option in quote.options:
        name = option.name.of(w.lang)
        if option.against:
            under = ", ".join(o.of(w.lang) for o in option.against)
            name = f"{name} ({w.text('option-on', options=under)})"
        rows.append((name, w.change(option.difference)))
    table = PaperTable((w.text("item"), w.text("amount")), tuple(rows))
    note = w.text("option-note-taxed" if quote.taxes else "option-note")
    return PaperSection(w.text("options"), (note,), table)


def change_paper(contract: Contract, change: ChangeOrder, lang: str = "en") -> Paper:
    """Return a change order in words, its price and what all comes to; KeyError if it is another's."""
    if change not in contract.changes:
        raise KeyError(f"change order {change.number} is not in this contract")
    quote = contract.quote
    w = _Writer(lang, quote.units, quote.currency)
    n = contract.changes.index(change)
    before, after = (with_changes(quote, contract.changes[:count]) for count in (n, n + 1))
    facts = (
        w.party("from", quote.business),
        w.party("for", quote.customer),
        (w.text("job"), f"{quote.title} ({quote.number})"),
        (w.text("dated"), date_text(change.dated, lang)),
    )
    key = "same-days" if not change.days else "more-days" if change.days > 0 else "fewer-days"
    agreed, this = w.text("agreed-before"), w.text("this-change")
    if after.taxes:
        agreed, this = (w.text("without-tax", what=one) for one in (agreed, this))
    rows = ((agreed, w.money(before.price)), (this, w.change(change.price)))
    totals: list[Row] = []
    if after.taxes:
        totals += [(w.text("sum"), w.money(after.price)), *w.taxes(after.taxes)]
    totals.append((w.text("new-total"), w.money(after.total)))
    table = PaperTable((w.text("item"), w.text("amount")), rows, tuple(totals))
    sections = (
        PaperSection(w.text("reason"), (change.reason.of(lang),)),
        PaperSection(w.text("scope"), (change.scope.of(lang),)),
        PaperSection(w.text("time-change"), (w.text(key, days=abs(change.days)),)),
        PaperSection(w.text("price"), table=table),
    )
    return Paper(w.text("change-order", number=change.number), facts, sections, _signatures(w, quote))


def invoice_paper(invoice: Invoice, lang: str = "en") -> Paper:
    """Return an invoice in words."""
    quote = invoice.contract.quote
    w = _Writer(lang, quote.units, quote.currency)
    facts = (
        w.party("from", quote.business),
        w.party("for", quote.customer),
        (w.text("job"), f"{quote.title} ({quote.number})"),
        (w.text("dated"), date_text(invoice.dated, lang)),
        (w.text("due"), date_text(invoice.due_on, lang)),
    )
    rows = tuple(
        (say(line.what, lang, quote.units), w.money(line.value), share_text(line.done), w.money(line.amount))
        for line in invoice.lines
    )
    totals: list[Row] = [("", "", w.text("sum"), w.money(invoice.work))]
    totals += [("", "", *row) for row in w.taxes(invoice.taxes)]
    if invoice.held:
        totals.append(("", "", w.text("held-back"), w.money(-invoice.held)))
    if invoice.before:
        totals.append(("", "", w.text("billed-before"), w.money(-invoice.before)))
    totals.append(("", "", w.text("due-now"), w.money(invoice.due)))
    headings = (w.text("item"), w.text("price"), w.text("done-so-far"), w.text("amount"))
    title = w.text("final-invoice" if invoice.final else "progress-invoice", number=invoice.number)
    section = PaperSection(w.text("amount"), table=PaperTable(headings, rows, tuple(totals)))
    return Paper(title, facts, (section,))


def care_paper(title: str, *, system: System = System.IMPERIAL, lang: str = "en") -> Paper:
    """Return the care sheet of a job: when to walk and drive on it, what to keep off it."""
    w = _Writer(lang, system, "USD")
    lines = (
        w.text("care-walk", days=days_of(WALK)),
        w.text("care-drive", days=days_of(DRIVE)),
        w.text("care-cure", days=days_of(DRIVE)),
        w.text("care-salt"),
        w.text("care-water"),
        w.text("care-joints"),
        w.text("care-seal", days=days_of(SEAL)),
        w.text("care-colour"),
    )
    return Paper(w.text("care"), ((w.text("job"), title),), (PaperSection(w.text("care"), lines),))


def all_text(paper: Paper) -> str:
    """Return every word of a paper, a line each, as for a search or a screen reader."""
    parts = [paper.title, *(f"{label}: {value}" for label, value in paper.facts)]
    for section in paper.sections:
        parts += [section.heading, *section.lines]
        if section.table is not None:
            rows = (section.table.headings, *section.table.rows, *section.table.totals)
            parts += ["\t".join(row) for row in rows]
    return "\n".join((*parts, *paper.signatures))
