"""The examples planned in Spanish: no English word of the program stands in any sheet, table or finding.

The English words are the program's own, taken from its English texts, less those that Spanish shares. What
the job's writer wrote, titles of documents, and the job file's keys and words are the writer's and stay.
"""

from __future__ import annotations

import re
from functools import cache
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader
from tests.spanish.texts import spanish_texts

from slabwright.notes import read_notes
from slabwright.plan import make, sheets_of
from slabwright.sheets.words import words
from slabwright.sources import all_sources

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
JOBS = sorted(EXAMPLES.glob("*/job.yaml"))
WORD = re.compile(r"[a-záéíóúüñ]{3,}", re.IGNORECASE)
# Words of no text in particular that would show an English sentence.
COMMON = frozenset(
    {"the", "and", "with", "from", "that", "this", "are", "was", "not", "into", "than", "your"}
)
# Keys and words of the job file that a Spanish sentence names on purpose, and units.
KEPT = frozenset({"ground", "organic", "kit", "left", "right", "free", "max", "lawns", "psi", "gpm", "mph"})
# What the writer of a job names; remarks and keys are not on any sheet.
NAMED = re.compile(r"\b(?:name|title|customer|measured|datum|sill|existing|door): *([^,}#\n]+)")


@cache
def english_words() -> frozenset[str]:
    """Return the words of the sheets' English texts that no Spanish text has."""
    english = {w.lower() for row in words().values() for w in WORD.findall(row["en"])}
    sheets = ("sheets/", "survey/", "ground/findings", "slab/", "build/")  # what the packet draws on
    said = (re.sub(r"\{\w+", "", text) for file, text in spanish_texts() if file.startswith(sheets))
    spanish = {w.lower() for text in said for w in WORD.findall(text)}
    return (frozenset(english) | COMMON) - spanish - KEPT


def _foreign(text: str, job: Path) -> set[str]:
    """Return the English words of a text, without what the job's writer and the documents say."""
    named = " ".join(NAMED.findall(job.read_text(encoding="utf-8")))
    own = {w.lower() for w in WORD.findall(named)}
    titles = {w.lower() for one in all_sources().values() for w in WORD.findall(one.title)}
    return {w.lower() for w in WORD.findall(text)} & english_words() - own - titles


@cache
def _files(job: Path) -> dict[str, bytes]:
    plan = make(read_notes(job), name=job.parent.name)
    return dict(sheets_of(plan, date="2026-05-04", lang="es"))


def test_the_list_is_long_and_would_find_english() -> None:
    assert len(english_words()) > 300
    assert {"stake", "panel", "board", "dig", "the"} <= english_words()
    assert _foreign("Dig at every stake", JOBS[0]) == {"every", "stake"}
    assert _foreign("Excave en cada estaca", JOBS[0]) == set()


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.parent.name)
def test_no_english_in_tables_and_findings(job: Path) -> None:
    tables = {name: data for name, data in _files(job).items() if name.endswith(".csv")}
    assert len(tables) > 12
    found = {name: left for name, data in tables.items() if (left := _foreign(data.decode(), job))}
    assert not found


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.parent.name)
def test_no_english_on_paper(job: Path) -> None:
    pages = PdfReader(BytesIO(_files(job)["packet.pdf"])).pages
    found = {n: left for n, page in enumerate(pages, 1) if (left := _foreign(page.extract_text(), job))}
    assert not found
