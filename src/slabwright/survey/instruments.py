"""Instrument classes and how sure their readings are; the figures stand in instruments.toml."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class Instrument:
    """One class: sd = sqrt(constant^2 + (per_metre * length)^2).

    constant [m; rad for a corner], per_metre [-], swing [rad] (how far off square a square-off
    made with it may be), source: a key of sources.toml.
    """

    constant: float
    per_metre: float = 0.0
    swing: float = 0.0
    source: str = "common-practice"

    def sd(self, length: float = 0.0) -> float:
        """Return the standard deviation [m or rad] of a reading of `length` [m]."""
        return math.hypot(self.constant, self.per_metre * length)


@cache
def instruments() -> dict[str, Instrument]:
    """Return the classes that the tool knows, by name."""
    text = files("slabwright.survey").joinpath("instruments.toml").read_text(encoding="utf-8")
    return {name: Instrument(**row) for name, row in tomllib.loads(text).items()}
