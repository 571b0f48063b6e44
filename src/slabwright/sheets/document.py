"""plan.json: everything in a Plan, SI, each key with its unit, and the schema that describes it.

Both come from the records themselves: a field of floats is written under its name with the unit of
`nomenclature.toml` behind it ('length_m'), so a record that grows shows up in the file and in the
schema alike.
"""

from __future__ import annotations

import json
import math
import types
import typing
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from importlib.resources import files
from typing import Any, Literal, get_args, get_origin, get_type_hints

import numpy as np
from pydantic import BaseModel

from slabwright import __version__
from slabwright.findings import Finding, entry
from slabwright.measure import System
from slabwright.result import Plan
from slabwright.sources import all_sources

DIGITS = 9  # of a metre: far below any tape, and the same on every processor
FORMAT = 1  # raised when a key changes its meaning
UNITS_SHOWN = (
    "m",
    "m2",
    "m3",
    "kg",
    "Pa",
    "s",
    "rad",
    "K",
    "kg_m3",
    "m_s",
    "m3_s",
)  # plain ratios carry none


@cache
def nomenclature() -> dict[str, dict[str, str]]:
    """Return name -> {unit, meaning} for every quantity in the records."""
    import tomllib

    return tomllib.loads(files("slabwright").joinpath("nomenclature.toml").read_text(encoding="utf-8"))


def quantity(name: str) -> dict[str, str]:
    """Return the unit and meaning of one quantity; KeyError, saying where to write it, when it has none."""
    if name not in nomenclature():
        row = f'{name} = {{ unit = "m", meaning = "..." }}'
        raise KeyError(f"the quantity {name!r} has no unit: write {row} in src/slabwright/nomenclature.toml")
    return nomenclature()[name]


def key_of(name: str, hint: Any) -> str:
    """Return the field's key in plan.json: with its unit where its leaves are floats."""
    if not _has_floats(hint):
        return name
    unit = quantity(name)["unit"]
    return f"{name}_{unit}" if unit in UNITS_SHOWN else name


@cache
def _has_floats(hint: Any) -> bool:
    """True when a type's leaves are floats that are not inside a record of their own."""
    if hint is float:
        return True
    origin = get_origin(hint)
    if origin is np.ndarray or hint is np.ndarray:
        return bool(get_args(hint)) and "float" in repr(hint)
    if origin in (tuple, list, dict, Mapping, types.UnionType, typing.Union) or (
        isinstance(origin, type) and issubclass(origin, Mapping)
    ):
        return any(_has_floats(arg) for arg in get_args(hint))
    return False


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def plain(value: Any) -> Any:
    """Return `value` as JSON data: records become mappings, floats are rounded, NaN becomes null."""
    if value is None or (isinstance(value, bool | int | str) and not isinstance(value, Enum)):
        return value
    if isinstance(value, float):
        return (round(value, DIGITS) + 0.0) if math.isfinite(value) else None
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Finding):
        return finding_data(value)
    if isinstance(value, BaseModel):
        # Only what differs from the model's own default: that is what was written down.
        return {
            field.alias or name: plain(getattr(value, name))
            for name, field in type(value).model_fields.items()
            if field.is_required() or getattr(value, name) != field.get_default(call_default_factory=True)
        }
    if is_dataclass(value) and not isinstance(value, type):
        hints = _hints(type(value))
        return {
            key_of(f.name, hints[f.name]): plain(getattr(value, f.name))
            for f in fields(value)
            if not f.name.startswith("_")
        }
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, np.generic):
        return plain(value.item())
    if isinstance(value, tuple | list | frozenset | set):
        return [plain(v) for v in (sorted(value) if isinstance(value, frozenset | set) else value)]
    raise TypeError(f"{type(value).__name__} has no place in plan.json")


def finding_data(finding: Finding) -> dict[str, Any]:
    """Return a finding with its words in both languages and its values in SI."""
    row: dict[str, Any] = {
        "code": f"{finding.room}.{finding.code}",
        "level": finding.level.value,
        "where": finding.where,
        "line": finding.line,
        "values": {k: plain(v) for k, v in finding.values.items()},
    }
    for lang in ("en", "es"):
        text = finding.text(system=System.METRIC, lang=lang)
        row[lang] = {"what": text.what, "why": text.why, "do": text.do, "source": text.source}
    return row


def plan_document(plan: Plan) -> dict[str, Any]:
    """Return the whole plan as JSON data."""
    cited = {t.source for s in plan.shaped.slabs for t in s.spec.taken}
    cited |= {str(entry(f.room, f.code)["source"]) for f in plan.findings}
    return {
        "format": FORMAT,
        "made-by": f"slabwright {__version__}",
        "units": "SI: a key's ending is its unit; keys without one are names, counts or plain ratios",
        "job": plan.name,
        "notes": plain(plan.notes),
        "survey": plain(plan.survey),
        "ground": plain(plan.ground),
        "slabs": plain(plan.shaped.slabs),
        "build": plain(plan.built),
        "pour": plain(plan.pour),
        "pour_run": plain(plan.pour_run),
        "findings": plain(plan.findings),
        "sources": {key: all_sources()[key].cite() for key in sorted(cited)},
    }


