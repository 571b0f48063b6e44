"""Edits at the places that a page shows find their places in the text; revisions are told in words."""

from __future__ import annotations

import pytest

from slabwright.office.actions.edits import Clash, Edit, EditError, then
from slabwright.office.actions.places import resolved
from slabwright.office.pages.sheet_edits import EMPTY, TypedError, sent_form, sent_json, typed_edit
from slabwright.office.planning import tree_of
from slabwright.office.sheet.sections import section
from slabwright.office.sheet.story import difference, name_of, story
from slabwright.office.sheet.view import group_view, sheet_of

TEXT = """\
title: Elm 4
House:
  walls: [A, B]
tape:
  - A-B: 32'          # both of us
  - {from: A, to: P1, reads: 6' 4}
square-off:
  - P1: {wall: A-B, Along: 4', out: 5'}
weather: july.csv
slabs:
  - {name: walk, use: walk, along: [P1, P2], width: 3'}
"""


@pytest.fixture
def tree():
    return tree_of(TEXT)


def test_a_reading_of_a_short_row(tree):
    assert resolved(tree, Edit("set", ("tape", 0, "reads"), "33'", "32'")) == Edit(
        "set", ("tape", 0, "A-B"), "33'", "32'"
    )


def test_a_reading_of_a_long_row_and_of_raw_paths_stays(tree):
    for path in [("tape", 1, "reads"), ("tape", 0, "A-B"), ("slabs", 0, "width"), ("nonsense", "x")]:
        edit = Edit("set", path, "1'", None)
        assert resolved(tree, edit) == edit


def test_a_name_of_a_short_row_writes_the_row_anew(tree):
    found = resolved(tree, Edit("set", ("tape", 0, "to"), "P1", "B"))
    assert found == Edit("set", ("tape", 0), {"A-P1": "32'"}, {"A-B": "32'"})


def test_a_name_that_somebody_changed_meanwhile_is_a_clash(tree):
    found = resolved(tree, Edit("set", ("tape", 0, "to"), "C", "K9"))
    assert found == Clash(("tape", 0, "to"), "K9", "B", "C")


def test_what_a_short_row_lacks_is_added_to_it(tree):
    found = resolved(tree, Edit("set", ("square-off", 0, "sd"), "1/4", None))
    assert isinstance(found, Edit)
    assert found.value == {"P1": {"wall": "A-B", "along": "4'", "out": "5'", "sd": "1/4"}}


def test_keys_are_found_however_they_are_spelled(tree):
    assert resolved(tree, Edit("set", ("square-off", 0, "along"), "4' 1", "4'")) == Edit(
        "set", ("square-off", 0, "P1", "Along"), "4' 1", "4'"
    )
    assert resolved(tree, Edit("set", ("house", "closed"), "yes", None)).path == ("House", "closed")


def test_a_figure_beside_a_file_of_weather_makes_it_a_record(tree):
    found = resolved(tree, Edit("set", ("weather", "low"), "61 F", None))
    assert found == Edit("set", ("weather",), {"file": "july.csv", "low": "61 F"}, "july.csv")


def test_two_names_of_one_row_in_one_change(tree):
    first = resolved(tree, Edit("set", ("tape", 0, "from"), "C", "A"))
    assert isinstance(first, Edit)
    second = resolved(then(tree, first), Edit("set", ("tape", 0, "to"), "D", "B"))
    assert isinstance(second, Edit)
    assert second.value == {"C-D": "32'"}


def test_a_record_is_added_in_its_short_form(tree):
    found = resolved(tree, Edit("append", ("tape",), {"from": "A", "to": "P1", "reads": "6'"}))
    assert found == Edit("append", ("tape",), {"A-P1": "6'"})


# --- what is typed ---------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("path", "text", "value"),
    [
        (["slabs", 0, "width"], " 3' 2 ", "3' 2"),
        (["house", "walls"], "A, B , C", ["A", "B", "C"]),
        (["house", "walls"], "[A, B]", ["A", "B"]),
        (["ground", "shots"], "all", "all"),
        (["ground", "shots"], "N1", ["N1"]),
        (["right-angles", 0, "between"], "A-C", "A-C"),
        (["points", "K1"], "64', 24'", ["64'", "24'"]),
        (["slabs", 0, "corners"], "P1, {point: P2, round: 3'}", ["P1", {"point": "P2", "round": "3'"}]),
        (["existing", 0, "joints"], "[[Q1, Q2]]", [["Q1", "Q2"]]),
    ],
)
def test_typed_texts_become_what_the_file_holds(path, text, value):
    assert typed_edit({"kind": "set", "path": path, "value": text}) == Edit("set", tuple(path), value)


