"""Ties, a yard's trilateration and a levelled loop with a blunder, worked out from the formulas.

Source: the formulas of a two-distance tie (plane geometry), error propagation, weighted least squares
and data snooping (Baarda 1968, recalled); every figure below was worked out from them in double
precision by a separate program and rounded. Feet.
"""

from __future__ import annotations

import pytest

from slabwright.survey import adjust
from slabwright.survey.chi_square import chi_square_quantile
from slabwright.survey.loci import tie
from slabwright.survey.net import HeightDifference, Known, KnownHeight, Net, Pull
from slabwright.survey.report import detectable_factor

FT = 0.3048
STATIONS = {"A": (0.0, 0.0), "B": (40.0, 0.0), "C": (40.0, 28.0)}


def yard(*lengths, sd=0.02):
    knowns = tuple(Known(name, x * FT, y * FT) for name, (x, y) in STATIONS.items())
    pulls = tuple(
        Pull(name, "P", length * FT, sd=sd * FT) for name, length in zip("ABC", lengths, strict=False)
    )
    return Net(knowns=knowns, pulls=pulls, outside="left")


def test_two_distance_tie():
    """c 40, 30 and 35 -> (15.9375, 25.41645)."""
    assert tie(40.0, 30.0, 35.0) == pytest.approx((15.9375, 25.41645), abs=5e-6)


def test_tie_that_cannot_reach():
    """c 40, 15 and 20: the circles do not meet."""
    with pytest.raises(ValueError, match="do not meet"):
        tie(40.0, 15.0, 20.0)
    got = adjust(yard(15, 20))
    assert [one.reason for one in got.loose] == ["cannot-reach"]
    assert got.loose[0].gap / FT == pytest.approx(5.0, abs=1e-9)


def test_tie_strength():
    """The same tie with 0.02 ft pulls: sx .0230, sy .0179, together .0292 ft."""
    at = adjust(yard(30, 35)).points["P"]
    assert (at.x / FT, at.y / FT) == pytest.approx((15.9375, 25.4165), abs=5e-5)
    assert at.sx / FT == pytest.approx(0.0230, abs=5e-5)
    assert at.sy / FT == pytest.approx(0.0179, abs=5e-5)
    assert (at.sx**2 + at.sy**2) ** 0.5 / FT == pytest.approx(0.0292, abs=5e-5)


def test_yard_trilateration():
    """29.69, 34.65, 24.20 -> P (15.9972, 25.0014), v -.0087 +.0084 -.0106, chi2 .647, .0151, .0179."""
    got = adjust(yard(29.69, 34.65, 24.20))
    at = got.points["P"]
    assert (at.x / FT, at.y / FT) == pytest.approx((15.9972, 25.0014), abs=5e-5)
    residuals = [row.residual / FT for row in got.readings]
    assert residuals == pytest.approx([-0.0087, 0.0084, -0.0106], abs=5e-5)
    assert got.plane.statistic == pytest.approx(0.647, abs=5e-4)
    assert (at.sx / FT, at.sy / FT) == pytest.approx((0.0151, 0.0179), abs=5e-5)
    assert got.plane.passed


def test_one_check_tells_that_but_not_which():
    """30.02, 34.96, 24.32 -> (15.892, 25.399), chi2 30.3 > 3.84, |w| 5.50 for all three."""
    got = adjust(yard(30.02, 34.96, 24.32), look_for_slips=False)
    at = got.points["P"]
    assert (at.x / FT, at.y / FT) == pytest.approx((15.892, 25.399), abs=5e-4)
    assert got.plane.statistic == pytest.approx(30.3, abs=0.05)
    assert not got.plane.passed
    assert [abs(row.standardised) for row in got.readings] == pytest.approx([5.50] * 3, abs=5e-3)


LOOP = [
    ("BM", "P1", -1.25),
    ("P1", "P2", -0.40),
    ("P2", "P3", 0.15),
    ("P3", "BM", 1.51),
    ("BM", "P2", -1.64),
    ("P1", "P3", -0.26),
]


def levelled(blunder):
    lines = tuple(
        HeightDifference(a, b, (up + (blunder if (a, b) == ("BM", "P2") else 0.0)) * FT, sd=0.01 * FT)
        for a, b, up in LOOP
    )
    return Net(height_differences=lines, known_heights=(KnownHeight("BM", 100.0 * FT),))


def test_levelled_loop():
    """P1 98.7525, P2 98.3525, P3 98.4950, chi2 1.50 with r 3: passes."""
    got = adjust(levelled(0.0))
    heights = [got.heights[name].height / FT for name in ("P1", "P2", "P3")]
    assert heights == pytest.approx([98.7525, 98.3525, 98.4950], abs=5e-5)
    assert got.levels.statistic == pytest.approx(1.50, abs=5e-3)
    assert got.levels.dof == 3
    assert got.levels.passed


def test_levelled_loop_with_a_blunder():
    """BM-P2 at -1.74: chi2 36.5, |w| 6.01 on that line, estimate -.085 ft (true -.10)."""
    got = adjust(levelled(-0.10), look_for_slips=False)
    assert got.levels.statistic == pytest.approx(36.5, abs=0.05)
    assert not got.levels.passed
    worst = max(got.readings, key=lambda row: abs(row.standardised))
    assert worst.points == ("BM", "P2")
    assert abs(worst.standardised) == pytest.approx(6.01, abs=5e-3)
    assert -worst.residual / worst.redundancy / FT == pytest.approx(-0.085, abs=5e-4)


def test_the_blunder_is_named():
    """The same line is named, and only it."""
    got = adjust(levelled(-0.10))
    assert [slip.points for slip in got.slips] == [("BM", "P2")]
    assert got.levels.passed


@pytest.mark.parametrize(
    ("p", "dof", "printed"),
    [(0.95, 1, 3.841), (0.95, 3, 7.815), (0.975, 3, 9.348), (0.025, 5, 0.831), (0.975, 5, 12.833)],
)
def test_chi_square_limits(p, dof, printed):
    """r 1: 3.841; r 3: 7.815 and 9.348; r 5 two-sided: 0.831 to 12.833."""
    assert round(chi_square_quantile(p, dof), 3) == printed


def test_detectable_factor():
    """3.2905 + 0.8416 = 4.13."""
    assert detectable_factor() == pytest.approx(3.2905 + 0.8416, abs=1e-4)
    assert round(detectable_factor(), 2) == 4.13
