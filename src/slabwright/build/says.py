"""Lines that are spoken or bought by: texts of says.toml with values in the reader's units."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from slabwright.build.model import Ask, Material, Words
from slabwright.findings import Value
from slabwright.measure import LANGUAGES, Quantity, System, write
from slabwright.tables import table


def texts() -> dict[str, Any]:
    """Return the texts by key, each a pair in the order of LANGUAGES."""
    return table("build", "says")


def word(group: str, key: str, lang: str = "en") -> str:
    """Return one word of a group ('by', 'use', 'shop', ...); KeyError for an unknown one."""
    return str(texts()[group][key][LANGUAGES.index(lang)])


def spoken(ask: Ask, part: str, *, system: System = System.IMPERIAL, lang: str = "en") -> str:
    """Return the `part` ('what', 'say') of an ask with its values written."""
    text = str(texts()[ask.key][part][LANGUAGES.index(lang)])
    return text.format_map({key: _shown(value, system, lang) for key, value in ask.values.items()})


def _shown(value: Value | Words | tuple[Quantity, ...], system: System, lang: str) -> str:
    if isinstance(value, Quantity):
        return write(value, system=system, lang=lang)
    if isinstance(value, Words):
        return ", ".join(word(value.group, key, lang) for key in value.keys)
    if isinstance(value, tuple):
        return " + ".join(write(part, system=system, lang=lang) for part in value)
    return str(value)


def plant_lines(
    asks: Iterable[Ask], *, system: System = System.IMPERIAL, lang: str = "en"
) -> tuple[tuple[str, str], ...]:
    """Return (what, say) for every ask, in the plant's order of questions."""
    return tuple(
        (spoken(ask, "what", system=system, lang=lang), spoken(ask, "say", system=system, lang=lang))
        for ask in asks
    )


def in_language(material: Material, *, system: System = System.IMPERIAL, lang: str = "en") -> Material:
    """Return a line of the shopping list in another language or system; the amount stays."""
    if material.said is None:
        return material
    shop, what, buy = (spoken(ask, "say", system=system, lang=lang) for ask in material.said)
    return Material(shop, what, material.kind, material.amount, buy, material.said)
