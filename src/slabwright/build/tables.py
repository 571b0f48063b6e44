"""Tables of the room (earthwork, order, set-out, kit, ...): TOML beside this file, read to SI.

A row of [rules] is `{ kind, is, metric, source }`: `kind` a kind of quantity, or 'ratio' for a plain
number; `is` as printed or as the trade says it; `metric`, where the metric trade uses another size.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from slabwright.measure import System, read

TABLES = ("earth", "pour", "mixes", "shop")
"""The tables of this kind in the room."""


@cache
def table(name: str) -> dict[str, Any]:
    """Return a table as it stands in its file; `name` is its file's."""
    text = files("slabwright").joinpath("build", f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def rule(name: str, key: str, system: System = System.IMPERIAL) -> float:
    """Return one rule's value [SI, by its kind]; KeyError for an unknown one."""
    row = table(name)["rules"][key]
    text = row.get("metric", row["is"]) if system is System.METRIC else row["is"]
    return float(text) if row["kind"] == "ratio" else read(row["kind"], text)


def source_keys(name: str) -> set[str]:
    """Return the key of every source that a table names."""
    found: set[str] = set()

    def walk(node: object) -> None:
        if isinstance(node, dict):
            for key, value in node.items():
                if key == "source" and isinstance(value, str):
                    found.add(value)
                else:
                    walk(value)
        elif isinstance(node, list):
            for value in node:
                walk(value)

    walk(table(name))
    return found
