"""Closure of a traverse: legs by azimuth and length that should come back to where they began."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Leg:
    """One leg: azimuth [rad], clockwise from +y (north), and length [m]."""

    azimuth: float
    length: float


@dataclass(frozen=True, slots=True)
class Closure:
    """How a traverse closes, and its points after the compass rule.

    dx, dy [m]: sums of the legs' parts (east, north), which should be nothing; miss [m]: their
    length; perimeter [m]; ratio [-]: perimeter / miss, inf when it closes exactly; points (n, 2)
    [m]: corners after the compass rule, the first one as given; area [m2].
    """

    dx: float
    dy: float
    miss: float
    perimeter: float
    ratio: float
    points: tuple[tuple[float, float], ...]
    area: float


def traverse_closure(legs: Sequence[Leg], start: tuple[float, float] = (0.0, 0.0)) -> Closure:
    """Return the closure of a loop of legs, its corners by the compass rule, and its area.

    start (x, y) [m]. The compass rule shares the miss out by length (`ghilani-wolf`). Raises
    ValueError with fewer than three legs or a leg that is not longer than nothing.
    """
    if len(legs) < 3:
        raise ValueError(f"a traverse needs three legs or more, for example a triangle; got {len(legs)}")
    for k, leg in enumerate(legs):
        if not (leg.length > 0.0 and math.isfinite(leg.length) and math.isfinite(leg.azimuth)):
            raise ValueError(
                f"leg {k + 1} is {leg.length} m at {leg.azimuth} rad; a leg reads like 12.5 at 1.2"
            )
    east = [leg.length * math.sin(leg.azimuth) for leg in legs]
    north = [leg.length * math.cos(leg.azimuth) for leg in legs]
    dx, dy = math.fsum(east), math.fsum(north)
    perimeter = math.fsum(leg.length for leg in legs)
    x, y = start
    points = [start]
    for leg, e, n in zip(legs[:-1], east, north, strict=False):
        share = leg.length / perimeter
        x, y = x + e - dx * share, y + n - dy * share
        points.append((x, y))
    twice = math.fsum(
        (px - x) * (qy - y) - (qx - x) * (py - y)
        for (px, py), (qx, qy) in zip(points, points[1:] + points[:1], strict=True)
    )
    miss = math.hypot(dx, dy)
    return Closure(
        dx=dx,
        dy=dy,
        miss=miss,
        perimeter=perimeter,
        ratio=perimeter / miss if miss > 0.0 else math.inf,
        points=tuple(points),
        area=abs(twice) / 2.0,
    )
