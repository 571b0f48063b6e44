"""A job file's YAML events, scanned once: a text is read, changed and planned within the same second.

A job file is a mapping whose keys stand at the left edge. Such a text is scanned key by key, and the
events of a key that was scanned before are kept: an edit scans one key anew, not the whole file. Text of
any other form, and text with a fault in it, is scanned as a whole, so that faults are told one way.
"""

from __future__ import annotations

import re
from collections import OrderedDict
from collections.abc import Iterator
from enum import Enum
from threading import Lock
from typing import Any, NamedTuple

from ruamel.yaml import YAML
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from slabwright.notes.syntax import tabs_to_spaces

KEPT = 8  # texts
SHORT = 400  # letters under which scanning again costs nothing
LONG = 300_000  # letters above which the parts are not tried: what is that long is seldom a job file
DEEP = 24  # lists and mappings within each other; a job file nests 7
KEPT_LETTERS = 600_000  # of the parts that are kept, some 25 MB of events

# A key at the left edge begins a part of its own; blank lines, comments and items of the key above do not.
_KEY = re.compile(r"[A-Za-z_][^:#\n]*:(?=[ \n]|$)")
_WITHIN = re.compile(r"[ \t#\n]|-[ \n]|$")


class Kind(Enum):
    """What an event tells."""

    DOCUMENT = "document"
    MAPPING = "mapping"
    LIST = "list"
    END = "end"
    SCALAR = "scalar"
    ALIAS = "alias"


_KINDS = {
    DocumentStartEvent: Kind.DOCUMENT,
    MappingStartEvent: Kind.MAPPING,
    SequenceStartEvent: Kind.LIST,
    MappingEndEvent: Kind.END,
    SequenceEndEvent: Kind.END,
    ScalarEvent: Kind.SCALAR,
    AliasEvent: Kind.ALIAS,
}

_STEP = {kind: (kind in (Kind.MAPPING, Kind.LIST)) - (kind is Kind.END) for kind in Kind}


class Event(NamedTuple):
    """An event with where it begins and ends: lines, columns and letters are counted from 0."""

    kind: Kind
    line: int
    column: int
    at: int
    end_line: int
    end: int
    value: str = ""
    style: str | None = None  # the quote around a scalar, | or >; None for a plain one
    flow: bool = False  # in brackets or braces
    anchor: str | None = None
    tagged: bool = False

    def moved(self, lines: int, letters: int) -> Event:
        """Return the event as it stands so many lines and letters further down."""
        kind, line, column, at, end_line, end, value, style, flow, anchor, tagged = self
        at, end = at + letters, end + letters
        return Event(
            kind, line + lines, column, at, end_line + lines, end, value, style, flow, anchor, tagged
        )


Events = tuple[Event, ...]

_texts: OrderedDict[str, tuple[Events, Exception | None]] = OrderedDict()
_parts: OrderedDict[str, Events] = OrderedDict()
_letters = 0
_lock = Lock()


def events(text: str) -> Iterator[Event]:
    """Yield the events of a YAML text; what the scanner raises is raised where it stands.

    A text that was read to its end before is not scanned again.
    """
    if len(text) < SHORT:
        yield from _scanned(text)
        return
    with _lock:
        known = _texts.get(text)
        if known is not None:
            _texts.move_to_end(text)
    if known is None:
        joined = _by_keys(text) if len(text) <= LONG else None
        if joined is None:
            yield from _kept_while_scanned(text)
            return
        known = (joined, None)
        _keep(text, known)
    yield from known[0]
    if known[1] is not None:
        raise known[1].with_traceback(None)


def _keep(text: str, known: tuple[Events, Exception | None]) -> None:
    with _lock:
        _texts[text] = known
        while len(_texts) > KEPT:
            _texts.popitem(last=False)


def _kept_while_scanned(text: str) -> Iterator[Event]:
    """Yield the events as they are scanned, and keep them once the text has come to its end."""
    found: list[Event] = []
    fault: Exception | None = None
    scanner = _scanned(text)
    while True:
        try:
            event = next(scanner)
        except StopIteration:
            break
        except Exception as error:  # the scanner's own faults are part of what it found
            fault = error
            break
        found.append(event)
        yield event
    _keep(text, (tuple(found), fault))
    if fault is not None:
        raise fault


def _scanned(text: str) -> Iterator[Event]:
    event: Any
    for event in YAML(typ="safe", pure=True).parse(tabs_to_spaces(text)):
        kind = _KINDS.get(type(event))
        if kind is None:
            continue
        begin, end = event.start_mark, event.end_mark
        yield Event(
            kind,
            begin.line,
            begin.column,
            begin.index,
            end.line,
            end.index,
            getattr(event, "value", ""),
            getattr(event, "style", None),
            bool(getattr(event, "flow_style", False)),
            getattr(event, "anchor", None),
            getattr(event, "tag", None) is not None,
        )


def _by_keys(text: str) -> Events | None:
    """Return a text's events put together from those of its keys; None where that cannot be done."""
    starts = _starts(text)
    if not starts:
        return None
    out: list[Event] = []
    line = text.count("\n", 0, starts[0])
    top = Event(Kind.MAPPING, line, 0, starts[0], line, starts[0])
    out += (Event(Kind.DOCUMENT, 0, 0, 0, 0, 0), top)
    for start, end in zip(starts, [*starts[1:], len(text)], strict=True):
        part = text[start:end]
        found = _part(part)
        if found is None:
            return None
        out += [event.moved(line, start) for event in found] if start else found
        line += part.count("\n")
    out.append(Event(Kind.END, line, 0, len(text), line, len(text)))
    return tuple(out)


def _starts(text: str) -> list[int]:
    """Return where the keys at the left edge begin; nothing where something else stands there too."""
    out, at = [], 0
    while at < len(text):
        if _KEY.match(text, at):
            out.append(at)
        elif not _WITHIN.match(text, at) or (not out and text[at] not in "#\n"):
            return []
        end = text.find("\n", at)
        at = len(text) if end < 0 else end + 1
    return out


def _part(part: str) -> Events | None:
    """Return the events of one key and its value, without the mapping around them; None for anything else."""
    global _letters
    with _lock:
        known = _parts.get(part)
        if known is not None:
            _parts.move_to_end(part)
            return known
    found: list[Event] = []
    depth = values = 0
    try:
        for event in _scanned(part):
            found.append(event)
            depth += _STEP[event.kind]
            values += event.kind is not Kind.END and depth == (1 if _STEP[event.kind] == 0 else 2)
            if depth > DEEP:  # hostile: read as a whole, it is refused at the first bracket too many
                return None
    except Exception:  # the whole text is scanned then, and tells its fault
        return None
    if [event.kind for event in found[:3]] != [Kind.DOCUMENT, Kind.MAPPING, Kind.SCALAR] or values != 2:
        return None
    inner = tuple(found[2:-1])
    with _lock:
        if part not in _parts:
            _letters += len(part)
        _parts[part] = inner
        while _letters > KEPT_LETTERS:
            _letters -= len(_parts.popitem(last=False)[0])
    return inner
