"""The crew's tools against the job: each limit on both sides and on its edge."""

from __future__ import annotations

from typing import Any

import pytest

from slabwright.build.kit import check_kit, clear_width
from slabwright.notes.models import Kit
from slabwright.slab.model import Joint

FT = 0.3048
FULL = {
    "strike_off": "4 ft",
    "float_": "2' 6\"",
    "edger": "3/8",
    "joint_tool": "1",
    "broom": "3 ft",
    "barrows": 2,
}


def kit(**changes: Any) -> Kit:
    written = {k: v for k, v in (FULL | changes).items() if v is not None}
    return Kit(**written)


def joint(made: str) -> Joint:
    return Joint("contraction", ((5.0, 0.0), (5.0, 0.9)), 0.02, made, "spacing")  # type: ignore[arg-type]


def codes(make: Any, tools: Kit, *slabs: Any) -> list[str]:
    return [found.code for found in check_kit(tools, make.job(*slabs))]


def test_a_full_kit_only_hears_about_protection(make: Any) -> None:
    walk = make.walk(joints=[joint("tooled")])
    assert codes(make, kit(), walk) == ["kit-protection"]


@pytest.mark.parametrize(
    ("length", "short"), [("3 ft", True), ("3' 2 15/16\"", True), ("3' 3\"", False), ("5 ft", False)]
)
def test_strike_off_rides_both_forms(make: Any, length: str, short: bool) -> None:
    found = codes(make, kit(strike_off=length), make.walk())
    assert ("kit-strike-off-short" in found) == short


@pytest.mark.parametrize(
    ("length", "too_long"), [("3 ft", True), ("2' 11 1/4\"", True), ("2' 11\"", False), ("2' 6\"", False)]
)
def test_float_fits_between_the_forms(make: Any, length: str, too_long: bool) -> None:
    assert ("kit-float-long" in codes(make, kit(float_=length), make.walk())) == too_long
    assert ("kit-bull-float-long" in codes(make, kit(bull_float=length), make.walk())) == too_long


@pytest.mark.parametrize(
    ("thickness", "depth", "shallow"),
    [
        (3.5, "7/8", True),  # a quarter of it, but the published least is 1 in
        (3.5, "1", False),
        (4.0, "3/4", True),
        (4.0, "1", False),
        (6.0, "1 1/4", True),
        (6.0, "1 1/2", False),
    ],
)
@pytest.mark.parametrize(
    ("made", "tool", "code"),
    [("tooled", "joint_tool", "kit-joint-tool-shallow"), ("sawn", "saw_depth", "kit-saw-shallow")],
)
def test_joint_depth(
    make: Any, thickness: float, depth: str, shallow: bool, made: str, tool: str, code: str
) -> None:
    walk = make.walk(joints=[joint(made)], thickness=thickness * 0.0254)
    assert (code in codes(make, kit(**{tool: depth}), walk)) == shallow


def test_a_tool_that_the_job_does_not_use_is_not_checked(make: Any) -> None:
    sawn = make.walk(joints=[joint("sawn")])
    assert "kit-joint-tool-shallow" not in codes(make, kit(joint_tool="1/4", saw_depth="2"), sawn)


@pytest.mark.parametrize(("radius", "odd"), [("1/16", True), ("1/8", False), ("1/2", False), ("5/8", True)])
def test_edger_radius(make: Any, radius: str, odd: bool) -> None:
    assert ("kit-edger" in codes(make, kit(edger=radius), make.walk())) == odd


@pytest.mark.parametrize(("width", "strips"), [(10, None), (10.1, 2), (20, 2), (20.1, 3)])
def test_a_wide_slab_is_struck_off_in_strips(make: Any, width: float, strips: int | None) -> None:
    slab = make.slab([(0, 0), (40 * FT, 0), (40 * FT, width * FT), (0, width * FT)])
    found = [f for f in check_kit(kit(strike_off="16 ft"), make.job(slab)) if f.code == "kit-strips"]
    assert [f.values["strips"] for f in found] == ([strips] if strips else [])


@pytest.mark.parametrize(
    ("tool", "code"),
    [
        ("strike_off", "kit-missing-strike-off"),
        ("float_", "kit-missing-float"),
        ("edger", "kit-missing-edger"),
        ("joint_tool", "kit-missing-joint-tool"),
        ("broom", "kit-missing-broom"),
        ("barrows", "kit-missing-barrows"),
    ],
)
def test_what_is_missing_is_named(make: Any, tool: str, code: str) -> None:
    walk = make.walk(joints=[joint("tooled")])
    assert codes(make, kit(**{tool: None}), walk) == [code, "kit-protection"]


def test_what_is_missing_reads_in_both_systems(make: Any) -> None:
    from slabwright.measure import System

    for found in check_kit(Kit(barrows=1), make.job(make.walk(joints=[joint("tooled")]))):
        for system in System:
            for lang in ("en", "es"):
                text = found.text(system=system, lang=lang)
                assert "{" not in text.what + text.why + text.do


def test_what_the_job_does_not_need_is_not_missing(make: Any) -> None:
    pad = make.slab([(0, 0), (2, 0), (2, 1), (0, 1)], finish="float")
    assert codes(make, kit(joint_tool=None, broom=None, barrows=None), pad) == ["kit-protection"]
    assert codes(make, kit(joint_tool=None), make.walk(joints=[joint("sawn")])) == [
        "kit-missing-saw",
        "kit-protection",
    ]


def test_an_unwritten_kit_is_said_once(make: Any) -> None:
    assert codes(make, Kit(), make.walk()) == ["kit-not-written", "kit-protection"]
    # Boards are no tools.
    boards = Kit(boards=({"size": "2x4", "length": "8 ft"},))  # type: ignore[arg-type]
    assert codes(make, boards, make.walk()) == ["kit-not-written", "kit-protection"]


def test_no_slabs_nothing_to_say(make: Any) -> None:
    assert codes(make, Kit()) == []


def test_width_of_a_turned_ring(make: Any) -> None:
    slab = make.slab([(0, 0), (4, 3), (2.2, 5.4), (-1.8, 2.4)])
    assert clear_width(slab) == pytest.approx(3.0)


def test_both_languages(make: Any) -> None:
    tools = kit(
        strike_off="3 ft", float_="9 ft", bull_float="9 ft", joint_tool="1/4", edger="1", saw_depth="1/4"
    )
    slabs = [make.walk(joints=[joint("tooled")]), make.walk(joints=[joint("sawn")], name="two")]
    slabs.append(make.slab([(0, 0), (9, 0), (9, 9), (0, 9)], name="three"))
    for found in (*check_kit(tools, make.job(*slabs)), *check_kit(Kit(), make.job(*slabs))):
        english, spanish = found.text(), found.text(lang="es")
        assert english.what != spanish.what
        assert "{" not in english.what + english.why + english.do + spanish.what + spanish.why + spanish.do
