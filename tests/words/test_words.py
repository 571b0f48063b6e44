"""Every word that a template or a module asks for is written, in both languages with the same values."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator
from importlib.resources import files
from pathlib import Path

import pytest

from slabwright.measure import LANGUAGES
from slabwright.office.words import words as office_words
from slabwright.sheets.words import words as sheet_words

ROOT = Path(str(files("slabwright")))
Words = Callable[[], dict[str, dict[str, str]]]
HOME: dict[str, tuple[Words, str]] = {
    "slabwright.office.words": (office_words, "a file of src/slabwright/office/words/"),
    "slabwright.sheets.words": (sheet_words, "src/slabwright/sheets/words.toml"),
}
HOLE = re.compile(r"\{(\w*)")
IN_TEMPLATE = re.compile(r'\{%-?\s*w\s+"([^"]+)"')


def called(tree: ast.Module, module: str) -> set[str]:
    """Return the names under which a module's `word` is imported."""
    return {
        alias.asname or alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module == module
        for alias in node.names
        if alias.name == "word"
    }


def asked(module: str) -> Iterator[tuple[str, str]]:
    """Yield the place and the key of every word that code asks for by its whole name."""
    for path in sorted(ROOT.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        names = called(tree, module)
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and getattr(node.func, "id", None) in names:
                match node.args:
                    case [ast.Constant(value=str(key)), *_]:
                        yield f"src/slabwright/{path.relative_to(ROOT)}:{node.lineno}", key


def in_templates() -> Iterator[tuple[str, str]]:
    for path in sorted(ROOT.rglob("*.html")):
        for key in IN_TEMPLATE.findall(path.read_text(encoding="utf-8")):
            yield f"src/slabwright/{path.relative_to(ROOT)}", key


@pytest.mark.parametrize("module", HOME)
def test_every_word_that_code_asks_for_is_written(module: str) -> None:
    words, home = HOME[module]
    found = list(asked(module))
    assert len(found) > 50
    assert [f"{place}: {key}" for place, key in found if key not in words()] == [], f"write each in {home}"


def test_every_word_that_a_template_asks_for_is_written() -> None:
    found = list(in_templates())
    assert len(found) > 200
    missing = [f"{place}: {key}" for place, key in found if key not in office_words()]
    assert missing == [], f"write each in {HOME['slabwright.office.words'][1]}"


@pytest.mark.parametrize("module", HOME)
def test_every_word_is_in_both_languages_with_the_same_values(module: str) -> None:
    words, home = HOME[module]
    bare = [key for key, row in words().items() if set(row) != set(LANGUAGES) or not all(row.values())]
    assert bare == [], f"write en and es of each in {home}"
    other = [
        key for key, row in words().items() if set(HOLE.findall(row["en"])) != set(HOLE.findall(row["es"]))
    ]
    assert other == [], f"en and es hold other values in {home}"
