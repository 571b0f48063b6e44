"""Levelling and trilateration examples of Ghilani and Wolf, Adjustment Computations.

Source: C. D. Ghilani and P. R. Wolf, Adjustment Computations, chapters 12 (level nets) and 14
(trilateration). Inputs are recalled from the book, not read again (the height of bench mark A of
example 12.1 was seen in study notes); the expected figures were worked out from them in double
precision by a separate program and agree with the recalled, rounded answers of the book. Feet, and
metres in example 12.1, as there.
"""

from __future__ import annotations

import pytest

from slabwright.survey import adjust
from slabwright.survey.net import HeightDifference, Known, KnownHeight, Net, Pull

FT = 0.3048

LEVEL_LINES = {
    ("X", "A"): (5.10, 4),
    ("A", "Y"): (2.34, 3),
    ("Y", "C"): (-1.25, 2),
    ("C", "X"): (-6.13, 3),
    ("A", "B"): (-0.68, 2),
    ("Y", "B"): (-3.00, 2),
    ("B", "C"): (1.70, 2),
}


def level_net(weighted):
    """sd in ft: 1 for all, or the square root of length / 12 so that the weights are 12 / length."""
    lines = tuple(
        HeightDifference(a, b, up * FT, sd=(miles / 12) ** 0.5 * FT if weighted else FT)
        for (a, b), (up, miles) in LEVEL_LINES.items()
    )
    given = (KnownHeight("X", 100.00 * FT), KnownHeight("Y", 107.50 * FT))
    return Net(height_differences=lines, known_heights=given)


def test_level_net_equal_weights():
    """Chapter 12, level net of seven lines: A 105.141, B 104.483, C 106.188 ft, s0 0.0501."""
    got = adjust(level_net(weighted=False), look_for_slips=False)
    assert got.heights["A"].height / FT == pytest.approx(105.141, abs=5e-4)
    assert got.heights["B"].height / FT == pytest.approx(104.483, abs=5e-4)
    assert got.heights["C"].height / FT == pytest.approx(106.188, abs=5e-4)
    assert got.levels.s0 == pytest.approx(0.0501, abs=5e-5)
    sds = [got.heights[name].sd / FT * got.levels.s0 for name in "ABC"]
    assert sds == pytest.approx([0.031, 0.033, 0.031], abs=5e-4)


def test_level_net_weighted_by_length():
    """The same, weights 12 / length: A 105.1504, B 104.4892, C 106.1972 ft, s0 0.1072."""
    got = adjust(level_net(weighted=True), look_for_slips=False)
    assert got.heights["A"].height / FT == pytest.approx(105.1504, abs=5e-5)
    assert got.heights["B"].height / FT == pytest.approx(104.4892, abs=5e-5)
    assert got.heights["C"].height / FT == pytest.approx(106.1972, abs=5e-5)
    assert got.levels.s0 == pytest.approx(0.1072, abs=5e-5)


def test_example_12_1():
    """Example 12.1, metres: B 448.1087, C 453.4685, D 444.9436; v'Pv 1.272, r 3, s0 .651, |w| .76."""
    lines = [
        ("A", "B", 10.509, 0.006),
        ("B", "C", 5.360, 0.004),
        ("C", "D", -8.523, 0.005),
        ("D", "A", -7.348, 0.003),
        ("B", "D", -3.167, 0.004),
        ("A", "C", 15.881, 0.012),
    ]
    net = Net(
        height_differences=tuple(HeightDifference(a, b, up, sd=sd) for a, b, up, sd in lines),
        known_heights=(KnownHeight("A", 437.596),),
    )
    got = adjust(net)
    assert got.heights["B"].height == pytest.approx(448.1087, abs=5e-5)
    assert got.heights["C"].height == pytest.approx(453.4685, abs=5e-5)
    assert got.heights["D"].height == pytest.approx(444.9436, abs=5e-5)
    assert got.levels.dof == 3
    assert got.levels.statistic == pytest.approx(1.272, abs=5e-4)
    assert got.levels.s0 == pytest.approx(0.651, abs=5e-4)
    assert max(abs(row.standardised) for row in got.readings) == pytest.approx(0.76, abs=5e-3)
    assert got.levels.passed
    assert got.slips == ()


def test_example_14_1():
    """Example 14.1: U (6861.317, 3727.819) ft, v -.037 +.077 -.047 ft, s0 .0977, sx .078, sy .154."""
    stations = {"A": (865.40, 4527.15), "B": (2432.55, 2047.25), "C": (2865.22, 27.15)}
    lengths = {"A": 6049.00, "B": 4736.83, "C": 5446.49}
    net = Net(
        knowns=tuple(Known(name, x * FT, y * FT) for name, (x, y) in stations.items()),
        pulls=tuple(Pull(name, "U", length * FT, sd=FT) for name, length in lengths.items()),
    )
    got = adjust(net, look_for_slips=False)
    at = got.points["U"]
    assert (at.x / FT, at.y / FT) == pytest.approx((6861.317, 3727.819), abs=5e-4)
    residuals = [row.residual / FT for row in got.readings]
    assert residuals == pytest.approx([-0.037, 0.077, -0.047], abs=5e-4)
    s0 = got.plane.s0
    assert s0 == pytest.approx(0.0977, abs=5e-5)
    assert (at.sx / FT * s0, at.sy / FT * s0) == pytest.approx((0.078, 0.154), abs=5e-4)
