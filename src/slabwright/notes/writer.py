"""Writing a job file back: one value changed, everything else (comments, order, quotes) left as it was.

A change is made in the text itself, at the place where the value stands, and then read again: what
comes out must hold the old notes with the change and nothing else, or the change is refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import Any, get_args

from slabwright import measure
from slabwright.notes.emit import Value, behind, block, flow, scalar
from slabwright.notes.layout import canonical
from slabwright.notes.mistakes import dotted
from slabwright.notes.models import Use
from slabwright.notes.nodes import parse_nodes, plain, plain_tree
from slabwright.notes.spans import Span, entry_of, line_end, line_start, span_at, spans_of
from slabwright.notes.starters_es import in_spanish

KeyPath = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Set:
    """Write `value` at `path` (keys and 0-based numbers); records on the way are made as needed."""

    path: KeyPath
    value: Value


@dataclass(frozen=True, slots=True)
class Delete:
    """Take away the key or list item at `path`."""

    path: KeyPath


@dataclass(frozen=True, slots=True)
class Append:
    """Add `value` to the end of the list at `path`, which is made when it is not there."""

    path: KeyPath
    value: Value


Change = Set | Delete | Append


class WriteError(ValueError):
    """A change that cannot be made to this text; str() says which and why."""


def update(text: str, changes: Iterable[Change]) -> str:
    """Return the job file's text with the changes made, in their order.

    Raises NotesError when `text` is no YAML, WriteError when a change has no place in it.
    """
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    ends = "\r\n" if "\r\n" in text else "\n"
    text = text.removeprefix(mark).replace("\r\n", "\n")
    for change in changes:
        before, _ = plain_tree(text)
        wanted = applied(before, change)
        made = _edited(text, change)
        after, whole = plain_tree(made)
        if not whole or after != wanted:
            raise WriteError(f"{_name(change)} cannot be changed without rewriting the lines around it")
        text = made
    return mark + text.replace("\n", ends)


def write_new(notes: Mapping[str, Any]) -> str:
    """Return a new job file's text from keys and values; its top-level records stand apart."""
    parts = [block({key: value}) for key, value in notes.items() if value is not None]
    out: list[str] = []
    for part in parts:
        apart = "\n" in part.rstrip("\n") or (bool(out) and "\n" in out[-1].rstrip("\n"))
        out += ["\n" + part] if out and apart else [part]
    return "".join(out)


def new_job(use: str, *, metric: bool = False, lang: str = "en") -> str:
    """Return a starter job file for a use, with comments that say what to replace.

    It can be read and planned as it stands, in feet and inches or in metres, its names and comments in
    English or Spanish ('es'). ValueError names the uses when there is no such use.
    """
    if use not in get_args(Use):
        raise ValueError(f"{use!r} is no use; the uses are {', '.join(get_args(Use))}")
    text = files("slabwright.notes").joinpath("starters", f"{use}.yaml").read_text(encoding="utf-8")
    text = in_spanish(text) if lang == "es" else text
    return in_metres(text) if metric else text


# Feet with or without inches, as the starters write them; a fall is one value, not two lengths.
_FALL = re.compile(r"\d[\d/ ]* in per \d+'")
_FEET = re.compile(r"(?<![\w.])\d+'(?: \d+(?: \d+/\d+)?(?![\w'])| \d+/\d+)?")


def in_metres(text: str) -> str:
    """Return a starter's text with its readings in metres, to the millimetre; remarks stay as they are."""

    def metres(found: re.Match[str]) -> str:
        return f"{measure.read('length', found[0]):.3f} m"

    def fall(found: re.Match[str]) -> str:
        return f"1:{1 / measure.read('slope', found[0]):g}"

    out = []
    for line in text.splitlines(keepends=True):
        said, mark, remark = line.partition(" #")
        if not line.startswith("#"):
            said = _FEET.sub(metres, _FALL.sub(fall, said)).replace("units: imperial", "units: metric")
        out.append(said + mark + remark)
    return "".join(out)


def _name(change: Change) -> str:
    return dotted(change.path) or "the whole file"


def _edited(text: str, change: Change) -> str:
    root = spans_of(text)
    if isinstance(change, Delete):
        return _delete(text, root, change)
    if isinstance(change, Append):
        here = span_at(root, change.path)
        if here is not None and here.kind == "list":
            return _append(text, here, change.value)
        return _set(text, root, change.path, [change.value])
    return _set(text, root, change.path, change.value)


def _set(text: str, root: Span | None, path: KeyPath, value: Value) -> str:
    if not path:
        raise WriteError("the whole file cannot be set: write a new one")
    here = span_at(root, path)
    if here is not None:
        return _replace(text, here, value, _key_span(root, path))
    parent = span_at(root, path[:-1])
    key = path[-1]
    if parent is None or (parent.kind == "scalar" and parent.start == parent.end):
        if isinstance(key, int):
            raise WriteError(f"{dotted(path)} is not there to be set")
        if len(path) == 1:
            gap = "" if not text or text.endswith("\n") else "\n"
            return text + gap + block({key: value})
        return _set(text, root, path[:-1], {key: value})
    if parent.kind != "map" or isinstance(key, int):
        raise WriteError(f"{dotted(path)} is not there to be set")
    if parent.flow:
        entry = f"{scalar(key)}: {flow(value)}"
        return _into_flow(text, parent, entry)
    at = line_end(text, parent.end)
    gap = "" if text[:at].endswith("\n") else "\n"
    pad = " " * parent.column
    return text[:at] + gap + f"{pad}{scalar(key)}:{behind(value, parent.column)}" + text[at:]


