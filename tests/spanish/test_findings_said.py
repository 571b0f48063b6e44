"""Findings in Spanish: readings, panels, our own words and sources; names of the job stay."""

from __future__ import annotations

import pytest

from slabwright.findings import Finding, Level, catalogue, find, reading_named
from slabwright.solving import Status
from slabwright.sources import all_sources, source


@pytest.mark.parametrize(
    ("english", "spanish"),
    [
        ("tape A-P1", "cinta A-P1"),
        ("square-off Q4", "escuadra a Q4"),
        ("rod patio sill from S1", "mira en patio sill desde S1"),
        ("rod Q1 from S1, rod Q4 from S2", "mira en Q1 desde S1, mira en Q4 desde S2"),
        ("given height of sill", "altura dada de sill"),
        ("height A to B", "altura de A a B"),
        ("tape from the deck", "cinta from the deck"),  # the name is the writer's
        ("Q4", "Q4"),
    ],
)
def test_a_reading_is_named_in_spanish(english: str, spanish: str) -> None:
    assert reading_named(english, "es") == spanish
    assert reading_named(english, "en") == english


def test_names_of_the_job_stay_outside_the_survey() -> None:
    text = Finding("slab", "heights-not-solved", Level.STOP, "side of house, panel 3", {"status": "failed"})
    assert text.text(lang="es").where == "side of house, paño 3"
    assert text.text(lang="en").where == "side of house, panel 3"


@pytest.mark.parametrize("status", list(Status))
def test_what_the_solver_says_is_said_in_spanish(status: Status) -> None:
    text = find("slab", "heights-not-solved", where="walk", status=status.value).text(lang="es")
    assert status.value not in text.what
    assert "{" not in text.what


ROOMS = ("survey", "ground", "slab", "build", "pourday", "money")


@pytest.mark.parametrize("room", ROOMS)
def test_every_source_of_a_finding_has_its_spanish_line(room: str) -> None:
    used = {row["source"] for row in catalogue(room).values()}
    assert used
    assert not [key for key in used if not source(key).spanish]


def test_a_source_keeps_its_title_and_says_its_mark() -> None:
    assert source("common-practice").cite("es") == "Costumbre del oficio [costumbre]"
    assert source("ada-ramp").cite("es").endswith("[de memoria]")
    for one in all_sources().values():
        if one.spanish:
            assert one.spanish != f"{one.title}, {one.where}"
