"""The figures by which watering is judged: precipitation rate, uniformity, a head's own pattern."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from slabwright.build.model_yard import SprinklerHead

Floats = NDArray[np.float64]
FULL = 2.0 * math.pi
AIM = 1e-9  # [rad] a cell on the edge of an arc is in it


def precipitation_rate(flow: float, area: float) -> float:
    """Return depth over time [m/s] of a flow [m3/s] on an area [m2]: PR = Q / A.

    In gpm, feet and inches an hour the same reads PR = 96.25 Q / (S L). Raises ValueError for no area.
    Source: sprinkler-rate.
    """
    if area <= 0:
        raise ValueError(f"an area of {area} m2 cannot be watered")
    return flow / area


def christiansen(depths: Floats) -> float:
    """Return CU [-] of depths (n,) in any one unit: 1 - sum |z - m| / (n m). Source: christiansen-1942.

    It is below nothing where the mean deviation is larger than the mean; 0 when nothing fell.
    """
    mean = float(depths.mean()) if depths.size else 0.0
    return 0.0 if mean <= 0 else 1.0 - float(np.abs(depths - mean).mean()) / mean


def low_part(depths: Floats, part: float = 0.25) -> float:
    """Return DU [-] of the lowest `part` [-] of depths (n,): their mean over the mean of all.

    A quarter is what is usually meant (`part` 0.5 gives the lowest half). Source: sprinkler-rate.
    """
    mean = float(depths.mean()) if depths.size else 0.0
    if mean <= 0:
        return 0.0
    count = max(1, round(part * depths.size))
    return float(np.sort(depths)[:count].mean()) / mean


def direction(facing: float) -> float:
    """Return the angle [rad] from x, turning left, of a facing [rad] that turns right from y."""
    return math.pi / 2 - facing


def rates(head: SprinklerHead, places: Floats) -> Floats:
    """Return the rate [m/s] of one head at places (n, 2) [m].

    Its water thins out in a straight line from the head to the end of its throw (wedge-pattern), so that
    heads one throw apart add up to nearly even watering; the integral over the arc is the head's flow.
    """
    dx, dy = places[:, 0] - head.x, places[:, 1] - head.y
    away = np.hypot(dx, dy)
    peak = 6.0 * head.flow / (head.arc * head.throw**2)
    out = peak * np.clip(1.0 - away / head.throw, 0.0, None)
    if head.arc < FULL - AIM:
        turned = np.abs((np.arctan2(dy, dx) - direction(head.facing) + math.pi) % FULL - math.pi)
        out = np.where((turned <= head.arc / 2 + AIM) | (away < 1e-6), out, 0.0)
    return np.asarray(out, dtype=np.float64)


def matched_flow(rate: float, throw: float, arc: float) -> float:
    """Return the flow [m3/s] that gives a head its share of `rate` [m/s] over its sector.

    throw [m], arc [rad]: matched precipitation means flow in proportion to the watered sector.
    """
    return rate * arc * throw**2 / 2.0


def own_rate(head: SprinklerHead) -> float:
    """Return a head's flow over its own sector [m/s]."""
    return head.flow / (head.arc * head.throw**2 / 2.0)
