"""The catalogue of findings is whole: each has words in both languages, a level, a source and a finder."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from pathlib import Path

import pytest

from slabwright.findings import Level, catalogue, entry, find
from slabwright.sources import all_sources, source

ROOT = Path(str(files("slabwright")))
ROOMS = sorted(path.parent.name for path in ROOT.glob("*/findings.toml"))
CODES = [(room, code) for room in ROOMS for code in catalogue(room)]
PARTS = ("what", "why", "do")
OF_TWO = {f"{net}-{how}" for net in ("pulls", "heights") for how in ("do-not-close", "strained")}
HOLE = re.compile(r"\{(\w+)")


def home(room: str) -> str:
    return f"in src/slabwright/{room}/findings.toml"


@cache
def texts() -> dict[str, str]:
    return {str(path.relative_to(ROOT)): path.read_text(encoding="utf-8") for path in ROOT.rglob("*.py")}


def found() -> Iterator[tuple[str, str, str]]:
    """Yield room, code and place of every call of find() whose two names are written out."""
    for name, text in texts().items():
        for node in ast.walk(ast.parse(text)):
            if not (isinstance(node, ast.Call) and getattr(node.func, "id", "") == "find"):
                continue
            own = name.split("/")[0]
            match node.args:
                case [ast.Name(id="ROOM"), ast.Constant(value=str(code)), *_]:
                    yield own, code, f"src/slabwright/{name}:{node.lineno}"
                case [ast.Constant(value=str(room)), ast.Constant(value=str(code)), *_]:
                    yield room, code, f"src/slabwright/{name}:{node.lineno}"


def test_there_are_rooms_with_findings() -> None:
    assert {"build", "ground", "money", "pourday", "slab", "survey"} <= set(ROOMS)


@pytest.mark.parametrize(("room", "code"), CODES)
def test_a_finding_is_written_whole(room: str, code: str) -> None:
    row, here = catalogue(room)[code], f"[{code}] {home(room)}"
    assert set(row) == {"level", "source", "es", *PARTS}, f"{here} wants level, source, what, why, do and .es"
    assert set(row["es"]) - {"words"} == set(PARTS), f"{here}: its .es wants what, why and do"
    assert row["level"] in set(Level), f"{here}: level is stop, caution or note"
    assert row["source"] in all_sources(), f"write [{row['source']}] in src/slabwright/sources.toml"
    for part in PARTS:
        assert row[part].strip(), f"{here}: {part} is empty"
        assert row["es"][part].strip() not in ("", row[part].strip()), f"{here}: {part} wants Spanish"


@pytest.mark.parametrize(("room", "code"), CODES)
def test_both_languages_hold_the_same_values(room: str, code: str) -> None:
    row = catalogue(room)[code]
    for part in PARTS:
        # The names of a book's lines have a Spanish twin, {items} and {items_es}.
        english, spanish = (
            {hole.removesuffix("_es") for hole in HOLE.findall(words[part])} for words in (row, row["es"])
        )
        assert english == spanish, f"{part} of [{code}] and [{code}.es] {home(room)} hold other values"


def test_every_finding_that_is_found_has_words() -> None:
    bare = [f"{place}: [{code}] {home(room)}" for room, code, place in found() if code not in catalogue(room)]
    assert bare == [], "found, but not written"


def test_every_finding_with_words_is_found_somewhere() -> None:
    every = "\n".join(texts().values())
    # Codes may be put together from parts: 'built-' and what was built.
    parts = re.findall(r'f"([a-z-]+)\{[^}]*\}([a-z-]*)"|f"()\{[^}]*\}([a-z-]+)"', every)
    made = [re.compile(f"{re.escape(a or c)}[a-z0-9-]+{re.escape(b or d)}") for a, b, c, d in parts]
    idle = [
        f"[{code}] {home(room)}"
        for room, code in CODES
        if f'"{code}"' not in every and code not in OF_TWO and not any(m.fullmatch(code) for m in made)
    ]
    assert idle == [], "written, but nobody finds them"


def test_what_is_missing_says_where_to_write_it() -> None:
    with pytest.raises(KeyError, match=r"\[no-such\.es\] in src/slabwright/slab/findings\.toml"):
        entry("slab", "no-such")
    with pytest.raises(KeyError, match="no-such"):
        find("slab", "no-such")
    with pytest.raises(KeyError, match=r"write \[no-such\] in src/slabwright/sources\.toml"):
        source("no-such")
