"""Instrument classes and how sure their readings are; the figures stand in instruments.toml."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from slabwright.tables import table


@dataclass(frozen=True, slots=True)
class Instrument:
    """One class: sd = sqrt(constant^2 + (per_metre * length)^2).

    constant [m; rad for a corner], per_metre [-], swing [rad] (how far off square a square-off
    made with it may be), source: a key of sources.toml; use: 'tape' | 'level' | 'form', what it is for;
    words: what a job file may call it, the usual one first.
    """

    constant: float
    per_metre: float = 0.0
    swing: float = 0.0
    source: str = "common-practice"
    use: str = ""
    words: tuple[str, ...] = ()

    def sd(self, length: float = 0.0) -> float:
        """Return the standard deviation [m or rad] of a reading of `length` [m]."""
        return math.hypot(self.constant, self.per_metre * length)


@cache
def instruments() -> dict[str, Instrument]:
    """Return the classes that the tool knows, by name."""
    rows = table("survey", "instruments").items()
    return {name: Instrument(**{**row, "words": tuple(row.get("words", ()))}) for name, row in rows}


@cache
def classes_for(use: str) -> frozenset[str]:
    """Return the names of the classes for one use: 'tape', 'level' or 'form'."""
    return frozenset(name for name, tool in instruments().items() if tool.use == use)


@cache
def words_for(use: str) -> dict[str, str]:
    """Return what a job file may call the instruments of one use, each word with its class."""
    return {
        word: name for name, tool in instruments().items() if tool.use == use for word in (*tool.words, name)
    }
