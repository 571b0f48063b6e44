"""What the models refuse, in the words of the trade: no message of the models' library reaches a person."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from slabwright.measure import MeasureError
from slabwright.notes.layout import Key, branches, item_of, items_of, keys_of, named_of, row_of
from slabwright.notes.mistakes import Mistake, dotted
from slabwright.notes.models import Notes, Row
from slabwright.notes.tidy import Path, Tidier
from slabwright.notes.values import Listed, Mapped, Written


def translate(error: ValidationError, tree: Any, tidier: Tidier) -> list[Mistake]:
    """Return a mistake for each error of the models, those left out that the tidier has said already."""
    out: list[Mistake] = []
    seen: set[Path] = set()
    for item in error.errors(include_url=False):
        path, node, parent, key = _locate(item["loc"], tree)
        missing = item["type"] == "missing"
        if missing:
            path = (*path, str(item["loc"][-1])) if not isinstance(item["loc"][-1], int) else path
            if path in tidier.meant:
                continue
        if item["type"] == "too_short" and len(node) >= item["ctx"]["min_length"]:
            continue  # its items are there, and have mistakes of their own
        if len(path) < len(item["loc"]) and item["type"] in _OTHER_BRANCH.get(type(node), ()):
            continue  # the branch of a union that this node was never meant for
        if path in seen or any(path[: len(bad)] == bad for bad in tidier.bad):
            continue
        seen.add(path)
        if missing:
            out.append(_missing(path, parent, key, tidier))
            continue
        why, example = in_words(item, key)
        place = node if getattr(node, "line", None) is not None else parent
        written = str(node) if isinstance(node, str) else None
        out.append(
            Mistake(
                tidier.file,
                getattr(place, "line", None),
                getattr(place, "column", None),
                dotted(path),
                written,
                why,
                example,
            )
        )
    return out


def _missing(path: Path, parent: Any, key: Key | None, tidier: Tidier) -> Mistake:
    why = "has no value" if path in tidier.empty else "is missing"
    parent = tidier.empty.get(path, parent)
    example = f"{key.name}: {key.example}" if key is not None else None
    if key is not None and key.example.startswith("- "):
        example = f"{key.name}: [{key.example[2:]}]"
    return Mistake(tidier.file, getattr(parent, "line", None), None, dotted(path), None, why, example)


def _locate(loc: tuple[int | str, ...], tree: Any) -> tuple[Path, Any, Any, Key | None]:
    """Follow an error's place through the tree; parts that name a branch of a union are passed over.

    Returns the path as it is written, the node there, the record or list around it, and its key.
    """
    path: list[str | int] = []
    node, parent = tree, None
    model: type[Row] | None = Notes
    kind: Any = Notes
    key: Key | None = None
    for part in loc:
        if isinstance(part, int) and isinstance(node, Listed) and part < len(node):
            items = items_of(kind)
            kind = item_of(kind) or (items[part] if items else kind)
            node, parent = node[part], node
            path.append(part)
        elif isinstance(part, str) and isinstance(node, Mapped):
            if model is not None and part in keys_of(model):
                key = keys_of(model)[part]
                kind = key.type
            elif named_of(kind) is not None and part in node:
                kind = named_of(kind)
            else:
                continue
            if part not in node:
                return tuple(path), None, node, key
            node, parent = node[part], node
            path.append(part)
        else:
            continue
        kind = _fitting(kind, node)
        model = row_of(kind)
    return tuple(path), node, parent, key


def _fitting(kind: Any, node: Any) -> Any:
    """Return the branch of a type that the node's shape fits."""
    options = branches(kind)
    for option in options:
        if isinstance(node, Mapped) and (row_of(option) or named_of(option)):
            return option
        if isinstance(node, Listed) and (item_of(option) or items_of(option)):
            return option
    return options[0] if len(options) == 1 else kind


def in_words(item: Any, key: Key | None) -> tuple[str, str | None]:
    """Return why the value cannot be, and an example that can."""
    kind: str = item["type"]
    limits: dict[str, Any] = item.get("ctx", {})
    example = None if key is None else _shown(key)
    cause = limits.get("error")
    if isinstance(cause, MeasureError):
        reason = cause.reason.rstrip(".")
        return f"cannot be read, at character {cause.at + 1}: {reason}", cause.example
    if isinstance(cause, Exception):
        return str(cause).rstrip("."), example
    for start, words in _TYPES:
        if kind.startswith(start):
            return words.format_map({name: _plain(value) for name, value in limits.items()}), example
    return "cannot be used here", example


# The start of an error's type, and what it means. The order matters: the first that fits is taken.
_TYPES: tuple[tuple[str, str], ...] = (
    ("string_too_short", "is empty"),
    ("string_too_long", "is longer than {max_length} characters"),
    ("string", "must be plain text"),
    ("bool", "is neither yes nor no"),
    ("int_from_float", "is not a whole number"),
    ("int", "is not a whole number"),
    ("float", "is not a number"),
    ("finite_number", "is not a number"),
    ("greater_than_equal", "is less than {ge}, the least that can be"),
    ("greater_than", "is not more than {gt}"),
    ("less_than_equal", "is more than {le}, the most that can be"),
    ("less_than", "is not less than {lt}"),
    ("too_short", "holds {actual_length}, and at least {min_length} are wanted"),
    ("too_long", "holds more than {max_length}, the most that can be"),
    ("tuple", "must be a list"),
    ("dict", "must be names with a value each"),
    ("model", "must be a record with keys"),
    ("literal", "is not one of the words that can stand here"),
    ("enum", "is not one of the words that can stand here"),
)


# Errors of the branch that a node of this class does not belong to, where a value may be of two kinds.
_OTHER_BRANCH: dict[type, tuple[str, ...]] = {
    Mapped: ("string_type",),
    Written: ("model_type", "model_attributes_type", "tuple_type"),
    Listed: ("literal_error", "string_type"),
}


def _plain(value: Any) -> Any:
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _shown(key: Key) -> str:
    return key.example if key.example.startswith("- ") else f"{key.name}: {key.example}"
