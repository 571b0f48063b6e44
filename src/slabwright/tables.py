"""Tables of trade figures: small TOML files beside the code that leans on them, each row with its source.

A rule is written in one of three ways:

    gap = { kind = "length", is = "1/2 in", metric = "12 mm", source = "form-height" }
    finish = { is = 0.5, unit = "m2/s", source = "own-setting" }   # already SI
    [storm-duration]                                               # already SI
    value = 300.0
    source = "design-rain"

`kind` is a kind of quantity, or 'ratio' for a plain number; `metric` stands where the metric trade uses
another size. What a sentence says (findings, words) is no table of this kind.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from slabwright.measure import System, read


@cache
def table(room: str, name: str) -> dict[str, Any]:
    """Return a table as it stands in its file: `name`.toml in the folder of `room` (say, 'slab/steel')."""
    return tomllib.loads(files("slabwright").joinpath(room, f"{name}.toml").read_text(encoding="utf-8"))


def value_of(row: Mapping[str, Any], system: System = System.IMPERIAL) -> float:
    """Return what a rule says [SI, by its kind or its unit]."""
    if "kind" not in row:
        return float(row["value"] if "value" in row else row["is"])
    text = row.get("metric", row["is"]) if system is System.METRIC else row["is"]
    return float(text) if row["kind"] == "ratio" else read(row["kind"], text)


@cache
def rule(room: str, name: str, key: str, system: System = System.IMPERIAL) -> float:
    """Return one rule out of the [rules] of a table [SI, by its kind]; KeyError for an unknown one."""
    return value_of(table(room, name)["rules"][key], system)


@cache
def values(room: str, name: str) -> dict[str, float]:
    """Return every rule of a table that is nothing but rules, by key [SI]."""
    return {key: value_of(row) for key, row in table(room, name).items()}


def source_keys(room: str, name: str) -> set[str]:
    """Return the key of every source that a table names."""
    return set(_sources(table(room, name)))


def _sources(node: object) -> Iterator[str]:
    if isinstance(node, dict):
        for key, value in node.items():
            if key == "source" and isinstance(value, str):
                yield value
            else:
                yield from _sources(value)
    elif isinstance(node, list):
        for value in node:
            yield from _sources(value)
