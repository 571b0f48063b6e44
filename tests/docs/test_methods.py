"""The methods are complete: a page for each room, each with its parts, every source and symbol told of."""

from __future__ import annotations

import re
import sys
import tomllib
from pathlib import Path

import pytest

from slabwright.sources import all_sources

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
sys.path.insert(0, str(DOCS))  # the scripts of the docs lie beside each other, in no package

import method_pages as methods  # noqa: E402

PARTS = ["What it is for", "Formulas", "How it works", "Limits", "Sources", "How it is checked"]
pages = pytest.mark.parametrize("page", methods.CODE)


def test_every_room_and_every_file_of_a_room_has_its_page() -> None:
    """A new room: write docs/methods/ROOM.md and name it in CODE of docs/method_pages.py, then: make docs."""
    rooms = {path.stem for path in methods.SRC.iterdir() if path.suffix in {"", ".py"}}
    rooms -= {"__init__", "__pycache__"}
    told = {part.partition("/")[0] for parts in methods.CODE.values() for part in parts}
    assert rooms - told - methods.NO_METHOD.keys() == set()
    assert told & methods.NO_METHOD.keys() == set()
    assert methods.NO_METHOD.keys() - rooms == set()
    for room in rooms & told:
        for path in (methods.SRC / room).rglob("*.py"):
            assert methods.page_of(path), f"no page tells of {path.relative_to(methods.SRC)}"
    for parts in methods.CODE.values():
        assert [p for p in parts if not list(methods.SRC.glob(f"{p}*"))] == [], "gone from the code"


def test_every_page_of_the_folder_is_one_of_the_methods_and_in_their_list() -> None:
    there = {path.name for path in methods.METHODS.glob("*.md")} - {"README.md"}
    assert there == methods.CODE.keys()
    listed = re.findall(r"\]\(([\w-]+\.md)\)", (methods.METHODS / "README.md").read_text(encoding="utf-8"))
    assert sorted(listed) == sorted(there)


@pages
def test_a_page_has_its_parts_in_their_order(page: str) -> None:
    text = (methods.METHODS / page).read_text(encoding="utf-8")
    assert re.findall(r"^## (.+)$", text, re.MULTILINE) == PARTS
    for part in re.split(r"^## .+$", text, flags=re.MULTILINE)[1:]:
        assert len(part.split()) >= 10, f"{page}: a part says nothing"


@pages
def test_every_symbol_of_a_formula_is_told_of(page: str) -> None:
    """A formula's letters stand in docs/symbols.toml, and nothing else does; then: make docs."""
    told = tomllib.loads(methods.SYMBOLS.read_text(encoding="utf-8"))[page]
    assert len(methods.symbols_in(page)) >= 5
    assert methods.symbols_in(page) == told.keys()


def test_every_source_is_named_by_a_method_or_has_a_reason_not_to_be() -> None:
    named = set().union(*methods.used().values())
    assert all_sources().keys() - named == methods.NOT_IN_A_METHOD.keys()


@pages
def test_a_source_that_a_page_names_is_in_the_list_and_the_other_way_round(page: str) -> None:
    text = (methods.METHODS / page).read_text(encoding="utf-8")
    linked = set(re.findall(r"sources\.md#([\w.-]+)\)", text))
    assert linked == methods.used()[page] <= all_sources().keys()


def test_every_check_from_outside_holds_a_method() -> None:
    there = {path.stem.removeprefix("test_") for path in methods.OUTSIDE.glob("test_*.py")}
    named = [name for names in methods.checks().values() for name in names]
    assert sorted(named) == sorted(there)
    assert "ghilani_wolf" in methods.checks()["survey.md"]
    assert methods.HOLDS.keys() <= there
