"""Edits of a job file's text: what is asked, what clashes with others, what may not be. No database."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from slabwright.notes import Append, Delete, Mistake, NotesError, Set, WriteError, update
from slabwright.notes.mistakes import dotted
from slabwright.notes.nodes import CONTROL
from slabwright.notes.writer import applied
from slabwright.office.planning import NAME, read, tree_of

Kind = Literal["set", "delete", "append"]
KeyPath = tuple[str | int, ...]


class _Unseen:
    """The sender did not say what stood there."""


# Line ends, and what no YAML may hold (notes.nodes.CONTROL, half letters); a tab is a space.
_ODD = re.compile(f"[\n\r\x85\u2028\u2029\ud800-\udfff]|{CONTROL.pattern}")
UNSEEN: Final = _Unseen()
MISSING: Final = None  # nothing stands there; a job file has no other nothing


@dataclass(frozen=True, slots=True)
class Edit:
    """One change: `seen` is what stood at `path` when the sender began, UNSEEN where it does not matter."""

    kind: Kind
    path: KeyPath
    value: Any = None
    seen: Any = UNSEEN

    def data(self, was: Any) -> dict[str, Any]:
        """Return the edit as it is kept, with what stood there before."""
        return {"kind": self.kind, "path": list(self.path), "value": self.value, "was": was}


@dataclass(frozen=True, slots=True)
class Clash:
    """Somebody else changed the same field: what was seen, what stands now, what is wanted."""

    path: KeyPath
    seen: Any
    now: Any
    wanted: Any


class EditError(ValueError):
    """An edit that cannot be understood; str() says why."""


def edit_of(data: Mapping[str, Any]) -> Edit:
    """Return an edit from what a page or a program sent: {kind, path, value, seen}. Raises EditError."""
    kind, path = data.get("kind", "set"), data.get("path")
    if kind not in ("set", "delete", "append"):
        raise EditError(f"kind is {kind!r}; write set, delete or append")
    if not isinstance(path, Sequence) or isinstance(path, str) or not path or len(path) > 12:
        raise EditError('path is no list of keys; write for example ["slabs", 0, "width"]')
    for part in path:
        odd = isinstance(part, str) and _ODD.search(part)
        if isinstance(part, bool) or not isinstance(part, str | int) or len(str(part)) > 200 or odd:
            raise EditError(f"{part!r} in path is neither a key nor a number")
    value = _value(data.get("value"), 0) if kind != "delete" else None
    if kind != "delete" and (value is None or value == ""):
        raise EditError("value is empty; to take something away, send kind delete")
    seen = _value(data["seen"], 0) if "seen" in data else UNSEEN
    return Edit(kind, tuple(path), value, seen)


def _value(raw: Any, depth: int) -> Any:
    """Return a value with every scalar as text, as a job file holds it."""
    if depth > 8:
        raise EditError("value is nested too deep")
    if raw is None:
        return None
    if isinstance(raw, bool):
        return "yes" if raw else "no"
    if isinstance(raw, Mapping):
        return {_text(k): _value(v, depth + 1) for k, v in raw.items() if v is not None}
    if isinstance(raw, list | tuple):
        return [_value(v, depth + 1) for v in raw]
    return _text(raw).strip()


def _text(raw: Any) -> str:
    """Return a value or a key as one line of text. Raises EditError for what a job file cannot hold."""
    text = str(raw)
    if len(text) > 2_000:
        raise EditError("value is longer than 2,000 letters")
    if _ODD.search(text):
        raise EditError("value holds a line end or a control character")
    return text


def at(tree: Any, path: Iterable[str | int]) -> Any:
    """Return what stands at `path` of a plain tree, MISSING where nothing does."""
    here = tree
    for part in path:
        if isinstance(here, Mapping) and isinstance(part, str):
            here = here.get(part, MISSING)
        elif isinstance(here, list) and isinstance(part, int) and 0 <= part < len(here):
            here = here[part]
        else:
            return MISSING
    return here


def rebased(edit: Edit, since: Iterable[Mapping[str, Any]]) -> Edit | None:
    """Return the edit with its place as it is after changes of others; None where its row was taken away."""
    path = list(edit.path)
    for change in since:
        if change.get("kind") != "delete":
            continue
        gone = change["path"]
        place = len(gone) - 1
        if not isinstance(gone[-1], int) or len(path) <= place or path[:place] != gone[:-1]:
            continue
        index = path[place]
        if not isinstance(index, int):
            continue
        if index == gone[-1]:
            return None
        if index > gone[-1]:
            path[place] = index - 1
    return Edit(edit.kind, tuple(path), edit.value, edit.seen)


def clash_of(tree: Any, edit: Edit) -> Clash | None:
    """Return the clash of an edit with what stands there now, None where there is none."""
    if isinstance(edit.seen, _Unseen) or edit.kind == "append":
        return None
    now = at(tree, edit.path)
    if now == edit.seen or (edit.kind == "set" and now == edit.value):
        return None
    return Clash(edit.path, edit.seen, now, edit.value)


def then(tree: Any, edit: Edit) -> Any:
    """Return the tree as it is after an edit; the tree itself where the edit has no place in it."""
    try:
        return applied(tree, _change(edit))
    except (NotesError, WriteError):
        return tree


def mistakes_of(text: str) -> tuple[Mistake, ...]:
    """Return what is wrong with a text; none where it can be used."""
    return read(text)[1]


def made(text: str, edits: Sequence[Edit]) -> tuple[str, tuple[Mistake, ...]]:
    """Return the text with the edits made, and the mistakes for which they may not be kept.

    A mistake that an edit makes at its own place refuses it; one elsewhere (a point that is used and no
    longer measured) does not: notes are half done most of the time, and the page says so.
    """
    try:
        new = update(text, [_change(edit) for edit in edits])
    except WriteError as error:
        return text, (Mistake(NAME, None, None, dotted(edits[0].path), None, str(error), None),)
    except NotesError as error:
        return text, error.mistakes
    wrong = mistakes_of(new)
    if not wrong:
        return new, ()
    before = {(m.field, m.why) for m in mistakes_of(text)}
    touched = [field for edit in edits if edit.kind != "delete" for field in _touched(new, edit)]
    own = tuple(
        m
        for m in wrong
        if (m.field, m.why) not in before and any(_within(m.field, field) for field in touched)
    )
    return (text, own) if own else (new, ())


def _change(edit: Edit) -> Set | Delete | Append:
    if edit.kind == "delete":
        return Delete(edit.path)
    return (Append if edit.kind == "append" else Set)(edit.path, edit.value)


def _touched(text: str, edit: Edit) -> tuple[str, ...]:
    """Return the fields that an edit wrote, as mistakes name them.

    A row in short form (`- A-B: 48'`) is read as a record of its own keys, so that a mistake in it has
    another name than the path that was written: the whole row counts.
    """
    tree = tree_of(text)
    if edit.kind == "append":
        rows = at(tree, edit.path)
        return (dotted((*edit.path, len(rows) - 1)) if isinstance(rows, list) else dotted(edit.path),)
    for n, part in enumerate(edit.path[:-1]):
        row = at(tree, edit.path[: n + 1])
        if isinstance(part, int) and isinstance(row, Mapping) and len(row) == 1:
            return dotted(edit.path), dotted(edit.path[: n + 1])
    return (dotted(edit.path),)


def _within(field: str, outer: str) -> bool:
    return field == outer or field.startswith(outer + ".") or outer.startswith(field + ".")
