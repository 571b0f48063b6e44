"""A quote and what followed it, kept in one file: change orders and bills, each worked out anew when read.

The file holds what the customer was told and nothing else: no cost, rate or margin can stand in it. Bills are
kept as what was done, and beside it what each asked for: where somebody altered by hand what was billed, they
no longer agree.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Literal

from pydantic import TypeAdapter, ValidationError

from slabwright.measure import LANGUAGES, Both
from slabwright.money.contract import (
    PAY_DAYS,
    change_key,
    final_invoice,
    progress_invoice,
    with_changes,
)
from slabwright.money.model_paper import ChangeOrder, Contract, Invoice, Quote
from slabwright.money.paper import change_paper, quote_paper

MOST_BYTES = 2_000_000
MOST = Decimal(10) ** 9
NONE = Decimal(0)


class KeptError(ValueError):
    """A file or a step that cannot be: str() says what and why."""


@dataclass(frozen=True, slots=True)
class Bill:
    """One bill as it was sent: the share done of each item up to then, and what it asked for (`due`).

    `done` by slab and by 'change 1', ...; `held` is the share kept back; `changes` is how many change orders
    were agreed by then.
    """

    number: str
    dated: date
    done: tuple[tuple[str, Decimal], ...]
    held: Decimal
    pay_days: int
    changes: int
    final: bool
    due: Decimal


@dataclass(frozen=True, slots=True)
class Kept:
    """A quote with its change orders and bills, in their order."""

    quote: Quote
    changes: tuple[ChangeOrder, ...] = ()
    bills: tuple[Bill, ...] = ()
    version: Literal[1] = field(default=1)


@cache
def _adapter() -> TypeAdapter[Kept]:
    return TypeAdapter(Kept)


def kept_text(kept: Kept) -> str:
    """Return the file's text (JSON, money as text so that no cent is lost); the same for the same."""
    plain = replace(kept, quote=replace(kept.quote, findings=()))
    return json.dumps(_adapter().dump_python(plain, mode="json"), indent=1, ensure_ascii=False) + "\n"


def read_kept(given: str | bytes) -> Kept:
    """Return what a file keeps. KeptError for one that is not such a file, or whose figures do not add up."""
    if len(given) > MOST_BYTES:
        raise KeptError("it is larger than any quote")
    try:
        kept = _adapter().validate_json(given)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        place = ".".join(str(part) for part in first["loc"])
        if place == "version":
            raise KeptError("it was written by a newer version of the program: use that one") from error
        if first["type"] == "json_invalid":
            raise KeptError("it is no kept quote: it is cut off, or no JSON in UTF-8 at all") from error
        raise KeptError(f"it is no kept quote: {place or 'the whole'}: {first['msg']}") from error
    unknown = _unknown(json.loads(given), json.loads(kept_text(kept)))
    if unknown:
        raise KeptError(
            f'"{unknown}" in it is not known to this version and would be lost: '
            "use the version of the program that wrote it"
        )
    if any(abs(amount) >= MOST for amount in amounts_of(kept)):
        raise KeptError("an amount in it is larger than any job")
    _check_words(kept)
    quote = kept.quote
    adds_up = (
        sum((line.price for line in quote.lines), NONE) == quote.price
        and quote.price + sum((tax.amount for tax in quote.taxes), NONE) == quote.total
    )
    if not adds_up:
        raise KeptError("its figures do not add up: somebody altered them")
    for n, change in enumerate(kept.changes, 1):
        if change.number != n:
            raise KeptError(f"change order {n} is missing or out of its place")
    try:
        invoices_of(kept)
    except OverflowError as error:
        raise KeptError("a day in it lies outside the calendar") from error
    return kept


def _unknown(given: object, known: object) -> str:
    """Return the first key of a file that this version would not write again; '' for none."""
    if isinstance(given, Mapping) and isinstance(known, Mapping):
        inner = (key if key not in known else _unknown(value, known[key]) for key, value in given.items())
    elif isinstance(given, list) and isinstance(known, list):
        inner = (_unknown(*pair) for pair in zip(given, known, strict=False))
    else:
        return ""
    return next((str(key) for key in inner if key), "")


def amounts_of(record: object) -> Iterator[Decimal]:
    """Yield every Decimal of a record and of those within it."""
    if isinstance(record, Decimal):
        yield record
    elif is_dataclass(record):
        for one in fields(record):
            yield from amounts_of(getattr(record, one.name))
    elif isinstance(record, Mapping):
        for value in record.values():
            yield from amounts_of(value)
    elif isinstance(record, tuple):
        for value in record:
            yield from amounts_of(value)


