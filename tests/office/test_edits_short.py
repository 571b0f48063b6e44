"""A value that cannot be read is refused in every form of a row, not only where its key is written out."""

from __future__ import annotations

import pytest

from slabwright.office.actions.edits import Edit, at, made, tree_of

TEXT = """title: Elm 4
house: {walls: [A, B]}
tape:
  - A-B: 32'
  - {from: A, to: P1, reads: 6' 4 7/8}
square-off:
  - P1: {wall: A-B, along: 4', out: 5'}
  - P2: {wall: A-B, along: 28', out: 5'}
slabs:
  - {name: walk, use: walk, along: [P1, P2], width: 3'}
"""
PLACES = [
    ("tape", 0, "A-B"),
    ("tape", 1, "reads"),
    ("square-off", 0, "P1", "along"),
    ("square-off", 1, "P2", "out"),
    ("slabs", 0, "width"),
]


@pytest.mark.parametrize("path", PLACES)
@pytest.mark.parametrize("value", ["12' 14", "about three", "48"])
def test_what_cannot_be_read_is_refused_where_it_stands(path, value):
    new, wrong = made(TEXT, [Edit("set", path, value)])
    assert new == TEXT
    assert wrong
    assert any(m.example for m in wrong)


@pytest.mark.parametrize("path", PLACES)
def test_what_can_be_read_is_kept(path):
    new, wrong = made(TEXT, [Edit("set", path, "7' 3 1/2")])
    assert wrong == ()
    assert at(tree_of(new), path) == "7' 3 1/2"


def test_a_point_taken_away_elsewhere_does_not_refuse():
    new, wrong = made(TEXT, [Edit("delete", ("square-off", 1))])
    assert wrong == ()
    assert "P2:" not in new
