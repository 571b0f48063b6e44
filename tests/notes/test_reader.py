"""Job files that can be read: short forms, both languages of the file, spellings, what is kept."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.measure import System
from slabwright.notes import NotesError, line_of, parse_notes, read_notes
from slabwright.notes.models import Vertex
from slabwright.notes.nodes import parse_nodes, plain

FOOT, INCH = 0.3048, 0.0254


def swap(text: str, *pairs: tuple[str, str]) -> str:
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return text


def test_values_are_si_and_keep_what_was_written(good: str) -> None:
    notes = parse_notes(good)
    assert notes.units is System.IMPERIAL
    assert notes.tape[0].reads.si == pytest.approx(30 * FOOT)
    assert notes.tape[1].reads.written == "10' 2 3/8"
    assert notes.tape[1].with_ == "steel"
    assert notes.levels[0].rod["Q2"].si == pytest.approx(4 * FOOT + 9.25 * INCH)
    assert notes.slabs[0].width == pytest.approx(3 * FOOT)


def test_lines_are_those_of_the_file(good: str) -> None:
    notes = parse_notes(good)
    assert line_of(notes) == 1
    assert [line_of(pull) for pull in notes.tape] == [6, 7]
    assert notes.tape[1].reads.line == 7
    assert [line_of(off) for off in notes.square_off] == [9, 10, 11, 12]
    assert line_of(notes.slabs[0]) == 19
    assert line_of(notes.slabs[0].meets[0]) == 23
    assert notes.levels[0].rod["sill"].line == 15


def test_short_and_long_forms_are_the_same(same: Any, good: str) -> None:
    long = swap(
        good,
        ("- A-B: 30'", "- {from: A, to: B, reads: 30'}"),
        ("- P1: {wall: A-B, along: 9', out: 4' 9}", "- {point: P1, wall: A-B, along: 9', out: 4' 9}"),
    )
    assert same(parse_notes(long), parse_notes(good))


def test_mappings_in_place_of_lists(same: Any, good: str) -> None:
    short = swap(
        good,
        ("  - A-B: 30'\n", "  A-B: 30'\n"),
        (
            "  - {from: A, to: P1, reads: 10' 2 3/8, with: steel}\n",
            "  A-P1: {reads: 10' 2 3/8, with: steel}\n",
        ),
        ("meets: [{existing: old patio}]", "meets: {existing: old patio}"),
    )
    assert same(parse_notes(short), parse_notes(good))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("square-off:", "square_off:"),
        ("square-off:", "Square Off:"),
        ("set-up: S1", "Set up: S1"),
        ("use: walk", "use: Walk"),
        ("use: walk", "use: sidewalk"),
        ("on: A-B", "on: A - B"),
        ("on: A-B", "on: A–B"),
        ("- A-B: 30'", "- A to B: 30'"),
        ("name: old patio, edge: [Q1, Q2]", "name: old  patio, edge: [Q1, Q2]"),
        ("title: Quince Lane 4 - walk", "\ufefftitle: Quince Lane 4 - walk"),
        ("house:", "customer:\nhouse:"),
        ("house:", "# a remark\nhouse:"),
        ("\n", "\r\n"),
    ],
)
def test_spellings_that_mean_the_same(same: Any, good: str, old: str, new: str) -> None:
    assert same(parse_notes(swap(good, (old, new))), parse_notes(good))


def test_json_is_read_with_the_same_lines() -> None:
    data = {"title": "j", "house": {"walls": ["A", "B"]}, "tape": [{"A-B": 9.5}]}
    text = json.dumps(data, indent="\t")
    with pytest.raises(NotesError) as caught:
        parse_notes(text)
    lines = {m.field: m.line for m in caught.value.mistakes}
    assert lines["tape.1.reads"] == text[: text.index("A-B")].count("\n") + 1
    assert lines["slabs"] == 1


def test_json_of_a_whole_job_reads_the_same(same: Any, good: str) -> None:
    text = json.dumps(plain(parse_nodes(good, "")[0]), indent="\t")
    assert "\t" in text
    assert same(parse_notes(text), parse_notes(good))


def test_names_may_hold_spaces_and_hyphens(good: str) -> None:
    text = swap(good, ("P2", "gate-post NE"), ("  - A-B: 30'", "  - A-B: 30'\n  - A-gate-post NE: 25' 4"))
    pull = parse_notes(text).tape[1]
    assert (pull.from_, pull.to) == ("A", "gate-post NE")


def test_numbers_are_not_guessed(good: str) -> None:
    text = swap(
        good, ("P1", "007"), ("title: Quince Lane 4 - walk", "title: 2026-05-03"), ("side walk", "1:48")
    )
    notes = parse_notes(text)
    assert notes.title == "2026-05-03"
    assert notes.slabs[0].name == "1:48"
    assert "007" in notes.slabs[0].along


def test_yes_and_no_are_words_for_booleans_only(good: str) -> None:
    text = good + "customer: no\nplace: {public: yes}\n"
    notes = parse_notes(text)
    assert notes.customer == "no"
    assert notes.place.public is True


def test_given_points_are_along_and_out_as_a_square_off_is(good: str) -> None:
    notes = parse_notes(good + "points: {K1: [12', 6'], K2: {at: [1 m, 0 m]}}\n")
    assert notes.points["K1"] == pytest.approx((12 * FOOT, -6 * FOOT))
    assert notes.points["K2"] == (1.0, 0.0)
    assert str(notes.points["K2"][1]) == "0.0"


def test_corners_may_be_records(same: Any, good: str) -> None:
    text = swap(good, ("along: [P1, P2]", "along: [P1, {point: P2, arc-radius: 20', arc-turn: Left}]"))
    first, bend = parse_notes(text).slabs[0].along
    assert first == "P1"
    assert same(bend, Vertex.model_validate({"point": "P2", "arc-radius": "20'", "arc-turn": "left"}))


def test_a_bar_may_be_written_as_the_trade_does(good: str) -> None:
    for written in ('"#4"', "4", "no. 4", "No 4"):
        text = swap(good, ("    width: 3'", f"    width: 3'\n    steel: {{bar: {written}}}"))
        steel = parse_notes(text).slabs[0].steel
        assert steel is not None
        assert steel.bar == "4"


def test_a_door_without_a_name_goes_by_its_sill(good: str) -> None:
    notes = parse_notes(swap(good, ("name: back door, ", "")))
    assert notes.house is not None
    assert notes.house.doors[0].name == "sill"


def test_a_ring_may_be_closed_by_its_first_corner(good: str) -> None:
    text = swap(good, ("along: [P1, P2]\n    width: 3'", "corners: [P1, P2, Q2, P1]"))
    assert parse_notes(text).slabs[0].corners == ("P1", "P2", "Q2", "P1")


def test_boards_may_be_written_with_a_capital_x(good: str) -> None:
    notes = parse_notes(good + "kit: {boards: [{size: 2X4, length: 8'}]}\n")
    assert notes.kit.boards[0].size == "2x4"


def test_utf_16_with_its_mark_is_read(same: Any, tmp_path: Path, good: str) -> None:
    (tmp_path / "job.yaml").write_bytes(good.encode("utf-16"))
    assert same(read_notes(tmp_path / "job.yaml"), parse_notes(good))


def test_all_mistakes_come_in_one_pass_and_by_line(good: str) -> None:
    text = swap(
        good, ("use: walk", "use: wlak"), ("30'", "30 foots"), ("width: 3'", "width: 3"), ("Q2]", "Q9]")
    )
    with pytest.raises(NotesError) as caught:
        parse_notes(text, name="walk.yaml")
    fields = [m.field for m in caught.value.mistakes]
    assert fields == ["tape.1.reads", "existing.1.edge.2", "slabs.1.use", "slabs.1.width"]
    lines = [m.line for m in caught.value.mistakes]
    assert lines == sorted(lines)
    assert all(line.startswith("walk.yaml:") for line in str(caught.value).splitlines())
    first = caught.value.mistakes[0]
    assert (first.written, first.column) == ("30 foots", 10)


def test_a_mistake_is_one_line_even_when_the_value_is_not(good: str) -> None:
    text = swap(good, ("width: 3'", 'width: "3\\n\\u0007 feet\\u2028of it"'))
    with pytest.raises(NotesError) as caught:
        parse_notes(text)
    assert len(str(caught.value).splitlines()) == 1
    assert str(caught.value).isprintable()


def test_hundreds_of_mistakes_are_counted_not_printed(good: str) -> None:
    text = good + "points:\n" + "".join(f"  K{i}: [1, 2]\n" for i in range(300))
    with pytest.raises(NotesError) as caught:
        parse_notes(text)
    assert len(caught.value.mistakes) == 600
    assert str(caught.value).splitlines()[-1] == "... and 500 more"


JOB = (Path(__file__).parents[2] / "examples" / "side-walk" / "job.yaml").read_text(encoding="utf-8")


def told(data: str | bytes) -> list[str]:
    """Return the messages, one a mistake; anything but notes or mistakes comes through as it is."""
    try:
        parse_notes(data)
    except NotesError as error:
        lines = str(error).splitlines()
        if not lines or len(lines) != min(len(error.mistakes), 101):
            raise AssertionError(lines) from error
        return lines
    return []


TOKENS = [
    "title", ": ", "\n", "  ", "- ", "[", "]", "{", "}", ",", "'", '"',
    "#", "&a", "*a", "!t", "|", ">", "%", "@",
    "tape:", "slabs:", "A-B", "3'", "42' 0 1/4", "house:", "walls:", "\t", "---", "...", "?",
    "\\", "null", "é", "\u2028",
]  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(st.lists(st.sampled_from(TOKENS), max_size=30).map("".join))
def test_no_text_brings_anything_but_notes_or_mistakes(text: str) -> None:
    told(text)


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200))
def test_no_bytes_bring_anything_but_mistakes(data: bytes) -> None:
    assert told(data)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_damaged_job_never_brings_a_traceback(data: st.DataObject) -> None:
    lines = JOB.splitlines(keepends=True)
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(lines) - 1))
        kind = data.draw(st.sampled_from(["drop", "twice", "cut", "indent", "swap"]))
        line = lines[at]
        if kind == "drop":
            lines[at] = ""
        elif kind == "twice":
            lines[at] = line + line
        elif kind == "cut":
            lines[at] = line[: data.draw(st.integers(0, len(line)))] + "\n"
        elif kind == "indent":
            lines[at] = " " + line
        else:
            lines[at], lines[0] = lines[0], lines[at]
    told("".join(lines))


def paths_of(tree: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    pairs = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    return [path, *(inner for key, value in pairs for inner in paths_of(value, (*path, key)))]


def with_value(tree: Any, path: tuple[Any, ...], value: Any) -> Any:
    if not path:
        return value
    copy = tree.copy()
    copy[path[0]] = with_value(tree[path[0]], path[1:], value)
    return copy


WRONG = [
    None, "", " ", "x", "A-B", "A-", " to ", "3'", "-3", "1e999", "nan", "1/0", "#4", "left", "a" * 200,
    [], {}, [[]], [{}], [None], ["A"], ["A", "A"], ["A", "B", "C"], {"A-B": "3'"}, {"": ""}, {"x": {"y": 1}},
    {"at": "A"}, {"point": ["x"]}, [{"point": None}], {"from": "A", "to": {"x": 1}, "reads": [1]},
    {"set-up": {"a": 1}, "rod": 5}, {"name": ["x"]}, True, 5, 1e308,
]  # fmt: skip
TREE = plain(parse_nodes(JOB, "")[0])
PLACES = paths_of(TREE)[1:]


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(PLACES), st.sampled_from(WRONG)), min_size=1, max_size=3))
def test_values_of_the_wrong_shape_are_told_in_the_trade_s_words(slips: list[tuple[Any, Any]]) -> None:
    tree = TREE
    for path, value in slips:
        if path in paths_of(tree):
            tree = with_value(tree, path, value)
    for line in told(json.dumps(tree)):
        assert not any(word in line for word in ("Input should", "None", "cannot be used here", "<"))
