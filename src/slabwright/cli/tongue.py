"""The language that the terminal speaks: what is asked with --lang, else what the environment asks for.

Talk is written in English where it is said. In Spanish it is looked up: sentences of ours in the
catalogues of notes/said.py, help in help_es.toml, and the words of the option parser in click_es.toml.
What no catalogue has stays English, so that nothing is ever left unsaid.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

import click

LANGUAGES = ("en", "es")  # those of measure, which --help does not wait for; a test holds them together
# The first that is set decides. SLABWRIGHT_LANG is for this program alone.
ASKED_BY = ("SLABWRIGHT_LANG", "LC_ALL", "LC_MESSAGES", "LANG")
_PREFIX = "slabwright: "
_TONGUE: ContextVar[str] = ContextVar("tongue", default="en")
_PARSER = (click.core, click.decorators, click.exceptions, click.formatting, click.parser, click.types)


def of_environment(environment: Mapping[str, str] | None = None) -> str:
    """Return 'es' where the environment asks for Spanish, else 'en'."""
    asked = os.environ if environment is None else environment
    first = next((asked[key] for key in ASKED_BY if asked.get(key)), "")
    return "es" if first.lower().partition("_")[0].partition(".")[0] == "es" else "en"


def asked_in(words: Sequence[str]) -> str:
    """Return the language that a command line asks for, its last --lang; else the environment's."""
    found = of_environment()
    for n, word in enumerate(words):
        given = word.removeprefix("--lang=") if word.startswith("--lang=") else ""
        if word == "--lang" and n + 1 < len(words):
            given = words[n + 1]
        found = given if given in LANGUAGES else found
    return found


def tongue() -> str:
    """Return the language that this run speaks, 'en' or 'es'."""
    return _TONGUE.get()


@contextmanager
def speaking(lang: str) -> Iterator[None]:
    """Speak a language for a while."""
    before = _TONGUE.set(lang)
    try:
        yield
    finally:
        _TONGUE.reset(before)


def said(english: str) -> str:
    """Return a line of talk in the language of this run."""
    if tongue() == "en":
        return english
    from slabwright.notes.said import told  # here, so that English talk reads no catalogue

    own = english.removeprefix(_PREFIX)
    made = told(own, tongue())
    return english if made == own else (_PREFIX if own != english else "") + made


def lang_option(about: str) -> Callable[[Any], Any]:
    """Return the option --lang of a command; where it is not given, the language of this run holds."""
    return click.option("--lang", type=click.Choice(LANGUAGES), default=tongue, help=about)


def _book(name: str) -> Mapping[str, Any]:
    from slabwright.tables import table  # here: help in English needs no table

    return table("cli", name)


def helped(command: click.Command, part: str = "help") -> str | None:
    """Return the help of a command, or of one of its options ('out'), in Spanish; None where it has none."""
    book = _book("help_es")
    own = book.get(command.name or "", {}).get(part)
    return own or (None if part == "help" else book["shared"].get(part))


def parser_word(english: str) -> str:
    """Return a word of the option parser's own in the language of this run."""
    return str(_book("click_es").get(english, english)) if tongue() == "es" else english


def _count(one: str, many: str, n: int) -> str:
    return parser_word(one if n == 1 else many)


def teach_parser() -> None:
    """Let the option parser's own words (usage, errors, headings) go through the table of them."""
    for module in _PARSER:
        for name, said_by_us in (("_", parser_word), ("ngettext", _count)):
            if hasattr(module, name):
                setattr(module, name, said_by_us)
