"""A signed quote and what follows: numbered change orders that add up, progress and final invoices."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal

from slabwright.findings import Finding, find
from slabwright.money.arith import to_cent
from slabwright.money.model_paper import ChangeOrder, Contract, Invoice, InvoiceLine, Quote, TaxLine
from slabwright.money.phrases import Phrase, Said, share_text

ONE, NONE = Decimal(1), Decimal(0)
PAY_DAYS = 14  # to pay an invoice (source common-practice)
QUOTED = "quoted"
"""Key of the share done where a quote is billed as one."""


def _taxed(quote: Quote, amount: Decimal, rounding: str) -> tuple[TaxLine, ...]:
    return tuple(
        TaxLine(t.name, t.share, to_cent(amount * t.share, rounding), t.name_es) for t in quote.taxes
    )


def with_changes(quote: Quote, changes: Sequence[ChangeOrder], *, rounding: str = ROUND_HALF_UP) -> Contract:
    """Return a contract: a quote with its change orders, price, tax and days added up.

    Change orders are numbered from 1 without gaps; one that is not is a stop finding.
    """
    found: list[Finding] = []
    for expected, change in enumerate(changes, 1):
        if change.number != expected:
            found.append(
                find("money", "change-gap", where=quote.number, number=expected, found=change.number)
            )
    price = quote.price + sum((change.price for change in changes), NONE)
    taxes = _taxed(quote, price, rounding)
    total = price + sum((tax.amount for tax in taxes), NONE)
    days = quote.days + sum(change.days for change in changes)
    return Contract(quote, tuple(changes), price, taxes, total, days, tuple(found))


def change_key(change: ChangeOrder) -> str:
    """Return the key under which the share done of a change order is given."""
    return f"change {change.number}"


def _lines(
    contract: Contract, done: Mapping[str, Decimal], rounding: str
) -> tuple[tuple[InvoiceLine, ...], list[tuple[str, Decimal]]]:
    values: list[tuple[str, Said, Decimal]] = [
        (line.slab, line.what, line.price) for line in contract.quote.lines
    ]
    for change in contract.changes:
        row = Phrase("change-row", {"number": change.number, "scope": change.scope})
        values.append((change_key(change), row, change.price))
    lines, wrong = [], []
    for key, what, value in values:
        share = done.get(key, NONE)
        if not 0 <= share <= 1:
            wrong.append((key, share))
            share = min(ONE, max(NONE, share))
        lines.append(InvoiceLine(what, value, share, to_cent(value * share, rounding)))
    return tuple(lines), wrong


def progress_invoice(
    contract: Contract,
    done: Mapping[str, Decimal],
    *,
    number: str,
    dated: date,
    earlier: Sequence[Invoice] = (),
    held_share: Decimal = NONE,
    pay_days: int = PAY_DAYS,
    rounding: str = ROUND_HALF_UP,
) -> Invoice:
    """Return a bill for the work so far.

    done: share done in all up to now, by slab and by 'change 1', ...; what is not named is not begun.
    earlier: bills before this one. held_share: kept back until the final bill. A share outside 0 to 1, or
    work less than was billed before, is a stop finding.
    """
    lines, wrong = _lines(contract, done, rounding)
    found = [
        find("money", "invoice-over", where=number, item=key, share=share_text(share)) for key, share in wrong
    ]
    work = sum((line.amount for line in lines), NONE)
    taxes = _taxed(contract.quote, work, rounding)
    gross = work + sum((tax.amount for tax in taxes), NONE)
    held = gross - to_cent(gross * (ONE - held_share), rounding)
    before = sum((invoice.due for invoice in earlier), NONE)
    due = gross - held - before
    if due < 0 and contract.total >= before:
        share = gross / contract.total if contract.total else NONE
        found.append(
            find("money", "invoice-over", where=number, item=number, share=share_text(round(share, 4)))
        )
    until = dated + timedelta(days=pay_days)
    return Invoice(number, dated, until, contract, lines, work, taxes, held, before, due, False, tuple(found))


def final_invoice(
    contract: Contract,
    *,
    number: str,
    dated: date,
    earlier: Sequence[Invoice] = (),
    pay_days: int = PAY_DAYS,
    rounding: str = ROUND_HALF_UP,
) -> Invoice:
    """Return the last bill: all of the contract, less what was billed before; nothing is held back."""
    keys = [line.slab for line in contract.quote.lines] + [change_key(c) for c in contract.changes]
    lines, _ = _lines(contract, dict.fromkeys(keys, ONE), rounding)
    before = sum((invoice.due for invoice in earlier), NONE)
    until = dated + timedelta(days=pay_days)
    due = contract.total - before
    return Invoice(
        number, dated, until, contract, lines, contract.price, contract.taxes, NONE, before, due, True
    )
