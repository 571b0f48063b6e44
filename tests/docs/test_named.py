"""What the pages name is there: files of the tree, commands with their options, targets of make."""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest

from slabwright.cli import main

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md"))]
pages = pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))

PLACE = re.compile(r"(?<![\w./-])((?:tests|src|bench|docs|examples|fuzz)/[\w./*-]*[\w*/])")
TEST = re.compile(r"(?<![\w/.])(test_\w+\.py)")
STANDS_FOR = re.compile(r"[/_][A-Z]{3,}(?=[./_]|$)")  # tests/ROOM: a name of the reader's own
CALL = re.compile(r"(?:\.venv/bin/|[\s`>]|^)slabwright ([a-z][a-z-]+)([^`\n]*)", re.MULTILINE)
OPTION = re.compile(r"(?<![\w-])(--[a-z][a-z-]+)")
# Options of other programs and of the docs' own scripts.
OTHERS = {"--over"}


def _commands(group: click.Group) -> dict[str, click.Command]:
    found: dict[str, click.Command] = dict(group.commands)
    for one in group.commands.values():
        if isinstance(one, click.Group):
            found |= {f"{one.name} {name}": inner for name, inner in one.commands.items()}
    return found


COMMANDS = _commands(main)


def _options(command: click.Command) -> set[str]:
    return {name for param in command.params for name in (*param.opts, *param.secondary_opts)} | {"--help"}


def _text(page: Path) -> str:
    text = page.read_text(encoding="utf-8")
    # What is made from the code itself is held elsewhere, and shows words of all sorts.
    return re.sub(r"<!-- [\w-]+: begin -->.*?<!-- [\w-]+: end -->", "", text, flags=re.DOTALL)


@pages
def test_files_that_are_named_are_there(page: Path) -> None:
    text = re.sub(r"https?://\S+|\]\([^)]*\)|\S*<\w+>\S*", "", _text(page))
    places = {place.rstrip("/") for place in PLACE.findall(text)}
    left = {place for place in places if not list(ROOT.glob(place))}
    assert {place for place in left if not STANDS_FOR.search(place)} == set()
    tests = {path.name for path in (ROOT / "tests").rglob("test_*.py")}
    assert set(TEST.findall(text)) - tests == set()


@pages
def test_commands_that_are_named_are_there_with_their_options(page: Path) -> None:
    wrong = []
    for name, rest in CALL.findall(_text(page)):
        inner = f"{name} {rest.split()[0]}" if rest.split() else name
        command = COMMANDS.get(inner) or COMMANDS.get(name)
        if command is None:
            wrong.append(name)
            continue
        wrong += [f"{name} {one}" for one in OPTION.findall(rest) if one not in _options(command)]
    assert wrong == []


@pages
def test_options_that_are_named_alone_are_some_command_s(page: Path) -> None:
    every = {one for command in COMMANDS.values() for one in _options(command)}
    named = {one for code in re.findall(r"`(--[^`]+)`", _text(page)) for one in OPTION.findall(code)}
    assert named - every - OTHERS == set()


@pages
def test_targets_of_make_that_are_named_are_there(page: Path) -> None:
    targets = set(re.findall(r"^([a-z]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))
    named = set(re.findall(r"(?:^ {4}|^|`)make ([a-z]+)\b", _text(page), re.MULTILINE))
    assert named - targets == set()


def test_enough_is_named_for_this_to_mean_something() -> None:
    text = "".join(map(_text, PAGES))
    assert len(CALL.findall(text)) > 30
    assert len(PLACE.findall(text)) > 60
