"""Each kind of unusable reading is named, and the rest of the net is solved all the same."""

from __future__ import annotations

import importlib.util
import math
from dataclasses import replace
from pathlib import Path

import pytest

from slabwright.measure import System
from slabwright.survey import adjust
from slabwright.survey.net import (
    HeightDifference,
    Known,
    KnownHeight,
    Net,
    Pull,
    RightAngle,
    Rod,
    Side,
    SquareOff,
    Straight,
)

_spec = importlib.util.spec_from_file_location("survey_yard", Path(__file__).with_name("yard.py"))
yards = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(yards)
FT, also, codes, yard = yards.FT, yards.also, yards.codes, yards.yard

SPOILT = {
    "pull-not-positive": {"pulls": [Pull("A", "P1", 0.0), Pull("B", "P1", -3.0)]},
    "reading-not-a-number": {"pulls": [Pull("A", "P1", math.nan)], "rods": [Rod("S1", "P1", math.inf)]},
    "sd-not-positive": {"pulls": [Pull("A", "P1", 1.0, sd=0.0), Pull("A", "P2", 1.0, sd=-1.0)]},
    "same-point-twice": {"pulls": [Pull("P1", "P1", 2.0)], "right_angles": [RightAngle("A", "B", "B")]},
    "line-of-two": {"straights": [Straight(("A", "B"))]},
    "point-without-name": {"pulls": [Pull("A", " ", 2.0)]},
    "rod-underground": {"rods": [Rod("S1", "P1", -0.4), Rod("S1", "P2", 0.0)]},
}


@pytest.mark.parametrize("code", list(SPOILT))
def test_unusable_reading_is_left_out_by_name(code):
    extra = SPOILT[code]
    got = adjust(also(yard(), **extra))
    wanted = sorted(reading.name for rows in extra.values() for reading in rows)
    assert sorted(f.where for f in got.findings if f.code == code) == wanted
    assert yards.places_right(got)
    assert len(got.points) == 8
    assert got.heights["P3"].height == pytest.approx(-2.0 * FT, abs=1e-9)
    assert got.slips == ()


def test_finding_tells_line_and_both_languages():
    got = adjust(also(yard(), pulls=[Pull("A", "P1", -3 * FT, line=12, where="tape A to P1")]))
    finding = next(f for f in got.findings if f.code == "pull-not-positive")
    assert finding.line == 12
    assert finding.text().what == "tape A to P1 was written as -3'-0\", so it is left out."
    assert "se deja fuera" in finding.text(lang="es").what
    assert "m" in finding.text(system=System.METRIC).what


def test_point_that_hangs_on_one_pull():
    got = adjust(also(yard(), pulls=[Pull("P1", "Q", 2.0)]))
    assert [(one.name, one.reason, one.by) for one in got.loose] == [("Q", "one-tie", ("P1",))]
    assert "hangs-on-one-tie" in codes(got)
    assert "Q" not in got.points
    assert yards.places_right(got)


def test_group_that_hangs_on_nothing():
    group = [Pull("X", "Y", 3.0), Pull("Y", "Z", 4.0), Pull("Z", "X", 5.0)]
    got = adjust(also(yard(), pulls=group))
    assert {one.name: one.reason for one in got.loose} == dict.fromkeys("XYZ", "apart")
    assert yards.places_right(got)
    assert got.plane.passed


def test_three_points_in_a_line():
    """P tied from A and B with pulls that add up to the wall: nothing says how far off it stands."""
    got = adjust(also(yard(), pulls=[Pull("A", "M", 10 * FT), Pull("B", "M", 32 * FT)]))
    assert [(one.name, one.reason) for one in got.loose] == [("M", "in-line")]
    assert yards.places_right(got)


def test_three_points_in_a_line_that_is_known_to_be_straight():
    pulls = [Pull("A", "M", 10 * FT), Pull("B", "M", 32 * FT)]
    got = adjust(also(yard(), pulls=pulls, straights=[Straight(("A", "M", "B"))]))
    assert got.loose == ()
    assert (got.points["M"].x, got.points["M"].y) == pytest.approx((10 * FT, 0.0), abs=1e-6)


def test_flat_tie_is_pointed_out():
    pulls = [Pull("A", "M", math.hypot(10, 4) * FT), Pull("B", "M", math.hypot(32, 4) * FT)]
    got = adjust(also(yard(), pulls=pulls))
    finding = next(f for f in got.findings if f.code == "weak-tie")
    assert finding.where == "M"
    assert finding.values["spread"].si == pytest.approx(2 * got.points["M"].sy, rel=0.1)


