"""Plane geometry of ties, worked out by another hand from the closed forms (site measuring formulas).

Two tapes from A (0, 0) and B (40, 0) ft reading 30 and 35 ft meet at (15.9375, 25.41645) ft; their
angle there is 75.52 deg and pulls good to 0.02 ft place it to 0.0292 ft.
"""

from __future__ import annotations

import math

import pytest

from slabwright.build.ties import Obstacles, best_ties, tie_sd
from slabwright.survey.instruments import Instrument
from slabwright.survey.result import Point

FT = 0.3048


def test_two_tapes() -> None:
    anchors = [Point("A", 0.0, 0.0, 0.0, 0.0, 0.0, True), Point("B", 40 * FT, 0.0, 0.0, 0.0, 0.0, True)]
    place = (15.9375 * FT, 25.41645 * FT)
    (tie,) = best_ties(
        [place], anchors, Obstacles((), ()), tape=Instrument(0.02 * FT), reach=100 * FT, keep=1.0
    )
    assert tie is not None
    assert tie.a[1] / FT == pytest.approx(30, abs=1e-5)
    assert tie.b[1] / FT == pytest.approx(35, abs=1e-5)
    assert math.degrees(tie.angle) == pytest.approx(75.52, abs=0.005)
    assert tie.sd / FT == pytest.approx(0.0292, abs=0.00005)


def test_a_flat_angle_doubles_the_error() -> None:
    """At 30 degrees the sine is a half."""
    assert tie_sd(math.radians(30), 0.01, 0.01) == pytest.approx(2 * tie_sd(math.radians(90), 0.01, 0.01))
    assert tie_sd(0.0, 0.01, 0.01) == math.inf
