from __future__ import annotations

import json

import pytest
import typst
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.sheets.lettering import (
    LABEL_EM,
    LABEL_LINES,
    block,
    clean,
    font_folder,
    has_fraction,
    label,
    plain,
    shorten,
    size_for,
    typeset,
    width,
)
from slabwright.sheets.styles import letter_size

SET = [
    ("15'-6 1/2\"", "15'-6\u202f1\u20442\""),
    ('11 15/16"', '11\u202f15\u204416"'),
    ("3/4 in per 3'", "3\u20444 in per 3'"),
    ('-4 3/8"', '\u22124\u202f3\u20448"'),
    ('sill - 4 3/8"', 'sill \u2212 4\u202f3\u20448"'),
    ("1 1/4 yd3", "1\u202f1\u20444 yd³"),
    ("240 ft2", "240 ft²"),
    ("0.2 lb/ft2/h", "0.2 lb/ft²/h"),
]
KEPT = [
    "2026/05/04",
    "3/7",
    "1/1",
    "24/7",
    "sheet 2/40",
    "1:48",
    "2x4",
    "M2 m2x",
    "A-1",
    "15'-6\"",
    "1/2/3",
    "H2",
]


@pytest.mark.parametrize(("typed", "shown"), SET)
def test_what_the_trade_writes_is_set(typed: str, shown: str) -> None:
    assert typeset(typed) == shown
    assert plain(shown) == typed


@pytest.mark.parametrize("typed", KEPT)
def test_what_is_no_fraction_of_the_tape_is_left_alone(typed: str) -> None:
    assert typeset(typed) == typed


@given(st.text(max_size=60))
@settings(max_examples=150, deadline=None)
def test_cleaned_text_can_be_written_anywhere(text: str) -> None:
    shown = clean(text)
    shown.encode()
    assert clean(shown) == shown
    assert all(c in "\n\t\r" or ord(c) >= 32 for c in shown)
    assert width(shown.replace("\n", ""), 4.0) >= 0.0


def test_controls_and_direction_marks_do_not_survive() -> None:
    assert clean("a\x00b\ud800c\u202ed") == "a\ufffdb\ufffdcd"


def test_fractions_are_never_smaller_than_eleven_points() -> None:
    assert letter_size("fraction") >= 11.0 * 25.4 / 72.0
    assert size_for("S1", 2.0) == 2.0
    assert size_for('4 3/8"', 2.0) == letter_size("fraction")
    assert has_fraction(typeset('4 3/8"'))


def test_widths_are_those_that_the_typesetter_measures() -> None:
    """The typesetter, with kerning, is the judge: never wider than planned, and at most 3 % narrower."""
    texts = [typed for typed, _ in SET] + [
        "back patio",
        "AVAWA To",
        "P1",
        "2 %",
        "Ñandú más 3/64",
        "22'-10 5/16\"",
    ]
    rows = [[typeset(t), weight] for t in texts for weight in (400, 600, 700)]
    source = (
        '#let l = json("l.json")\n#context [#for s in l [#metadata(measure(text(font: "Source Sans Pro", '
        "size: 100pt, weight: s.at(1), s.at(0))).width / 1pt)<w>]]"
    )
    files = {"main": source.encode(), "l.json": json.dumps(rows).encode()}
    found = typst.query(
        files, "<w>", field="value", font_paths=[str(font_folder())], ignore_system_fonts=True
    )
    measured = json.loads(found)
    assert len(measured) == len(rows)
    for (text, weight), true in zip(rows, measured, strict=True):
        assert 0.999 <= width(text, 100.0, weight=weight) / true <= 1.03, (text, weight)


def test_a_block_grows_with_its_lines() -> None:
    one, two = block("S1", 4.0), block("S1\nS10", 4.0)
    assert two[0] > one[0]
    assert two[1] > 2.0 * one[1]


@given(st.text(max_size=400), st.floats(2.5, 8.0))
@settings(max_examples=100, deadline=None)
def test_a_label_never_grows_beyond_its_block(text: str, size: float) -> None:
    lines = label(text, size).split("\n")
    assert len(lines) <= LABEL_LINES
    assert all(width(line, size) <= LABEL_EM * size + 1e-9 for line in lines)


def test_a_long_label_breaks_at_words() -> None:
    text = "old patio behind the kitchen, kept at its height"
    assert label(text, 4.0).replace("\n", " ") == text
    assert label('S1\n- 4 3/8"', 4.0) == 'S1\n\u2212 4\u202f3\u20448"'


@given(st.text(max_size=200), st.floats(20.0, 200.0))
@settings(max_examples=100, deadline=None)
def test_shortened_text_fits(text: str, room: float) -> None:
    assert width(shorten(text, room=room, size=4.0), 4.0) <= room


def test_shortened_text_says_that_it_was() -> None:
    assert shorten("back patio", room=100.0, size=4.0) == "back patio"
    assert shorten("back patio " * 9, room=40.0, size=4.0).endswith("…")
