"""Earth and stone by the trade's factors: swell, loads, layers of base, hand time, and rows of a dig."""

from __future__ import annotations

import math
from dataclasses import dataclass

from slabwright.build.tables import rule, table
from slabwright.ground.model import Floats
from slabwright.measure import read
from slabwright.slab.model import Slab

JUST = 1e-9  # rounding in a quotient of volumes


@dataclass(frozen=True, slots=True)
class Row:
    """One owner of volumes: a panel of a slab or the form strip beside it, under a thickened edge or not.

    `extra` [m] is how much deeper than the slab's own its concrete reaches.
    """

    slab: Slab
    panel: str
    strip: bool
    extra: float = 0.0

    @property
    def under(self) -> float:
        """Return how far the dig's floor lies below the finished top [m]."""
        return below(self.slab) + self.extra


@dataclass(frozen=True, slots=True)
class Measured:
    """By row: area [m2], volume of soil under the strip and gap to fill [m3], depths of the dig [m].

    `low` and `high` are the least and most depth from the ground to the dig's floor (below zero where
    the ground lies lower); `beside` [m3] reaches from the base's top up to the ground.
    """

    area: Floats
    mineral: Floats
    fill: Floats
    low: Floats
    high: Floats
    beside: Floats


def soil_factor(soil: str, change: str) -> float:
    """Return the volume [-] after a change of state for one before (source fm-5-434).

    change: 'bank_loose', 'bank_compacted', 'loose_bank', 'loose_compacted', 'compacted_bank' or
    'compacted_loose'.
    """
    return float(table("earth")["soil"][soil][change])


def loose_base(compacted: float, *, loose_density: float, density: float) -> tuple[float, float]:
    """Return the loose volume [m3] and mass [kg] of stone that compacts to a volume [m3].

    loose_density, density: of the stone in the truck and compacted [kg/m3].
    """
    mass = compacted * density
    return mass / loose_density, mass


def loads(volume: float, truck: float) -> int:
    """Return how many loads of `truck` [m3] a volume [m3] takes."""
    return math.ceil(volume / truck - JUST) if volume > 0 else 0


def lifts_for(depth: float) -> int:
    """Return in how many layers a compacted depth of base [m] is placed and compacted."""
    loose = depth * rule("earth", "base_density") / rule("earth", "base_loose_density")
    return max(1, math.ceil(loose / rule("earth", "lift") - 1e-6))


def below(slab: Slab) -> float:
    """Return how far the dig's floor lies below the finished top [m]."""
    return slab.spec.thickness + slab.spec.base


def hand_time(cut: float, soil: str) -> tuple[float, float] | None:
    """Return how long one person digs a bank volume [m3] by hand, from - to [s]; None in rock."""
    return _time(cut, soil, "dig_pace")


def machine_time(cut: float, soil: str) -> tuple[float, float] | None:
    """Return how long a small excavator digs a bank volume [m3], from - to [s]; None in rock.

    Source excavation-outputs: a bucket of 0.3 m3 in small excavations, with its driver.
    """
    return _time(cut, soil, "machine_pace")


def _time(cut: float, soil: str, by: str) -> tuple[float, float] | None:
    pace = table("earth")[by].get(soil)
    if pace is None:
        return None
    slow, fast = (read("flow", text) for text in pace)
    return cut / fast, cut / slow
