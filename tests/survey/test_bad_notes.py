"""Bad field notes from the job file to the plan: each fault is said by name, and the rest is planned.

What is wrong in the writing (a pull of nothing, a name twice) is refused by the reader with its line.
What is wrong on the ground becomes a finding, and the packet is made all the same. Only a new slab
whose own corner has no place, or that nothing is left of, cannot be planned: PlanError names it.
"""

from __future__ import annotations

import math
import random
import re
from functools import cache
from pathlib import Path

import pytest

from slabwright.notes.reader import NotesError, parse_notes
from slabwright.plan import PlanError, make, sheets_of
from slabwright.result import Plan

JOB = (Path(__file__).parents[2] / "examples" / "side-walk" / "job.yaml").read_text(encoding="utf-8")
TAPE = "tape:                    # steel tape, held by both of us\n"
NO_P2_SQUARE = ("  - P2: {wall: A-B, along: 42' 3, out: 5'}\n", "")
NO_A_P2 = ("  - A-P2: 42' 6 1/2\n", "")
NO_B_P2 = ("  - B-P2: 7' 7 1/2\n", "")
P1_P2 = "  - P1-P2: 32'           # the walk's centre line, patio to gate walk\n"
NO_G1 = ("  - G1: {wall: A-B, along: 42' 3, out: 3' 6}\n", ""), ("  - B-G1: 6' 8 3/4\n", "")


def notes(*changes: tuple[str, str]) -> str:
    text = JOB
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def more(*pulls: str) -> tuple[str, str]:
    return TAPE, TAPE + "".join(f"  - {pull}\n" for pull in pulls)


@cache
def plain() -> Plan:
    return make(parse_notes(JOB))


def said(plan: Plan, code: str) -> list[str]:
    return [finding.where for finding in plan.findings if finding.code == code]


def same_points(plan: Plan, *but: str) -> bool:
    """Return whether every point of the untouched job is where it was."""
    return all(
        math.isclose(at.x, plan.survey.points[name].x, abs_tol=0.004)
        and math.isclose(at.y, plan.survey.points[name].y, abs_tol=0.004)
        for name, at in plain().survey.points.items()
        if name not in but
    )


ON_THE_GROUND = {
    "disconnected": ([more("X1-X2: 10'", "X2-X3: 12'", "X1-X3: 9'")], "stands-apart", ["X1", "X2", "X3"]),
    "one pull": ([more("A-X1: 10'")], "hangs-on-one-tie", ["X1"]),
    "three in a line": ([more("A-X1: 10'", "X1-B: 38'")], "in-line", ["X1"]),
    "cannot reach": ([more("A-X1: 10'", "B-X1: 12'")], "cannot-reach", ["X1"]),
    "rod underground": (
        [("      Q1: 4' 8 3/8", "      Q1: -4' 8 3/8")],
        "rod-underground",
        ["rod Q1 from S1"],
    ),
    "rod of nothing": ([("      Q1: 4' 8 3/8", "      Q1: 0'")], "rod-underground", ["rod Q1 from S1"]),
    "longer than any rod": ([("N3: 5' 3 3/4", "N3: 55' 3 3/4")], "rod-long", ["rod N3 from S2"]),
    "names alike": ([more("q1-g1: 42' 4")], "names-alike", ["tape G1-G2", "tape Q1-Q2"]),
    "heights apart": (
        [("datum: side sill", "  - {set-up: S3, rod: {T1: 4', V1: 5'}}\ndatum: side sill")],
        "height-apart",
        ["T1"],
    ),
}


@pytest.mark.parametrize("case", list(ON_THE_GROUND))
def test_fault_on_the_ground_is_said_and_the_rest_planned(case):
    changes, code, where = ON_THE_GROUND[case]
    plan = make(parse_notes(notes(*changes)))
    assert sorted(said(plan, code)) == where
    finding = next(f for f in plan.findings if f.code == code)
    for lang in ("en", "es"):
        text = finding.text(lang=lang)
        assert all((text.what, text.why, text.do))
        assert "{" not in text.what + text.why + text.do
    assert same_points(plan)
    assert [slab.spec.name for slab in plan.shaped.slabs] == ["side walk"]
    assert plan.shaped.slabs[0].outline.area == pytest.approx(plain().shaped.slabs[0].outline.area, abs=0.01)


