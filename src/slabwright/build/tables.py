"""Tables of the room (earthwork, order, set-out, kit, ...): TOML beside this file, read to SI.

A row of [rules] is `{ kind, is, metric, source }`: `kind` a kind of quantity, or 'ratio' for a plain
number; `is` as printed or as the trade says it; `metric`, where the metric trade uses another size.
"""

from __future__ import annotations

from typing import Any

from slabwright import tables
from slabwright.measure import System

TABLES = ("earth", "pour", "mixes", "shop")
"""The tables of this kind in the room."""


def table(name: str) -> dict[str, Any]:
    """Return a table as it stands in its file; `name` is its file's."""
    return tables.table("build", name)


def rule(name: str, key: str, system: System = System.IMPERIAL) -> float:
    """Return one rule's value [SI, by its kind]; KeyError for an unknown one."""
    return tables.rule("build", name, key, system)


def source_keys(name: str) -> set[str]:
    """Return the key of every source that a table names."""
    return tables.source_keys("build", name)
