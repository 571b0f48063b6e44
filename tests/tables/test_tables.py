"""The one reader of trade figures: three ways to write a rule, and every source named is one of ours."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import pytest

from slabwright.measure import System
from slabwright.sources import all_sources
from slabwright.tables import rule, source_keys, table, value_of, values

ROOT = Path(str(files("slabwright")))


@pytest.mark.parametrize(
    ("row", "imperial", "metric"),
    [
        ({"kind": "length", "is": "1/2 in"}, 0.0127, 0.0127),
        ({"kind": "length", "is": "1/2 in", "metric": "12 mm"}, 0.0127, 0.012),
        ({"kind": "ratio", "is": "1.25"}, 1.25, 1.25),
        ({"is": 0.5, "unit": "m2/s"}, 0.5, 0.5),
        ({"value": 300.0}, 300.0, 300.0),
        ({"value": 0.0, "is": 4}, 0.0, 0.0),
    ],
)
def test_a_rule_in_each_of_the_ways_it_is_written(row, imperial, metric):
    assert value_of(row) == pytest.approx(imperial, abs=1e-12)
    assert value_of(row, System.METRIC) == pytest.approx(metric, abs=1e-12)


def test_a_rule_by_its_place():
    assert rule("slab/steel", "steel", "least_lap") == pytest.approx(12 * 0.0254)
    assert rule("build", "forms", "gap") == pytest.approx(0.5 * 0.0254)
    assert values("slab/drainage", "drainage")["storm-duration"] == 300.0
    with pytest.raises(KeyError, match="no-such-rule"):
        rule("build", "forms", "no-such-rule")
    with pytest.raises(FileNotFoundError):
        table("build", "no-such-table")


def test_a_rule_that_says_nothing_is_refused():
    with pytest.raises(KeyError):
        value_of({"unit": "m", "source": "own-setting"})


def tables_with_sources() -> list[tuple[str, str]]:
    others = ("findings.toml", "sources.toml")
    return [
        (path.parent.relative_to(ROOT).as_posix(), path.stem)
        for path in sorted(ROOT.rglob("*.toml"))
        if path.name not in others and 'source = "' in path.read_text("utf-8")
    ]


@pytest.mark.parametrize("place", tables_with_sources(), ids="/".join)
def test_every_source_that_a_table_names_is_one_of_ours(place):
    named = source_keys(*place)
    bare = [key for key, row in table(*place).get("rules", {}).items() if not row.get("source")]
    assert bare == [], 'write source = "..." beside each, a key of src/slabwright/sources.toml'
    assert named
    assert named <= all_sources().keys()


def test_sources_are_found_in_rows_lists_and_tables_of_tables():
    assert {"astm-a615", "wwr-styles"} <= source_keys("slab/steel", "steel")
