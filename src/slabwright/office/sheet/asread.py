"""One value as it is read: written back the way sheets write it, or what would do instead. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from pydantic import ValidationError

from slabwright.measure import Quantity, System, write
from slabwright.notes.layout import items_of, keys_of, published
from slabwright.notes.models import Row
from slabwright.notes.said import example_in, say
from slabwright.notes.translate import in_words
from slabwright.notes.values import Reading
from slabwright.office.sheet.shape import WRITTEN_AS, Spot, adapter, kind_of

KEPT = 4_000  # readings of a few jobs


@dataclass(frozen=True, slots=True)
class AsRead:
    """What a text was read as, or why it cannot be and what would do."""

    text: str = ""
    why: str = ""
    example: str = ""

    @property
    def good(self) -> bool:
        """Whether it could be read."""
        return not self.why


def as_read(at: Spot, raw: Any, *, system: System, lang: str) -> AsRead:
    """Return how a raw value of the job file (text, list, record) is read at a spot; nothing for names."""
    wants = at.wants
    if isinstance(raw, str) and raw and wants in ("measured", "number"):
        return _read(at.row, at.key.name, at.named, None, raw, system, lang)
    if not isinstance(raw, list) or wants not in ("list", "pair"):
        return AsRead()
    items = items_of(at.type)
    if items is not None and len(items) != len(raw):
        return AsRead()
    out = []
    for n, one in enumerate(raw):
        part = n if items is not None else 0
        if not isinstance(one, str) or published(kind_of(at.row, at.key.name, part, named=at.named)) is None:
            return AsRead()
        read = _read(at.row, at.key.name, at.named, part, one, system, lang)
        if not read.good:
            return read
        out.append(read.text)
    return AsRead(", ".join(out))


@lru_cache(maxsize=KEPT)
def _read(
    row: type[Row], name: str, named: bool, part: int | None, text: str, system: System, lang: str
) -> AsRead:
    try:
        value = adapter(row, name, part, named=named).validate_python(text)
    except ValidationError as error:
        key = keys_of(row)[name]
        why, example = in_words(error.errors(include_url=False)[0], key)
        given = example_in((example or "").removeprefix(f"{key.name}: "), lang)
        return AsRead(why=say(why, lang), example=given)
    says = published(kind_of(row, name, part, named=named))
    kind = WRITTEN_AS.get(str(says["description"]), "") if says is not None else ""
    if not kind or isinstance(value, str):
        return AsRead()
    si = value.si if isinstance(value, Reading) else float(value)
    if part is not None:  # a place in the yard is kept with its sign turned: plan y runs into the house
        si = -abs(si) if text.lstrip().startswith("-") else abs(si)
    return AsRead(write(Quantity(kind, si), system=system, lang=lang))
