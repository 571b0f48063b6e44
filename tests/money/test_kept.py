"""A quote and what followed it in one file: it comes back whole, adds up to the cent, and tells meddling."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.measure import Both, Money, Quantity, System
from slabwright.money.kept import (
    Kept,
    KeptError,
    add_bill,
    add_change,
    contract_of,
    invoices_of,
    items_of,
    kept_text,
    read_kept,
)
from slabwright.money.model_paper import OfferedOption, Party, Payment, PriceLine, Quote, TaxLine
from slabwright.money.phrases import Phrase, Share

DAY = date(2026, 5, 4)
WORDS = Both("more rock", "más roca")
SLAB = Phrase(
    "slab",
    {
        "name": "side walk",
        "use": Phrase("use-walk"),
        "area": Quantity("area", 9.0),
        "thickness": Quantity("inches", 0.1),
        "finish": Phrase("finish-broom"),
    },
)
LIMIT = Phrase(
    "if-deposit", {"place": "here", "share": Share(Decimal("0.1")), "most": Money(Decimal(1000), "USD")}
)


def quote_of(prices: list[Decimal], tax: Decimal = Decimal(0), **more: Any) -> Quote:
    price = sum(prices, Decimal(0))
    amount = (price * tax).quantize(Decimal("0.01"))
    lines = tuple(PriceLine(f"s{n}", SLAB, p) for n, p in enumerate(prices))
    taxes = (TaxLine("tax", tax, amount, "impuesto"),) if tax else ()
    values: dict[str, Any] = {
        "number": "17", "title": "a job", "dated": DAY, "valid_until": DAY,
        "business": Party("us", ("a", "b")), "customer": Party("them"), "currency": "USD",
        "units": System.METRIC, "lines": lines, "price": price,
        "taxes": taxes, "total": price + sum(one.amount for one in taxes),
        "options": (OfferedOption("x", Both("X", "Equis"), Decimal("-5.10"), (Both("Y", "Ye"),)),),
        "includes": (Phrase("in-locate"), Both("broom", "escoba")), "excludes": (), "allowances": (),
        "conditions": (LIMIT,), "payments": (Payment(Phrase("pay-done"), Decimal(1), price),), "days": 3,
        "ready": True,
    }  # fmt: skip
    return Quote(**{**values, **more})


def grown(kept: Kept) -> Kept:
    kept, _ = add_change(kept, reason=WORDS, scope=WORDS, price=Decimal("-80.55"), days=-1, dated=DAY)
    kept, _ = add_bill(kept, {"s0": Decimal("0.5")}, dated=DAY, held=Decimal("0.1"))
    kept, _ = add_change(kept, reason=WORDS, scope=WORDS, price=Decimal(250), days=2, dated=DAY)
    return add_bill(kept, {"change 2": Decimal(1)}, dated=DAY, held=Decimal("0.1"))[0]


def test_what_is_kept_comes_back_whole() -> None:
    kept = grown(Kept(quote_of([Decimal(1000), Decimal("99.99")], Decimal("0.0825"))))
    text = kept_text(kept)
    assert read_kept(text) == read_kept(text.encode()) == kept
    assert kept_text(read_kept(text)) == text
    assert contract_of(kept).days == 3 - 1 + 2


def test_a_share_that_is_not_named_stays_and_the_final_bill_asks_for_the_rest() -> None:
    kept = grown(Kept(quote_of([Decimal(1000)])))
    first, second = invoices_of(kept)
    assert first.work == Decimal("500.00")
    assert first.due == Decimal("450.00")
    assert second.work == Decimal("750.00")  # the half of the slab is still done
    assert second.before == first.due
    assert items_of(kept) == ("s0", "change 1", "change 2")
    kept, last = add_bill(kept, final=True, dated=DAY)
    assert last.held == 0
    assert sum(bill.due for bill in kept.bills) == contract_of(kept).total == Decimal("1169.45")
    assert [bill.number for bill in kept.bills] == ["17 / 1", "17 / 2", "17 / 3"]


def test_a_bill_keeps_its_sum_when_a_change_order_comes_later() -> None:
    kept = grown(Kept(quote_of([Decimal(1000)])))
    before = [invoice.due for invoice in invoices_of(kept)]
    kept, _ = add_change(kept, reason=WORDS, scope=WORDS, price=Decimal(500), dated=DAY)
    assert [invoice.due for invoice in invoices_of(kept)] == before


cents = st.integers(0, 10**6).map(lambda n: Decimal(n) / 100)
part = st.integers(0, 1000).map(lambda n: Decimal(n) / 1000)


@settings(max_examples=40, deadline=None)
@given(
    prices=st.lists(cents, min_size=1, max_size=3),
    steps=st.lists(st.tuples(cents, part), max_size=3),
    tax=st.decimals("0", "0.2", places=4),
    held=part.filter(lambda share: share < 1),
)
def test_all_bills_come_to_what_was_agreed(
    prices: list[Decimal], steps: list[tuple[Decimal, Decimal]], tax: Decimal, held: Decimal
) -> None:
    kept = Kept(quote_of(prices, tax))
    for extra, share in sorted(steps, key=lambda step: step[1]):
        kept, _ = add_change(kept, reason=WORDS, scope=WORDS, price=extra, dated=DAY)
        kept, _ = add_bill(kept, dict.fromkeys(items_of(kept), share), dated=DAY, held=held)
    kept, _ = add_bill(kept, final=True, dated=DAY)
    contract = contract_of(kept)
    assert contract.price == sum(prices) + sum(extra for extra, _ in steps)
    assert sum(bill.due for bill in kept.bills) == contract.total
    assert read_kept(kept_text(kept)) == kept


def done(share: str) -> dict[str, Decimal]:
    return {"s0": Decimal(share)}


def test_what_cannot_be_is_said() -> None:
    start = Kept(quote_of([Decimal(1000)]))
    half, _ = add_bill(start, done("0.5"), dated=DAY)
    over, _ = add_bill(half, final=True, dated=DAY)
    with pytest.raises(KeptError, match="there are: s0"):
        add_bill(start, {"s9": Decimal(1)}, dated=DAY)
    with pytest.raises(KeptError, match="120 %"):
        add_bill(start, done("1.2"), dated=DAY)
    with pytest.raises(KeptError):
        add_bill(half, done("0.3"), dated=DAY)  # less than was billed before
    with pytest.raises(KeptError, match="is there already"):
        add_bill(half, done("0.6"), dated=DAY, number="17 / 1")
    with pytest.raises(KeptError, match="final one"):
        add_bill(over, done("1"), dated=DAY)
    with pytest.raises(KeptError, match="final one"):
        add_change(over, reason=WORDS, scope=WORDS, price=Decimal(1), dated=DAY)
    with pytest.raises(KeptError, match="less than nothing"):
        add_change(start, reason=WORDS, scope=WORDS, price=Decimal(-2000), dated=DAY)
    with pytest.raises(KeptError, match="kept back"):
        add_bill(start, done("0.5"), dated=DAY, held=Decimal(1))
    with pytest.raises(KeptError, match="never ready"):
        add_bill(Kept(quote_of([Decimal(1000)], ready=False)), done("0.5"), dated=DAY)


def altered(**paths: Any) -> str:
    """The file with one place of it changed; a path is written a__b__0."""
    data = json.loads(kept_text(grown(Kept(quote_of([Decimal(1000)])))))
    for path, value in paths.items():
        at = data
        *way, last = [int(step) if step.isdigit() else step for step in path.split("__")]
        for step in way:
            at = at[step]
        at[last] = value
    return json.dumps(data)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no kept quote"),
        ("{}", "quote"),
        ("[1, 2]", "the whole"),
        ("{" * 5000, "no kept quote"),
        (altered(quote__price="900"), "do not add up"),
        (altered(quote__lines__0__price="900"), "do not add up"),
        (altered(quote__total=True), "quote.total"),
        (altered(quote__price="1e5000"), "larger than any job"),
        (altered(quote__price="NaN"), "quote.price"),
        (altered(changes__0__number=2), "change order 1"),
        (altered(changes__1__price="251"), "bill 17 / 2"),  # it was billed
        (altered(bills__0__due="449.00"), "bill 17 / 1"),
        (altered(bills__1__done=[["s0", "0.1"]]), "bill 17 / 2"),
        (altered(quote__includes=[{"key": "no such text", "values": {}}]), "written out"),
        (altered(quote__currency="ducats"), "written out"),
        (altered(version=2), "version"),
        (altered(bills__0__pay_days=10**30), "outside the calendar"),
        (altered(bills__0__dated="9999-12-31"), "outside the calendar"),
    ],
)
def test_a_file_that_was_altered_is_not_believed(text: str, said: str) -> None:
    with pytest.raises(KeptError, match=said):
        read_kept(text)


def test_a_file_too_large_is_not_read() -> None:
    with pytest.raises(KeptError, match="larger"):
        read_kept(" " * 3_000_000)


def test_findings_are_not_kept() -> None:
    kept = Kept(quote_of([Decimal(1000)]))
    assert "findings" in kept_text(kept)
    assert read_kept(kept_text(kept)).quote == replace(kept.quote, findings=())
