"""Every published source that a rule, a constant or a test leans on, once, with its edition.

The data stand in sources.toml beside this file. A mark says how far the value can be trusted:

- seen: the value was read in the document or in a stored copy of it;
- recalled: the value is recalled from the named document and was not read again;
- computed: the value follows from the stated formula;
- practice: a custom of the trade with no governing document.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files


class Mark(StrEnum):
    """How far a value taken from a source can be trusted."""

    SEEN = "seen"
    RECALLED = "recalled"
    COMPUTED = "computed"
    PRACTICE = "practice"


# The marks as a Spanish sheet says them.
MARKS_ES = {Mark.RECALLED: "de memoria", Mark.COMPUTED: "calculado", Mark.PRACTICE: "costumbre"}


@dataclass(frozen=True, slots=True)
class Source:
    """One published source: key, title with edition, the place in it, its mark, and its line in Spanish.

    A document keeps its title in every language; what we say of the place in it is said in Spanish too.
    """

    key: str
    title: str
    where: str
    mark: Mark
    spanish: str = ""

    def cite(self, lang: str = "en") -> str:
        """Return the source as one line for a sheet in 'en' or 'es', its mark where it is not 'seen'."""
        text = f"{self.title}, {self.where}" if self.where else self.title
        if lang == "es":
            text = self.spanish or text
        if self.mark is Mark.SEEN:
            return text
        return f"{text} [{MARKS_ES[self.mark] if lang == 'es' else self.mark}]"


@cache
def all_sources() -> dict[str, Source]:
    """Return every source by its key, in the file's order."""
    raw = tomllib.loads(files("slabwright").joinpath("sources.toml").read_text(encoding="utf-8"))
    return {
        key: Source(key, row["title"], row.get("where", ""), Mark(row["mark"]), row.get("es", ""))
        for key, row in raw.items()
    }


def source(key: str) -> Source:
    """Return the source with this key; KeyError, saying where to write it, when there is none."""
    known = all_sources()
    if key not in known:
        raise KeyError(f"no source {key!r}: write [{key}] in src/slabwright/sources.toml")
    return known[key]
