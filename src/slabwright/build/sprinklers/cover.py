"""Coverage of the lawn by a set of heads, on a grid."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from slabwright.build.model_yard import Coverage, SprinklerHead
from slabwright.build.sprinklers.figures import Floats, christiansen, low_part, rates
from slabwright.build.sprinklers.yard import cells
from slabwright.ground.untyped import shapely

FINEST, MOST = 0.3, 1600  # [m] and cells: a catch can every foot, fewer on a large lawn
SPILL_STEP = 0.1  # [m] between the middles at which water on paving is counted


def together(heads: Sequence[SprinklerHead], places: Floats) -> Floats:
    """Return the rate [m/s] of all heads at places (n, 2)."""
    out = np.zeros(len(places))
    for head in heads:
        out += rates(head, places)
    return out


def step_for(area: float) -> float:
    """Return the grid's step [m] for an area [m2]: FINEST, coarser where that makes more than MOST."""
    return max(FINEST, math.sqrt(area / MOST))


def coverage(heads: Sequence[SprinklerHead], lawn: Any, slabs: Any, *, step: float) -> Coverage:
    """Return the watering of `lawn` (polygon) by heads, and what lands on `slabs` (polygon).

    step [m]. An empty lawn gives an empty grid with figures of 0.
    """
    spilled = on_paving(heads, slabs)
    if shapely.is_empty(lawn):
        return Coverage((0.0, 0.0), step, 0, (), 0.0, 0.0, 0.0, 0.0, spilled)
    middles, (_, columns), at, inside = cells(lawn, step)
    here = together(heads, middles[inside])
    shown: list[float | None] = [None] * len(middles)
    for k, rate in zip(np.flatnonzero(inside), here, strict=True):
        shown[int(k)] = float(rate)
    return Coverage(
        at=at,
        step=step,
        columns=columns,
        rates=tuple(shown),
        rate=float(here.mean()) if here.size else 0.0,
        cu=christiansen(here),
        du=low_part(here),
        unreached=float((here <= 0).sum()) * step**2,
        on_paving=spilled,
    )


def on_paving(heads: Sequence[SprinklerHead], slabs: Any) -> float:
    """Return the share [-] of all the heads' water that lands on `slabs`."""
    flow = math.fsum(head.flow for head in heads)
    if flow <= 0 or shapely.is_empty(slabs):
        return 0.0
    step = max(SPILL_STEP, math.sqrt(float(shapely.area(slabs)) / 4000))
    middles, _, _, inside = cells(slabs, step)
    return float(together(heads, middles[inside]).sum()) * step**2 / flow
