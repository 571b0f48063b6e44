"""What the long sheet shows, as data: fields, records, groups."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import quote

from slabwright.measure import System
from slabwright.notes.mistakes import Mistake, dotted
from slabwright.office.sheet.sections import Group
from slabwright.office.sheet.shape import KeyPath


@dataclass(frozen=True, slots=True)
class FieldView:
    """One field. `value` is what stands in it, `seen` the same as JSON; `choices` (value, word)."""

    path: KeyPath
    label: str
    help: str
    example: str
    wants: str
    value: str
    seen: str
    read: str = ""
    why: str = ""
    needed: bool = False
    example_only: bool = False
    choices: tuple[tuple[str, str], ...] = ()
    day: bool = False  # empty or a day as a calendar writes it: the page offers its calendar

    @property
    def id(self) -> str:
        """Return the field's name in the page: no blank, no letter that HTML would mind."""
        return "f-" + quote(".".join(map(str, self.path)), safe=".")

    @property
    def place(self) -> str:
        """Return the path as JSON."""
        return json.dumps(self.path, ensure_ascii=False)

    @property
    def is_new(self) -> bool:
        """Whether it belongs to a record that is yet to be added."""
        return any(isinstance(part, str) and part.startswith("+") for part in self.path)

    @property
    def help_id(self) -> str:
        """Return the name of the help that fields of one column share."""
        plain = [str(p) for p in self.path if not isinstance(p, int) and p not in ("+", "+name", "+value")]
        return "h-" + quote(".".join(plain), safe=".")

    @property
    def place_name(self) -> str:
        """Return the path as mistakes write it."""
        return dotted(self.path)


@dataclass(frozen=True, slots=True)
class RowView:
    """One record of a list: its fields, those behind a fold, groups of its own, or its text."""

    path: KeyPath
    title: str
    fields: tuple[FieldView, ...] = ()
    more: tuple[FieldView, ...] = ()
    groups: tuple[GroupView, ...] = ()
    text: str = ""  # what stands there, where it is written otherwise than the fields know
    example_only: bool = False

    @property
    def place(self) -> str:
        """Return the path as JSON."""
        return json.dumps(self.path, ensure_ascii=False)

    @property
    def open(self) -> bool:
        """Whether something behind the fold is filled in or wrong."""
        return any(one.value or one.why for one in self.more)


@dataclass(frozen=True, slots=True)
class GroupView:
    """One group with what stands in it; `new` are the fields of a record to add."""

    group: Group
    path: KeyPath
    title: str
    lead: str
    fields: tuple[FieldView, ...] = ()
    rows: tuple[RowView, ...] = ()
    new: tuple[FieldView, ...] = ()
    closed: bool = False
    text: str = ""  # of a whole list that is written in a way of its own
    examples: int = 0
    wrong: int = 0

    @property
    def kind(self) -> str:
        """Return how it is laid out."""
        return self.group.kind

    @property
    def columns(self) -> tuple[FieldView, ...]:
        """Return the fields of one row, for their help to be said once."""
        return (*self.rows[0].fields, *self.rows[0].more) if self.rows else ()

    @property
    def id(self) -> str:
        """Return the group's name in the page."""
        return "g-" + quote(".".join([self.group.key, *map(str, self.path)]), safe=".")

    @property
    def place(self) -> str:
        """Return the path of its list as JSON."""
        return json.dumps(self.path, ensure_ascii=False)


@dataclass(frozen=True, slots=True)
class Sheet:
    """What the page needs to know of a job to show any field of it."""

    tree: Mapping[str, Any]
    first: Mapping[str, Any] | None  # as a starter began, None where there are no examples
    system: System
    lang: str
    mistakes: Mapping[str, Mistake] = field(default_factory=dict)
    known: Collection[str] = ()
