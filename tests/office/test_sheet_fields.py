"""The long sheet's fields: every key has its place, words and reading; what is shown is what is saved."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from pathlib import Path
from typing import get_args

import pytest

from slabwright.measure import LANGUAGES, System
from slabwright.notes.layout import all_rows, branches, choices_of, item_of, keys_of, published, row_of
from slabwright.notes.models import Notes, Use
from slabwright.notes.nodes import parse_nodes, plain
from slabwright.notes.writer import new_job
from slabwright.office.pages.sheet_edits import value_of
from slabwright.office.sheet import words
from slabwright.office.sheet.asread import as_read
from slabwright.office.sheet.sections import sections
from slabwright.office.sheet.shape import WRITTEN_AS, PlaceError, spot
from slabwright.office.sheet.view import fields_of, section_view, sheet_of, shown
from slabwright.office.words import words as every_word
from slabwright.sheets.job_tables import all_tables

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/job.yaml"))
TEXTS = {p.parent.name: p.read_text(encoding="utf-8") for p in EXAMPLES}
TEXTS |= {f"new-{use}": new_job(use) for use in get_args(Use)}
TEXTS |= {"new-metric": new_job("patio", metric=True)}

# What the fields do not hold is written in the notes' text: corners that are rounded or arcs.
ONLY_AS_TEXT = {("Vertex", key) for key in keys_of(next(r for r in all_rows() if r.__name__ == "Vertex"))}
LABELS = "src/slabwright/office/words/sheet_fields.toml"
# Records that are shown by their own keys.
HOLDERS = {"place", "house", "ground", "water", "crew", "kit", "access", "order", "weather", "pour", "set"}
HOLDERS |= {"fall", "joints", "steel", "thickened"}


def tree(text):
    return plain(parse_nodes(text, "x")[0])


def places(here, path=()):
    """Yield every place of a plain tree, whatever stands there, with its value."""
    if path:
        yield path, here
    if isinstance(here, dict):
        for key, value in here.items():
            yield from places(value, (*path, key))
    elif isinstance(here, list):
        for n, value in enumerate(here):
            yield from places(value, (*path, n))


def groups():
    for section in sections():
        stack = [(group, ()) for group in section.groups]
        while stack:
            group, base = stack.pop()
            yield group, base
            stack += [(inner, (*base, *group.at, 0)) for inner in group.inner]


def test_every_field_of_the_sheet_is_a_place_of_the_job_file():
    for group, base in groups():
        if group.kind in ("named", "lists"):
            assert spot((*base, *group.at))
            continue
        inside = (*base, *group.at, 0) if group.kind in ("rows", "cards") else base
        for path in (*group.fields, *group.more):
            assert spot((*inside, *path)).wants != "record" or path == ("weather",), path


def test_every_key_of_the_job_file_has_its_place_on_the_sheet():
    held = set()
    for group, base in groups():
        if group.at:
            at = spot((*base, *group.at))
            held.add((at.row.__name__, at.key.name))
        if group.kind in ("named", "lists"):
            continue
        inside = (*base, *group.at, 0) if group.kind in ("rows", "cards") else base
        for path in (*group.fields, *group.more):
            at = spot((*inside, *path))
            held.add((at.row.__name__, at.key.name))
    every = {(row.__name__, key) for row in all_rows() for key in keys_of(row)}
    holders = {(r, k) for r, k in every if k in HOLDERS}
    left = every - held - ONLY_AS_TEXT - holders
    assert left == set(), "give each its place (fields or more) in src/slabwright/office/sheet/sections.toml"
    assert not held & ONLY_AS_TEXT


def test_every_key_and_choice_is_said_in_both_languages():
    for row in all_rows():
        for key in keys_of(row).values():
            own = f"field-{row.__name__}-{key.name}"
            found = every_word().get(own) or every_word().get(f"field-{key.name}", {})
            assert set(found) == set(LANGUAGES), f"write field-{key.name} in {LABELS}"
            for kind in branches(key.type):
                for one in choices_of(item_of(kind) or kind):
                    assert set(every_word().get(f"choice-{one}", {})) == set(LANGUAGES), (
                        f"write choice-{one} in {LABELS}"
                    )


def test_help_in_spanish_is_there_for_every_key_and_no_other():
    english = tomllib.loads(files("slabwright.notes").joinpath("keys.toml").read_text("utf-8"))
    spanish = tomllib.loads(files("slabwright.office.sheet").joinpath("help_es.toml").read_text("utf-8"))
    ours, theirs = ({(r, k) for r in told for k in told[r]} for told in (english, spanish))
    home = "src/slabwright/office/sheet/help_es.toml"
    assert ours - theirs == set(), f"write what each key says, in Spanish, in {home}"
    assert theirs - ours == set(), f"these keys are gone: take them out of {home}"
    same = {(r, k) for r in english for k in english[r] if english[r][k][0] == spanish[r][k]}
    assert same == set()


def test_sections_and_groups_have_headings():
    for section in sections():
        assert set(every_word()[f"section-{section.key}"]) == set(LANGUAGES)
    for group, _ in groups():
        assert words.heading(group.key, "es") != ""


def test_sections_show_tables_that_there_are(side_walk):
    every = {t.key for t in all_tables(side_walk)}
    wanted = [key for section in sections() for key in section.tables]
    assert len(wanted) == len(set(wanted)), "a table stands in two sections"
    # Tables that this job has none of: read off their makers.
    makers = Path(str(files("slabwright.sheets"))).glob("job_tables*.py")
    source = "".join(one.read_text(encoding="utf-8") for one in makers)
    assert all(key in every or f'"{key}"' in source for key in wanted)
    nowhere = {"findings", "sprinkler-heads", "watering", "sprinkler-lines", "pipe-crossings"}
    left = every - set(wanted) - nowhere
    assert left == set(), "name each under tables of a section in src/slabwright/office/sheet/sections.toml"


@pytest.fixture(scope="module")
def side_walk():
    from slabwright.notes import parse_notes
    from slabwright.plan import make

    return make(parse_notes(TEXTS["side-walk"]), mapped=False)


def test_every_reading_knows_how_it_is_written():
    said = {
        str(published(kind)["description"])
        for row in all_rows()
        for key in keys_of(row).values()
        for one in branches(key.type)
        for kind in (one, item_of(one))
        if kind is not None and row_of(kind) is None and published(kind) is not None
    }
    assert said == set(WRITTEN_AS)


@pytest.mark.parametrize("name", TEXTS)
def test_what_a_field_shows_is_saved_as_it_stood(name):
    seen = 0
    for path, raw in places(tree(TEXTS[name])):
        try:
            at = spot(path)
        except PlaceError:
            continue  # inside a short form: shown by the keys of its record
        if (
            at.wants == "record"
            or isinstance(raw, dict)
            or (isinstance(raw, list) and row_of(item_of(at.type)))
        ):
            continue
        if at.wants in ("choice", "yesno"):
            assert shown(at, raw) in (*at.choices, "yes", "no")
            continue
        assert value_of(at, shown(at, raw)) == raw, (path, raw, shown(at, raw))
        seen += 1
    assert seen > 20


@pytest.mark.parametrize("name", TEXTS)
def test_every_reading_of_the_examples_is_read(name):
    system = System.METRIC if "metric" in name or name == "quay-apron" else System.IMPERIAL
    sheet = sheet_of(tree(TEXTS[name]), system=system, lang="en")
    found = [f for section in sections() for g in section_view(sheet, section) for f in fields_of(g)]
    assert [f.place_name for f in found if f.why] == []
    measured = [f for f in found if f.wants == "measured" and f.value]
    assert len(measured) > 10
    assert all(f.read for f in measured if f.path[-1] != "day")
    assert len({f.id for f in found}) == len(found)


@pytest.mark.parametrize("name", TEXTS)
def test_every_value_of_the_file_stands_in_a_field_or_is_shown_as_text(name):
    whole = tree(TEXTS[name])
    sheet = sheet_of(whole, system=System.IMPERIAL, lang="en")
    views = [g for section in sections() for g in section_view(sheet, section)]
    values = {f.value for g in views for f in fields_of(g)}
    texts = " ".join(row.text for g in views for row in g.rows) + " ".join(g.text for g in views)
    for path, raw in places(whole):
        if isinstance(raw, str) and not any(isinstance(p, int) for p in path[-1:]):
            told = raw in values or raw in texts or any(raw in v for v in values)
            assert told or raw.casefold() in ("true", "false"), path


@pytest.mark.parametrize(
    ("path", "text", "read"),
    [
        (("slabs", 0, "width"), "3' 2 1/2", "3'-2 1/2\""),
        (("slabs", 0, "thickness"), "3 1/2", '3 1/2"'),
        (("tape", 0, "reads"), "12.80 m", "41'-11 15/16\""),
        (("levels", 0, "rod", "N1"), "4' 9 7/8", "4'-9 7/8\""),
        (("points", "K1"), ["64'", "24'"], "64'-0\", 24'-0\""),
        (("points", "K1"), ["64'", "-24'"], "64'-0\", -24'-0\""),
        (("kit", "stock"), ["8'", "10'"], "8'-0\", 10'-0\""),
        (("crew", "start"), "07:30", "7:30 am"),
        (("slabs", 0, "fall", "across"), "3/4 in per 3'", "1/4 in per ft (2.1 %)"),
        (("weather", "high"), "31 C", "88 °F"),
        (("weather", "sky"), "cloudy", "95 %"),
        (("order", "least"), "1 yd3", ""),
        (("slabs", 0, "name"), "side walk", ""),
        (("existing", 0, "corners"), ["Q1", "Q2"], ""),
    ],
)
def test_values_as_they_are_read(path, text, read):
    one = as_read(spot(path), text, system=System.IMPERIAL, lang="en")
    assert one.good
    assert one.text == read


@pytest.mark.parametrize(
    ("path", "text"),
    [
        (("slabs", 0, "width"), "three feet"),
        (("slabs", 0, "width"), "12"),
        (("slabs", 0, "thickness"), "100"),
        (("tape", 0, "reads"), "-3'"),
        (("place", "latitude"), "98"),
        (("crew", "people"), "a few"),
        (("weather", "humidity"), "140 %"),
        (("kit", "stock"), ["8'", "long"]),
    ],
)
def test_values_that_cannot_be_read_say_why_and_what_would_do(path, text):
    one = as_read(spot(path), text, system=System.IMPERIAL, lang="en")
    assert not one.good
    assert one.text == ""
    assert one.example
    again = one.example.strip("[]").split(" or ")[0]
    if path[0] != "kit":
        assert as_read(spot(path), again, system=System.IMPERIAL, lang="en").good, again


@pytest.mark.parametrize("row", all_rows(), ids=lambda r: r.__name__)
def test_the_example_of_every_key_can_be_read(row):
    for key in keys_of(row).values():
        path = _path_to(row, key.name)
        if path is None:
            continue
        at = spot(path)
        assert as_read(at, value_of(at, at.example), system=System.IMPERIAL, lang="en").good, (
            path,
            at.example,
        )


def _path_to(row, key):
    """Return a path to a key of a record, by the groups of the sheet."""
    for group, base in groups():
        inside = (*base, *group.at, 0) if group.kind in ("rows", "cards") else base
        for path in (*group.fields, *group.more):
            at = spot((*inside, *path))
            if at.row is row and at.key.name == key:
                return (*inside, *path)
    return None


def test_paths_that_lead_nowhere():
    for path in [
        (),
        ("nonsense",),
        ("slabs", "width"),
        ("tape", 0, "reads", "x"),
        ("title", 0),
        ("slabs", 0),
    ]:
        if path == ("slabs", 0):
            assert spot(path).wants == "record"
            continue
        with pytest.raises(PlaceError):
            spot(path)
    assert spot(("Square_off", 0, "along")).key.name == "along"
    assert row_of(Notes) is Notes
