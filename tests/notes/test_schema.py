"""The published schema: valid itself, fits the examples, refuses what the reader refuses by shape."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, get_args

import pytest
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from slabwright.notes import job_schema, new_job
from slabwright.notes.layout import all_rows, keys_of
from slabwright.notes.models import Use

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted(ROOT.glob("examples/*/job.yaml"))
SCHEMA = job_schema()
CHECK = Draft202012Validator(SCHEMA)


def load(text: str) -> Any:
    return YAML(typ="safe", pure=True).load(text)


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    assert job_schema() == SCHEMA
    assert json.loads(json.dumps(SCHEMA)) == SCHEMA


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda f: f.parent.name)
def test_examples_are_valid(file: Path) -> None:
    assert [e.message for e in CHECK.iter_errors(load(file.read_text(encoding="utf-8")))] == []


@pytest.mark.parametrize("use", get_args(Use))
def test_starters_are_valid(use: Use) -> None:
    assert [e.message for e in CHECK.iter_errors(load(new_job(use)))] == []


def test_there_are_three_examples() -> None:
    assert [file.parent.name for file in EXAMPLES] == ["corner-patio", "quay-apron", "side-walk"]


def properties(name: str) -> dict[str, Any]:
    found = SCHEMA if name == "Notes" else SCHEMA["$defs"][name]
    found = found["anyOf"][0] if "anyOf" in found else found
    return dict(found["properties"])


@pytest.mark.parametrize("row", all_rows(), ids=lambda r: r.__name__)
def test_every_key_is_described_and_its_example_is_valid(row: Any) -> None:
    shown = properties(row.__name__)
    assert set(shown) == set(keys_of(row))
    for key, about in shown.items():
        assert about["description"].endswith(".")
        check = Draft202012Validator({**about, "$defs": SCHEMA["$defs"]})
        assert [e.message for e in check.iter_errors(about["examples"][0])] == [], key


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("title", []),
        ("wether", "july.csv"),
        ("weather", {"low": "61 F", "hgih": "88 F"}),
        ("units", "both"),
        ("tape", [{"AB": "30'"}]),
        ("tape", [{"from": "A", "to": "B"}]),
        ("square-off", [{"P1": {"wall": "A-B", "along": "3'"}}]),
        ("slabs", [{"name": "x"}]),
        ("slabs", [{"name": "x", "use": "road"}]),
        ("crew", {"people": 0}),
        ("crew", {"people": 2.5}),
        ("place", {"latitude": 91}),
        ("points", {"K1": ["1 m"]}),
        ("levels", [{"set-up": "S1", "rod": ["P1"]}]),
    ],
)
def test_what_cannot_be_is_refused(key: str, value: Any) -> None:
    good = load(EXAMPLES[-1].read_text(encoding="utf-8"))
    assert not CHECK.is_valid({**good, key: value})