def test_packet_is_made_with_all_these_faults_at_once():
    changes = [change for name in ("rod underground", "heights apart") for change in ON_THE_GROUND[name][0]]
    pulls = ["X1-X2: 10'", "A-Y1: 10'", "A-Z1: 10'", "Z1-B: 38'", "A-W1: 10'", "B-W1: 12'"]
    plan = make(parse_notes(notes(more(*pulls), *changes)))
    codes = {finding.code for finding in plan.findings}
    wanted = (
        "stands-apart",
        "hangs-on-one-tie",
        "in-line",
        "cannot-reach",
        "rod-underground",
        "height-apart",
    )
    assert codes.issuperset(wanted)
    files = dict(sheets_of(plan, date="2026-05-04"))
    assert files["packet.pdf"].startswith(b"%PDF")


REFUSED = {
    "pull of nothing": ([more("A-G1: 0'")], "more than nothing"),
    "pull below nothing": ([more("A-G1: -3'")], "more than nothing"),
    "rod twice": ([("      Q1: 4' 8 3/8\n", "      Q1: 4' 8 3/8\n      Q1: 4' 9\n")], "Q1: is written twice"),
    "place twice": ([("  K1: [64', 24']", "  K1: [60', 20']\n  K1: [64', 24']")], "K1: is written twice"),
    "never measured": ([NO_P2_SQUARE, NO_A_P2, NO_B_P2, (P1_P2, "")], '"P2" was never measured'),
    "datum never shot": ([("datum: side sill", "datum: nowhere")], '"nowhere" was never shot'),
}


@pytest.mark.parametrize("case", list(REFUSED))
def test_fault_in_the_writing_is_refused_with_its_line(case):
    changes, words = REFUSED[case]
    with pytest.raises(NotesError) as caught:
        parse_notes(notes(*changes))
    assert words in str(caught.value)
    assert re.match(r"job\.yaml:\d+: ", str(caught.value))


CORNER_LOST = {
    "one tie": [NO_P2_SQUARE, NO_A_P2, NO_B_P2],
    "cannot reach": [NO_P2_SQUARE, NO_A_P2, (P1_P2, "  - P1-P2: 3'\n")],
}


@pytest.mark.parametrize("case", list(CORNER_LOST))
def test_corner_of_a_new_slab_without_a_place_is_named(case):
    with pytest.raises(PlanError, match=r"side walk.*P2 has no place"):
        make(parse_notes(notes(*CORNER_LOST[case])))


def test_existing_slab_without_a_place_is_left_out_by_name():
    plan = make(parse_notes(notes(*NO_G1)))
    assert said(plan, "hangs-on-one-tie") == ["G1"]
    assert "gate walk" in said(plan, "not-placed")
    assert same_points(plan, "G1")


def test_existing_slab_whose_sides_cross_is_left_out():
    """Two pulls alone leave Q1 on either side of the old patio; the wrong side makes its ring cross."""
    plan = make(parse_notes(notes(("  - Q1: {wall: A-B, along: 6\", out: 1' 6}\n", ""))))
    assert said(plan, "ring-crosses") == ["old patio"]
    assert [slab.spec.name for slab in plan.shaped.slabs] == ["side walk"]


def test_first_wall_that_was_not_pulled_comes_from_the_others():
    plan = make(parse_notes(notes(("  - A-B: 48'\n", ""))))
    assert plan.survey.loose == ()
    assert same_points(plan)


ODD_TOOLS = [
    ("  - A-B: 48'\n", "  - A-B: {reads: 48', with: chain}\n", "tape A-B", "steel, fibreglass, laser"),
    (
        "along: 6\", out: 1' 6}",
        "along: 6\", out: 1' 6, with: wheel}",
        "square-off Q1",
        "steel, fibreglass, laser",
    ),
    (
        "set-up: S1\n    with: level",
        "set-up: S1\n    with: Theodolite",
        "rod side sill from S1",
        "level, laser, water, string",
    ),
    ("  - A-B: 48'\n", "  - A-B: {reads: 48', with: water}\n", "tape A-B", "steel, fibreglass, laser"),
]


