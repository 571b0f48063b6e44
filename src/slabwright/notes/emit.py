"""Values as job-file text: quoted only where plain text would be read as something else."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from slabwright.notes.mistakes import NotesError
from slabwright.notes.nodes import parse_nodes
from slabwright.notes.values import Listed, Mapped

_WIDE = 100  # a record longer than this is written over several lines
_UNSAFE = frozenset("\n\r\t\x85\u2028\u2029")

Value = str | int | float | bool | None | Mapping[str, Any] | Sequence[Any]


def scalar(value: Any) -> str:
    """Return a single value as text; booleans as yes and no, None as nothing."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = value if isinstance(value, str) else _number(value)
    return text if _plain_reads_back(text) else json.dumps(text, ensure_ascii=False)


def flow(value: Value) -> str:
    """Return a value on one line, lists in brackets and records in braces."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{scalar(str(k))}: {flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(flow(v) or "null" for v in value) + "]"
    return scalar(value) or "null"


def block(value: Value, indent: int = 0) -> str:
    """Return a record or list over lines, indented by `indent` spaces, ending with a newline.

    Inner records and lists stay on one line as long as they fit.
    """
    pad = " " * indent
    out = []
    if isinstance(value, Mapping):
        for key, inner in value.items():
            out.append(f"{pad}{scalar(str(key))}:{behind(inner, indent)}")
    elif isinstance(value, Sequence) and not isinstance(value, str):
        for inner in value:
            line = flow(inner)
            if isinstance(inner, Mapping) and len(inner) == 1:
                line = line[1:-1]  # - A-B: 42' 0 1/4
            elif isinstance(inner, Mapping) and inner and len(line) + indent + 2 > _WIDE:
                line = block(inner, indent + 2)[indent + 2 :].rstrip("\n")
            out.append(f"{pad}- {line}\n")
    else:
        out.append(f"{pad}{scalar(value)}\n")
    return "".join(out)


def behind(value: Value, indent: int) -> str:
    """Return what stands behind a key's colon, newline included."""
    if not isinstance(value, Mapping | Sequence) or isinstance(value, str):
        text = scalar(value)
        return f" {text}\n" if text else "\n"
    line = flow(value)
    nested = isinstance(value, Sequence) and any(isinstance(v, Mapping) for v in value)
    if not value or (not nested and len(line) + indent + 20 <= _WIDE):
        return f" {line}\n"
    return "\n" + block(value, indent + 2)


def _number(value: float) -> str:
    return repr(value) if isinstance(value, float) else str(value)


@lru_cache(maxsize=8_192)
def _plain_reads_back(text: str) -> bool:
    """Return whether plain text is read as itself, as a key, in braces and after a key."""
    if not text or text != text.strip() or _UNSAFE & set(text) or text[:1] in "\"'":
        return False
    try:
        root, mistakes = parse_nodes(f"k: {text}\nf: {{{text}: [{text}, {text}]}}\n", "")
    except NotesError:
        return False
    if mistakes or not isinstance(root, Mapped) or root.get("k") != text:
        return False
    inner = root.get("f")
    return isinstance(inner, Mapped) and list(inner) == [text] and inner[text] == Listed([text, text])