def _check_words(kept: Kept) -> None:
    """Raise KeptError where a paper of what is kept could not be written out."""
    contract = contract_of(kept)
    try:
        for lang in LANGUAGES:
            quote_paper(kept.quote, lang)
            for change in kept.changes:
                change_paper(contract, change, lang)
    except (KeyError, ValueError, TypeError, IndexError, AttributeError, ArithmeticError) as error:
        raise KeptError(f"something in it cannot be written out ({error})") from error


def contract_of(kept: Kept, changes: int | None = None) -> Contract:
    """Return the quote with its first so many change orders, all of them where None."""
    return with_changes(kept.quote, kept.changes[:changes])


def invoices_of(kept: Kept) -> tuple[Invoice, ...]:
    """Return every bill as it was sent; KeptError where one no longer asks for what it asked for."""
    made: list[Invoice] = []
    for bill in kept.bills:
        invoice = _invoice(kept, bill, tuple(made))
        if invoice.due != bill.due or any(finding.level == "stop" for finding in invoice.findings):
            raise KeptError(f"bill {bill.number} does not add up any more: somebody altered its figures")
        made.append(invoice)
    return tuple(made)


def _invoice(kept: Kept, bill: Bill, earlier: tuple[Invoice, ...]) -> Invoice:
    contract = contract_of(kept, bill.changes)
    if bill.final:
        return final_invoice(
            contract, number=bill.number, dated=bill.dated, earlier=earlier, pay_days=bill.pay_days
        )
    return progress_invoice(
        contract,
        dict(bill.done),
        number=bill.number,
        dated=bill.dated,
        earlier=earlier,
        held_share=bill.held,
        pay_days=bill.pay_days,
    )


def _open(kept: Kept) -> None:
    if not kept.quote.ready:
        raise KeptError("this quote was never ready to be sent: something in it has no price")
    if kept.bills and kept.bills[-1].final:
        raise KeptError(f"bill {kept.bills[-1].number} was the final one; nothing can follow it")


def add_change(
    kept: Kept, *, reason: Both, scope: Both, price: Decimal, days: int = 0, dated: date
) -> tuple[Kept, ChangeOrder]:
    """Return what is kept with one more change order, and that order with its number.

    price: before tax, negative where it takes away. days: of work added or saved. KeptError after the final
    bill, or where nothing would be left to pay for.
    """
    _open(kept)
    change = ChangeOrder(len(kept.changes) + 1, dated, reason, scope, price, days)
    made = replace(kept, changes=(*kept.changes, change))
    if contract_of(made).price < 0:
        raise KeptError("with this change the job would cost less than nothing")
    return made, change


def items_of(kept: Kept) -> tuple[str, ...]:
    """Return what a bill counts as done by shares: every slab and every change order."""
    return (*(line.slab for line in kept.quote.lines), *(change_key(c) for c in kept.changes))


def add_bill(
    kept: Kept,
    done: Mapping[str, Decimal] | None = None,
    *,
    dated: date,
    final: bool = False,
    held: Decimal = NONE,
    number: str | None = None,
    pay_days: int = PAY_DAYS,
) -> tuple[Kept, Invoice]:
    """Return what is kept with one more bill, and that bill.

    done: share done in all up to now, by item of `items_of`; what is not named stays as the last bill had
    it. held: share kept back until the final bill, which bills all. KeptError for an unknown item, a share
    outside 0 to 1, less than was billed before, a number used twice, or after the final bill.
    """
    _open(kept)
    items = items_of(kept)
    unknown = sorted(set(done or {}) - set(items))
    if unknown:
        raise KeptError(f"'{unknown[0]}' is nothing that is billed here; there are: {', '.join(items)}")
    if not 0 <= held < 1:
        raise KeptError("what is kept back is a share from 0 % to below 100 %")
    number = number or f"{kept.quote.number} / {len(kept.bills) + 1}"
    if number in {bill.number for bill in kept.bills}:
        raise KeptError(f"bill {number} is there already")
    before = dict(kept.bills[-1].done) if kept.bills else {}
    shares = dict.fromkeys(items, Decimal(1)) if final else {**before, **(done or {})}
    earlier = invoices_of(kept)
    bill = Bill(
        number,
        dated,
        tuple(shares.items()),
        NONE if final else held,
        pay_days,
        len(kept.changes),
        final,
        NONE,
    )
    invoice = _invoice(kept, bill, earlier)
    wrong = [finding for finding in invoice.findings if finding.level == "stop"]
    if wrong:
        raise KeptError(wrong[0].text().what)
    return replace(kept, bills=(*kept.bills, replace(bill, due=invoice.due))), invoice
