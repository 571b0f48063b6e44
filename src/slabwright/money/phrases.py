"""Words on paper in English and Spanish: phrases with values, dates, shares and money as each writes them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from slabwright.measure import LANGUAGES, Both, Money, Quantity, System, write, write_money
from slabwright.tables import table


def called(en: str, es: str, lang: str) -> str:
    """Return a name in 'en' or 'es'; the English one where nobody wrote a Spanish one."""
    return es if lang == "es" and es else en


@dataclass(frozen=True, slots=True)
class Share:
    """A share of a whole, written in per cent."""

    of_one: Decimal


@dataclass(frozen=True, slots=True)
class Phrase:
    """A text of words.toml with its values."""

    key: str
    values: Mapping[str, str | int | Quantity | Money | Share | date | Both | Phrase] = field(
        default_factory=dict
    )


Said = Phrase | Both


def words() -> dict[str, Any]:
    """Return words.toml."""
    return table("money", "words")


def date_text(day: date, lang: str) -> str:
    """Return a date in words: May 4, 2026; 4 de mayo de 2026."""
    n = LANGUAGES.index(lang)
    month = words()["months"][n][day.month - 1]
    return str(words()["date"][n]).format(month=month, day=day.day, year=day.year)


def signed(amount: Decimal, currency: str) -> str:
    """Return a difference in price with its sign: +$88.12, -$40.00."""
    return f"+{write_money(amount, currency)}" if amount > 0 else write_money(amount, currency)


def share_text(share: Decimal) -> str:
    """Return a share in per cent, with as many decimals as it has: 10 %, 7.65 %."""
    percent = (share * 100).normalize()
    return f"{percent:f} %"


def say(said: Said, lang: str, system: System = System.IMPERIAL) -> str:
    """Return a phrase in one language, its numbers in one system of units; KeyError for an unknown one."""
    if isinstance(said, Both):
        return said.of(lang)
    text = str(words()["text"][said.key][LANGUAGES.index(lang)])
    return text.format_map({key: _shown(value, lang, system) for key, value in said.values.items()})


def _shown(value: object, lang: str, system: System) -> str:
    if isinstance(value, Quantity):
        return write(value, system=system, lang=lang)
    if isinstance(value, Money):
        return write_money(value)
    if isinstance(value, Share):
        return share_text(value.of_one)
    if isinstance(value, date):
        return date_text(value, lang)
    if isinstance(value, Both | Phrase):
        return say(value, lang, system)
    return str(value)
