"""The shape of the job file, read off the models: which keys a record has and what each may hold."""

from __future__ import annotations

import types
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import WithJsonSchema

from slabwright.notes.models import Notes, Row, key_of
from slabwright.notes.values import Name
from slabwright.tables import table

# Keys that the models require and the reader fills in when they are left out.
_FILLED_IN = frozenset({("Door", "name")})


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a record: its name in the file, the field's type, what it says, an example."""

    name: str
    type: Any
    required: bool
    says: str
    example: str


def bare(annotation: Any) -> Any:
    """Return a type without its Annotated wrapper and without 'or None'."""
    while True:
        if get_origin(annotation) is Annotated:
            annotation = get_args(annotation)[0]
        elif get_origin(annotation) in (Union, types.UnionType):
            parts = [a for a in get_args(annotation) if a is not type(None)]
            if len(parts) != 1:
                return annotation
            annotation = parts[0]
        else:
            return annotation


@cache
def branches(annotation: Any) -> tuple[Any, ...]:
    """Return the kinds that a value may be, None left out."""
    kind = bare(annotation)
    if get_origin(kind) in (Union, types.UnionType):
        return tuple(a for a in get_args(kind) if a is not type(None))
    return (annotation,)


@cache
def row_of(annotation: Any) -> type[Row] | None:
    """Return the record class that a type is, or None."""
    kind = bare(annotation)
    return kind if isinstance(kind, type) and issubclass(kind, Row) else None


@cache
def item_of(annotation: Any) -> Any | None:
    """Return the item type of an open list (tuple[X, ...]), or None."""
    kind = bare(annotation)
    args = get_args(kind)
    return args[0] if get_origin(kind) is tuple and len(args) == 2 and args[1] is Ellipsis else None


@cache
def items_of(annotation: Any) -> tuple[Any, ...] | None:
    """Return the item types of a list of fixed length (tuple[X, Y]), or None."""
    kind = bare(annotation)
    return get_args(kind) if get_origin(kind) is tuple and item_of(annotation) is None else None


@cache
def named_of(annotation: Any) -> Any | None:
    """Return the value type of a mapping by name (dict[Name, X]), or None."""
    kind = bare(annotation)
    return get_args(kind)[1] if get_origin(kind) is dict else None


@cache
def choices_of(annotation: Any) -> tuple[str, ...]:
    """Return the words that a value may be, or nothing when it is no choice."""
    kind = bare(annotation)
    if get_origin(kind) is Literal:
        return tuple(str(c) for c in get_args(kind))
    return tuple(str(c.value) for c in kind) if isinstance(kind, type) and issubclass(kind, Enum) else ()


@cache
def is_name(annotation: Any) -> bool:
    """Return whether a type is a name (of a point, a slab, a set-up), or a name or None."""
    return annotation is Name or Name in get_args(annotation)


def published(annotation: Any) -> dict[str, Any] | None:
    """Return the schema (type, description, examples) that a trade value carries with it, else None."""
    for part in get_args(annotation):
        if isinstance(part, WithJsonSchema):
            return part.json_schema
        found = published(part)
        if found is not None:
            return found
    return None


@cache
def keys_of(row: type[Row]) -> Mapping[str, Key]:
    """Return the keys of a record by their name in the file, in the model's order."""
    words = table("notes", "keys").get(row.__name__, {})
    hints = get_type_hints(row, include_extras=True)  # the models' library takes Annotated apart
    out = {}
    for field, info in row.model_fields.items():
        name = key_of(field)
        if name not in words:
            home = f"src/slabwright/notes/keys.toml, under [{row.__name__}]"
            raise KeyError(
                f'the key {name!r} has no words: write {name} = ["what it says.", "an example"] in {home}'
            )
        says, example = words[name]
        required = info.is_required() and (row.__name__, name) not in _FILLED_IN
        out[name] = Key(name, hints[field], required, says, example)
    return out


def canonical(key: str) -> str:
    """Return a key with hyphens, in small letters: hyphen, space and underscore are the same."""
    return "-".join(key.strip().casefold().replace("_", " ").replace("-", " ").split())


@cache
def all_rows() -> tuple[type[Row], ...]:
    """Return every record class of the job file, the file itself first, in the order of their keys."""
    found: dict[type[Row], None] = {}

    def visit(row: type[Row]) -> None:
        if row in found:
            return
        found[row] = None
        for key in keys_of(row).values():
            for branch in branches(key.type):
                inner = item_of(branch) or named_of(branch) or branch
                for kind in branches(inner):
                    nested = row_of(kind)
                    if nested is not None:
                        visit(nested)

    visit(Notes)
    return tuple(found)
