"""Money: a Decimal and a currency, never a float."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from slabwright.measure.scan import DASHES, Cursor, plain_numeral

_SIGNS = {"$": "USD", "€": "EUR", "£": "GBP", "US$": "USD", "C$": "CAD", "MX$": "MXN"}
_WRITTEN = {"USD": "$", "EUR": "€", "GBP": "£"}
CURRENCIES = frozenset(("USD", "EUR", "GBP", "CAD", "MXN", "AUD", "NZD", "CHF"))
"""Codes that are read (ISO 4217)."""
_DOLLARS = frozenset(("USD", "CAD", "MXN", "AUD", "NZD"))
_WORDS = {
    "dollar": "USD",
    "dollars": "USD",
    "euro": "EUR",
    "euros": "EUR",
    "dólares": "USD",
    "dolares": "USD",
}
_NUMERAL = re.compile(r"[0-9]+(?:[.,][0-9]+)*|[.][0-9]+")
_MOST = Decimal(10) ** 12
_CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Money:
    """An amount with its currency (ISO 4217 code)."""

    amount: Decimal
    currency: str


def read_money(text: str | int | Decimal, *, bare: str | None = None) -> Money:
    """Return an amount of money, exact as written.

    `bare` is the currency of a number without one, and of a plain $ where that is a dollar other than
    USD. A float is refused, because it has lost its cents already. Raises MeasureError.
    """
    if not isinstance(text, str):
        return _plain(text, bare)
    cursor = Cursor("money", text)
    negative = _minus(cursor)
    currency = _currency(cursor, bare)
    cursor.blank()
    negative = negative or _minus(cursor)
    start = cursor.at
    found = _NUMERAL.match(text, start)
    if found is None:
        cursor.fail("an amount is missing here")
    cursor.at = found.end()
    cursor.blank()
    if not currency:
        place = cursor.at
        currency = _currency(cursor, bare) if not cursor.done() else (bare or "")
        if not currency:
            cursor.fail("the currency is missing" if cursor.done() else "this is not a currency", place)
    cursor.end()
    plain = _numeral(found.group(), currency)
    if plain is None:
        cursor.fail(f"{found.group()} can be read in two ways; use a point for decimals", start)
    amount = Decimal(plain)
    if amount >= _MOST:
        cursor.fail("no job costs this much", start)
    return Money(-amount if negative and amount else amount, currency)


def _plain(value: int | Decimal, bare: str | None) -> Money:
    shown = str(value)
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        Cursor("money", shown).fail("money is read from text, a whole number or a Decimal")
    amount = Decimal(value)
    if not amount.is_finite() or abs(amount) >= _MOST:
        Cursor("money", shown).fail("no job costs this much")
    if bare is None:
        Cursor("money", shown).fail("the currency is missing")
    return Money(amount, _known(bare))


def _known(code: str) -> str:
    if code not in CURRENCIES:
        raise ValueError(f"{code!r} is not a known currency; known are {', '.join(sorted(CURRENCIES))}")
    return code


def _minus(cursor: Cursor) -> bool:
    if cursor.done() or cursor.text[cursor.at] not in DASHES:
        return False
    cursor.at += 1
    cursor.blank()
    return True


def _currency(cursor: Cursor, bare: str | None) -> str:
    sign = cursor.take("US$", "MX$", "C$", "$", "€", "£")
    if sign:
        return bare if sign == "$" and bare in _DOLLARS and bare else _SIGNS[sign]
    word = cursor.word()
    code = word.upper() if word.upper() in CURRENCIES else _WORDS.get(word.lower(), "")
    cursor.at += len(word) if code else 0
    return code


def _numeral(written: str, currency: str) -> str | None:
    """Return a plain decimal: dollars and pounds are grouped by commas, so $1,250 has one meaning."""
    plain = plain_numeral(written)
    if (
        plain is None
        and currency in _DOLLARS | {"GBP"}
        and re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", written)
    ):
        return written.replace(",", "")
    if currency == "EUR" and re.fullmatch(r"[1-9][0-9]{0,2}[.][0-9]{3}", written):
        return None
    return plain


def write_money(amount: Decimal | Money, currency: str = "USD") -> str:
    """Return an amount to the cent, half up, thousands marked: $1,250.00, -$3.50, 1,250.00 MXN.

    What is under half a cent is written in full ($0.004), so that no price looks free.
    """
    if isinstance(amount, Money):
        return write_money(amount.amount, amount.currency)
    if not amount.is_finite():
        raise ValueError(f"{amount} cannot be written")
    size = abs(amount)
    rounded = size.quantize(_CENT, rounding=ROUND_HALF_UP)
    shown = f"{rounded:,.2f}" if rounded or not size else f"{size.normalize():f}"
    sign = "-" if amount < 0 else ""
    mark = _WRITTEN.get(_known(currency), "")
    return f"{sign}{mark}{shown}" + ("" if mark else f" {currency}")
