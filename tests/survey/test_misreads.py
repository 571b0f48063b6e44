"""What a written reading may have been meant to say."""

from __future__ import annotations

import itertools

import pytest

from slabwright.survey.misreads import FOOT, INCH, SORTS, habits, meanings, spelling
from slabwright.survey.rows import KINDS


def inches(value):
    return round(value / INCH, 4)


def kinds(part, text, value, line=None):
    return {(m.kind, inches(m.value)) for m in meanings(part, text, value, line)}


@pytest.mark.parametrize(
    ("text", "value", "style"),
    [
        ("42' 0 1/4", 504.25 * INCH, "feet"),
        ("15'-6 1/2\"", 186.5 * INCH, "feet"),
        ("15′ 6″", 186 * INCH, "feet"),
        ("3 ft 4 in", 40 * INCH, "feet"),
        ('62 3/4"', 62.75 * INCH, "inches"),
        ("12.45'", 12.45 * FOOT, "decimal"),
        ("3.725 m", 3.725, "decimal"),
        ("3,725 m", 3.725, "decimal"),
        ("3725 mm", 3.725, "decimal"),
        ("", 186.5 * INCH, "feet"),
        ("nonsense", 186.5 * INCH, "feet"),
        ("15' 6\"", 999 * INCH, "feet"),
    ],
)
def test_spelling(text, value, style):
    """Every usual spelling is taken apart; a text that says something else is not believed."""
    got = spelling(text, value)
    assert got.style == style
    if text in ("", "nonsense") or value == 999 * INCH:
        assert got.ft * 12 + got.inch + (got.num / got.den if got.den else 0) == pytest.approx(value / INCH)


def test_feet_swapped():
    assert ("swapped", 24 * 12 + 4.0) in kinds("pull", "42' 4\"", (42 * 12 + 4) * INCH)


def test_feet_and_inches_swapped():
    assert ("swapped", 5 * 12 + 4.0) in kinds("pull", "4' 5\"", (4 * 12 + 5) * INCH)


def test_fraction_mirrored():
    assert ("fraction", 10 + 5 / 8) in kinds("pull", '10 3/8"', 10.375 * INCH)


def test_fraction_left_out():
    assert ("fraction", 60.5) in kinds("pull", "5' 0", 60 * INCH)


def test_tenths_written_as_inches():
    assert ("tenths-as-inches", 4 * 12 + 7.0) in kinds("rod", "4.7'", 4.7 * FOOT)


def test_metric_digits_swapped():
    found = [m.value for m in meanings("pull", "7.412 m", 7.412) if m.kind == "swapped"]
    assert found == pytest.approx([7.142, 7.421])


def test_metric_has_no_feet():
    found = {m.kind for m in meanings("pull", "7.412 m", 7.412)}
    assert "metre" in found
    assert not found & {"foot", "inch", "ten-feet", "fraction"}


def test_rod_read_down_from_the_mark():
    values = [m.value for m in meanings("rod", "4' 2\"", 50 * INCH) if m.kind == "upside-down"]
    assert [inches(v) for v in values] == [58.0, 46.0, 70.0]


def test_wrong_side_and_other_corner_only_where_they_can_be():
    assert ("side", -60.0) in kinds("out", "5' 0", 60 * INCH)
    assert not any(kind == "side" for kind, _ in kinds("along", "5' 0", 60 * INCH))
    assert ("other-corner", 420.0) in kinds("along", "5' 0", 60 * INCH, line=480 * INCH)
    assert ("wrong-way", -3.0) in kinds("difference", '3"', 3 * INCH)


@pytest.mark.parametrize("part", ["pull", "rod"])
def test_no_length_below_nothing(part):
    assert all(m.value > 0 for m in meanings(part, '6"', 6 * INCH))


@pytest.mark.parametrize("text", ["42' 4 3/8\"", "7.412 m", "4.52'", '5 1/2"', ""])
def test_each_value_once_and_never_the_written_one(text):
    value = {"42' 4 3/8\"": 508.375 * INCH, "7.412 m": 7.412, "4.52'": 4.52 * FOOT}.get(text, 5.5 * INCH)
    values = sorted(m.value for m in meanings("pull", text, value))
    assert all(b - a > 1e-5 for a, b in itertools.pairwise(values))
    assert all(abs(v - value) > 1e-5 for v in values)


def test_shares_are_shares():
    """For each sort of reading and system the shares stay below one in all, and every part is known."""
    table = habits()
    for sort in ("tape", "rod", "difference", "form"):
        for system in ("imperial", "metric"):
            rows = [h for h in table.values() if sort in h.sorts and h.system in ("", system)]
            assert 0.0 < sum(h.share for h in rows) <= 1.0 + 1e-9, (sort, system)
    assert set(KINDS) <= set(SORTS)
