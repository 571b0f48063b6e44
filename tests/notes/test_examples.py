"""The example jobs: readable, of the three kinds that the README shows, their readings in agreement."""

from __future__ import annotations

from pathlib import Path

import pytest

from slabwright.measure import System
from slabwright.notes import Notes, new_job, parse_notes, read_notes, specify

ROOT = Path(__file__).parents[2] / "examples"
JOBS = ["side-walk", "corner-patio", "quay-apron"]
INCH = 0.0254


def job(name: str) -> Notes:
    return read_notes(ROOT / name / "job.yaml")


def heights(notes: Notes) -> dict[str, list[float]]:
    """Return heights above the datum [m], one for each set-up that the point was read from.

    Set-ups are joined by the datum or by the first point that a later one shares with an earlier one.
    """
    found: dict[str, list[float]] = {}
    for set_up in notes.levels:
        known = next((p for p in set_up.rod if p in found or p == notes.datum), None)
        assert known is not None, f"{set_up.set_up} shares no point with the others"
        sight = set_up.rod[known].si + (found[known][0] if known in found else 0.0)
        for point, reading in set_up.rod.items():
            found.setdefault(point, []).append(sight - reading.si)
    return found


@pytest.mark.parametrize("name", JOBS)
def test_readings_from_two_set_ups_agree(name: str) -> None:
    twice = {p: hs for p, hs in heights(job(name)).items() if len(hs) > 1}
    assert len(twice) >= 2
    for point, (first, second) in twice.items():
        assert first == pytest.approx(second, abs=INCH / 16), point


@pytest.mark.parametrize("name", JOBS)
def test_tape_pulls_agree_with_square_offs(name: str) -> None:
    """Every pull between squared-off points and the first wall's ends, to 1/8 in."""
    notes = job(name)
    first, second = notes.house.walls[:2] if notes.house else notes.baseline or ("", "")
    wall = next(p.reads.si for p in notes.tape if {p.from_, p.to} == {first, second})
    place = {o.point: (o.along.si, -o.out.si) for o in notes.square_off if o.wall == f"{first}-{second}"}
    place |= {first: (0.0, 0.0), second: (wall, 0.0)}
    checked = 0
    for pull in notes.tape:
        if pull.from_ in place and pull.to in place:
            (x, y), (u, v) = place[pull.from_], place[pull.to]
            assert pull.reads.si == pytest.approx(((x - u) ** 2 + (y - v) ** 2) ** 0.5, abs=INCH / 8)
            checked += 1
    assert checked >= 10


def test_the_side_walk_is_three_feet_wide_and_fixed_at_both_ends() -> None:
    notes = job("side-walk")
    (walk,) = specify(notes)
    assert walk.width == pytest.approx(36 * INCH)
    assert [meets.existing for meets in walk.meets] == ["old patio", "gate walk"]
    assert walk.fall.across == pytest.approx(0.75 / 36)  # 3/4 in on 3 ft
    assert len([n for n in heights(notes) if n.startswith("N")]) >= 8


def test_the_patio_is_an_l_at_a_door() -> None:
    (patio,) = specify(job("corner-patio"))
    assert len(patio.corners) == 6
    assert patio.meets[0].down == pytest.approx(1.5 * INCH)
    assert patio.fall.from_house == pytest.approx(0.02)


def test_the_apron_is_metric_between_two_fixed_edges() -> None:
    notes = job("quay-apron")
    (apron,) = specify(notes)
    assert notes.units is System.METRIC
    assert notes.baseline == ("K1", "K2")
    assert len(apron.meets) == 2
    assert (apron.width, apron.thickness) == (pytest.approx(4.8), pytest.approx(0.15))


@pytest.mark.parametrize("use", ["walk", "patio", "driveway", "apron", "pad", "landing"])
def test_starters_are_specified(use: str) -> None:
    notes = parse_notes(new_job(use))  # type: ignore[arg-type]
    assert len(specify(notes)) == 1
    assert len(heights(notes)) >= 4
