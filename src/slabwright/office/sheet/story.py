"""What a revision did, in words that a crew leader can read."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from slabwright.notes.emit import flow
from slabwright.notes.mistakes import dotted, shorten
from slabwright.office.sheet import words
from slabwright.office.sheet.shape import KeyPath, PlaceError, spot
from slabwright.office.sheet.view import shown
from slabwright.office.words import word

NEAR = 1  # unchanged lines shown around a changed one
LONGEST = 240  # letters of one value; a card of a slab has that many when all of it is written
MOST = 12  # changes of one revision told one by one


@dataclass(frozen=True, slots=True)
class Story:
    """What was done: whole sentences, and just the names of what was touched."""

    lines: tuple[str, ...]
    short: tuple[str, ...]


def story(kind: str, changes: Sequence[Mapping[str, Any]], lang: str) -> Story:
    """Return what a revision of a kind (start, edit, undo, text, ...) with these changes did."""
    if kind != "edit" or not changes:
        said = word(f"story-{kind}" if kind != "edit" else "story-nothing", lang)
        return Story((said,), (said,))
    lines = tuple(_line(one, lang) for one in changes[:MOST])
    if len(changes) > MOST:
        lines = (*lines, word("sheet-more-findings", lang, n=len(changes) - MOST))
    return Story(lines, tuple(dict.fromkeys(name_of(tuple(one["path"]), lang) for one in changes)))


def _line(one: Mapping[str, Any], lang: str) -> str:
    path: KeyPath = tuple(one["path"])
    what = name_of(path, lang)
    if one["kind"] == "append":
        return word("story-added", lang, what=what, value=said_of((*path, 0), one.get("value"), lang))
    was, value = said_of(path, one.get("was"), lang), said_of(path, one.get("value"), lang)
    if one["kind"] == "delete":
        return word("story-took", lang, what=what, was=was)
    return (
        word("story-set", lang, what=what, was=was, value=value)
        if was
        else word("story-wrote", lang, what=what, value=value)
    )


def said_of(path: KeyPath, value: Any, lang: str) -> str:
    """Return what stands at a place of the job file in the sheet's own words: labels and choices, no keys."""
    text = _said(path, value, lang)
    return text if len(text) <= LONGEST else text[: LONGEST - 3] + "..."


def _said(path: KeyPath, value: Any, lang: str, *, inside: bool = False) -> str:
    if value is None:
        return ""
    if isinstance(value, Mapping):
        told = ", ".join(
            f"{_key(path, str(key), lang)}: {_said((*path, str(key)), one, lang, inside=True)}"
            for key, one in value.items()
            if one is not None
        )
        return f"({told})" if inside else told
    if isinstance(value, Sequence) and not isinstance(value, str):
        told = ", ".join(_said((*path, n), one, lang, inside=True) for n, one in enumerate(value))
        return f"({told})" if inside else told
    try:
        at = spot(path)
    except PlaceError:
        at = None  # a reading under a short form of its own, such as A-B: 42'
    if at is not None and at.wants in ("choice", "yesno"):
        return words.choice(shown(at, value), lang, at.key.name)
    return shorten(value if isinstance(value, str) else flow(value))


def _key(path: KeyPath, key: str, lang: str) -> str:
    """Return what a key of a record is called; a name of somebody's own stays as it is."""
    try:
        at = spot((*path, key))
    except PlaceError:
        return shorten(key)
    return shorten(key) if at.named else words.label(at, lang)


def name_of(path: KeyPath, lang: str) -> str:
    """Return what a place of the job file is called: 'Tape pulls 3, A-B' or 'Slabs 1, Width'."""
    said: list[str] = []
    for n, part in enumerate(path):
        if isinstance(part, int):
            if said:
                said[-1] = f"{said[-1]} {part + 1}"
            continue
        try:
            at = spot(path[: n + 1])
        except PlaceError:
            said.append(part)  # a name, or both names of a pull
            continue
        said.append(part if at.named else words.label(at, lang))
    return ", ".join(said) or dotted(path)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a difference: 'gone', 'new' or 'same', its text, its number in the newer text if any."""

    kind: str
    text: str
    number: int | None = None


def difference(old: str, new: str) -> tuple[Line, ...]:
    """Return the lines that differ between two texts, with a line of what stands around them."""
    return tuple(_lines(old.splitlines(), new.splitlines()))


def _lines(old: list[str], new: list[str]) -> Iterator[Line]:
    for group in difflib.SequenceMatcher(None, old, new, autojunk=False).get_grouped_opcodes(NEAR):
        yield Line("gap", "")
        for tag, a, b, c, d in group:
            if tag == "equal":
                yield from (Line("same", text, c + n + 1) for n, text in enumerate(new[c:d]))
                continue
            yield from (Line("gone", text) for text in old[a:b])
            yield from (Line("new", text, c + n + 1) for n, text in enumerate(new[c:d]))