@pytest.mark.parametrize(("old", "new", "where", "known"), ODD_TOOLS)
def test_unknown_instrument_is_a_caution_with_the_known_ones(old, new, where, known):
    text = notes((old, new)) if JOB.count(old) == 1 else JOB.replace(old, new, 1)
    plan = make(parse_notes(text))
    assert said(plan, "instrument-unknown") == [where]
    finding = next(f for f in plan.findings if f.code == "instrument-unknown")
    assert finding.level.name == "CAUTION"
    for lang in ("en", "es"):
        assert known in finding.text(lang=lang).do
    assert same_points(plan)
    rows = {(row.name, row.part): row for row in plain().survey.readings}
    for row in plan.survey.readings:
        assert row.used
        assert row.sd == pytest.approx(rows[row.name, row.part].sd, abs=1e-9)


@pytest.mark.parametrize("word", ["steel", "Fiberglass", "laser", "fibreglass tape"])
def test_known_instrument_is_no_finding(word):
    plan = make(parse_notes(notes(("  - A-B: 48'\n", f"  - A-B: {{reads: 48', with: {word}}}\n"))))
    assert said(plan, "instrument-unknown") == []


def test_two_given_heights_that_conflict_are_named():
    text = notes(("datum: side sill", "datum: side sill\nheights: {side sill: 100', Q3: 100' 2}"))
    plan = make(parse_notes(text))
    slips = {slip.reading for slip in plan.survey.slips}
    assert slips == {"given height of side sill", "given height of Q3"}


@pytest.mark.parametrize("seed", range(12))
def test_spoilt_notes_raise_nothing_but_the_two_errors(seed):
    """Lines struck, readings changed or turned negative, names mixed up: a plan, NotesError or PlanError."""
    rng = random.Random(seed)
    lines = JOB.split("\n")
    end = next(k for k, line in enumerate(lines) if line.startswith("slabs:"))
    readings = [k for k in range(end) if lines[k].startswith("  ") and re.search(r"\d", lines[k])]
    for k in rng.sample(readings, rng.choice((1, 2, 3, 6))):
        how = rng.randrange(4)
        if how == 0:
            lines[k] = ""
        elif how == 1:
            lines[k] = re.sub(r"(\d+)'", lambda m: f"{rng.choice((1, 100, int(m[1]) + 1))}'", lines[k])
        elif how == 2:
            lines[k] = re.sub(r": (\d)", r": -\1", lines[k])
        else:
            name, other = (re.findall(r"\b[A-Z]\d?\b", lines[j]) for j in (k, rng.choice(readings)))
            if name and other:
                lines[k] = re.sub(rf"\b{rng.choice(name)}\b", rng.choice(other), lines[k])
    try:
        plan = make(parse_notes("\n".join(lines)))
    except (NotesError, PlanError):
        return
    assert plan.shaped.slabs[0].outline.area > 0.0


def test_shots_far_off_still_give_a_dig_map():
    """One ground shot noted a hundred feet off and one rod four feet long: a spiky surface, no failure."""
    text = (Path(__file__).parents[2] / "examples" / "corner-patio" / "job.yaml").read_text(encoding="utf-8")
    changes = {
        "- N7: {wall: A-B, along: 12', out: 22' 6}": "- N7: {wall: A-B, along: 100', out: 100' 6}",
        "  - P4-P5: 8'\n": "",
        "  - B-P6: 34' 4 7/8\n": "",
        "N8: 4' 11 1/8": "N8: 8' 11 1/8",
        "      N3: 4' 4 3/8\n": "",
    }
    for old, new in changes.items():
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    plan = make(parse_notes(text))
    assert plan.built.dig.map is not None
    assert all(band.area > 0.0 for band in plan.built.dig.map.bands)
