"""What is handed to a customer: quote, change order, invoice. Nothing in here knows cost, rate or margin."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from slabwright.findings import Finding
from slabwright.measure import Both, System
from slabwright.money.phrases import Phrase, Said


@dataclass(frozen=True, slots=True)
class Party:
    """Who quotes or is quoted to: name, address and what else stands under a letterhead."""

    name: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PriceLine:
    """One line of a quote: the slab, what it is in words, its price before tax."""

    slab: str
    what: Phrase
    price: Decimal


@dataclass(frozen=True, slots=True)
class TaxLine:
    """A tax on the price: its name (in Spanish where the book has one), its share, its amount."""

    name: str
    share: Decimal
    amount: Decimal
    name_es: str = ""


@dataclass(frozen=True, slots=True)
class OfferedOption:
    """An option as the customer sees it: the difference, and the options that it comes on top of."""

    key: str
    name: Both
    difference: Decimal
    against: tuple[Both, ...] = ()


@dataclass(frozen=True, slots=True)
class Allowance:
    """A sum set aside in the price for something not yet chosen."""

    what: Both
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Payment:
    """One step of payment: when, its share of the total, its amount."""

    when: Said
    share: Decimal
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Quote:
    """An offer that a customer can sign.

    `lines` add up to `price`, `price` and `taxes` to `total`, `payments` to `total`, all to the cent. `ready`
    is False where something had no price: it must not be sent then.
    """

    number: str
    title: str
    dated: date
    valid_until: date
    business: Party
    customer: Party
    currency: str
    units: System
    lines: tuple[PriceLine, ...]
    price: Decimal
    taxes: tuple[TaxLine, ...]
    total: Decimal
    options: tuple[OfferedOption, ...]
    includes: tuple[Said, ...]
    excludes: tuple[Said, ...]
    allowances: tuple[Allowance, ...]
    conditions: tuple[Said, ...]
    payments: tuple[Payment, ...]
    days: int
    ready: bool
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class ChangeOrder:
    """A change agreed in writing before it is done; `price` before tax, negative where it takes away."""

    number: int
    dated: date
    reason: Both
    scope: Both
    price: Decimal
    days: int = 0


@dataclass(frozen=True, slots=True)
class Contract:
    """A signed quote with its change orders; `price` before tax, `total` with it."""

    quote: Quote
    changes: tuple[ChangeOrder, ...]
    price: Decimal
    taxes: tuple[TaxLine, ...]
    total: Decimal
    days: int
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class InvoiceLine:
    """One thing billed: what, its whole value before tax, the share done so far, what that comes to."""

    what: Said
    value: Decimal
    done: Decimal
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Invoice:
    """A bill for the work so far or for all of it.

    `work` is done so far before tax; `taxes` on that; `held` is kept back; `before` was billed before; `due`
    is what this one asks for. All bills of a contract, the final one last, add up to its total.
    """

    number: str
    dated: date
    due_on: date
    contract: Contract
    lines: tuple[InvoiceLine, ...]
    work: Decimal
    taxes: tuple[TaxLine, ...]
    held: Decimal
    before: Decimal
    due: Decimal
    final: bool
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class PaperTable:
    """A table in words: headings, rows, the last row of totals."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    totals: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class PaperSection:
    """A part of a paper: its heading, lines of text, and a table."""

    heading: str
    lines: tuple[str, ...] = ()
    table: PaperTable | None = None


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper in one language, all words and figures written out, for pages to set.

    `facts` are (label, value) pairs for its head; `signatures` are labels of lines to sign on.
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    sections: tuple[PaperSection, ...]
    signatures: tuple[str, ...] = ()
