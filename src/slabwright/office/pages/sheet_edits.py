"""What a page sends as edits: typed texts made into what a job file holds at that place."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from slabwright.notes import Mistake, NotesError
from slabwright.notes.layout import branches, choices_of
from slabwright.notes.mistakes import dotted
from slabwright.notes.models import Row
from slabwright.notes.nodes import parse_nodes, plain
from slabwright.notes.spelled import wanted_by
from slabwright.office.actions.edits import Edit, EditError, edit_of
from slabwright.office.sheet.shape import KeyPath, PlaceError, Spot, row_at, spot
from slabwright.office.sheet.view import shown

EMPTY = "this cannot be left empty"
MOST_EDITS = 500  # a phone that was away for a day sends its changes one by one


class TypedError(Exception):
    """Typed values that cannot be kept; `mistakes` say which and why."""

    def __init__(self, mistakes: list[Mistake]) -> None:
        super().__init__("; ".join(str(m) for m in mistakes))
        self.mistakes = mistakes


@dataclass(frozen=True, slots=True)
class Sent:
    """A change as it came: its edits, the revision that its page shows, the sender's own number of it."""

    edits: list[Edit]
    base: int
    client: str


def value_of(at: Spot, text: str) -> Any:
    """Return a typed text as the job file holds it: lists and pairs taken apart, the rest as it was typed.

    Raises NotesError for brackets and quotes that do not close.
    """
    text = text.strip()
    if at.wants == "record":
        return _parsed(text) if text.startswith("{") else text
    if at.wants not in ("list", "pair"):
        return text
    if text.startswith("[") and text.endswith("]"):
        return _parsed(text)
    if "," not in text and not text.startswith("{"):
        whole = any(text in choices_of(kind) for kind in branches(at.type))
        return text if whole or at.wants == "pair" else [text]
    return _parsed(f"[{text}]")


def _parsed(text: str) -> Any:
    root, mistakes = parse_nodes(f"k: {text}", "notes")
    if mistakes:
        raise NotesError(mistakes)
    return plain(root)["k"]


def typed_edit(data: Mapping[str, Any]) -> Edit:
    """Return the edit of one typed field or of one record to add. Raises EditError and TypedError."""
    value = data.get("value")
    if data.get("kind") == "append":
        path = edit_of({**data, "kind": "delete"}).path
        return Edit("append", path, _record(path, value))
    empty = data.get("kind", "set") == "set" and isinstance(value, str) and not value.strip()
    edit = edit_of({**data, "kind": "delete"} if empty else data)
    if not empty and (edit.kind != "set" or not isinstance(value, str)):
        return edit
    try:
        at = spot(edit.path)
    except PlaceError:
        raise EditError(f"{dotted(edit.path)} is no place of a job file") from None
    if not empty:
        return Edit("set", edit.path, _value(at, edit.path, str(edit.value)), edit.seen)
    if at.key.name in wanted_by(at.row) and not at.named:
        raise TypedError([_wrong(edit.path, "", EMPTY, at)])
    return edit


def _value(at: Spot, path: KeyPath, text: str) -> Any:
    try:
        return value_of(at, text)
    except NotesError as error:
        raise TypedError([_wrong(path, text, error.mistakes[0].why, at)]) from None


def _wrong(path: KeyPath, text: str, why: str, at: Spot) -> Mistake:
    return Mistake("notes", None, None, dotted(path), text or None, why, at.example)


def _record(path: KeyPath, value: Any) -> Any:
    """Return what is to be added to a list, its typed values taken apart; what is needed must be there."""
    try:
        if isinstance(value, Mapping):
            return _keys(path, row_at(path), value)
        at = spot((*path, 0))
    except PlaceError:
        raise EditError(f"{dotted(path)} is no list of a job file that this can be added to") from None
    if not isinstance(value, str):
        return edit_of({"kind": "append", "path": path, "value": value}).value
    if not value.strip():
        raise TypedError([_wrong((*path, "+value"), "", EMPTY, at)])
    return _value(at, (*path, "+value"), value)


def _keys(path: KeyPath, row: type[Row], value: Mapping[str, Any]) -> dict[str, Any]:
    made: dict[str, Any] = {}
    missing: list[Mistake] = []
    for key, given in edit_of({"path": path, "value": value}).value.items():
        at = spot((*path, 0, key))
        if given:
            made[key] = _value(at, (*path, "+", key), given) if isinstance(given, str) else given
    for key in wanted_by(row):
        at = spot((*path, 0, key))
        if key not in made and at.wants == "record":
            made[key] = {}
        elif key not in made:
            missing.append(_wrong((*path, "+", key), "", EMPTY, at))
    if missing:
        raise TypedError(missing)
    return made


def sent_json(body: bytes) -> Sent:
    """Return the change {edits, base, client} that a page's script sent. Raises EditError and TypedError."""
    try:
        sent = json.loads(body)
        rows, base = list(sent["edits"]), int(sent["base"])
        client = str(sent.get("client") or "")[:40]
        if not rows or len(rows) > MOST_EDITS or not all(isinstance(row, Mapping) for row in rows):
            raise EditError(f"between 1 and {MOST_EDITS} edits are wanted")
    except (KeyError, TypeError, ValueError, ArithmeticError, AttributeError, RecursionError) as error:
        raise EditError(str(error)[:200]) from None
    return Sent([typed_edit(row) for row in rows], base, client)


def sent_form(form: Mapping[str, str]) -> Sent:
    """Return the change of a plain form: `v:<path>` beside `s:<path>`, `take` a path, `add` with its `n:`.

    Raises EditError and TypedError.
    """
    try:
        base, client = int(form.get("base", "")), form.get("client", "")[:40]
        rows = _changed(form)
        if form.get("take"):
            rows.append({"kind": "delete", "path": json.loads(form["take"])})
        if form.get("add"):
            rows.append(_adding(json.loads(form["add"]), form))
    except (ValueError, RecursionError) as error:
        raise EditError(str(error)[:200]) from None
    return Sent([typed_edit(row) for row in rows], base, client)


def _changed(form: Mapping[str, str]) -> list[dict[str, Any]]:
    out = []
    for name, text in form.items():
        if not name.startswith("v:"):
            continue
        path, seen = json.loads(name[2:]), json.loads(form.get(f"s:{name[2:]}", "null"))
        if _was(tuple(path), seen) == text.strip():
            continue
        out.append({"kind": "set", "path": path, "value": text, "seen": seen})
    return out


def _was(path: KeyPath, seen: Any) -> str:
    """Return what stood in a field before, as it was shown."""
    try:
        return shown(spot(path), seen).strip()
    except PlaceError:
        return str(seen or "")


def _adding(path: list[Any], form: Mapping[str, str]) -> dict[str, Any]:
    """Return the edit that adds a record with the `n:` fields of its own list."""
    given = {}
    for name, text in form.items():
        place = json.loads(name[2:]) if name.startswith("n:") else []
        if place and place[: len(path)] == path and len(place) <= len(path) + 2:
            given[str(place[-1])] = text
    if "+name" in given:
        name = " ".join(given["+name"].split())
        for key, text, example in (("+name", name, "N5"), ("+value", given.get("+value", "").strip(), None)):
            if not text:
                raise TypedError([Mistake("notes", None, None, dotted((*path, key)), None, EMPTY, example)])
        return {"kind": "set", "path": [*path, name], "value": given.get("+value", ""), "seen": None}
    if "+value" in given:
        return {"kind": "append", "path": path, "value": given["+value"]}
    return {"kind": "append", "path": path, "value": given}
