"""Short forms of the job file taken apart and put together again."""

from __future__ import annotations

from pathlib import Path

import pytest

from slabwright.notes.layout import keys_of
from slabwright.notes.models import Pull, SquareOff, Tree, WaterLevel
from slabwright.notes.models_weather import WeatherNotes
from slabwright.notes.nodes import parse_nodes, plain
from slabwright.notes.spelled import names_in, put_together, spelled, wanted_by

KNOWN = frozenset({"A", "B", "P1", "gate-post", "sill"})
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/job.yaml"))


def values(row, node):
    found = spelled(row, node, KNOWN)
    assert found is not None
    return {key: value for key, (_, value) in found.items()}


def test_a_pull_gives_both_names_and_its_reading():
    assert values(Pull, {"A-B": "42' 0 1/4"}) == {"from": "A", "to": "B", "reads": "42' 0 1/4"}


def test_the_reading_stands_under_the_pair_and_the_names_only_with_the_whole_record():
    found = spelled(Pull, {"A-B": "42'", "with": "laser"}, KNOWN)
    assert found == {
        "from": ((), "A"),
        "to": ((), "B"),
        "reads": (("A-B",), "42'"),
        "with": (("with",), "laser"),
    }


def test_a_pull_with_a_record_behind_its_pair():
    found = spelled(Pull, {"A-B": {"reads": "42'", "SD": "1/8"}}, KNOWN)
    assert found is not None
    assert found["sd"] == (("A-B", "SD"), "1/8")


def test_a_name_with_a_hyphen_is_kept_whole():
    assert values(Pull, {"A-gate-post": "9'"})["to"] == "gate-post"


def test_what_cannot_be_told_apart_stays_as_it_is():
    assert values(Pull, {"north-west-corner": "9'"}) == {"north-west-corner": "9'"}


def test_a_square_off_under_its_point():
    found = spelled(SquareOff, {"P1": {"wall": "A-B", "Along": "6'", "out": "2'"}}, KNOWN)
    assert found == {
        "point": ((), "P1"),
        "wall": (("P1", "wall"), "A-B"),
        "along": (("P1", "Along"), "6'"),
        "out": (("P1", "out"), "2'"),
    }


def test_weather_as_a_file_is_the_record_with_that_file():
    assert spelled(WeatherNotes, "july.csv", ()) == {"file": ((), "july.csv")}


def test_what_is_no_record_has_no_keys():
    assert spelled(Tree, "plum", ()) is None
    assert spelled(Tree, ["plum"], ()) is None


@pytest.mark.parametrize(
    ("row", "keys", "node"),
    [
        (Pull, {"from": "A", "to": "B", "reads": "42'"}, {"A-B": "42'"}),
        (
            Pull,
            {"from": "A", "to": "B", "reads": "42'", "with": "laser", "sd": ""},
            {"A-B": "42'", "with": "laser"},
        ),
        (
            Pull,
            {"from": "north-west", "to": "corner", "reads": "9'"},
            {"from": "north-west", "to": "corner", "reads": "9'"},
        ),
        (Pull, {"from": "A", "reads": "9'"}, {"from": "A", "reads": "9'"}),
        (WaterLevel, {"from": "sill", "to": "P1", "up": "-7 in"}, {"sill-P1": "-7 in"}),
        (
            SquareOff,
            {"point": "P9", "wall": "A-B", "along": "6'", "out": "2'"},
            {"P9": {"wall": "A-B", "along": "6'", "out": "2'"}},
        ),
        (SquareOff, {"point": "wall", "along": "6'"}, {"point": "wall", "along": "6'"}),
        (Tree, {"name": "plum", "at": "T1", "trunk": None}, {"name": "plum", "at": "T1"}),
    ],
)
def test_put_together(row, keys, node):
    assert put_together(row, keys, KNOWN) == node


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.parent.name)
def test_every_short_row_of_the_examples_comes_back_as_it_was(path):
    tree = plain(parse_nodes(path.read_text(encoding="utf-8"), "x")[0])
    known = names_in(tree)
    rows = [(Pull, row) for row in tree.get("tape", [])] + [
        (SquareOff, row) for row in tree.get("square-off", [])
    ]
    assert rows
    for row, node in rows:
        found = spelled(row, node, known)
        assert found is not None
        assert set(found) <= set(keys_of(row))
        assert put_together(row, {key: value for key, (_, value) in found.items()}, known) == node


def test_what_a_record_cannot_do_without():
    assert wanted_by(Pull) == ("from", "to", "reads")
    assert wanted_by(SquareOff) == ("point", "wall", "along", "out")