def _key_span(root: Span | None, path: KeyPath) -> Span | None:
    """Return the span of the key that a value stands behind, None for the item of a list."""
    parent = span_at(root, path[:-1]) if path else None
    entry = entry_of(parent, path[-1]) if parent is not None and parent.kind == "map" else None
    return entry[1] if entry is not None else None


def _replace(text: str, here: Span, value: Value, key: Span | None) -> str:
    if here.start == here.end:  # nothing was written behind the colon
        return f"{text[: here.start]} {flow(value)}{text[here.end :]}"
    if here.kind == "scalar" or here.flow:
        return text[: here.start] + flow(value) + text[here.end :]
    if value and isinstance(value, Mapping | Sequence) and not isinstance(value, str):
        lines = block(value, here.column)[here.column :].rstrip("\n")
        return text[: here.start] + lines + text[here.end :]
    if key is None:
        return text[: here.start] + flow(value) + text[here.end :]
    colon = text.index(":", key.end) + 1  # a block becomes one value: up behind its key, before any remark
    remark = text[colon : line_end(text, colon)].rstrip("\n")
    return f"{text[:colon]} {flow(value)}{remark}{text[here.end :]}"


def _into_flow(text: str, parent: Span, entry: str) -> str:
    if parent.entries:
        at = parent.entries[-1][2].end
        return f"{text[:at]}, {entry}{text[at:]}"
    return f"{text[: parent.start + 1]}{entry}{text[parent.end - 1 :]}"


def _append(text: str, here: Span, value: Value) -> str:
    if here.flow or not here.entries:
        return _into_flow(text, here, flow(value))
    at = line_end(text, here.end)
    gap = "" if text[:at].endswith("\n") else "\n"
    return text[:at] + gap + block([value], here.column) + text[at:]


def _delete(text: str, root: Span | None, change: Delete) -> str:
    parent = span_at(root, change.path[:-1]) if change.path else None
    entry = entry_of(parent, change.path[-1]) if parent is not None else None
    if parent is None or entry is None:
        raise WriteError(f"{_name(change)} is not there to be taken away")
    if len(parent.entries) == 1:
        if len(change.path) == 1:
            raise WriteError("the last key of a job file cannot be taken away")
        return _replace(text, parent, {} if parent.kind == "map" else [], _key_span(root, change.path[:-1]))
    number = parent.entries.index(entry)
    start, end = entry[1].start, entry[2].end
    if parent.flow or (number == 0 and parent.kind == "map"):
        # up to the next entry's start, which then stands where this one stood
        if number + 1 < len(parent.entries):
            return text[:start] + text[parent.entries[number + 1][1].start :]
        return text[: parent.entries[number - 1][2].end] + text[end:]
    first = line_start(text, start)
    if text[first:start].strip() not in ("", "-"):
        raise WriteError(f"{_name(change)} shares its line with another value")
    return text[:first] + text[line_end(text, end) :]


def _read_back(value: Value) -> Any:
    """Return a value as it is read again: texts in records and lists."""
    if isinstance(value, Mapping):
        return {str(key): _read_back(inner) for key, inner in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_read_back(inner) for inner in value]
    return plain(parse_nodes(f"k: {scalar(value)}", "")[0])["k"]


def applied(tree: Any, change: Change) -> Any:
    """Return the plain tree as it should be after a change."""
    if isinstance(change, Set | Append):
        value = _read_back(change.value)
        return _put(tree, change.path, value, add=isinstance(change, Append))
    return _taken(tree, change.path)


def _key_in(tree: dict[str, Any], part: str) -> str:
    alike = {canonical(key): key for key in reversed(tree)}
    return part if part in tree else alike.get(canonical(part), part)


def _put(tree: Any, path: KeyPath, value: Any, *, add: bool) -> Any:
    if not path:
        return [*(tree or []), value] if add else value
    part, rest = path[0], path[1:]
    if isinstance(part, int):
        if not isinstance(tree, list) or not 0 <= part < len(tree):
            raise WriteError(f"{dotted(path)} is not there to be set")
        return [_put(item, rest, value, add=add) if i == part else item for i, item in enumerate(tree)]
    if tree is not None and not isinstance(tree, dict):
        raise WriteError(f"{dotted(path)} is not there to be set")
    inner = tree or {}
    key = _key_in(inner, part)
    return {**inner, key: _put(inner.get(key), rest, value, add=add)}


def _taken(tree: Any, path: KeyPath) -> Any:
    if not path:
        return tree
    part, rest = path[0], path[1:]
    if isinstance(part, int):
        items = tree if isinstance(tree, list) else []
        if not rest:
            return [item for i, item in enumerate(items) if i != part]
        return [_taken(item, rest) if i == part else item for i, item in enumerate(items)]
    inner = tree if isinstance(tree, dict) else {}
    key = _key_in(inner, part)
    if not rest:
        return {k: v for k, v in inner.items() if k != key}
    return {k: _taken(v, rest) if k == key else v for k, v in inner.items()}
