"""A text is scanned once, an edit scans what it touched; what comes of it is what the scanner says."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from slabwright.notes import NotesError, parse_notes, scanned
from slabwright.notes.nodes import parse_nodes, plain
from slabwright.notes.scanned import Kind
from slabwright.notes.writer import new_job

ZOO = sorted((Path(__file__).parent / "zoo").glob("*.yaml"))
MARKS = [*"\n'\"[]{}: #\t?,\\", "- ", "|\n", ">-\n", "---\n", "...\n", "&a ", "*a", "!x ", "\na: ", "\nb:\n"]


@pytest.fixture
def scans(monkeypatch):
    """Count the texts that are really scanned."""
    seen = []
    real = scanned._scanned

    def counting(text):
        seen.append(text)
        return real(text)

    monkeypatch.setattr(scanned, "_scanned", counting)
    monkeypatch.setattr(scanned, "_texts", type(scanned._texts)())
    monkeypatch.setattr(scanned, "_parts", type(scanned._parts)())
    monkeypatch.setattr(scanned, "_letters", 0)
    return seen


def test_the_second_reading_scans_nothing(scans):
    text = new_job("walk")
    first = plain(parse_nodes(text, "a")[0])
    once = len(scans)
    assert plain(parse_nodes(text, "b")[0]) == first
    assert parse_notes(text).title
    assert len(scans) == once


def test_every_letter_is_scanned_once_and_an_edit_scans_the_key_it_touches(scans):
    text = new_job("walk")
    parse_nodes(text, "a")
    assert "".join(scans) == text[text.index(scans[0]) :]
    scans.clear()
    changed = text.replace("width:", "width :", 1)
    assert changed != text
    assert plain(parse_nodes(changed, "a")[0]) == plain(parse_nodes(text, "a")[0])
    assert len(scans) == 1
    assert scans[0].startswith("slabs:")


def _whole(text):
    """Return the events of a text scanned as a whole, None where it has a fault."""
    try:
        return [event for event in scanned._scanned(text) if event.kind is not Kind.DOCUMENT]
    except Exception:
        return None


def _alike(text):
    """Hold a text put together from its keys against the text scanned as a whole; say whether it was."""
    joined = scanned._by_keys(text)
    if joined is None:
        return False
    whole = _whole(text)
    assert whole is not None
    assert list(joined[1:-1]) == whole[:-1]  # where the file's own mapping ends nobody asks
    assert joined[-1].kind is whole[-1].kind is Kind.END
    return True


@pytest.mark.parametrize("use", ["walk", "patio", "driveway", "apron", "pad", "landing"])
def test_parts_put_together_are_the_whole(use):
    assert _alike(new_job(use))


def test_parts_put_together_are_the_whole_for_files_with_mistakes():
    done = [_alike(p.read_bytes().decode("utf-8", "replace")) for p in ZOO if p.stat().st_size < 50_000]
    assert sum(done) > 0.5 * len(done)


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_parts_put_together_are_the_whole_whatever_is_typed_into_it(data):
    text = data.draw(st.sampled_from(["walk", "pad"]).map(new_job))[-900:]
    text = "title: x\n" + text[text.index("\n") + 1 :]
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text)))
        text = text[:at] + data.draw(st.sampled_from(MARKS)) + text[at + data.draw(st.integers(0, 3)) :]
    _alike(text)


def test_a_quote_left_open_at_the_edge_is_no_end_of_a_part():
    text = 'a: "x\nb: y"\nc: 1\n'
    assert scanned._by_keys(text) is None


@pytest.mark.parametrize(
    "text", ["- 1\n", "{a: 1}\n", "---\na: 1\n", "a: 1\n...\n", "a: 1\n? b\n: 2\n", " a: 1\nb: 2\n"]
)
def test_other_forms_are_scanned_as_a_whole(text):
    assert scanned._by_keys(text) is None


def test_brackets_without_end_stop_early():
    parsed = []
    real = YAML.parse

    def counted(self, text):
        for event in real(self, text):
            parsed.append(event)
            yield event

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(YAML, "parse", counted)
        assert scanned._by_keys("title: " + "[" * 50_000) is None
    assert len(parsed) < 100


def test_what_is_kept_is_bounded(scans, monkeypatch):
    monkeypatch.setattr(scanned, "KEPT_LETTERS", 2_000)
    for n in range(30):
        parse_nodes(new_job("walk") + f"# {n}\n", "x")
    assert sum(map(len, scanned._parts)) == scanned._letters <= 2_000


def test_a_fault_is_told_each_time_alike(scans):
    text = new_job("walk") + "\nslabs: [\n"
    said = []
    for _ in range(3):
        with pytest.raises(NotesError) as error:
            parse_notes(text)
        said.append(str(error.value))
    assert len(set(said)) == 1
    assert scans.count(text) == 1


def test_a_reading_that_stopped_half_way_keeps_nothing(scans):
    text = "---\ntitle: &a x\n" + new_job("walk")
    for _ in range(2):
        with pytest.raises(NotesError):
            parse_notes(text)
    assert len(scans) == 2
    assert not scanned._texts


def test_only_a_few_texts_are_kept(scans):
    for n in range(scanned.KEPT + 3):
        parse_nodes(new_job("walk") + f"# {n}\n", "x")
    assert len(scanned._texts) == scanned.KEPT
