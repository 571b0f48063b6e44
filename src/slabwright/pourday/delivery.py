"""Concrete on its way: a mixture's temperature, what the drive takes from it, what heat does to slump."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.measure import HOUR
from slabwright.pourday.tables import rule, taken


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a batch: mass [kg] and temperature [degC]."""

    mass: float
    warm: float


def mixture(
    cement: Part,
    stone: Part,
    water: Part,
    *,
    on_stone: Part | None = None,
    ice: float = 0.0,
    solids: float | None = None,
    fluid: float | None = None,
    fusion: float | None = None,
) -> float:
    """Return the temperature of the concrete as mixed [degC], by heat balance (source aci-305-mixture).

    `stone` is all aggregate, dry; `on_stone` its free water; `ice` [kg] at 0 degC. Specific heats of solids
    and water [kJ/(kg K)] and heat of fusion [kJ/kg] are the table's where None. ValueError for negative
    masses or an empty batch.
    """
    solids = taken("solids") if solids is None else solids
    fluid = taken("water") if fluid is None else fluid
    fusion = taken("fusion") if fusion is None else fusion
    wet = on_stone or Part(0.0, 0.0)
    parts = (cement, stone, water, wet)
    if min(p.mass for p in parts) < 0.0 or ice < 0.0 or cement.mass + stone.mass <= 0.0:
        raise ValueError("a batch has cement or aggregate, and nothing less than none")
    held = solids * (cement.mass * cement.warm + stone.mass * stone.warm)
    held += fluid * (water.mass * water.warm + wet.mass * wet.warm) - fusion * ice
    capacity = solids * (cement.mass + stone.mass) + fluid * (water.mass + wet.mass + ice)
    return held / capacity


def on_the_way(mixed: float, air: float, hauled: float) -> float:
    """Return the concrete's temperature [degC] after a haul [s] in a turning drum in colder air [degC].

    Source aci-306-drop; in warmer air it stays, for which no published drop was found.
    """
    return mixed - rule("drum_drop") * max(mixed - air, 0.0) * hauled / HOUR


def slump_lost(warm: float, reference: float = 21.0) -> float:
    """Return how much slump [m] heat costs at the same water, against concrete at `reference` [degC]."""
    return max(0.0, rule("slump_heat") * (warm - reference))
