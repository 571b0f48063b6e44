"""The paper of what was agreed: the quote with the options taken, its total, and who signed it when.

Made from what was frozen when the quote was made and from the customer's answer, so that it never changes.
"""

from __future__ import annotations

from slabwright.money.model_paper import Paper, PaperSection, PaperTable
from slabwright.office.models import Quote
from slabwright.office.offer import chosen_of, system_of
from slabwright.office.when import day_text, moment_text
from slabwright.office.words import word
from slabwright.sheets.money_bills import agreed_pdf


def agreed_paper(quote: Quote, lang: str) -> Paper:
    """Return what was agreed, in words; ValueError for a quote that nobody accepted."""
    if quote.accepted is None:
        raise ValueError(f"quote {quote.number} was not accepted")
    shown = quote.shown
    frozen, chosen = shown[lang], chosen_of(shown, quote.chosen, lang)
    price = frozen["price"]
    rows = tuple(tuple(row) for row in (*price["rows"], *chosen.rows))
    total = ((word("offer-total", lang), chosen.shown),)
    table = PaperTable(tuple(price["heads"]), rows, total)
    signed = word("agreed-by", lang, name=quote.signed, when=moment_text(quote.accepted, lang))
    texts = (PaperSection(text["heading"], tuple(text["lines"])) for text in frozen["texts"])
    paid = PaperTable((frozen["payments"], "%", price["heads"][-1]), chosen.payments, ())
    sections = (
        PaperSection(word("agreed-heading", lang), (signed,)),
        PaperSection(price["heading"], (), table),
        PaperSection(frozen["payments"], (), paid),
        *texts,
    )
    facts = tuple((str(label), str(value)) for label, value in frozen["facts"])
    return Paper(word("agreed-title", lang, number=quote.number), facts, sections)


def agreed_file(quote: Quote, lang: str) -> bytes:
    """Return it as PDF; ValueError for a quote that nobody accepted."""
    made = agreed_paper(quote, lang)
    assert quote.accepted is not None
    chosen = chosen_of(quote.shown, quote.chosen, lang)
    figures = (
        (word("offer-total", lang), chosen.shown),
        (word("agreed-on", lang), day_text(quote.accepted, lang)),
    )
    system, paper = system_of(quote.shown), quote.shown["paper"]
    return agreed_pdf(made, figures, dated=quote.accepted.date(), paper=paper, system=system, lang=lang)
