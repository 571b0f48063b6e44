"""Finding: what a stage noticed, and what to do about it.

A stage never prints and never stops at a thing that a person should judge; it returns findings.
Their texts stand in `findings.toml` of the room that finds them, in English and Spanish, under a
stable code. Numbers in the text are placeholders that hold SI quantities, written in the reader's
units only when the finding is shown. A count takes its word's two forms with it:
'{panels:panel is|panels are}' becomes '1 panel is' or '3 panels are'.

    [cross-fall-steep]
    level = "stop"                      # stop | caution | note
    source = "ada-403.3"                # a key of sources.toml
    what = "The cross fall is {fall}; the limit is {limit}."
    why = "..."
    do = "..."
    [cross-fall-steep.es]
    what = "..."
    why = "..."
    do = "..."

A value that is a word of ours, not a name of the job's, has its Spanish in a `words` table of the
Spanish text: words = { infeasible = "..." }.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from slabwright.measure import Quantity, System, write
from slabwright.sources import source

Value = str | int | Quantity

# What the survey calls a reading, and the Spanish of it; the names in it are the job's and stay.
READINGS_ES = (
    ("tape (.+) to (.+)", "cinta de {} a {}"),
    ("tape (.+)", "cinta {}"),
    ("square-off (.+)", "escuadra a {}"),
    ("right angle at (.+)", "ángulo recto en {}"),
    ("straight line (.+)", "recta {}"),
    ("given place of (.+)", "lugar dado de {}"),
    ("side of (.+)", "lado de {}"),
    ("rod (.+) from (.+)", "mira en {} desde {}"),
    ("given height of (.+)", "altura dada de {}"),
    ("height (.+) to (.+)", "altura de {} a {}"),
    ("string (.+) down to (.+)", "hilo {} hacia abajo a {}"),
)
_PANEL = re.compile(r"(?<=, )panel (?=\w)")


class Level(StrEnum):
    """stop: do not build like this; caution: look again; note: good to know."""

    STOP = "stop"
    CAUTION = "caution"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Text:
    """A finding's words in one language, its numbers written in one system of units."""

    level: str
    what: str
    where: str
    why: str
    do: str
    source: str


@dataclass(frozen=True, slots=True)
class Finding:
    """What a stage noticed. `room` and `code` name its text; `values` fill the placeholders.

    `where` is the place on site as the job names it ('side walk, panel 3'); `line` is the line of
    the job file that it comes from, if there is one.
    """

    room: str
    code: str
    level: Level
    where: str
    values: Mapping[str, Value] = field(default_factory=dict)
    line: int | None = None

    def text(self, *, system: System = System.IMPERIAL, lang: str = "en") -> Text:
        """Return the words in `lang` ('en' or 'es') with numbers in `system`'s units."""
        row = entry(self.room, self.code)
        words = row if lang == "en" else {**row, **row.get(lang, {})}
        own = words.get("words", {})
        readings = self.room == "survey"
        shown = {}
        for key, value in self.values.items():
            said = _shown(value, system, lang)
            if isinstance(said, str) and isinstance(value, str):
                said = own.get(said, said)
                said = reading_named(said, lang) if readings else said
            shown[key] = said
        where = reading_named(self.where, lang) if readings else self.where
        return Text(
            level=self.level,
            what=words["what"].format_map(shown),
            where=_PANEL.sub("paño ", where) if lang == "es" else where,
            why=words["why"].format_map(shown),
            do=words["do"].format_map(shown),
            source=source(row["source"]).cite(lang),
        )


class _Count(int):
    """A whole number that brings the form of the word behind it, 'one|many', as its format."""

    def __format__(self, spec: str) -> str:
        if "|" not in spec:
            return int.__format__(self, spec)
        one, many = spec.split("|")
        return f"{int(self)} {one if self == 1 else many}"


def _shown(value: Value, system: System, lang: str) -> str | int:
    if isinstance(value, Quantity):
        return write(value, system=system, lang=lang)
    return _Count(value) if isinstance(value, int) else value


def reading_named(label: str, lang: str) -> str:
    """Return what the survey calls one reading or several ('tape A-B, rod P1 from S1') in 'en' or 'es'."""
    if lang != "es":
        return label
    return ", ".join(_reading_es(one) for one in label.split(", "))


def _reading_es(label: str) -> str:
    for english, spanish in READINGS_ES:
        hit = re.fullmatch(english, label)
        if hit:
            return spanish.format(*hit.groups())
    return label


@cache
def catalogue(room: str) -> dict[str, dict[str, Any]]:
    """Return the texts of a room ('slab', 'build', ...) by code."""
    path = files("slabwright").joinpath(room, "findings.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def entry(room: str, code: str) -> dict[str, Any]:
    """Return one catalogue entry; KeyError names a code that has no text, and where it goes."""
    rows = catalogue(room)
    if code not in rows:
        home = f"src/slabwright/{room}/findings.toml"
        raise KeyError(f"the finding {code!r} has no words: write [{code}] and [{code}.es] in {home}")
    return rows[code]


def find(room: str, code: str, *, where: str = "", line: int | None = None, **values: Value) -> Finding:
    """Return the finding `code` of `room`, its level taken from the room's catalogue."""
    return Finding(room, code, Level(entry(room, code)["level"]), where, values, line)


def worst(findings: tuple[Finding, ...]) -> Level | None:
    """Return the gravest level among findings, or None when there are none."""
    for level in Level:
        if any(f.level is level for f in findings):
            return level
    return None
