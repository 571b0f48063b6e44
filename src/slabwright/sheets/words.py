"""The sheets' own words in English and Spanish: words.toml and those of the pour and of money, read once."""

from __future__ import annotations

from functools import cache

from slabwright.tables import table


@cache
def words() -> dict[str, dict[str, str]]:
    """Return every word by key, then by language."""
    made: dict[str, dict[str, str]] = {}
    for name in ("words", "pour_words", "money_words"):
        made |= table("sheets", name)
    return made


def word(key: str, lang: str = "en", **values: object) -> str:
    """Return a word in 'en' or 'es' with its placeholders filled; KeyError for an unknown key or language."""
    if key not in words():
        raise KeyError(f"no words for {key!r}: write {key} = {{ en, es }} in slabwright/sheets/words.toml")
    text = words()[key][lang]
    return text.format_map(values) if values else text
