"""A new job in Spanish: its names and remarks, and the same plan as in English."""

from __future__ import annotations

import re
from typing import get_args

import pytest

from slabwright.notes import parse_notes
from slabwright.notes.models import Use
from slabwright.notes.writer import new_job

ENGLISH = re.compile(
    r"\b(the|of|and|your|every|from|walk|slab|porch|gate|street|kerb|shed|door|side|back|bench|sill)\b", re.I
)
# What stays: the job file's own words.
KEYS = re.compile(r"use: \w+|[\w-]+:(?= |$)|broom|tooled|imperial|metric")


@pytest.mark.parametrize("metric", [False, True])
@pytest.mark.parametrize("use", get_args(Use))
def test_a_starter_in_spanish_keeps_keys_and_figures(use: str, metric: bool) -> None:
    english, spanish = (new_job(use, metric=metric, lang=lang) for lang in ("en", "es"))
    assert english != spanish
    left = [line for line in spanish.splitlines() if ENGLISH.search(KEYS.sub("", line))]
    assert not left
    one, other = parse_notes(english, name="en.yaml"), parse_notes(spanish, name="es.yaml")
    assert [slab.use for slab in one.slabs] == [slab.use for slab in other.slabs]
    assert len(one.existing) == len(other.existing)
    figures = [re.sub(r"#.*", "", text) for text in (english, spanish)]
    assert re.findall(r"\d[\d' /.]*", figures[0]) == re.findall(r"\d[\d' /.]*", figures[1])
