"""Writing back: the value changes, and nothing else does."""

from __future__ import annotations

from difflib import unified_diff
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.notes import (
    Append,
    Delete,
    NotesError,
    Set,
    WriteError,
    new_job,
    parse_notes,
    update,
    write_new,
)
from slabwright.notes.emit import scalar
from slabwright.notes.models import Use
from slabwright.notes.nodes import parse_nodes, plain

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted(ROOT.glob("examples/*/job.yaml"))
WALK = (ROOT / "examples" / "side-walk" / "job.yaml").read_text(encoding="utf-8")
USES = get_args(Use)


def changed(old: str, new: str) -> list[str]:
    """Return the lines that went (-) and came (+)."""
    lines = unified_diff(old.splitlines(), new.splitlines(), n=0, lineterm="")
    return [line for line in lines if not line.startswith(("---", "+++", "@@"))]


def after(*changes: Any, text: str = WALK) -> list[str]:
    return changed(text, update(text, changes))


def test_a_value_changes_and_its_remark_stays() -> None:
    assert after(Set(("slabs", 0, "thickness"), "4")) == [
        "-    thickness: 3 1/2     # 2x4 forms",
        "+    thickness: 4     # 2x4 forms",
    ]


def test_a_value_inside_braces() -> None:
    assert after(Set(("slabs", 0, "fall", "toward"), "left")) == [
        "-    fall: {across: 3/4 in per 3', toward: right}   # away from the house",
        "+    fall: {across: 3/4 in per 3', toward: left}   # away from the house",
    ]


def test_a_new_key_in_a_block_and_in_braces() -> None:
    assert after(Set(("slabs", 0, "base"), "6")) == ["+    base: 6"]
    assert after(Set(("crew", "start"), "6:30 am"), Set(("access", "by"), "pump")) == [
        "-crew: {people: 3, start: 7:00 am}",
        "+crew: {people: 3, start: 6:30 am}",
        "-access: {truck-stops-at: K1, chute: 16', by: barrow}",
        "+access: {truck-stops-at: K1, chute: 16', by: pump}",
    ]


def test_a_new_key_makes_the_records_on_its_way() -> None:
    assert after(Set(("slabs", 0, "joints", "depth"), "1")) == [
        "-    joints: {every: 4', made: tooled}",
        "+    joints: {every: 4', made: tooled, depth: 1}",
    ]
    assert after(Set(("water-levels", "nothing"), "x"))[-2:] == ["+water-levels: {nothing: x}"]


def test_a_new_key_where_a_key_stood_empty() -> None:
    text = "title: x\ncrew:      # later\nslabs: []\n"
    assert (
        update(text, [Set(("crew", "people"), 4)]) == "title: x\ncrew: {people: 4}      # later\nslabs: []\n"
    )


def test_a_reading_is_added_after_the_last() -> None:
    assert after(Append(("tape",), {"A-B": "48' 0 1/8"})) == ["+  - A-B: 48' 0 1/8"]
    went, came = after(Append(("house", "walls"), "E"))
    assert came[1:] == went[1:].replace("D]", "D, E]")
    assert after(Set(("levels", 1, "rod", "N20"), "5' 5")) == ["+      N20: 5' 5"]


def test_a_list_is_begun_where_there_is_none() -> None:
    assert after(Append(("right-angles",), {"at": "B", "between": ["A", "C"]})) == [
        "+right-angles:",
        "+  - {at: B, between: [A, C]}",
    ]


def test_taking_away() -> None:
    assert after(Delete(("slabs", 0, "joints"))) == ["-    joints: {every: 4', made: tooled}"]
    assert after(Delete(("tape", 0))) == ["-  - A-B: 48'"]
    assert after(Delete(("slabs", 0, "name"))) == ["-  - name: side walk", "-    use: walk", "+  - use: walk"]
    assert after(Delete(("slabs", 0, "fall", "across"))) == [
        "-    fall: {across: 3/4 in per 3', toward: right}   # away from the house",
        "+    fall: {toward: right}   # away from the house",
    ]
    assert after(Delete(("trees", 0))) == ["-trees:", "-  - {name: plum, at: T1, trunk: 9}", "+trees: []"]


def test_keys_are_found_in_any_spelling() -> None:
    assert after(Set(("square_off", 0, "Q1", "out"), "1' 7")) == [
        "-  - Q1: {wall: A-B, along: 6\", out: 1' 6}",
        "+  - Q1: {wall: A-B, along: 6\", out: 1' 7}",
    ]


def test_values_that_need_quotes_get_them() -> None:
    assert after(Set(("customer",), "R: Okafor # 2")) == [
        "-customer: R. Okafor",
        '+customer: "R: Okafor # 2"',
    ]
    assert after(Set(("place", "public"), True)) == ["+  public: yes"]
    assert scalar("#4") == '"#4"'
    assert scalar("15' 6 1/2\"") == "15' 6 1/2\""
    assert scalar("1:48") == "1:48"
    assert scalar("a, b") == '"a, b"'
    assert scalar("null") == '"null"'


