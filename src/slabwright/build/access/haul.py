"""Barrows, buggies and hoses: trips, times and what they hold."""

from __future__ import annotations

import math

JUST = 1e-9  # rounding in a quotient


def cycle(run: float, *, fixed: float, pace: float) -> float:
    """Return the time [s] of one trip: load, dump and turn `fixed` [s], then there and back.

    run [m] one way; pace [m/s], mean of loaded and empty. Source barrow-cycle.
    """
    return fixed + 2.0 * run / pace


def trips(volume: float, load: float) -> int:
    """Return the number of trips for a volume [m3] at `load` [m3] a trip; 0 for nothing."""
    return max(0, math.ceil(volume / load - JUST))


def hauled(load: float, run: float, *, fixed: float, pace: float) -> float:
    """Return what one barrow brings [m3/s] over a run [m]."""
    return load / cycle(run, fixed=fixed, pace=pace)


def held(length: float, bore: float) -> float:
    """Return what a hose holds [m3]: length and inner diameter [m]. Source hose-volume."""
    return math.pi / 4 * bore**2 * length
