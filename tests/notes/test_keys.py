"""Every key says what it is, with an example that reads; docs/job-file.md names them all."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from pydantic import TypeAdapter

from slabwright.notes.layout import Key, all_rows, keys_of
from slabwright.notes.models import Row
from slabwright.notes.nodes import parse_nodes
from slabwright.notes.reference import defaults_reference, reference
from slabwright.notes.tidy import Tidier
from slabwright.notes.values import Mapped

DOCS = Path(__file__).parents[2] / "docs" / "job-file.md"
ALL = [(row, key) for row in all_rows() for key in keys_of(row).values()]


def test_the_table_has_no_key_that_no_record_has() -> None:
    table = tomllib.loads(files("slabwright.notes").joinpath("keys.toml").read_text(encoding="utf-8"))
    assert {name: set(rows) for name, rows in table.items()} == {
        row.__name__: set(keys_of(row)) for row in all_rows()
    }


@pytest.mark.parametrize(("row", "key"), ALL, ids=lambda v: getattr(v, "name", getattr(v, "__name__", "")))
def test_the_example_of_a_key_can_be_read(row: type[Row], key: Key) -> None:
    listed = key.example.startswith("- ")
    node, mistakes = parse_nodes(key.example if listed else f"- {key.example}", "")
    tidier = Tidier("job.yaml", Mapped())
    value: Any = tidier.value(key.type, node if listed else node[0], (key.name,), key, node)
    assert (mistakes, tidier.mistakes) == ([], [])
    TypeAdapter(key.type).validate_python(value)


@pytest.mark.parametrize(("part", "made"), [("keys", reference), ("defaults", defaults_reference)])
def test_the_reference_is_the_one_that_the_models_give(part: str, made: Callable[[], str]) -> None:
    text = DOCS.read_text(encoding="utf-8")
    begin, end = f"<!-- {part}: begin -->\n", f"<!-- {part}: end -->"
    assert text[text.index(begin) + len(begin) : text.index(end)] == made(), "run: make docs"


def test_every_key_stands_in_the_reference() -> None:
    text = reference()
    for row, key in ALL:
        section = text[text.index(f'<a id="{row.__name__.lower()}">') :].split("\n### ")[0]
        assert f"| `{key.name}`" in section