def test_an_emptied_field_is_taken_away_but_not_one_that_is_needed():
    assert typed_edit({"kind": "set", "path": ["slabs", 0, "width"], "value": "", "seen": "3'"}) == Edit(
        "delete", ("slabs", 0, "width"), None, "3'"
    )
    with pytest.raises(TypedError) as error:
        typed_edit({"kind": "set", "path": ["title"], "value": "  "})
    assert [(m.field, m.why) for m in error.value.mistakes] == [("title", EMPTY)]


def test_a_record_to_add_needs_its_keys_and_takes_its_lists_apart():
    with pytest.raises(TypedError) as error:
        typed_edit({"kind": "append", "path": ["tape"], "value": {"from": "A", "to": " "}})
    assert [m.field for m in error.value.mistakes] == ["tape.+.to", "tape.+.reads"]
    made = typed_edit(
        {"kind": "append", "path": ["slabs"], "value": {"name": "x", "use": "pad", "corners": "A, B"}}
    )
    assert made.value == {"name": "x", "use": "pad", "corners": ["A", "B"]}
    assert typed_edit({"kind": "append", "path": ["levels"], "value": {"set-up": "S9"}}).value == {
        "set-up": "S9",
        "rod": {},
    }
    assert typed_edit({"kind": "append", "path": ["straight-lines"], "value": "A, P1, P2"}).value == [
        "A",
        "P1",
        "P2",
    ]


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"[]",
        b"{}",
        b'{"edits": [], "base": 1}',
        b'{"edits": ["x"], "base": 1}',
        b'{"edits": [{"kind": "burn", "path": ["title"]}], "base": 1}',
        b'{"edits": [{"kind": "set", "path": "title", "value": "x"}], "base": 1}',
        b'{"edits": [{"kind": "set", "path": ["nonsense"], "value": "x"}], "base": 1}',
        b'{"edits": [{"kind": "set", "path": ["title"], "value": "x"}], "base": "soon"}',
        b'{"edits": [{"kind": "append", "path": ["title", "x"], "value": {"a": "b"}}], "base": 1}',
        b'{"edits": [{"kind": "append", "path": ["tape"], "value": {"no-key": "b"}}], "base": 1}',
        b'{"edits": [{"kind": "append", "path": ["title"], "value": "x"}], "base": 1}',
        b"[" * 100_000,
    ],
)
def test_what_cannot_be_a_change_is_refused_with_words(body):
    with pytest.raises(EditError):
        sent_json(body)


def test_a_plain_form_sends_only_what_was_changed():
    form = {
        "base": "4",
        'v:["title"]': "Elm 5",
        's:["title"]': '"Elm 4"',
        'v:["house", "walls"]': "A, B",
        's:["house", "walls"]': '["A", "B"]',
        'v:["slabs", 0, "name"]': "walk",
        's:["slabs", 0, "name"]': '"walk"',
        'n:["tape", "+", "from"]': "A",
    }
    sent = sent_form(form)
    assert sent.base == 4
    assert sent.edits == [Edit("set", ("title",), "Elm 5", "Elm 4")]
    assert sent_form({**form, "take": '["tape", 1]'}).edits[1] == Edit("delete", ("tape", 1))


def test_a_plain_form_adds_the_record_of_its_own_list():
    form = {
        "base": "1",
        "add": '["levels", 0, "rod"]',
        'n:["levels", 0, "rod", "+name"]': " N  5 ",
        'n:["levels", 0, "rod", "+value"]': "4' 1",
        'n:["levels", "+", "set-up"]': "S2",
    }
    assert sent_form(form).edits == [Edit("set", ("levels", 0, "rod", "N 5"), "4' 1", None)]
    with pytest.raises(TypedError):
        sent_form({**form, 'n:["levels", 0, "rod", "+value"]': ""})
    with pytest.raises(EditError):
        sent_form({"base": "1", "add": "[not json"})


