"""A job file's text to nodes: every scalar stays the text that was written, with line and column.

YAML 1.2 by ruamel.yaml's event stream, composed here without recursion, so that nothing is
resolved to a number or a date (`1:48`, `12.80`, `no`), nothing is expanded (anchors and aliases are
refused) and nothing grows (bytes, depth and count of nodes are bounded). JSON is read by the same
way, for JSON is YAML 1.2.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from ruamel.yaml.error import MarkedYAMLError

from slabwright.notes.mistakes import Mistake, NotesError, dotted, twice
from slabwright.notes.scanned import Event, Kind, events
from slabwright.notes.syntax import control_words, stop, syntax
from slabwright.notes.values import Listed, Mapped, Written

MAX_DEPTH = 20  # the deepest job file that makes sense nests 7
MAX_NODES = 50_000  # 200 slabs and 2,000 readings take about 25,000

_EMPTY = frozenset({"", "~", "null", "Null", "NULL"})
CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ufeff\ufffe\uffff]")
_SURROGATE = re.compile("[\ud800-\udfff]")
_HASH_VALUE = re.compile(r"[ \t]*(#[^\s#][^\n]*)")
_HASH_AFTER_KEY = re.compile(r"[^#\n]*:[ \t]+(#[^\s#][^\n]*)")

Node = Any  # Written | Mapped | Listed | None


@dataclass(slots=True)
class _Open:
    """A list or mapping that is not closed yet, with the key that waits for its value."""

    node: Mapped | Listed
    key: Written | None = None
    skip: bool = False  # the waiting key was written before: drop its value
    first: dict[str, int] = field(default_factory=dict)


def parse_nodes(text: str, name: str) -> tuple[Node, list[Mistake]]:
    """Return the file's tree and the mistakes that do not stop the reading.

    Raises NotesError for text that is no YAML, holds anchors or aliases, or is too deep or too large.
    """
    bad = CONTROL.search(text)
    if bad:
        raise stop(name, text.count("\n", 0, bad.start()) + 1, None, control_words(bad.group()), None)
    composer = _Composer(name, text.split("\n"))
    try:
        composer.run(events(text))
    except NotesError:
        raise
    except MarkedYAMLError as error:
        raise syntax(error, name, composer.lines, composer.long_quote) from None
    except Exception as error:  # whatever else the scanner stumbles over is the file's own fault
        reason = str(error).split("\n")[0][:120]
        raise stop(name, None, None, f"the file cannot be read as YAML ({reason})", None) from None
    return composer.root, composer.mistakes


def plain(node: Node) -> Any:
    """Return a tree as plain dicts, lists and texts."""
    if isinstance(node, Mapped):
        return {str(key): plain(value) for key, value in node.items()}
    if isinstance(node, Listed):
        return [plain(item) for item in node]
    return None if node is None else str(node)


@lru_cache(maxsize=32)
def plain_tree(text: str) -> tuple[Any, bool]:
    """Return a text as plain dicts, lists and texts, and whether nothing in it was written twice or eaten.

    The same tree is given to all who ask: nobody writes into it. Raises NotesError as `parse_nodes` does.
    """
    root, mistakes = parse_nodes(text, "job.yaml")
    return plain(root), not mistakes


class _Composer:
    """Builds the tree from events with a stack of its own."""

    def __init__(self, name: str, lines: list[str]) -> None:
        self.name = name
        self.lines = lines
        self.root: Node = None
        self.mistakes: list[Mistake] = []
        self.stack: list[_Open] = []
        self.count = 0
        self.documents = 0
        self.long_quote: tuple[int, int] | None = (
            None  # first and last line of the last quoted text over several
        )

    def run(self, events: Iterator[Event]) -> None:
        for event in events:
            if event.kind is Kind.DOCUMENT:
                self.documents += 1
                if self.documents > 1:
                    why = "a second job begins here (---); a job file holds one job"
                    raise stop(self.name, event.line + 1, None, why, None)
            elif event.kind is Kind.END:
                self.stack.pop()
                if self.stack:
                    self.stack[-1].key = None
            else:
                if event.anchor is not None or event.tagged:
                    self.refuse(event)
                if event.kind is Kind.SCALAR:
                    self.scalar(event)
                else:
                    self.enter(Mapped() if event.kind is Kind.MAPPING else Listed(), event)

    def refuse(self, event: Event) -> None:
        """Refuse what could make a small file large, or a value something else than what is written."""
        if event.anchor is not None:
            written = f"{'*' if event.kind is Kind.ALIAS else '&'}{event.anchor}"
            why = "is a YAML anchor or alias, not used in a job file: write the value itself, or quote it"
        else:
            written = self.lines[event.line][event.column :].split()[0]
            why = "is a YAML tag, not used in a job file: write the value without it, or quote it"
        raise stop(self.name, event.line + 1, written, why, f'"{written}"', column=event.column + 1)

    def path(self) -> list[str | int]:
        out: list[str | int] = []
        for level in self.stack:
            if isinstance(level.node, Mapped):
                if level.key is not None:
                    out.append(str(level.key))
            else:  # the innermost list is about to receive the value; those around it already have
                out.append(len(level.node) - (level is not self.stack[-1]))
        return out

    def scalar(self, event: Event) -> None:
        line, column, value = event.line + 1, event.column + 1, event.value
        if event.style in ("'", '"') and event.end_line >= line:
            self.long_quote = (line, event.end_line + 1)
        if _SURROGATE.search(value):  # JSON writes letters past 0xFFFF as two escapes
            value = value.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
        top = self.stack[-1] if self.stack else None
        if top is not None and isinstance(top.node, Mapped) and top.key is None:
            self.take_key(top, Written(value.strip(), line, column))
            return
        if event.style is None and value in _EMPTY:
            self.notice_hash(event)
            self.put(None)
        else:
            self.put(Written(value, line, column))

    def take_key(self, top: _Open, key: Written) -> None:
        self.tally()
        top.key = key
        top.skip = key in top.first
        if top.skip:
            why = twice(top.first[key], key.line)
            self.mistakes.append(
                Mistake(self.name, key.line, key.column, dotted(self.path()), None, why, None)
            )
        else:
            top.first[str(key)] = key.line or 0

    def notice_hash(self, event: Event) -> None:
        """Notice a value that YAML took for a comment because it begins with #."""
        top = self.stack[-1] if self.stack else None
        if top is None or event.value:
            return
        if isinstance(top.node, Mapped) and top.key is not None and top.key.line is not None:
            line, start, pattern = top.key.line, (top.key.column or 1) - 1, _HASH_AFTER_KEY
        else:
            line, start, pattern = event.line + 1, event.column, _HASH_VALUE
        eaten = pattern.match(self.lines[line - 1][start:]) if line <= len(self.lines) else None
        if eaten:
            value = eaten.group(1).rstrip()
            why = "begins with #, so YAML takes it for a comment: leave the # off, or quote it"
            example = f'{value.lstrip("#")} or "{value}"'
            self.mistakes.append(
                Mistake(self.name, line, start + 1, dotted(self.path()), value, why, example)
            )

    def enter(self, node: Mapped | Listed, event: Event) -> None:
        top = self.stack[-1] if self.stack else None
        if top is not None and isinstance(top.node, Mapped) and top.key is None:
            raise stop(
                self.name,
                event.line + 1,
                None,
                "a key must be a plain word, not a list or a mapping",
                "width: 3'",
            )
        if len(self.stack) >= MAX_DEPTH:
            raise stop(
                self.name,
                event.line + 1,
                None,
                f"lists and mappings are nested more than {MAX_DEPTH} deep, which no job needs",
                None,
            )
        node.line = event.line + 1
        self.put(node)
        self.stack.append(_Open(node))

    def put(self, value: Node) -> None:
        self.tally()
        if not self.stack:
            self.root = value
            return
        top = self.stack[-1]
        if isinstance(top.node, Mapped):
            if not top.skip and top.key is not None:
                top.node[top.key] = value
            if not isinstance(value, Mapped | Listed):
                top.key = None
        else:
            top.node.append(value)

    def tally(self) -> None:
        self.count += 1
        if self.count > MAX_NODES:
            raise stop(self.name, None, None, f"the file holds more than {MAX_NODES:,} values", None)
