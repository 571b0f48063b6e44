"""What the reader says, in Spanish: an English sentence is matched with its template and said again.

`mistakes_es.toml` of a room is keyed by the English, with its values in braces: "is longer than
{most:number} characters". Behind a colon stands what the value is:

    number  digits, as written
    word    one of our own words; said in Spanish where [words] has it
    list    several, with 'and' or 'or' between; names in quotes stay as written
    said    a sentence of its own, said in Spanish as well

Without one the value stays as written: names, keys and readings are the writer's. So whoever finds a
mistake writes plain English, and needs to know nothing of other languages.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from string import Formatter

LONGEST = 2_000  # characters of a sentence that is looked up; longer ones hold somebody's whole file
ROOMS = ("notes", "ground")  # whose catalogues there are; the reasons of measures stand with the notes
TALK = (*ROOMS, "cli")  # and what the commands and the planning say
_ANY = "(.+?)"
_PATTERNS = {"number": r"([-+]?\d[\d.,/e+-]*)", "": _ANY, "word": _ANY, "list": _ANY, "said": _ANY}
_BETWEEN_QUOTED = re.compile(r"(?<=['\"]) (and|or) (?=['\"])")
_BETWEEN = re.compile(" (and|or) ")


@dataclass(frozen=True, slots=True)
class _Template:
    """An English sentence as a pattern, the names and kinds of its values, and the Spanish one."""

    pattern: re.Pattern[str]
    values: tuple[tuple[str, str], ...]
    spanish: str


@dataclass(frozen=True, slots=True)
class _Catalogue:
    """What a language has: sentences without values, those with values (tails first), words."""

    plain: dict[str, str]
    filled: tuple[_Template, ...]
    examples: tuple[_Template, ...]
    words: dict[str, str]


def say(english: str, lang: str) -> str:
    """Return a sentence of the reader (why a mistake is one, a MeasureError's reason) in `lang`.

    'en' gives it back; so does a sentence that the catalogue does not have. Without its closing stop.
    """
    if lang != "es":
        return english
    found = spanish(english)
    return english if found is None else found


def spanish(english: str, rooms: tuple[str, ...] = ROOMS) -> str | None:
    """Return a sentence of the reader, or of other `rooms` with a catalogue, in Spanish; None without one."""
    if len(english) > LONGEST:
        return None
    book = _catalogue(rooms)
    return book.plain.get(english) or _first(book.filled, english, rooms)


def told(english: str, lang: str) -> str:
    """Return what a command or the planning says ('the weather does not cover the placing') in `lang`.

    A sentence that has no words in `lang` is given back.
    """
    if lang != "es":
        return english
    bare = english.removesuffix(".")
    made = spanish(bare, TALK) or spanish(english, TALK)
    if made is None:
        return english
    return made + ("." if bare != english and made[-1] not in ".?!" else "")


def example_in(english: str, lang: str) -> str:
    """Return an example in `lang`: what is written in a job file stays, only 'or' between two is said."""
    if lang != "es":
        return english
    return _first(_catalogue(ROOMS).examples, english, ROOMS) or english


def _first(templates: tuple[_Template, ...], english: str, rooms: tuple[str, ...]) -> str | None:
    for template in templates:
        hit = template.pattern.fullmatch(english)
        if hit is None:
            continue
        made: dict[str, str] = {}
        for (name, kind), value in zip(template.values, hit.groups(), strict=True):
            shown = _SHOWN[kind](value, rooms)
            if shown is None:
                break
            made[name] = shown
        else:
            return template.spanish.format_map(made)
    return None


def _word(value: str, rooms: tuple[str, ...]) -> str:
    return _catalogue(rooms).words.get(value, value)


def _list(value: str, rooms: tuple[str, ...]) -> str:
    if value[:1] in "'\"":
        return _BETWEEN_QUOTED.sub(lambda hit: f" {_word(hit[1], rooms)} ", value)
    return " ".join(_word(part, rooms) for part in _BETWEEN.split(value))


def _as_written(value: str, _rooms: tuple[str, ...]) -> str:
    return value


_SHOWN: dict[str, Callable[[str, tuple[str, ...]], str | None]] = {
    "": _as_written,
    "number": _as_written,
    "word": _word,
    "list": _list,
    "said": spanish,
}


def templates() -> Iterator[tuple[str, str]]:
    """Yield every sentence of the catalogue: the English as its template, the Spanish."""
    yield from _table("sentences").items()


def words() -> dict[str, str]:
    """Return our own words that stand as values in sentences, English to Spanish."""
    return dict(_table("words"))


@cache
def _table(part: str, rooms: tuple[str, ...] = ROOMS) -> dict[str, str]:
    """Return one part of every room's catalogue: sentences, examples or words."""
    found: dict[str, str] = {}
    for room in rooms:
        path = files("slabwright").joinpath(room, "mistakes_es.toml")
        found |= tomllib.loads(path.read_text(encoding="utf-8")).get(part, {})
    return found


@cache
def _catalogue(rooms: tuple[str, ...]) -> _Catalogue:
    sentences = _table("sentences", rooms)
    return _Catalogue(
        plain={key: value for key, value in sentences.items() if "{" not in key},
        filled=_compiled(sentences),
        examples=_compiled(_table("examples", rooms)),
        words=_table("words", rooms),
    )


def _compiled(rows: dict[str, str]) -> tuple[_Template, ...]:
    """Return the sentences with values: those that begin with another sentence first, then the longest."""
    made = [(key, _template(key, value)) for key, value in rows.items() if "{" in key]
    made.sort(key=lambda one: (":said}" not in one[0].split(" ")[0], -_literal(one[0])))
    return tuple(template for _, template in made)


def _literal(key: str) -> int:
    return sum(len(text) for text, *_ in Formatter().parse(key))


def _template(key: str, spanish_text: str) -> _Template:
    pattern, values = "", []
    for text, name, kind, _ in Formatter().parse(key):
        pattern += re.escape(text)
        if name is not None:
            pattern += _PATTERNS[kind or ""]
            values.append((name, kind or ""))
    return _Template(re.compile(pattern, re.DOTALL), tuple(values), spanish_text)
