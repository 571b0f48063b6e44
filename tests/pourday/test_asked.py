"""What the job file says of the pour is what the same words say on the command line."""

from __future__ import annotations

import pytest

from slabwright.cli.pour_said import CoverSaid, SeenSaid, SetSaid
from slabwright.measure import DAY, HOUR
from slabwright.notes import NotesError, parse_notes
from slabwright.notes.writer import new_job
from slabwright.pourday.crew_model import PourAsked, Seen
from slabwright.pourday.from_job import asked_of, protection
from slabwright.pourday.model import Protection


def notes(said):
    return parse_notes(new_job("walk") + said)


WHOLE = """
pour:
  cure: burlap
  covers:
    - {cover: blankets, from: 5:30 pm, to: 8 am, days: 2}
    - {cover: evaporation retarder, from: 7 am}
  set: {after: 5 h 20 min, at: 68 F}
  seen:
    - {what: placed, at: 7:12 am}
    - {what: Sheen-Gone, panel: 2, slab: side walk, at: 9:40 am}
"""


def test_the_file_and_the_command_line_say_the_same():
    asked = asked_of(notes(WHOLE))
    line = (
        CoverSaid().read("blankets from 5:30pm to 8am + 2 days"),
        CoverSaid().read("evaporation retarder from 7am"),
    )
    assert asked.protections == line
    assert asked.cure == "burlap"
    assert asked.set_seen == pytest.approx(SetSaid().read("5 h 20 min at 68F"))
    assert asked.seen == (
        SeenSaid().read("placed at 7:12am"),
        SeenSaid().read("sheen gone on side walk, 2 at 9:40am"),
    )


def test_what_was_said_goes_before_the_file_and_things_seen_are_joined():
    own = Seen("broom", 11 * HOUR, "1")
    said = PourAsked((Protection("shade", 8 * HOUR),), "sheet", (4 * HOUR, 20.0), (own,))
    both = asked_of(notes(WHOLE), said)
    assert (both.protections, both.cure, both.set_seen) == (said.protections, said.cure, said.set_seen)
    assert both.seen == (*asked_of(notes(WHOLE)).seen, own)


def test_a_job_that_says_nothing_leaves_what_was_said():
    said = PourAsked(cure="sheet")
    assert asked_of(notes(""), said) is said
    assert asked_of(notes("")) == PourAsked()


@pytest.mark.parametrize(
    ("on", "off", "days", "length"),
    [(8, 17, 0, 9), (17, 8, 0, 15), (8, 8, 0, 24), (17, 8, 2, 63), (8, 17, 1, 33)],
)
def test_a_cover_comes_off_the_next_time_the_clock_shows_it(on, off, days, length):
    made = protection("blanket", on * HOUR, off * HOUR, days)
    assert made.off - made.on == pytest.approx(length * HOUR)
    assert made.off - made.on > DAY * days


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ("pour: {cure: wax}\n", "pour.cure"),
        ("pour: {covers: [{cover: blankets}]}\n", "pour.covers.1.from"),
        ("pour: {covers: [{cover: carpet, from: 8 am}]}\n", "pour.covers.1.cover"),
        ("pour: {covers: [{cover: blankets, from: 25:00}]}\n", "pour.covers.1.from"),
        ("pour: {covers: [{cover: blankets, from: 8 am, days: 10}]}\n", "pour.covers.1.days"),
        ("pour: {set: {after: 5 h}}\n", "pour.set.at"),
        ("pour: {seen: [{what: rain, at: 8 am}]}\n", "pour.seen.1.what"),
        ("pour: {seen: [{what: placed}]}\n", "pour.seen.1.at"),
    ],
)
def test_slips_name_their_field_and_line(said, field):
    with pytest.raises(NotesError) as error:
        notes("\n" + said)
    (one,) = error.value.mistakes
    assert one.field == field
    assert one.line == len(new_job("walk").split("\n")) + 1
