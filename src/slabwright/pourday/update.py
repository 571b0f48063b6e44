"""During the pour: one observed time on the first panel, and what it says of the rest of the day.

Each simulated day is weighed by how well it agrees with what was seen; bands and chances of the panels to
come are then those of the weighed days. What differs from truck to truck cannot be learned from one truck.
"""

from __future__ import annotations

import numpy as np

from slabwright.findings import Finding, find
from slabwright.measure import Quantity
from slabwright.pourday.clocks import since_begin
from slabwright.pourday.crew import crew_rule
from slabwright.pourday.crew_model import CrewDay, Observed, Updated
from slabwright.pourday.model import Floats
from slabwright.pourday.search import Pour, tried, turns_of

FEW = 12.0  # effective days under which the observation lies outside what was expected
WIDEST = 8.0


def after_first(
    pour: Pour, plan: CrewDay, *, observed: Observed, clock: float, placed: float | None = None
) -> Updated:
    """Return the rest of the day after something was seen on the first panel.

    :param observed: 'sheen_gone', or 'broom': when it first took the broom.
    :param clock: when it was seen [s, clock].
    :param placed: when that panel's concrete left the chute [s, clock]; as planned where None.

    ValueError where it was seen before it was placed. Where hardly any simulated day agrees, the minute is
    taken as less sure step by step, and a finding says so.
    """
    ran = tried(pour, plan)
    took = (ran.sheen if observed == "sheen_gone" else ran.broom_ready)[0] - ran.placed[0]
    seen = since_begin(pour.setting.weather, pour.day, clock)
    if placed is None:
        begun = float(np.median(ran.placed[0]))
    else:
        begun = since_begin(pour.setting.weather, pour.day, placed)
    if seen <= begun:
        raise ValueError("seen before it was placed; correct one of the two times")
    weights, effective, widened = _weigh(took, seen - begun)
    before = float(ran.late.max(axis=0).mean())
    after = float(ran.late.max(axis=0) @ weights)
    offset = ran.deadline - ran.placed
    shift = float((offset @ weights - offset.mean(axis=1)).mean())
    found: list[Finding] = []
    if widened:
        found.append(find("pourday", "seen-far", took=Quantity("duration", seen - begun)))
    found.append(
        find(
            "pourday",
            "seen-later" if shift >= 0 else "seen-sooner",
            shift=Quantity("duration", abs(shift)),
            chance=Quantity("percent", after),
        )
    )
    return Updated(
        observed=observed,
        clock=clock,
        late_before=before,
        late_chance=after,
        turns=turns_of(pour, ran, weights)[1:],
        effective=effective,
        later_by=shift,
        findings=tuple(found),
    )


def _weigh(took: Floats, seen: float) -> tuple[Floats, float, bool]:
    """Return weights of the days (sum 1), how many still speak, and whether the minute had to be widened."""
    wide = 1.0
    while True:
        apart = (took - seen) / (wide * crew_rule("watch_sd"))
        log = -0.5 * apart * apart
        weights = np.exp(log - log.max())
        weights /= weights.sum()
        effective = float(1.0 / (weights @ weights))
        if effective >= min(FEW, 0.5 * took.size) or wide >= WIDEST:
            return np.asarray(weights), effective, wide > 1.0
        wide *= 2.0
