"""Names of points: which ones the notes use, and how two of them are written in one word (A-B)."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from typing import Any

from slabwright.notes.layout import canonical
from slabwright.notes.values import Listed, Mapped

_DASH = re.compile(r"\s*[-\u2010-\u2015]\s*|\s+to\s+", re.IGNORECASE)


def tidy(name: str) -> str:
    """Return a name without spaces at its ends and with single ones inside."""
    return " ".join(name.split())


def splits(text: str) -> list[tuple[str, str]]:
    """Return every way to cut 'A-B' (or 'A to B') into two names."""
    cuts = [(tidy(text[: hit.start()]), tidy(text[hit.end() :])) for hit in _DASH.finditer(text)]
    return [(p, q) for p, q in cuts if p and q]


def tell_apart(text: str, known: Collection[str]) -> tuple[str, str] | str:
    """Return the two names that `text` joins, or why they cannot be told.

    Names may hold hyphens themselves, so the cut is the one that leaves two known names; where none
    does, the only cut, or the only one with a known name.
    """
    cuts = splits(text)
    if not cuts:
        return "does not name two points with a hyphen between them"
    for sure in (2, 1):
        good = [cut for cut in cuts if (cut[0] in known) + (cut[1] in known) >= sure]
        if len(good) == 1:
            return good[0]
        if len(good) > 1:
            ways = " or ".join(f"{p!r} and {q!r}" for p, q in good[:3])
            return f"can be read in more than one way: {ways}"
    if len(cuts) == 1:
        return cuts[0]
    return "has more than one hyphen and names no point that is written elsewhere"


def split_pair(text: str, known: Collection[str]) -> tuple[str, str] | None:
    """Return the two known names that `text` joins with a hyphen, or None.

    Of two cuts with both halves known the one with the longer first name is taken; the reader has
    refused such a job file already (see `tell_apart`).
    """
    for cut in reversed(splits(text)):
        if cut[0] in known and cut[1] in known:
            return cut
    return None


def known_names(tree: Mapped) -> set[str]:
    """Return the names of points that the notes write by themselves (not joined as A-B) anywhere."""
    keyed = {canonical(str(key)): value for key, value in tree.items()}
    found: set[str] = set()
    found.update(_strings(_get(keyed.get("house"), "walls")))
    for key in ("baseline", "straight-lines"):
        found.update(_strings(keyed.get(key)))
    for key in ("points", "heights"):
        found.update(_keys(keyed.get(key)))
    for key, inner in (("levels", "rod"), ("string-lines", "down")):
        for row in _rows(keyed.get(key)):
            found.update(_keys(_get(row, inner)))
    for row in _rows(keyed.get("tape")):
        found.update(_strings(_get(row, "from")), _strings(_get(row, "to")))
    found.update(_square_offs(keyed.get("square-off")))
    for key in ("existing", "slabs"):
        for row in _rows(keyed.get(key)):
            for field in ("corners", "edge", "along"):
                found.update(_strings(_get(row, field)))
    for key, fields in (("trees", ("at",)), ("sprinklers", ("at",)), ("buried", ("along",))):
        for row in _rows(keyed.get(key)):
            for field in fields:
                found.update(_strings(_get(row, field)))
    return found


def _square_offs(node: Any) -> Iterator[str]:
    for row in [node] if isinstance(node, Mapped) else _rows(node):
        point = _get(row, "point")
        if isinstance(point, str):
            yield tidy(point)
        else:
            yield from (tidy(str(key)) for key, value in row.items() if isinstance(value, Mapped))


def _get(row: Any, key: str) -> Any:
    if not isinstance(row, Mapped):
        return None
    return next((value for written, value in row.items() if canonical(str(written)) == key), None)


def _rows(node: Any) -> Iterator[Mapped]:
    if isinstance(node, Listed):
        yield from (row for row in node if isinstance(row, Mapped))


def _keys(node: Any) -> Iterator[str]:
    if isinstance(node, Mapped):
        yield from (tidy(str(key)) for key in node)


def _strings(node: Any) -> Iterator[str]:
    if isinstance(node, str):
        yield tidy(node)
    elif isinstance(node, Listed):
        for item in node:
            if isinstance(item, Mapped):
                yield from _strings(_get(item, "point"))
            else:
                yield from _strings(item)
