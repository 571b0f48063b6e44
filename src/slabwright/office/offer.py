"""What a customer is offered, frozen: texts in both languages, amounts, options; and the total of a choice.

Everything in here may be seen by the customer. It is made from a `Quote` of the money room, which knows
neither cost nor rate nor margin.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from itertools import combinations
from typing import Any

from slabwright.measure import LANGUAGES, System, write_money
from slabwright.money.arith import split, to_cent
from slabwright.money.changes import ChangeError
from slabwright.money.model import Change, Option
from slabwright.money.model_paper import Paper, PaperSection, PaperTable, Quote
from slabwright.money.offering import chosen_notes
from slabwright.money.paper import care_paper, quote_paper
from slabwright.money.phrases import say, share_text, signed
from slabwright.money.quoting import deposit_most
from slabwright.priced import PricedJob, plan_again, price_job
from slabwright.result import Plan
from slabwright.sheets.extent import extents
from slabwright.sheets.money_quote import customer_drawing
from slabwright.sheets.picture import picture as drawn_in
from slabwright.sheets.scale import fit
from slabwright.sheets.svg import svg

WIDE, HIGH = 130.0, 130.0  # [mm] of the picture: its letters can still be read on a phone
MARGIN, SPARE = 3.0, 8.0  # [mm] round it, and above and below for letters that give way
TOGETHER = Decimal("0.01")  # of the price: what options may differ together from their sum without a word
EITHER_OR = ("finish", "steel")  # a slab has one of each
MOST_OPTIONS = 8


class OfferError(ValueError):
    """A choice that is not offered, or not together; str() is the key of the word that says so."""


@dataclass(frozen=True, slots=True)
class Apart:
    """Two options that cannot be had together (price None), or cost otherwise together than their sum."""

    keys: tuple[str, str]
    together: Decimal | None
    summed: Decimal


@dataclass(frozen=True, slots=True)
class Chosen:
    """A choice as the customer reads it: what was taken, the sums, the steps of payment."""

    keys: tuple[str, ...]
    total: Decimal
    shown: str  # the total, written
    rows: tuple[tuple[str, str], ...]  # options, price, taxes
    payments: tuple[tuple[str, str, str], ...]  # when, share, amount

    @property
    def exact(self) -> str:
        """Return the total as it is sent back, in no language's writing."""
        return str(self.total)


# --- made by the owner ----------------------------------------------------------------------------------


def either_or(one: Option, other: Option) -> bool:
    """Return whether two options set the same thing of the same slab to something else."""
    return any(
        a.what == b.what and a.what in EITHER_OR and a.to != b.to and _meet(a, b)
        for a in one.changes
        for b in other.changes
    )


def _meet(a: Change, b: Change) -> bool:
    return a.slab is None or b.slab is None or a.slab == b.slab


def apart(job: PricedJob) -> tuple[Apart, ...]:
    """Return the pairs of priced options that do not go together, or not for the sum of their prices."""
    known = {option.key: option for option in job.options if option.difference is not None}
    choices = {choice.key: choice for choice in job.choices}
    found = []
    for one, other in combinations(known, 2):
        keys = _closed((one, other), {key: option.against for key, option in known.items()})
        summed = sum((known[key].difference or Decimal(0) for key in keys), Decimal(0))
        stacked = one in known[other].against or other in known[one].against
        if not stacked and either_or(choices[one], choices[other]):
            found.append(Apart((one, other), None, summed))
            continue
        if stacked:
            continue  # priced on top of each other: exact already
        together = _together(job, keys)
        if together is None or abs(together - summed) > TOGETHER * job.made.price:
            found.append(Apart((one, other), together, summed))
    return tuple(found)


def _together(job: PricedJob, keys: Sequence[str]) -> Decimal | None:
    """Return what options change in price when all are planned at once, None where they cannot be."""
    try:
        notes, _ = chosen_notes(job.plan.notes, keys, job.choices)
        plan = plan_again(notes, name=job.plan.name)
    except (ChangeError, ValueError):
        return None
    made = price_job(plan, job.book, terms=job.terms).made
    return made.price - job.made.price if made.complete else None


def frozen(quote: Quote, job: PricedJob, *, pairs: Iterable[Apart], place: str, paper: str) -> dict[str, Any]:
    """Return all that the customer's page shows, as JSON: nothing is worked out from the job afterwards."""
    never = [pair.keys for pair in pairs if pair.together is None]
    names = [option.key for option in quote.options]
    under = {option.key: list(option.against) for option in job.options}
    options = [
        {
            "key": option.key,
            "en": option.name.en,
            "es": option.name.es,
            "difference": str(option.difference),
            "under": under[option.key],
            "not_with": [k for k in names if (k, option.key) in never or (option.key, k) in never],
        }
        for option in quote.options
    ]
    return {
        "title": quote.title,
        "number": quote.number,
        "dated": quote.dated.isoformat(),
        "valid_until": quote.valid_until.isoformat(),
        "currency": quote.currency,
        "units": str(quote.units.value),
        "paper": paper,
        "place": place,
        "price": str(quote.price),
        "taxes": [
            {"en": tax.name, "es": tax.name_es or tax.name, "share": str(tax.share)} for tax in quote.taxes
        ],
        "total": str(quote.total),
        "shares": [str(payment.share) for payment in quote.payments],
        "options": options,
        **{lang: _in_words(quote, job.plan, lang) for lang in LANGUAGES},
    }