def plan_bytes(plan: Plan) -> bytes:
    """Return plan.json, the same bytes for the same notes."""
    return (json.dumps(plan_document(plan), ensure_ascii=False, indent=1) + "\n").encode()


def plan_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of plan.json, made from the records."""
    defs: dict[str, Any] = {}
    hints = get_type_hints(Plan)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "plan.json of slabwright",
        "type": "object",
        "additionalProperties": False,
        "required": [
            "format",
            "made-by",
            "units",
            "job",
            "notes",
            "survey",
            "ground",
            "slabs",
            "build",
            "pour",
            "pour_run",
            "findings",
            "sources",
        ],
        "properties": {
            "format": {"const": FORMAT},
            "made-by": {"type": "string"},
            "units": {"type": "string"},
            "job": {"type": "string"},
            "notes": {"type": "object", "description": "the job file's readings, in SI"},
            "survey": _schema(hints["survey"], defs),
            "ground": _schema(hints["ground"], defs),
            "slabs": {"type": "array", "items": _schema(_hints(hints["shaped"])["slabs"], defs)["items"]},
            "build": _schema(hints["built"], defs),
            "pour": _schema(hints["pour"], defs),
            "pour_run": _schema(hints["pour_run"], defs),
            "findings": {"type": "array", "items": _schema(Finding, defs)},
            "sources": {"type": "object", "additionalProperties": {"type": "string"}},
        },
        "$defs": defs,
    }


def _schema(hint: Any, defs: dict[str, Any]) -> dict[str, Any]:  # noqa: C901 - one branch a type
    origin, args = get_origin(hint), get_args(hint)
    if hint is float:
        return {"type": ["number", "null"]}
    if hint is int:
        return {"type": "integer"}
    if hint is bool:
        return {"type": "boolean"}
    if hint is str:
        return {"type": "string"}
    if hint is type(None):
        return {"type": "null"}
    if origin is Literal:
        return {"enum": list(args)}
    if origin in (types.UnionType, typing.Union):
        return {"anyOf": [_schema(arg, defs) for arg in args]}
    if origin is tuple:
        if len(args) == 2 and args[1] is Ellipsis:
            return {"type": "array", "items": _schema(args[0], defs)}
        return {"type": "array", "prefixItems": [_schema(a, defs) for a in args], "items": False}
    if origin is np.ndarray or hint is np.ndarray:
        return {"type": "array"}
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return {"type": "object", "additionalProperties": _schema(args[1], defs)}
    if hint is Finding:
        defs.setdefault("Finding", _FINDING)
        return {"$ref": "#/$defs/Finding"}
    if isinstance(hint, type) and issubclass(hint, Enum):
        return {"enum": [m.value for m in hint]}
    if isinstance(hint, type) and issubclass(hint, BaseModel):
        return {"type": "object", "description": f"as in the job file ({hint.__name__}), in SI"}
    if isinstance(hint, type) and is_dataclass(hint):
        if hint.__name__ not in defs:
            defs[hint.__name__] = {}
            defs[hint.__name__] = _record(hint, defs)
        return {"$ref": f"#/$defs/{hint.__name__}"}
    return {}


def _record(kind: type, defs: dict[str, Any]) -> dict[str, Any]:
    properties: dict[str, Any] = {}
    for name, hint in _hints(kind).items():
        if name.startswith("_"):
            continue
        row = dict(_schema(hint, defs))
        if _has_floats(hint):
            entry = quantity(name)
            row["description"] = f"{entry['meaning']} [{entry['unit']}]"
        properties[key_of(name, hint)] = row
    doc = (kind.__doc__ or "").strip().split("\n\n")[0]
    return {
        "type": "object",
        "description": " ".join(doc.split()),
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


_WORDS = {
    "type": "object",
    "properties": {k: {"type": "string"} for k in ("what", "why", "do", "source")},
    "required": ["what", "why", "do", "source"],
}
_FINDING: dict[str, Any] = {
    "type": "object",
    "properties": {
        "code": {"type": "string"},
        "level": {"enum": ["stop", "caution", "note"]},
        "where": {"type": "string"},
        "line": {"type": ["integer", "null"]},
        "values": {"type": "object"},
        "en": _WORDS,
        "es": _WORDS,
    },
    "required": ["code", "level", "where", "line", "values", "en", "es"],
    "additionalProperties": False,
}
