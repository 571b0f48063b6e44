"""The room's constants, each beside its source in rules.toml."""

from __future__ import annotations

from slabwright.tables import values


def rules() -> dict[str, float]:
    """Return each constant by its key, in SI units."""
    return values("ground", "rules")
