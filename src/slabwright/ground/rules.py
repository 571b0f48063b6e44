"""The room's constants, each beside its source in rules.toml."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files


@cache
def rules() -> dict[str, float]:
    """Return each constant by its key, in SI units."""
    text = files("slabwright").joinpath("ground", "rules.toml").read_text(encoding="utf-8")
    return {key: float(row["value"]) for key, row in tomllib.loads(text).items()}
