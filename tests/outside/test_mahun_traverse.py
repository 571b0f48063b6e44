"""The four-leg loop traverse of J. Mahun's open-access surveying notes.

Source: J. Mahun, Open Access Surveying Library, Traverse Computations, chapter I (bearings, lengths
and the sums of latitudes and departures were read in a stored copy; adjusted coordinates and area
were worked out from them). Feet.
"""

from __future__ import annotations

import math

import pytest

from slabwright.survey.traverse import Leg, traverse_closure

FT = 0.3048


def bearing(ns, degrees, minutes, seconds, ew):
    angle = math.radians(degrees + minutes / 60 + seconds / 3600)
    east, north = math.sin(angle), math.cos(angle)
    return math.atan2(east if ew == "E" else -east, north if ns == "N" else -north)


@pytest.fixture(scope="module")
def loop():
    legs = [
        Leg(bearing("S", 68, 5, 35, "W"), 472.68 * FT),
        Leg(bearing("N", 19, 46, 0, "W"), 216.13 * FT),
        Leg(bearing("N", 45, 55, 20, "E"), 276.52 * FT),
        Leg(bearing("S", 54, 59, 15, "E"), 382.24 * FT),
    ]
    return traverse_closure(legs, start=(2000.0 * FT, 500.0 * FT))


def test_sums_of_latitudes_and_departures(loop):
    """+0.083 and +0.075 ft."""
    assert (loop.dy / FT, loop.dx / FT) == pytest.approx((0.083, 0.075), abs=1e-3)


def test_closure(loop):
    """0.1112 ft in 1347.57 ft, 1:12,116."""
    assert loop.miss / FT == pytest.approx(0.1112, abs=5e-5)
    assert loop.perimeter / FT == pytest.approx(1347.57, abs=5e-3)
    assert loop.ratio == pytest.approx(12116, abs=0.5)


def test_compass_rule(loop):
    """(N, E): B (323.614, 1561.426), C (526.996, 1488.321), D (719.336, 1686.956); 102,936 ft2."""
    got = [(y / FT, x / FT) for x, y in loop.points[1:]]
    want = [(323.614, 1561.426), (526.996, 1488.321), (719.336, 1686.956)]
    for have, as_printed in zip(got, want, strict=True):
        assert have == pytest.approx(as_printed, abs=5e-4)
    assert loop.area / FT**2 == pytest.approx(102936, abs=0.5)
