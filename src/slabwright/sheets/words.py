"""The sheets' own words in English and Spanish: the table words.toml, read once."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

LANGUAGES = ("en", "es")


@cache
def words() -> dict[str, dict[str, str]]:
    """Return every word by key, then by language."""
    text = files("slabwright").joinpath("sheets", "words.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def word(key: str, lang: str = "en", **values: object) -> str:
    """Return a word in 'en' or 'es' with its placeholders filled; KeyError for an unknown key or language."""
    return words()[key][lang].format_map(values) if values else words()[key][lang]
