"""A text is scanned once; what comes of it is the same the second time, faults too."""

from __future__ import annotations

import pytest
from ruamel.yaml import YAML

from slabwright.notes import NotesError, parse_notes, scanned
from slabwright.notes.nodes import parse_nodes, plain
from slabwright.notes.writer import new_job


@pytest.fixture
def scans(monkeypatch):
    """Count the texts that are really scanned."""
    seen = []
    real = scanned._scanned

    def counting(text):
        seen.append(text)
        return real(text)

    monkeypatch.setattr(scanned, "_scanned", counting)
    monkeypatch.setattr(scanned, "_kept", type(scanned._kept)())
    return seen


def test_the_second_reading_scans_nothing(scans):
    text = new_job("walk")
    first = plain(parse_nodes(text, "a")[0])
    assert plain(parse_nodes(text, "b")[0]) == first
    assert parse_notes(text).title
    assert scans == [text]


def test_events_are_those_of_the_scanner(scans):
    text = new_job("patio")
    raw = [type(e).__name__ for e in YAML(typ="safe", pure=True).parse(text)]
    assert [type(e).__name__ for e in scanned.events(text)] == raw
    assert [type(e).__name__ for e in scanned.events(text)] == raw


def test_a_fault_is_told_each_time_alike(scans):
    text = new_job("walk") + "\nslabs: [\n"
    said = []
    for _ in range(3):
        with pytest.raises(NotesError) as error:
            parse_notes(text)
        said.append(str(error.value))
    assert len(set(said)) == 1
    assert len(scans) == 1


def test_a_reading_that_stopped_half_way_keeps_nothing(scans):
    text = "title: &a x\n" + new_job("walk")
    for _ in range(2):
        with pytest.raises(NotesError):
            parse_notes(text)
    assert len(scans) == 2
    assert not scanned._kept


def test_only_a_few_texts_are_kept(scans):
    for n in range(scanned.KEPT + 3):
        parse_nodes(new_job("walk") + f"# {n}\n", "x")
    assert len(scanned._kept) == scanned.KEPT
