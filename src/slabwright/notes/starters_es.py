"""Starter job files in Spanish: their names and remarks as starters/es.toml has them, keys as they are."""

from __future__ import annotations

import re
from collections.abc import Mapping

from slabwright.tables import table

# Where a name of the job stands: as a name, and where another record calls on it.
_NAMED = r"(?<=name: )|(?<=existing: )|(?<=door: )"
# A surveyed point: as the datum, under a door's sill, in `below`, or with its own rod reading.
_POINT = r"(?<=datum: )|(?<=sill: )|(?<=below: )|(?<=^      )"


def in_spanish(text: str) -> str:
    """Return a starter's text with its title, names, points and remarks in Spanish."""
    words = table("notes/starters", "es")
    out = []
    for line in text.splitlines():
        said, mark, remark = line.partition("# ")
        said = _put(said, words["titles"], "(?<=^title: )")
        said = _put(said, words["names"], _NAMED)
        said = _put(said, words["points"], _POINT)
        out.append(said + mark + words["remarks"].get(remark, remark))
    return "\n".join(out) + "\n"


def _put(text: str, words: Mapping[str, str], before: str) -> str:
    known = "|".join(map(re.escape, sorted(words, key=len, reverse=True)))
    return re.sub(rf"(?:{before})({known})(?=[,}}:]|\s*$)", lambda hit: words[hit[1]], text)