def test_a_job_with_other_line_ends_and_a_mark_keeps_them() -> None:
    text = "\ufeff" + WALK.replace("\n", "\r\n")
    new = update(text, [Set(("slabs", 0, "base"), "6"), Delete(("tape", 0))])
    assert new.startswith("\ufeff")
    assert new.count("\r\n") == new.count("\n") == WALK.count("\n")


@pytest.mark.parametrize("text", ["tape:\n  - {three: 1', Jo}\n", "tape:\n  - {three: 1', Jo}\ntitle: x\n"])
def test_a_key_without_a_colon_is_no_place_to_write_and_no_hindrance(text: str) -> None:
    assert update(text, [Set(("tape", 0, "three"), "2'")]) == text.replace("1'", "2'")
    with pytest.raises(WriteError, match="Jo cannot be changed"):
        update(text, [Set(("tape", 0, "Jo"), "2'")])


def test_json_is_changed_in_place_too() -> None:
    text = '{"title": "x",\n\t"slabs": [{"name": "a", "width": "3 ft"}]}\n'
    new = update(text, [Set(("slabs", 0, "width"), "4 ft"), Set(("units",), "metric")])
    assert new == '{"title": "x",\n\t"slabs": [{"name": "a", "width": 4 ft}], units: metric}\n'


@pytest.mark.parametrize(
    "change",
    [
        Set((), "x"),
        Set(("tape", 99, "A-B"), "3'"),
        Set(("title", "short"), "x"),
        Delete(("no such key",)),
        Delete(("tape", 99)),
        Append(("title",), "x"),
    ],
)
def test_what_has_no_place_is_refused(change: Any) -> None:
    with pytest.raises(WriteError):
        update(WALK, [change])


def test_a_file_that_cannot_be_read_is_not_written() -> None:
    with pytest.raises(NotesError):
        update("title: [x", [Set(("title",), "y")])


KEYS = st.sampled_from(["name", "with", "side walk", "A-B", "note: x", "#1", "units", "é", "yes"])
WORDS = st.one_of(
    st.sampled_from(
        ["3' 6", "1:48", "#4", "a: b", "{x}", "[y", "- z", "~", "", " x ", "'q", 'he said "no"', "10%"]
    ),
    st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=12),
)
VALUES = st.recursive(
    WORDS | st.booleans() | st.integers(-999, 999),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=6,
)


def paths_of(tree: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    pairs = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    found = [path] if path else []
    for key, value in pairs:
        found += paths_of(value, (*path, key))
    return found


SMALL = WALK[WALK.index("existing:") :]  # every kind of list and record, at a tenth of the time
PATHS = paths_of(plain(parse_nodes(SMALL, "")[0]))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(PATHS), VALUES)
def test_any_value_can_be_set_anywhere_and_the_rest_stays(path: tuple[str | int, ...], value: Any) -> None:
    new = update(SMALL, [Set(path, value)])
    top = str(path[0])
    before, after_ = plain(parse_nodes(SMALL, "")[0]), plain(parse_nodes(new, "")[0])
    assert {k: v for k, v in before.items() if k != top} == {k: v for k, v in after_.items() if k != top}
    outside = [line for line in SMALL.splitlines() if line.startswith(("#", "crew:", "access:", "kit:"))]
    assert all(line in new.splitlines() for line in outside if not line.startswith(f"{top}:"))


@settings(max_examples=80, deadline=None)
@given(st.sampled_from([p for p in PATHS if len(p) > 1]))
def test_anything_but_the_last_key_can_be_taken_away(path: tuple[str | int, ...]) -> None:
    new = update(SMALL, [Delete(path)])
    assert len(new) < len(SMALL) + 4
    assert path not in paths_of(plain(parse_nodes(new, "")[0])) or isinstance(path[-1], int)


@settings(max_examples=25, deadline=None)
@given(WORDS | st.booleans() | st.integers(-999, 999) | st.sampled_from([[], {}]))
def test_set_and_put_back_is_the_same_file(value: Any) -> None:
    there = update(SMALL, [Set(("slabs", 0, "name"), value)])
    assert update(there, [Set(("slabs", 0, "name"), "side walk")]) == SMALL


@settings(max_examples=80, deadline=None)
@given(st.dictionaries(KEYS, VALUES, min_size=1, max_size=4))
def test_what_is_written_new_reads_back(notes: dict[str, Any]) -> None:
    def text(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: text(inner) for key, inner in value.items()}
        if isinstance(value, list):
            return [text(inner) for inner in value]
        return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)

    assert plain(parse_nodes(write_new(notes), "")[0]) == text(notes)


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda f: f.parent.name)
def test_writing_an_example_anew_keeps_what_it_says(file: Path, same: Any) -> None:
    text = file.read_text(encoding="utf-8")
    again = write_new(plain(parse_nodes(text, "")[0]))
    assert same(parse_notes(again), parse_notes(text))


@pytest.mark.parametrize("use", USES)
def test_a_starter_can_be_read(use: Use) -> None:
    notes = parse_notes(new_job(use))
    assert [slab.use for slab in notes.slabs] == [use]
    assert new_job(use).count("#") >= 4


def test_an_unknown_use_is_named() -> None:
    with pytest.raises(ValueError, match="the uses are walk, patio"):
        new_job("road")  # type: ignore[arg-type]
