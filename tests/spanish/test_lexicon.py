"""docs/words-es.md against every Spanish text: one word for one thing, and usted throughout."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.spanish.texts import spanish_texts

TABLE = Path(__file__).resolve().parents[2] / "docs" / "words-es.md"
NAMES = re.compile(r"\{\w+|\"[^\"]*\"")  # placeholders are named in English; what is typed stays
# Forms of tú that no form of usted shares.
TU = ["tú", "tu", "tus", "te", "ti", "contigo", "puedes", "tienes", "debes", "quieres", "haz"]


def rows() -> Iterator[tuple[str, list[str]]]:
    """Yield (word, words that are not used for it)."""
    for line in TABLE.read_text(encoding="utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if line.startswith("|") and len(cells) == 3 and cells[0] not in {"thing", "---"}:
            yield cells[1], cells[2].split(", ")


def standing(word: str) -> list[tuple[str, str]]:
    """Return the texts in which a word stands, alone or in the plural."""
    pattern = re.compile(rf"(?<![\w-]){re.escape(word)}(?:s|es)?(?![\w-])", re.IGNORECASE)
    return [(file, text) for file, text in spanish_texts() if pattern.search(NAMES.sub("{", text))]


def test_the_table_is_read() -> None:
    assert len(list(rows())) > 40
    assert len(spanish_texts()) > 3_500


@pytest.mark.parametrize(("word", "others"), list(rows()))
def test_no_other_word_stands_for_it(word: str, others: list[str]) -> None:
    found = [(other, *hit) for other in others for hit in standing(other)]
    assert not found, f"write {word}: {found}"


def test_the_sheet_of_the_plan_is_not_called_after_the_plant() -> None:
    named = re.compile(r"planta( de \{title\}.*)?", re.IGNORECASE)
    assert not [hit for hit in spanish_texts() if named.fullmatch(hit[1])]


@pytest.mark.parametrize("word", TU)
def test_usted_throughout(word: str) -> None:
    assert not standing(word)


def test_a_word_is_found_where_it_stands() -> None:
    """The search itself: in capitals, in the plural, not inside another word."""
    assert standing("cimbra")
    assert standing("CIMBRA") == standing("cimbra")
    assert len(standing("paño")) > len([1 for _, text in spanish_texts() if text == "Paño"])
    assert not standing("imbra")
