"""Simulated days weighed by what was seen: those that agree with it count, the others hardly do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slabwright.pourday.crew import crew_rule
from slabwright.pourday.crew_model import Seen
from slabwright.pourday.model import Floats

FEW = 12.0  # effective days under which the observation lies outside what was expected
WIDEST = 8.0


@dataclass(frozen=True, slots=True)
class Weighed:
    """Weights of the days (samples,) of sum 1; how many still speak [-]; whether the minutes were widened."""

    weights: Floats
    effective: float
    widened: bool


def weigh(took: Sequence[Floats], seen: Sequence[float]) -> Weighed:
    """Return the weights of days in which things took (samples,) [s] each, seen to take `seen` [s].

    The minute at which a person sees a thing is sure to the rule's `watch_sd`. Where hardly any day agrees it
    is taken as less sure step by step. Nothing seen: all days count alike.
    """
    if not took:
        raise ValueError("nothing was seen")
    wide = 1.0
    while True:
        log = np.zeros(took[0].size)
        for times, known in zip(took, seen, strict=True):
            apart = (times - known) / (wide * crew_rule("watch_sd"))
            log -= 0.5 * np.where(np.isfinite(apart), apart, 1e3) ** 2
        weights = np.exp(log - log.max())
        weights /= weights.sum()
        effective = float(1.0 / (weights @ weights))
        if effective >= min(FEW, 0.5 * took[0].size) or wide >= WIDEST:
            return Weighed(np.asarray(weights), effective, wide > 1.0)
        wide *= 2.0


def place_of(seen: Seen, names: Sequence[tuple[str, str]]) -> int:
    """Return which of the panels, (slab, panel) in placing order, something was seen on.

    No panel named: the first. ValueError where there is none of that name, or several.
    """
    if not seen.panel:
        return 0
    found = [n for n, (slab, panel) in enumerate(names) if panel == seen.panel and seen.slab in ("", slab)]
    if len(found) == 1:
        return found[0]
    every = "; ".join(f"{slab}, {panel}" for slab, panel in names)
    said = f"{seen.slab}, {seen.panel}" if seen.slab else seen.panel
    what = "there is no panel" if not found else "more than one slab has a panel"
    raise ValueError(f"{what} {said!r}; the panels in placing order are {every}")


def weighed_median(times: Floats, weights: Floats) -> float:
    """Return the median of times (samples,) under weights of sum 1."""
    order = np.argsort(times, kind="stable")
    below = np.cumsum(weights[order])
    return float(times[order][min(int(np.searchsorted(below, 0.5)), times.size - 1)])
