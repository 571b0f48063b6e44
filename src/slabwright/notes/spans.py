"""Where each value of a job file stands in its text, so that one can be changed and the rest left alone."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from slabwright.notes.layout import canonical
from slabwright.notes.scanned import Kind, events

_COLON = re.compile(r"\s*:")


@dataclass(slots=True)
class Span:
    """A value's characters [start, end) in the text; `end` stops behind its last visible character.

    kind: scalar, map or list. `flow`: in brackets or braces. For maps, `entries` are (key, key's span,
    value's span); for lists the key is the item's number as text and its span is the item's own.
    `column` is the 0-based column that it begins in.
    """

    kind: str
    start: int
    end: int
    column: int
    flow: bool = False
    entries: list[tuple[str, Span, Span]] = field(default_factory=list)


def spans_of(text: str) -> Span | None:
    """Return the spans of a whole job file that can be read, None when it is empty."""
    root: Span | None = None
    stack: list[tuple[Span, Span | None, str]] = []  # open map or list, the key that waits, its name

    def put(span: Span) -> None:
        nonlocal root
        if not stack:
            root = span
            return
        top, key, name = stack[-1]
        if top.kind == "list":
            top.entries.append((str(len(top.entries)), span, span))
        elif key is not None:
            if span.kind == "scalar" and span.start == span.end:  # an empty value stands behind its colon
                colon = _COLON.match(text, key.end)
                span.start = span.end = colon.end() if colon else key.end  # {a: 1', b} has none
            top.entries.append((name, key, span))
            stack[-1] = (top, None, "")

    for event in events(text):
        if event.kind is Kind.SCALAR:
            span = Span("scalar", event.at, event.end, event.column)
            span.end = _trimmed(text, span.start, span.end)
            if stack and stack[-1][0].kind == "map" and stack[-1][1] is None:
                stack[-1] = (stack[-1][0], span, event.value.strip())
            else:
                put(span)
        elif event.kind in (Kind.MAPPING, Kind.LIST):
            kind = "map" if event.kind is Kind.MAPPING else "list"
            span = Span(kind, event.at, event.end, event.column, event.flow)
            stack.append((span, None, ""))
        elif event.kind is Kind.END:
            span = stack.pop()[0]
            if span.flow:
                span.end = event.end
            elif span.entries:
                span.end = max(value.end for _, _, value in span.entries)
            put(span)
    return root


def _trimmed(text: str, start: int, end: int) -> int:
    """Return the end without the blanks and line ends that a multi-line value is given."""
    return start + len(text[start:end].rstrip())


def line_start(text: str, at: int) -> int:
    """Return where the line that holds character `at` begins."""
    return text.rfind("\n", 0, at) + 1


def line_end(text: str, at: int) -> int:
    """Return where the line that holds character `at` ends, behind its newline if it has one."""
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1


def span_at(root: Span | None, path: tuple[str | int, ...]) -> Span | None:
    """Return the value's span at a path of keys and 0-based numbers, None when it is not there."""
    here = root
    for part in path:
        found = entry_of(here, part) if here is not None else None
        here = found[2] if found is not None else None
    return here


def entry_of(span: Span, part: str | int) -> tuple[str, Span, Span] | None:
    """Return an entry of a map (keys are alike as the reader takes them) or list."""
    if isinstance(part, int):
        return span.entries[part] if span.kind == "list" and 0 <= part < len(span.entries) else None
    if span.kind != "map":
        return None
    exact = next((e for e in span.entries if e[0] == part), None)
    return exact or next((e for e in span.entries if canonical(e[0]) == canonical(part)), None)
