"""Quote, change orders, invoices: they add up, in both languages, and nothing of the owner's leaks."""

from __future__ import annotations

import types
import typing
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any, get_args, get_origin, get_type_hints

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.measure import Both, System, write_money
from slabwright.money.contract import change_key, final_invoice, progress_invoice, with_changes
from slabwright.money.estimating import ROUNDINGS, estimate
from slabwright.money.model import Book, Change, Estimate, Option, OptionPrice, PlanQuantities
from slabwright.money.model_paper import (
    Allowance,
    ChangeOrder,
    Contract,
    Invoice,
    OfferedOption,
    Paper,
    Party,
    PriceLine,
    Quote,
    TaxLine,
)
from slabwright.money.offering import options
from slabwright.money.paper import all_text, care_paper, change_paper, invoice_paper, quote_paper
from slabwright.money.phrases import Phrase, date_text, share_text, words
from slabwright.money.quoting import SCHEDULE, deposit_most, quote, schedule_for
from slabwright.notes.models import Notes
from slabwright.result import Plan

DAY = date(2026, 5, 4)
US = Party("Kestrel Flatwork", ("12 Mill Lane", "Alder"))
THEM = Party("the Lindqvists")


def quoted(made: Plan, priced: Estimate, **more: Any) -> Quote:
    return quote(
        priced,
        made.shaped,
        made.notes,
        number="26-014",
        dated=DAY,
        business=US,
        customer=THEM,
        **more,
    )


def test_a_quote_adds_up(made: Plan, priced: Estimate) -> None:
    q = quoted(made, priced)
    assert sum(line.price for line in q.lines) == q.price == priced.price
    assert q.price + sum(tax.amount for tax in q.taxes) == q.total == priced.total
    assert sum(payment.amount for payment in q.payments) == q.total
    assert q.valid_until == date(2026, 6, 3)
    assert q.ready
    assert [f.code for f in q.findings] == ["deposit-check"]


def test_an_incomplete_estimate_gives_no_quote_to_send(made: Plan, priced: Estimate) -> None:
    q = quoted(made, replace(priced, complete=False))
    assert not q.ready
    assert "quote-incomplete" in {f.code for f in q.findings}
    assert "NOT READY" in quote_paper(q).title
    assert "NO ESTÁ LISTA" in quote_paper(q, "es").title


def test_a_deposit_over_the_limit_stops(made: Plan, priced: Estimate) -> None:
    half = ((Phrase("pay-deposit"), Decimal("0.5")), (Phrase("pay-done"), Decimal("0.5")))
    q = quoted(made, priced, place="US-CA", schedule=half)
    assert [f.code for f in q.findings] == ["deposit-over"]
    assert not q.ready
    assert "California" in q.findings[0].text(lang="es").what


def test_the_usual_schedule_keeps_the_limit(made: Plan, priced: Estimate) -> None:
    q = quoted(made, priced, place="US-CA")
    assert q.findings == ()
    assert "California" in all_text(quote_paper(q))


@given(total=st.integers(1, 10**8).map(lambda n: Decimal(n) / 100))
@settings(max_examples=80, deadline=None)
def test_any_total_keeps_the_limit_and_adds_up(total: Decimal) -> None:
    from slabwright.money.quoting import _floored_first

    steps = schedule_for(total, "US-CA")
    assert sum(share for _, share in steps) == 1
    amounts = _floored_first(total, [share for _, share in steps])
    most = deposit_most(total, "US-CA")
    assert most is not None
    assert amounts[0] <= most
    assert sum(amounts) == total


def test_payments_that_do_not_come_to_all(made: Plan, priced: Estimate) -> None:
    q = quoted(made, priced, schedule=SCHEDULE[:2])
    assert "payments-off" in {f.code for f in q.findings}
    assert not q.ready
    assert "50 %" in next(f for f in q.findings if f.code == "payments-off").text().what


