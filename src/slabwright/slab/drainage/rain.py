"""Rain, how much of it runs off, and how deep and fast it runs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from slabwright.tables import values


def rules() -> dict[str, float]:
    """Return each constant of drainage.toml by its key, in SI units."""
    return values("slab/drainage", "drainage")


@dataclass(frozen=True, slots=True)
class Storm:
    """A rain to check against: intensity [m/s], duration [s]; `chosen` when the job named it."""

    intensity: float
    duration: float
    chosen: bool = True


def usual_storm() -> Storm:
    """Return the rain that is taken when the job names none: 4 in an hour over five minutes."""
    return Storm(rules()["storm-intensity"], rules()["storm-duration"], chosen=False)


def storm_of(intensity: float | None, duration: float | None) -> Storm:
    """Return the job's rain [m/s, s], the usual figure for what it does not name."""
    usual = usual_storm()
    if intensity is None and duration is None:
        return usual
    return Storm(intensity or usual.intensity, duration or usual.duration)


def peak_flow(runoff: float, intensity: float, area: float) -> float:
    """Return the peak flow [m3/s] by the rational formula, Q = C i A.

    :param runoff: C, the share that runs off [-].
    :param intensity: i [m/s].
    :param area: A [m2].
    """
    return runoff * intensity * area


def sheet_depth(flow: float, slope: float, roughness: float) -> float:
    """Return how deep a wide sheet of water runs [m], by Manning's formula with R = depth.

    :param flow: flow per metre of width [m2/s].
    :param slope: [-]; zero gives an unbounded depth, answered as infinity.
    :param roughness: Manning's n [-].
    """
    if flow <= 0.0:
        return 0.0
    return math.inf if slope <= 0.0 else (flow * roughness / math.sqrt(slope)) ** 0.6


def channel_flow(width: float, depth: float, slope: float, roughness: float) -> float:
    """Return what a channel of rectangular section carries [m3/s], by Manning's formula (k = 1 in SI).

    :param width: [m].
    :param depth: of the water [m].
    :param slope: [-].
    :param roughness: Manning's n [-].
    """
    area, wetted = width * depth, width + 2.0 * depth
    return area * math.pow(area / wetted, 2.0 / 3.0) * math.sqrt(slope) / roughness
