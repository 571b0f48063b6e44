"""Simulated days: how weather, mix, water and haul may differ from what is expected, drawn once.

Sample 0 is the likely day itself. The same draws serve every panel, start hour and plan, so that two plans
differ by what they are and not by luck; from truck to truck the mix differs a little as well.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from slabwright.pourday.forcing import Vary
from slabwright.pourday.kernel import Bleed
from slabwright.pourday.mix import Hydration, hydration
from slabwright.pourday.model import Floats, MixDay
from slabwright.pourday.tables import rule, spread

SHARED = (
    "air",
    "dew",
    "wind",
    "cloud",
    "delivered",
    "w_cm",
    "tau",
    "beta",
    "energy",
    "heat",
    "set",
    "bleed",
    "bleed_time",
    "drying",
    "hauled",
)


@dataclass(frozen=True, slots=True)
class Draws:
    """Standard normal draws: `shared` by name (samples,), `truck_set`, `truck_warm` (panels, samples)."""

    shared: dict[str, Floats]
    truck_set: Floats
    truck_warm: Floats

    @property
    def samples(self) -> int:
        """Return how many days are simulated."""
        return int(self.truck_set.shape[1])

    def some(self, panels: tuple[int, ...]) -> Draws:
        """Return the draws of some panels."""
        rows = list(panels)
        return replace(self, truck_set=self.truck_set[rows], truck_warm=self.truck_warm[rows])


def draw(panels: int, samples: int, seed: int) -> Draws:
    """Return draws for `panels` and `samples`; the same seed gives the same. Sample 0 is all zero."""
    if samples < 1 or panels < 1:
        raise ValueError(f"{panels} panels and {samples} samples; at least one of each")
    rng = np.random.default_rng(seed)

    def normal(*shape: int) -> Floats:
        values = rng.standard_normal(shape)
        values[..., 0] = 0.0
        return values

    shared = {name: normal(samples) for name in SHARED}
    return Draws(shared, normal(panels, samples), normal(panels, samples))


def vary_of(d: Draws) -> Vary:
    """Return how the samples' weather differs."""
    shift = {name: (spread(name) * d.shared[name])[None, :] for name in ("air", "dew", "cloud")}
    wind = np.exp(spread("wind") * d.shared["wind"])[None, :]
    return Vary(air=shift["air"], dew=shift["dew"], wind=wind, cloud=shift["cloud"])


def hydration_of(mix: MixDay, d: Draws, waited: Floats | None = None) -> Hydration:
    """Return the samples' hydration, (panels, samples); `waited` (panels,) [s] on site in the truck."""

    def factor(name: str) -> Floats:
        return np.asarray(np.exp(spread(name) * d.shared[name])[None, :])

    one = np.ones(d.truck_set.shape)
    return hydration(
        mix,
        w_cm=np.clip(mix.w_cm + spread("w_cm") * d.shared["w_cm"], 0.25, 0.9)[None, :] * one,
        tau=factor("tau"),
        beta=factor("beta"),
        energy=factor("energy"),
        heat=factor("heat"),
        set_factor=factor("set") * np.exp(spread("truck_set") * d.truck_set),
        delivered=delivered_of(mix, d),
        hauled=factor("hauled") + (0.0 if waited is None else waited[:, None] / mix.hauled),
    )


def delivered_of(mix: MixDay, d: Draws) -> Floats:
    """Return the concrete's temperature at discharge [degC], (panels, samples)."""
    return np.asarray(
        mix.delivered
        + spread("delivered") * d.shared["delivered"][None, :]
        + spread("truck_warm") * d.truck_warm
    )


def bleed_of(mix: MixDay, thickness: float, d: Draws) -> Bleed:
    """Return the samples' bleed water for a slab of a thickness [m]."""
    capacity = rule("bleed_depth") * thickness * (rule("bleed_entrained") if mix.entrained else 1.0)

    def factor(name: str) -> Floats:
        return np.asarray(np.exp(spread(name) * d.shared[name])[None, :])

    return Bleed(
        capacity * factor("bleed"),
        rule("bleed_time") * factor("bleed_time"),
        rule("drying") * factor("drying"),
    )
