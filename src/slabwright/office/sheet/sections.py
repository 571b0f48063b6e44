"""The long sheet's sections: which keys of the job file stand where, and which tables beside them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from slabwright.tables import table

GroupKind = Literal["fields", "rows", "cards", "named", "lists"]
KeyPath = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Keys that belong together; paths of `fields` and `inner` count from a record where there is one.

    `at` is the list or mapping whose records are shown; `more` stands behind a fold; `made` tells whether
    records are added and taken away here; `example` whether a starter's values are marked until written over.
    """

    key: str
    kind: GroupKind
    at: KeyPath = ()
    fields: tuple[KeyPath, ...] = ()
    more: tuple[KeyPath, ...] = ()
    inner: tuple[Group, ...] = ()
    made: bool = True
    fold: bool = False
    example: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """One stretch of the sheet: its groups, the plan's tables and paper that are its own.

    `sheets` are keys of the packet's sheets; `money`: owner only.
    """

    key: str
    groups: tuple[Group, ...] = ()
    tables: tuple[str, ...] = ()
    money: bool = False
    sheets: tuple[str, ...] = ()


def path_of(dotted: str) -> KeyPath:
    """Return the path that 'place.zone' names."""
    return tuple(dotted.split("."))


def _group(row: dict[str, Any]) -> Group:
    return Group(
        key=row["key"],
        kind=row["kind"],
        at=path_of(row["at"]) if "at" in row else (),
        fields=tuple(path_of(f) for f in row.get("fields", row.get("columns", ()))),
        more=tuple(path_of(f) for f in row.get("more", ())),
        inner=tuple(_group(one) for one in row.get("inner", ())),
        made=row.get("made", True),
        fold=row.get("fold", False),
        example=row.get("example", False),
    )


@cache
def sections() -> tuple[Section, ...]:
    """Return the sections in the order of the work."""
    raw = table("office/sheet", "sections")
    return tuple(
        Section(
            row["key"],
            tuple(_group(one) for one in row.get("group", ())),
            tuple(row.get("tables", ())),
            row.get("money", False),
            tuple(row.get("sheets", ())),
        )
        for row in raw["section"]
    )


def section(key: str) -> Section:
    """Return one section; KeyError for an unknown key."""
    for one in sections():
        if one.key == key:
            return one
    raise KeyError(key)
