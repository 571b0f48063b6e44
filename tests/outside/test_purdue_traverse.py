"""The five-leg traverse of Purdue University's course notes (asm215).

Source: engineering.purdue.edu, asm215, topics, traverse computations (read in a stored copy): legs,
sums of rounded parts and precision 1/2771. The notes round every latitude and departure to 0.01 ft
before they close; the unrounded figures were worked out from the same legs. Feet.
"""

from __future__ import annotations

import math

import pytest

from slabwright.survey.traverse import Leg, traverse_closure

FT = 0.3048


def bearing(ns, degrees, minutes, ew):
    angle = math.radians(degrees + minutes / 60)
    east, north = math.sin(angle), math.cos(angle)
    return math.atan2(east if ew == "E" else -east, north if ns == "N" else -north)


LEGS = [
    (bearing("N", 26, 10, "E"), 285.10),
    (bearing("S", 75, 25, "E"), 610.45),
    (bearing("S", 15, 30, "W"), 720.48),
    (bearing("N", 1, 42, "W"), 203.00),
    (bearing("N", 53, 6, "W"), 647.02),
]


@pytest.fixture(scope="module")
def loop():
    legs = [Leg(azimuth, length * FT) for azimuth, length in LEGS]
    return traverse_closure(legs, start=(10000.0 * FT, 10000.0 * FT))


def test_sums(loop):
    """-0.71 and +0.53 ft, each leg's part rounded to 0.01 ft first: five roundings may add 0.025."""
    assert (loop.dy / FT, loop.dx / FT) == pytest.approx((-0.71, 0.53), abs=0.025)
    north = sum(round(length * math.cos(azimuth), 2) for azimuth, length in LEGS)
    east = sum(round(length * math.sin(azimuth), 2) for azimuth, length in LEGS)
    assert (north, east) == pytest.approx((-0.71, 0.53), abs=1e-9)


def test_closure(loop):
    """Perimeter 2466.05; unrounded 0.8833 ft, 1:2792, 272,611 ft2 (the page's rounded parts: 1/2771)."""
    assert loop.perimeter / FT == pytest.approx(2466.05, abs=5e-3)
    assert loop.miss / FT == pytest.approx(0.8833, abs=5e-5)
    assert loop.ratio == pytest.approx(2792, abs=0.5)
    assert loop.area / FT**2 == pytest.approx(272611, abs=0.5)


def test_point_c(loop):
    """C at N 10102.433, E 10716.314 unrounded (the page, rounding first: 10102.44, 10716.31)."""
    x, y = loop.points[2]
    assert (y / FT, x / FT) == pytest.approx((10102.433, 10716.314), abs=5e-4)
    assert (y / FT, x / FT) == pytest.approx((10102.44, 10716.31), abs=0.01)
