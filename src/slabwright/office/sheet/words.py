"""Labels, help and headings of the long sheet's fields, in the page's language."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from slabwright.office.sheet.shape import Spot
from slabwright.office.words import word, words
from slabwright.tables import table


def label(at: Spot, lang: str) -> str:
    """Return what a key is called."""
    own = f"field-{at.row.__name__}-{at.key.name}"
    return word(own if own in words() else f"field-{at.key.name}", lang)


def help_of(at: Spot, lang: str) -> str:
    """Return what a key says."""
    return (
        at.key.says if lang == "en" else str(table("office/sheet", "help_es")[at.row.__name__][at.key.name])
    )


def choice(one: str, lang: str, field: str = "") -> str:
    """Return a word that may stand in a field, by the field's own name for it if it has one."""
    own = f"choice-{field}-{one}"
    key = own if own in words() else f"choice-{one}"
    return word(key, lang) if key in words() else one


def heading(group: str, lang: str) -> str:
    """Return a group's heading."""
    return word(f"group-{group}", lang)


def lead(group: str, lang: str) -> str:
    """Return the line under a group's heading, empty where it needs none."""
    key = f"lead-{group}"
    return word(key, lang) if key in words() else ""


def row_title(group: str, number: str | int, keys: Mapping[str, tuple[Any, Any]] | None, lang: str) -> str:
    """Return what a record is called: 'A to B', 'S1', 'old patio', or its number."""
    found = {key: value for key, (_, value) in (keys or {}).items() if isinstance(value, str)}
    if group in ("tape", "water-levels") and {"from", "to"} <= set(found):
        return word("row-tape", lang, **found)
    for key in (
        "name",
        "point",
        "set-up",
        "string",
        "head",
        "line",
        "at",
        "existing",
        "door",
        "slab",
        "size",
    ):
        if key in found:
            return found[key]
    n = number + 1 if isinstance(number, int) else number
    return word("row-number", lang, what=heading(group, lang), n=n)
