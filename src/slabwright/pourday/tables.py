"""Tables of the pour day: TOML beside this file. A rule is `{ is, unit, source }`, already in SI."""

from __future__ import annotations

from functools import cache
from typing import Any

from slabwright import tables

TABLES = ("rules", "cements")
"""The tables of the room."""


def table(name: str) -> dict[str, Any]:
    """Return a table as it stands in its file; `name` is one of TABLES."""
    return tables.table("pourday", name)


def rule(key: str) -> float:
    """Return one rule's value in the unit that stands beside it; KeyError for an unknown one."""
    return tables.rule("pourday", "rules", key)


@cache
def cover_row(name: str) -> tuple[float, float, float, float]:
    """Return a cover's resistance [m2 K/W], share of evaporation [-], absorbed sun [-], whether kept wet."""
    row = table("rules")["covers"][name]
    kept_wet = float(row.get("kept_wet", 0.0))
    return float(row["resistance"]), float(row["wet"]), float(row["absorbed"]), kept_wet


@cache
def over(name: str, what: str) -> float:
    """Return what a thing over or round fresh concrete leaves of the sun, wind or evaporation [-]."""
    return float(table("rules")["over"][name][what])


@cache
def spread(name: str) -> float:
    """Return a standard deviation of the simulated days, in the unit that stands beside it."""
    return float(table("rules")["spread"][name])


@cache
def taken(key: str) -> float:
    """Return what is taken where nothing is known, in the unit that stands beside it."""
    return float(table("rules")["taken"][key]["is"])


@cache
def skies() -> tuple[tuple[str, float], ...]:
    """Return the weather service's words for the sky and the share of cloud [-], in order."""
    return tuple((word, share) for word, share in table("rules")["skies"].items() if word != "source")


def source_keys(name: str) -> set[str]:
    """Return the key of every source that a table names."""
    return tables.source_keys("pourday", name)