def picture(plan: Plan, lang: str) -> str:
    """Return the customer's plan as SVG for a page; what only paper needs (bar, scale, key) is left out."""
    drawn = customer_drawing(plan, lang)
    listed, system = extents(drawn), plan.notes.units
    seen = fit(listed, width=WIDE, height=HIGH, system=system, margin=MARGIN)
    ys = [(seen.to_paper(one.at)[1], one) for one in listed]
    high = max(y + one.down for y, one in ys) - min(y - one.up for y, one in ys) + 2.0 * MARGIN + SPARE
    low = fit(listed, width=WIDE, height=min(HIGH, high), system=system, scale=seen.scale, margin=MARGIN)
    made = drawn_in(drawn, low)
    return svg(drawn_in(drawn, seen) if made.left_out else made, fitted=True, alone=False)


def _in_words(quote: Quote, plan: Plan, lang: str) -> dict[str, Any]:
    paper = quote_paper(quote, lang)
    price = paper.sections[0]
    texts = [section for section in paper.sections[1:] if section.table is None]
    tables = [section for section in paper.sections[1:] if section.table is not None]
    payments = tables.pop()
    options = tables.pop(0) if quote.options else None
    care = care_paper(quote.title, system=quote.units, lang=lang)
    return {
        "title": paper.title,
        "facts": [list(fact) for fact in paper.facts],
        "price": _table(price),
        "options": None if options is None else {"heading": options.heading, "lines": list(options.lines)},
        "texts": [{"heading": text.heading, "lines": list(text.lines)} for text in texts],
        "tables": [_table(section) for section in tables],
        "payments": payments.heading,
        "steps": [say(payment.when, lang, quote.units) for payment in quote.payments],
        "care": _care(care),
        "picture": picture(plan, lang),
        "alt": _alt(quote, paper, lang),
    }


def _alt(quote: Quote, paper: Paper, lang: str) -> list[str]:
    """Return in words what the plan shows: each slab with its size."""
    return [say(line.what, lang, quote.units) for line in quote.lines] or [paper.title]


def _care(paper: Paper) -> dict[str, Any]:
    return {"heading": paper.title, "lines": [line for part in paper.sections for line in part.lines]}


def _table(section: PaperSection) -> dict[str, Any]:
    made: PaperTable | None = section.table
    assert made is not None
    rows = {"rows": [list(row) for row in made.rows], "totals": [list(row) for row in made.totals]}
    return {"heading": section.heading, "lines": list(section.lines), "heads": list(made.headings), **rows}


# --- chosen by the customer -----------------------------------------------------------------------------


def _closed(keys: Iterable[str], under: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """Return options with those that they stand on, in the order in which they are offered."""
    wanted = set(keys)
    for key in tuple(wanted):
        wanted |= set(under[key])
    return tuple(key for key in under if key in wanted)


def chosen_of(shown: Mapping[str, Any], keys: Iterable[str], lang: str) -> Chosen:
    """Return what a choice of options comes to; options that others stand on come with them.

    OfferError for an option that is not offered and for two that cannot be had together.
    """
    options = {option["key"]: option for option in shown["options"]}
    if any(key not in options for key in keys):
        raise OfferError("offer-unknown")
    taken = _closed(keys, {key: option["under"] for key, option in options.items()})
    if any(other in taken for key in taken for other in options[key]["not_with"]):
        raise OfferError("offer-not-together")
    currency = shown["currency"]
    differences = [Decimal(options[key]["difference"]) for key in taken]
    price = Decimal(shown["price"]) + sum(differences, Decimal(0))
    taxes = [(tax[lang], Decimal(tax["share"])) for tax in shown["taxes"]]
    amounts = [(name, share, to_cent(price * share)) for name, share in taxes]
    total = price + sum((amount for _, _, amount in amounts), Decimal(0))
    rows = [(options[k][lang], signed(d, currency)) for k, d in zip(taken, differences, strict=True)]
    rows += [
        (f"{name}, {share_text(share)}", write_money(amount, currency)) for name, share, amount in amounts
    ]
    return Chosen(taken, total, write_money(total, currency), tuple(rows), _payments(shown, total, lang))


def _payments(shown: Mapping[str, Any], total: Decimal, lang: str) -> tuple[tuple[str, str, str], ...]:
    """Return the steps of payment of a total: the deposit never over its share, nor over the law's limit."""
    shares = [Decimal(share) for share in shown["shares"]]
    if not shares:
        return ()
    currency = shown["currency"]
    amounts: tuple[Decimal, ...] = (total,)
    if len(shares) > 1:
        most = deposit_most(total, shown["place"], currency)
        first = to_cent(total * shares[0], ROUND_DOWN)
        first = first if most is None else min(first, most)
        amounts = (first, *split(total - first, shares[1:]))
    steps = zip(shown[lang]["steps"], shares, amounts, strict=True)
    return tuple((when, share_text(share), write_money(amount, currency)) for when, share, amount in steps)


def system_of(shown: Mapping[str, Any]) -> System:
    """Return the units of the offer."""
    return System(shown["units"])