def test_tie_that_cannot_reach():
    got = adjust(also(yard(), pulls=[Pull("A", "R", 10 * FT), Pull("B", "R", 12 * FT)]))
    (one,) = got.loose
    assert (one.name, one.reason) == ("R", "cannot-reach")
    assert one.gap == pytest.approx(20 * FT)
    assert yards.places_right(got)


def test_tie_inside_the_other_circle_cannot_reach():
    got = adjust(also(yard(), pulls=[Pull("A", "R", 60 * FT), Pull("B", "R", 12 * FT)]))
    (one,) = got.loose
    assert one.gap == pytest.approx(6 * FT)


def test_heights_that_hang_on_nothing():
    got = adjust(also(yard(), rods=[Rod("S9", "K1", 1.2), Rod("S9", "K2", 1.3)]))
    assert [(one.name, one.where) for one in got.loose] == [("K1", "height"), ("K2", "height")]
    assert next(f for f in got.findings if f.code == "height-apart").values["points"] == "K1, K2"
    assert got.heights["P1"].height == pytest.approx(-1.5 * FT)


def test_place_given_twice():
    net = also(yard(), knowns=[Known("K", 1.0, -2.0, line=3), Known("K", 1.0, -2.5), Known("K", 1.0, -2.0)])
    got = adjust(net)
    assert codes(got).count("place-given-twice") == 1
    assert (got.points["K"].x, got.points["K"].y) == (1.0, -2.0)


def test_height_given_twice():
    net = replace(yard(), known_heights=(KnownHeight("sill", 10.0, line=4), KnownHeight("sill", 11.0)))
    got = adjust(net)
    assert codes(got).count("height-given-twice") == 1
    assert got.heights["P1"].height == pytest.approx(10.0 - 1.5 * FT)


def test_names_that_differ_only_by_capitals():
    got = adjust(also(yard(), pulls=[Pull("A", "p1", 4.0), Pull("B", "p 1", 12.0)]))
    pairs = {(f.values["a"], f.values["b"]) for f in got.findings if f.code == "names-alike"}
    assert pairs == {("P1", "p1"), ("P1", "p 1")}


def test_unknown_instrument_counts_as_the_usual_one():
    got = adjust(also(yard(), pulls=[Pull("P1", "P4", yards.pull("P1", "P4").length, instrument="string")]))
    assert codes(got) == ["instrument-unknown"]
    assert next(r for r in got.readings if r.name == "tape P1-P4").sd == pytest.approx(
        math.hypot(0.002, 1e-4 * yards.pull("P1", "P4").length)
    )


def test_rod_longer_than_any():
    got = adjust(also(yard(), rods=[Rod("S1", "pit", 9.0)]))
    assert "rod-long" in codes(got)


def test_nothing_to_hold_on_to():
    """Without a first wall, and with a first wall that is one point, plane points stay loose."""
    for frame in (None, ("A", "A")):
        got = adjust(replace(yard(), frame=frame))
        assert got.points == {}
        assert "no-frame" in codes(got)
        assert got.heights["P1"].height == pytest.approx(-1.5 * FT)


@pytest.mark.parametrize(
    "net",
    [
        Net(),
        Net(frame=("A", "B")),
        Net(frame=("A", "B"), pulls=(Pull("A", "B", 3.0),)),
        Net(frame=("A", "B"), pulls=(Pull("C", "D", 3.0),)),
        Net(frame=("A", "B"), square_offs=(SquareOff("P", "A", "B", 1.0, 2.0),)),
        Net(knowns=(Known("A", 1.0, 2.0),), frame=None),
        Net(known_heights=(KnownHeight("A", 1.0),)),
        Net(rods=(Rod("S", "A", 1.0),)),
        Net(height_differences=(HeightDifference("A", "B", 0.3),)),
        Net(frame=("A", "B"), sides=(Side("P", "A", "B", "left"),)),
        Net(frame=("A", "B"), right_angles=(RightAngle("A", "B", "C"),)),
        Net(datum="nowhere", rods=(Rod("S", "A", 1.0),)),
    ],
)
def test_next_to_nothing_is_no_error(net):
    got = adjust(net)
    for finding in got.findings:
        assert finding.text().what
        assert finding.text(lang="es").do


def test_heights_without_place_and_places_without_height():
    got = adjust(yard())
    assert "sill" in got.heights
    assert "sill" not in got.points
    assert "C" in got.points
    assert "C" not in got.heights
    assert got.datum == "sill"
