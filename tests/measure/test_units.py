"""The tables: every unit has a source, one spelling has one meaning, every unit that is written is read."""

from __future__ import annotations

import subprocess
import sys

import pytest

from slabwright.measure import KINDS, System, read, unit_of
from slabwright.measure.units import _ROWS, SPELLINGS, UNITS, find_unit
from slabwright.sources import all_sources

EVERY = [(dimension, unit) for dimension, table in UNITS.items() for unit in table.values()]


@pytest.mark.parametrize(("dimension", "unit"), EVERY, ids=lambda x: x if isinstance(x, str) else x.key)
def test_a_unit_has_a_source_and_is_found_by_its_key(dimension, unit):
    assert unit.source in all_sources()
    assert unit.factor > 0
    assert find_unit(dimension, unit.key) is unit


def test_one_spelling_has_one_meaning_in_its_dimension():
    for dimension, rows in _ROWS.items():
        seen = {}
        for key, _, _, more in rows:
            for spelling in {key, key.lower(), *more.split()}:
                assert seen.setdefault(spelling, key) == key, (dimension, spelling)


def test_spellings_are_in_the_form_that_is_looked_up():
    for table in SPELLINGS.values():
        for spelling in table:
            if spelling not in {unit.key for unit in table.values()}:
                assert spelling == spelling.lower()
                assert " " not in spelling


@pytest.mark.parametrize("kind", KINDS)
def test_the_example_of_a_kind_can_be_read(kind):
    if kind != "money":
        assert read(kind, KINDS[kind].example)


@pytest.mark.parametrize("kind", [k for k, row in KINDS.items() if row.dimension in UNITS])
@pytest.mark.parametrize("system", System)
def test_the_unit_of_a_kind_is_in_its_dimension(kind, system):
    if kind not in {"count", "ratio", "money", "clock"}:
        assert unit_of(kind, system) in UNITS[KINDS[kind].dimension]


def test_the_room_brings_in_nothing_heavy():
    code = "import sys, slabwright.measure; print(*sorted(sys.modules))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    heavy = {"numpy", "pydantic", "scipy", "shapely", "tomllib", "pint", "json"}
    assert not heavy & set(run.stdout.split())