# --- examples, until they are written over ------------------------------------------------------------------
def test_rows_of_a_starter_count_as_examples_until_written_over():
    now = TEXT.replace("A-B: 32'", "A-B: 41'")
    sheet = sheet_of(tree_of(now), system="imperial", lang="en", first=tree_of(TEXT))
    tape = group_view(sheet, next(g for g in section("measure").groups if g.key == "tape"))
    assert [row.example_only for row in tape.rows] == [False, True]
    assert tape.examples == 1
    job = group_view(sheet, section("measure").groups[0])
    assert job.examples == 0
    own = sheet_of(tree_of(now), system="imperial", lang="en")
    assert group_view(own, tape.group).examples == 0


# --- in words ---------------------------------------------------------------------------------------------
def test_places_are_called_as_the_sheet_calls_them():
    assert name_of(("slabs", 0, "width"), "en") == "Slabs 1, Width"
    assert name_of(("tape", 2, "A-B"), "en") == "Tape pulls 3, A-B"
    assert name_of(("levels", 0, "rod", "N1"), "es") == "Puestas del nivel 1, La mira marca, N1"


def test_a_revision_is_told_in_words():
    changes = [
        {"kind": "set", "path": ["slabs", 0, "width"], "value": "3' 2", "was": "3'"},
        {"kind": "set", "path": ["title"], "value": "Elm", "was": None},
        {"kind": "delete", "path": ["tape", 1], "value": None, "was": {"A-P1": "6'"}},
        {"kind": "append", "path": ["tape"], "value": {"A-P2": "9'"}, "was": None},
    ]
    said = story("edit", changes, "en")
    assert said.lines == (
        "Slabs 1, Width: 3' is now 3' 2",
        "Job: Elm",
        "took away Tape pulls 2: A-P1: 6'",
        "added to Tape pulls: A-P2: 9'",
    )
    assert said.short == ("Slabs 1, Width", "Job", "Tape pulls 2", "Tape pulls")
    assert story("restore", [], "es").lines == ("volvió a un estado anterior",)
    assert len(story("edit", changes[:1] * 30, "en").lines) == 13


def test_a_record_that_was_added_is_told_in_the_words_of_the_sheet():
    seen = {"kind": "append", "path": ["pour", "seen"], "value": {"what": "placed", "panel": 3}, "was": None}
    slab = {"name": "walk", "finish": "broom", "corners": ["P1", "P2"], "width": "3'", "thickness": None}
    changes = [seen, {**seen, "path": ["slabs"], "value": slab}]
    assert story("edit", changes, "en").lines == (
        "added to Pour, Seen on the day: Seen: placed, Panel: 3",
        "added to Slabs: Name: walk, Finish: broom, Corners: (P1, P2), Width: 3'",
    )
    assert story("edit", changes, "es").lines == (
        "agregó a Colado, Visto ese día: Visto: colado, Paño: 3",
        "agregó a Losas: Nombre: walk, Acabado: escobillado, Esquinas: (P1, P2), Ancho: 3'",
    )


def test_names_of_points_and_long_records_stay_readable():
    rods = {f"N{n}": "4' 3" for n in range(60)}
    change = {"kind": "append", "path": ["levels"], "value": {"with": "laser", "rod": rods}, "was": None}
    line = story("edit", [change], "es").lines[0]
    assert line.startswith(
        "agregó a Puestas del nivel: Instrumento: laser, La mira marca: (N0: 4' 3, N1: 4' 3"
    )
    assert line.endswith("...")
    assert len(line) < 280


def test_a_choice_and_a_yes_are_told_in_the_language_of_the_page():
    changes = [
        {"kind": "set", "path": ["slabs", 0, "finish"], "value": "exposed", "was": "Broom"},
        {"kind": "set", "path": ["house", "closed"], "value": "no", "was": True},
    ]
    assert story("edit", changes, "en").lines == (
        "Slabs 1, Finish: broom is now exposed stone",
        "House, Last corner joins the first: yes is now no",
    )
    assert story("edit", changes, "es").lines == (
        "Losas 1, Acabado: escobillado ahora es agregado expuesto",
        "Casa, La última esquina une con la primera: sí ahora es no",
    )


def test_a_difference_shows_what_changed_with_what_stands_around_it():
    old = "a\nb\nc\nd\ne\n"
    found = difference(old, "a\nb\nC\nd\ne\n")
    assert [(line.kind, line.text, line.number) for line in found] == [
        ("gap", "", None),
        ("same", "b", 2),
        ("gone", "c", None),
        ("new", "C", 3),
        ("same", "d", 4),
    ]
    assert difference(old, old) == ()