def test_options_without_a_price_are_not_shown(made: Plan, priced: Estimate) -> None:
    good = OptionPrice("a", "Wider", "Más ancho", Decimal("310.00"), Decimal("250.00"), 1)
    on_top = OptionPrice("b", "Salt", "De sal", Decimal("-20.00"), Decimal("-15.00"), 0, ("a",))
    dead = OptionPrice("c", "Dead", "Muerta", None, None, None)
    q = quoted(made, priced, offered=(good, on_top, dead))
    assert [o.key for o in q.options] == ["a", "b"]
    english, spanish = (all_text(quote_paper(q, lang)) for lang in ("en", "es"))
    assert "Wider\t+$310.00" in english
    assert "De sal (con Más ancho)\t-$20.00" in spanish
    assert "Dead" not in english


def test_languages_and_units(walk: Plan, book: Book, again: Callable[[Notes], PlanQuantities]) -> None:
    made = estimate(again(walk.notes), book)
    q = quoted(walk, made)
    english, spanish = (all_text(quote_paper(q, lang)) for lang in ("en", "es"))
    assert "May 4, 2026" in english
    assert "4 de mayo de 2026" in spanish
    assert "ft2" in english
    metric = all_text(quote_paper(replace(q, units=System.METRIC), "es"))
    assert "m2" in metric
    assert "ft2" not in metric
    # Every line of the paper differs, but for figures, names and what was written for one job.
    same = {
        line
        for line in set(english.splitlines()) & set(spanish.splitlines())
        if any(c.isalpha() for c in line)
    }
    assert {line.split("\t")[0] for line in same} <= {"Total", *THEM.lines, *US.lines}


def test_allowances_and_what_else(made: Plan, priced: Estimate) -> None:
    stone = Allowance(Both("Step stone, your choice", "Piedra del escalón, a su gusto"), Decimal("250.00"))
    extra = Both("A bench footing", "Zapata de una banca")
    q = quoted(made, priced, allowances=[stone], also=[extra], permits_in=True)
    text = all_text(quote_paper(q, "es"))
    assert "Piedra del escalón, a su gusto\t$250.00" in text
    assert "Zapata de una banca" in text
    assert "Permisos" not in text


# --- nothing leaks --------------------------------------------------------------------------------------


def inside(hint: Any, seen: set[type]) -> Iterator[type]:
    """Yield every record that a type's values can hold."""
    if get_origin(hint) in (tuple, Mapping, typing.Union, types.UnionType) or get_origin(hint) is not None:
        for arg in get_args(hint):
            yield from inside(arg, seen)
    elif isinstance(hint, type) and is_dataclass(hint) and hint not in seen:
        seen.add(hint)
        yield hint
        for part in get_type_hints(hint).values():
            yield from inside(part, seen)


@pytest.mark.parametrize("paper", [Quote, Contract, Invoice, Paper])
def test_papers_cannot_hold_what_is_the_owners(paper: type) -> None:
    held = {kind.__name__ for kind in inside(paper, set())}
    assert "TaxLine" in held or paper is Paper
    assert not held & {"Estimate", "CostLine", "BuildUp", "Book", "BookLine", "Risk", "OptionPrice"}
    names = {f.name for kind in inside(paper, set()) for f in fields(kind)}
    assert not [n for n in names if any(word in n for word in ("cost", "markup", "margin", "wage", "rate"))]


@pytest.mark.parametrize("lang", ["en", "es"])
def test_no_cost_rate_or_margin_on_a_paper_of_the_customer(
    made: Plan,
    priced: Estimate,
    taken: PlanQuantities,
    book: Book,
    again: Callable[[Notes], PlanQuantities],
    lang: str,
) -> None:
    offer = Option("salt", "Salt finish", "Acabado de sal", (Change("finish", to="salt"),))
    offered = options(made.notes, priced, [offer], replan=again, book=book)
    q = quoted(made, priced, offered=offered, place="US-CA")
    change = ChangeOrder(1, DAY, Both("Rock", "Roca"), Both("Rock out", "Sacar roca"), Decimal("400.00"), 1)
    contract = with_changes(q, [change])
    bill = progress_invoice(contract, {q.lines[0].slab: Decimal("0.5")}, number="1", dated=DAY)
    papers = (
        quote_paper(q, lang),
        change_paper(contract, change, lang),
        invoice_paper(bill, lang),
        invoice_paper(final_invoice(contract, number="2", dated=DAY, earlier=[bill]), lang),
        care_paper(q.title, lang=lang),
    )
    text = "\n".join(all_text(paper) for paper in papers)
    secret = {line.cost for line in priced.lines} | {line.price for line in priced.lines}
    secret |= {step.amount for step in priced.steps} | {step.base for step in priced.steps}
    secret |= {priced.direct, priced.full_cost, *(o.cost_difference or priced.direct for o in offered)}
    secret |= {line.value for key, line in book.lines.items() if key[0] in ("labour", "price")}
    public = {q.price, q.total, contract.total, *(p.amount for p in q.payments)}
    public |= {Decimal(1000), Decimal(400)}  # the limit on deposits, the change order
    figures = {part.lstrip("+-") for line in text.splitlines() for part in line.replace("\t", " ").split()}
    leaked = {a for a in secret - public if a > Decimal("1.5") and figures & {write_money(a)}}
    assert leaked == set()
    found = text.lower()
    for word in ("markup", "margin", "overhead", "burden", "wage", "profit", "utilidad", "salario"):
        assert word not in found, word
    # The search does find what stands there.
    assert figures & {write_money(q.total)}


