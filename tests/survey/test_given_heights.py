"""Given heights that conflict are named themselves; a rod is named beside them only where it fits as well."""

from __future__ import annotations

import importlib.util
from dataclasses import replace
from pathlib import Path

import pytest

from slabwright.survey import adjust
from slabwright.survey.net import KnownHeight

_spec = importlib.util.spec_from_file_location("survey_yard", Path(__file__).with_name("yard.py"))
yards = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(yards)
FT, INCH = yards.FT, yards.INCH


def given(*, only="", **heights):
    """Return the yard with given heights [ft]; readings of one set-up only, when one is named."""
    net = yards.yard()
    rods = tuple(rod for rod in net.rods if only in ("", rod.set_up))
    known = tuple(KnownHeight(name, feet * FT) for name, feet in heights.items())
    return replace(net, rods=rods, known_heights=known)


def named(survey):
    return {slip.reading for slip in survey.slips}


def test_heights_that_agree_are_not_named():
    got = adjust(given(sill=0.0, P3=-2.0, P1=-1.5))
    assert got.slips == ()
    assert got.levels.passed


@pytest.mark.parametrize("by", [1.0, -1.0, 1 / 12, 0.37])
def test_two_that_conflict_are_both_named_and_no_rod_is(by):
    got = adjust(given(sill=0.0, P3=-2.0 + by))
    assert named(got) == {"given height of sill", "given height of P3"}
    assert not any(slip.set_aside for slip in got.slips)
    finding = next(f for f in got.findings if f.code == "slip-one-of-two")
    assert "-2'-0\" fits" in finding.text().what or "-2'-0\" for" in finding.text().what


def test_one_against_two_is_named_alone_and_set_aside():
    got = adjust(given(sill=0.0, P3=-1.0, P1=-1.5))
    assert [(s.reading, s.kind, s.set_aside) for s in got.slips] == [("given height of P3", "foot", True)]
    assert got.heights["P3"].height == pytest.approx(-2.0 * FT, abs=1e-6)
    assert got.levels.passed


def test_first_one_wrong_leaves_the_others_to_carry_the_heights():
    got = adjust(given(sill=1.0, P3=-2.0, P1=-1.5))
    assert named(got) == {"given height of sill"}
    assert got.heights["sill"].height == pytest.approx(0.0, abs=1e-6)
    assert got.heights["P4"].height == pytest.approx(-1.25 * FT, abs=1e-6)


def test_with_one_set_up_its_two_rods_fit_as_well_and_are_named_too():
    got = adjust(given(only="S1", sill=0.0, P3=-1.0))
    rods = {"rod sill from S1", "rod P3 from S1"}
    assert named(got) == rods | {"given height of sill", "given height of P3"}


@pytest.mark.parametrize("point", ["P2", "P3"])
def test_a_rod_that_slipped_is_named_without_the_given_heights(point):
    wrong = yards.yard(**{f"rod {point} from S1": FT})
    heights = (KnownHeight("sill", 0.0), KnownHeight("P3", -2.0 * FT))
    got = adjust(replace(wrong, known_heights=heights))
    assert named(got) == {f"rod {point} from S1"}
    assert got.slips[0].set_aside


def test_a_given_height_and_a_rod_may_both_be_wrong():
    wrong = yards.yard(**{"rod P2 from S1": -FT})
    heights = (KnownHeight("sill", 0.0), KnownHeight("P1", -1.5 * FT), KnownHeight("P3", -2.0 * FT + INCH))
    got = adjust(replace(wrong, known_heights=heights))
    assert named(got) == {"rod P2 from S1", "given height of P3"}
    assert got.heights["P2"].height == pytest.approx(-1.75 * FT, abs=1e-6)
    assert len({slip.group for slip in got.slips}) == 2
