"""Every finding of the room has words in both languages, a source, and a place that raises it."""

from __future__ import annotations

import re
import string
from importlib.resources import files

import pytest

from slabwright.findings import Level, catalogue
from slabwright.sources import all_sources
from slabwright.survey.instruments import instruments
from slabwright.survey.misreads import habits

CODES = sorted(catalogue("survey"))
CODE_TEXT = "\n".join(
    path.read_text(encoding="utf-8")
    for path in files("slabwright.survey").iterdir()
    if path.name.endswith(".py")
)
# Codes that are put together from parts: slip-<kind>-long, <what>-do-not-close and the like.
BUILT = re.compile(r"slip-(foot|inch)-(long|short)|slip-.*|(pulls|heights)-(do-not-close|strained)")


def holes(text):
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


@pytest.mark.parametrize("code", CODES)
def test_words_in_both_languages(code):
    row = catalogue("survey")[code]
    assert row["level"] in list(Level)
    assert row["source"] in all_sources()
    for key in ("what", "why", "do"):
        assert row[key].strip()
        assert row["es"][key].strip()
        assert row["es"][key] != row[key]
    english = set().union(*(holes(row[key]) for key in ("what", "why", "do")))
    spanish = set().union(*(holes(row["es"][key]) for key in ("what", "why", "do")))
    assert spanish == english


@pytest.mark.parametrize("code", CODES)
def test_every_text_is_used(code):
    assert f'"{code}"' in CODE_TEXT or BUILT.fullmatch(code)


def test_tables_name_their_sources():
    for row in (*instruments().values(), *habits().values()):
        assert row.source in all_sources()
    assert all(tool.sd(10.0) > 0.0 for tool in instruments().values())


def test_fibreglass_is_less_sure_than_steel():
    """At 50 ft between 0.02 and 0.05 ft, the range that the table's source gives."""
    at = instruments()["fibreglass tape"].sd(15.24) / 0.3048
    assert 0.02 <= at <= 0.05
    assert instruments()["steel tape"].sd(15.24) < instruments()["fibreglass tape"].sd(15.24) / 2
