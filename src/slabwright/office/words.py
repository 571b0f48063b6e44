"""The office's own words in English and Spanish: every file of words/, read once."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files


@cache
def words() -> dict[str, dict[str, str]]:
    """Return every word by key, then by language; ValueError for a key that stands in two files."""
    made: dict[str, dict[str, str]] = {}
    folder = files("slabwright.office").joinpath("words")
    for file in sorted(folder.iterdir(), key=lambda f: f.name):
        if not file.name.endswith(".toml"):
            continue
        for key, row in tomllib.loads(file.read_text(encoding="utf-8")).items():
            if key in made:
                raise ValueError(f"{file.name}: {key} stands in another file of words too")
            made[key] = row
    return made


def word(key: str, lang: str = "en", **values: object) -> str:
    """Return a word with its placeholders filled; KeyError for an unknown key or language."""
    if key not in words():
        raise KeyError(f"no words for {key!r}: write [{key}] with en and es in a file of office/words/")
    text = words()[key][lang]
    return text.format_map(values) if values else text