# --- what follows a quote -------------------------------------------------------------------------------

cents = st.integers(-50_000, 500_000).map(lambda n: Decimal(n) / 100)
share = st.integers(0, 100).map(lambda n: Decimal(n) / 100)


def bare_quote(prices: list[Decimal], tax: Decimal) -> Quote:
    price = sum(prices, Decimal(0))
    amount = (price * tax).quantize(Decimal("0.01"))
    return Quote(
        "1", "job", DAY, DAY, US, THEM, "USD", System.IMPERIAL,
        tuple(PriceLine(f"s{n}", Phrase("care-colour"), p) for n, p in enumerate(prices)),
        price, (TaxLine("tax", tax, amount),), price + amount,
        (), (), (), (), (), (), 3, True,
    )  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(
    prices=st.lists(st.integers(0, 10**6).map(lambda n: Decimal(n) / 100), min_size=1, max_size=4),
    extras=st.lists(cents, max_size=3),
    tax=st.decimals("0", "0.2", places=4),
    steps=st.lists(share, min_size=1, max_size=4),
    held=st.decimals("0", "0.2", places=2),
    rounding=st.sampled_from(ROUNDINGS),
)
def test_all_bills_add_up_to_the_contract(
    prices: list[Decimal],
    extras: list[Decimal],
    tax: Decimal,
    steps: list[Decimal],
    held: Decimal,
    rounding: str,
) -> None:
    both = Both("x", "x")
    changes = [ChangeOrder(n, DAY, both, both, p, 1) for n, p in enumerate(extras, 1)]
    contract = with_changes(bare_quote(prices, tax), changes, rounding=rounding)
    assert contract.price == sum(prices) + sum(extras)
    assert contract.days == 3 + len(extras)
    bills: list[Invoice] = []
    for n, part in enumerate(sorted(steps), 1):
        done = {f"s{k}": part for k in range(len(prices))} | {change_key(c): part for c in changes}
        bill = progress_invoice(
            contract, done, number=str(n), dated=DAY, earlier=bills, held_share=held, rounding=rounding
        )
        assert bill.work + sum(t.amount for t in bill.taxes) == bill.held + bill.before + bill.due
        bills.append(bill)
    last = final_invoice(contract, number="9", dated=DAY, earlier=bills, rounding=rounding)
    assert sum(bill.due for bill in bills) + last.due == contract.total
    assert last.work == contract.price


def test_change_orders_are_numbered_without_gaps() -> None:
    q, both = bare_quote([Decimal(100)], Decimal(0)), Both("x", "x")
    two = ChangeOrder(2, DAY, both, both, Decimal(5))
    assert [f.code for f in with_changes(q, [two]).findings] == ["change-gap"]
    one = replace(two, number=1)
    assert with_changes(q, [one, two]).findings == ()
    assert len(with_changes(q, [one, one]).findings) == 1


