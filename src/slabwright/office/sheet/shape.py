"""What may stand at a place of the job file: the kind of field it wants, its words, and how it is read."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any, Literal

from pydantic import TypeAdapter

from slabwright.notes.layout import (
    Key,
    bare,
    branches,
    canonical,
    choices_of,
    item_of,
    items_of,
    keys_of,
    named_of,
    published,
    row_of,
)
from slabwright.notes.models import Notes, Row

KeyPath = tuple[str | int, ...]
Wants = Literal["measured", "choice", "yesno", "number", "text", "list", "pair", "record"]

# How a reading is written back beside what was typed, by what its type says of itself (notes/values.py).
WRITTEN_AS = {
    "length": "fine_length",
    "length, bare in inches": "inches",
    "tape reading": "fine_length",
    "rod reading": "fine_length",
    "slope": "slope",
    "angle, bare in degrees": "angle",
    "temperature": "temperature",
    "clock time": "clock",
    "strength": "pressure",
    "flow, bare in gpm": "flow",
    "area": "area",
    "volume": "volume",
    "speed, bare in mph": "speed",
    "share, bare in percent": "percent",
    "sky in words, or its share of cloud in percent": "percent",
    "rainfall": "rain",
    "duration": "duration",
    "day": "",
}


class PlaceError(LookupError):
    """A path that leads to nothing that a job file can hold."""


@dataclass(frozen=True, slots=True)
class Spot:
    """One place of the job file: the record and key that it belongs to, and what may stand there.

    `wants` is the kind of field that fits, `choices` the words that may stand there, `example` what can
    be read; `named` tells of a value under a name of its own: a rod reading, a known point.
    """

    row: type[Row]
    key: Key
    type: Any
    named: bool
    wants: Wants
    choices: tuple[str, ...]
    example: str


def _wants(kind: Any) -> Wants:
    kinds = branches(kind)
    if any(item_of(one) is not None for one in kinds):
        return "list"
    if any(items_of(one) is not None for one in kinds):
        return "pair"
    if any(row_of(one) is not None or named_of(one) is not None for one in kinds):
        return "record"
    if choices_of(kind):
        return "choice"
    if published(kind) is not None:
        return "measured"
    if bare(kind) is bool:
        return "yesno"
    return "number" if bare(kind) in (int, float) else "text"


def _example(key: Key, wants: Wants, named: bool) -> str:
    """Return the key's example, without the brackets that a field does without."""
    text = key.example.removeprefix("- ")
    if named:
        return text.strip("{}").partition(": ")[2].split(", ")[0] if wants == "measured" else "12', 6' 3\""
    return text.strip("[]") if wants in ("list", "pair") and "{" not in text and "[[" not in text else text


@lru_cache(maxsize=20_000)  # names of points come and go
def spot(path: KeyPath) -> Spot:
    """Return what may stand at a path of keys, names and 0-based numbers. Raises PlaceError."""
    kind: Any = Notes
    row: type[Row] | None = None
    key: Key | None = None
    named = False
    for part in path:
        if not isinstance(part, int | str):
            raise PlaceError(path)
        options = branches(kind)
        inner = next((r for r in map(row_of, options) if r is not None), None)
        item = next((i for i in map(item_of, options) if i is not None), None)
        by_name = next((n for n in map(named_of, options) if n is not None), None)
        if isinstance(part, int):
            pair = items_of(kind)
            if item is None and (pair is None or not 0 <= part < len(pair)):
                raise PlaceError(path)
            kind = item if item is not None else pair[part] if pair else None
            named = False
        elif inner is not None:
            found = keys_of(inner).get(canonical(part))
            if found is None:
                raise PlaceError(path)
            row, key, kind, named = inner, found, found.type, False
        elif by_name is not None:
            kind, named = by_name, True
        else:
            raise PlaceError(path)
    if row is None or key is None:
        raise PlaceError(path)
    wants = _wants(kind)
    choices = choices_of(kind) if wants == "choice" else ()
    return Spot(row, key, kind, named, wants, choices, _example(key, wants, named))


@cache
def adapter(row: type[Row], name: str, part: int | None = None, *, named: bool = False) -> TypeAdapter[Any]:
    """Return the reader of a key's value, or of its named values, or of one item of its list or pair."""
    return TypeAdapter(kind_of(row, name, part, named=named))


def kind_of(row: type[Row], name: str, part: int | None = None, *, named: bool = False) -> Any:
    """Return the type of a key's value, of its named values, or of item `part` of its list or pair."""
    kind = keys_of(row)[name].type
    if named:
        kind = named_of(kind)
    if part is None:
        return kind
    items = items_of(kind)
    return items[part] if items is not None else item_of(kind)


def row_at(path: KeyPath) -> type[Row]:
    """Return the record class of the list's items (or of the record) at a path. Raises PlaceError."""
    here = spot(path)
    for kind in branches(here.type):
        inner = row_of(item_of(kind) or kind)
        if inner is not None:
            return inner
    raise PlaceError(path)
