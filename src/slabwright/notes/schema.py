"""The published JSON Schema of the job file (draft 2020-12), read off the models and keys.toml.

It describes the notes as YAML 1.2 or JSON loads them: keys with hyphens, values as text or numbers,
short forms included. The reader itself is more forgiving (key spelling, capitals) and checks more.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from pydantic import TypeAdapter
from ruamel.yaml import YAML

from slabwright.notes.layout import (
    Key,
    all_rows,
    bare,
    branches,
    choices_of,
    is_name,
    item_of,
    items_of,
    keys_of,
    named_of,
    published,
    row_of,
)
from slabwright.notes.models import Notes, Pull, Row, SquareOff, WaterLevel
from slabwright.notes.values import Name

Schema = dict[str, Any]

_TEXT: Schema = {"type": ["string", "number"]}
_NAME: Schema = {"type": ["string", "integer"], "minLength": 1, "maxLength": 60}
_YES_NO: Schema = {"enum": [True, False, "yes", "no", "Yes", "No"]}


def job_schema() -> Schema:
    """Return the schema as plain data, ready for json.dumps; the same on every call."""
    defs = {row.__name__: _row(row) for row in all_rows() if row is not Notes}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:slabwright:job-file:1",
        "title": "Slabwright job file",
        "description": "Field notes of a concrete walk, patio or driveway, as they were written on site.",
        **_row(Notes),
        "$defs": defs,
    }


def _row(row: type[Row]) -> Schema:
    keys = keys_of(row)
    full: Schema = {
        "type": "object",
        "properties": {name: _described(key) for name, key in keys.items()},
        "required": [name for name, key in keys.items() if key.required],
        "additionalProperties": False,
    }
    short = _short(row)
    return {"anyOf": [full, short]} if short else full


def _described(key: Key) -> Schema:
    return {**_kind(key.type), "description": key.says, "examples": [_example(key)]}


def _example(key: Key) -> Any:
    """Return a key's example as YAML 1.2 loads it, numbers as numbers."""
    listed = key.example.startswith("- ")
    value = YAML(typ="safe", pure=True).load(key.example if listed else f"- {key.example}")
    return _days_as_text(value if listed else value[0])


def _days_as_text(value: Any) -> Any:
    """Return plain data in which a day, which JSON does not have, stands as it is written."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return {key: _days_as_text(inner) for key, inner in value.items()}
    return [_days_as_text(inner) for inner in value] if isinstance(value, list) else value


def _short(row: type[Row]) -> Schema | None:
    """Return the short form of a row, where it has one."""
    if row in (Pull, WaterLevel):
        value = "reads" if row is Pull else "up"
        keys = keys_of(row)
        inner = {name: _kind(key.type) for name, key in keys.items() if name not in ("from", "to")}
        record = {"type": "object", "properties": inner, "required": [value], "additionalProperties": False}
        others = {name: _kind(key.type) for name, key in keys.items() if name not in ("from", "to", value)}
        return {
            "type": "object",
            "description": "A-B: reading, the two names joined by a hyphen.",
            "properties": others,
            "patternProperties": {
                "^.+[-\u2010-\u2015].+$| to ": {"anyOf": [_kind(keys[value].type), record]}
            },
            "additionalProperties": False,
            "minProperties": 1,
        }
    if row is SquareOff:
        keys = keys_of(row)
        inner = {name: _kind(key.type) for name, key in keys.items() if name != "point"}
        return {
            "type": "object",
            "description": "P1: {wall, along, out}.",
            "additionalProperties": {
                "type": "object",
                "properties": inner,
                "required": ["wall", "along", "out"],
                "additionalProperties": False,
            },
            "minProperties": 1,
            "maxProperties": 1,
        }
    return None


def _kind(annotation: Any) -> Schema:
    options = branches(annotation)
    if len(options) > 1:
        return {"anyOf": [_kind(option) for option in options]}
    row, item, items, named = (
        row_of(annotation),
        item_of(annotation),
        items_of(annotation),
        named_of(annotation),
    )
    if row is not None:
        return {"$ref": f"#/$defs/{row.__name__}"}
    if item is not None:
        return {"type": "array", "items": _kind(item)}
    if items is not None:
        listed = {
            "type": "array",
            "prefixItems": [_kind(i) for i in items],
            "minItems": len(items),
            "maxItems": len(items),
        }
        joined = {"type": "string", "pattern": ".+[-\u2010-\u2015].+"}
        return {"anyOf": [listed, joined]} if items[0] is Name else listed
    if named is not None:
        return {"type": "object", "additionalProperties": _kind(named)}
    return _single(annotation)


def _single(annotation: Any) -> Schema:
    choices = choices_of(annotation)
    if choices:
        numbers = [int(choice) for choice in choices if choice.isdecimal()]
        return {"enum": [*choices, *numbers]}
    if is_name(annotation):
        return dict(_NAME)
    kind = bare(annotation)
    if kind is bool:
        return dict(_YES_NO)
    if kind is str:
        return dict(_TEXT)
    carried = published(annotation)
    if carried is not None:
        return {"type": carried["type"]}
    made = TypeAdapter(annotation).json_schema()
    options = [option for option in made.get("anyOf", [made]) if option != {"type": "null"}]
    return {key: value for key, value in options[0].items() if key in _KEPT}


_KEPT = frozenset({"type", "minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum"})