def test_a_change_shows_the_price_before_and_after() -> None:
    q = replace(bare_quote([Decimal(1000)], Decimal(0)), taxes=())
    one = ChangeOrder(1, DAY, Both("Rock", "Roca"), Both("Out", "Fuera"), Decimal(400), 2)
    two = ChangeOrder(2, DAY, Both("Less", "Menos"), Both("No step", "Sin escalón"), Decimal(-150), -1)
    contract = with_changes(q, [one, two])
    text = all_text(change_paper(contract, two, "es"))
    assert "Acordado antes\t$1,400.00" in text
    assert "Este cambio\t-$150.00" in text
    assert "Nuevo total\t$1,250.00" in text
    assert "Días de trabajo que se ahorran: 1" in text
    with pytest.raises(KeyError):
        change_paper(with_changes(q, [one]), two)


def test_what_a_tax_comes_on_top_of_is_said() -> None:
    taxed, plain = (bare_quote([Decimal(1000)], Decimal(tax)) for tax in ("0.05", "0"))
    plain = replace(plain, taxes=())
    one = ChangeOrder(1, DAY, Both("Rock", "Roca"), Both("Out", "Fuera"), Decimal(400), 2)
    text = all_text(change_paper(with_changes(taxed, [one]), one))
    for said in (
        "Agreed before, without tax\t$1,000.00",
        "This change, without tax\t+$400.00",
        "tax, 5 %\t$70.00",
    ):
        assert said in text
    assert "New total\t$1,470.00" in text
    assert "without tax" not in all_text(change_paper(with_changes(plain, [one]), one))
    offered = (OfferedOption("x", Both("X", "Equis"), Decimal(5)),)
    assert "sin impuesto" in all_text(quote_paper(replace(taxed, options=offered), "es"))
    assert "sin impuesto" not in all_text(quote_paper(replace(plain, options=offered), "es"))


def test_bills_that_cannot_be() -> None:
    contract = with_changes(bare_quote([Decimal(1000)], Decimal(0)), [])
    over = progress_invoice(contract, {"s0": Decimal("1.2")}, number="1", dated=DAY)
    assert [f.code for f in over.findings] == ["invoice-over"]
    assert over.due == Decimal("1000.00")
    half = progress_invoice(contract, {"s0": Decimal("0.5")}, number="1", dated=DAY)
    back = progress_invoice(contract, {"s0": Decimal("0.3")}, number="2", dated=DAY, earlier=[half])
    assert [f.code for f in back.findings] == ["invoice-over"]


def test_invoice_in_words() -> None:
    contract = with_changes(bare_quote([Decimal(1000)], Decimal("0.05")), [])
    bill = progress_invoice(
        contract, {"s0": Decimal("0.5")}, number="7", dated=DAY, held_share=Decimal("0.1")
    )
    text = all_text(invoice_paper(bill))
    assert "Invoice 7, work so far" in text
    assert "tax, 5 %\t$25.00" in text
    assert "Held back until the end\t-$52.50" in text
    assert "Due now\t$472.50" in text
    assert "May 18, 2026" in text


def test_care_sheet() -> None:
    english, spanish = (all_text(care_paper("Alder Street 12", lang=lang)) for lang in ("en", "es"))
    assert "No car for 7 days" in english
    assert "por 7 días" in spanish
    assert "ammonium" in english
    assert "amonio" in spanish


@pytest.mark.parametrize(
    ("day", "en", "es"),
    [
        (date(2026, 1, 31), "January 31, 2026", "31 de enero de 2026"),
        (date(2028, 2, 29), "February 29, 2028", "29 de febrero de 2028"),
        (date(2026, 12, 1), "December 1, 2026", "1 de diciembre de 2026"),
    ],
)
def test_dates(day: date, en: str, es: str) -> None:
    assert (date_text(day, "en"), date_text(day, "es")) == (en, es)


def test_shares() -> None:
    given_ = [share_text(Decimal(s)) for s in ("0.1", "0.0765", "1", "0", "0.0830")]
    assert given_ == ["10 %", "7.65 %", "100 %", "0 %", "8.3 %"]


def test_every_text_stands_in_both_languages_with_the_same_values() -> None:
    import string

    for key, pair in words()["text"].items():
        assert len(pair) == 2, key
        names = [{name for _, name, _, _ in string.Formatter().parse(text) if name} for text in pair]
        assert names[0] == names[1], key
        assert all(pair)
