"""How a table is set on a page: its letters, and its rows in groups of columns beside each other."""

from __future__ import annotations

import math
from typing import Any

from slabwright.measure import System
from slabwright.sheets.lettering import clean, typeset, width
from slabwright.sheets.pages import TableBlock
from slabwright.sheets.tables import TEXT, Column, page_rows

PT_MM = 25.4 / 72.0
# Letters [pt] of a table and of its headings, and the room [mm] above and below a line of it.
SIZES = {"big": (14.5, 10.5, 1.6), "plain": (11.5, 10.0, 1.3), "small": (9.2, 8.5, 0.55)}
INSET_MM = 1.7
SMALL_INSET_MM = 1.3
GAP_MM = 7.0  # between groups
HEADING_MM = 11.5
SMALL_HEADING_MM = 8.0
LEAST_WORDS_MM = 30.0  # for a column of words that is broken into lines
SLACK_MM = 0.4  # what rounding in the typesetter may take
LEADING = 0.68  # a line of letters by its em, as page.typ sets a cell: capitals only
LINE = 1.15  # from line to line of a broken cell, by its em
FILLED = 0.92  # of a line's room, where it is broken between words
LEAST_ROWS = 2  # a shorter group is no help


def natural_widths(
    heads: list[str], rows: list[list[str]], *, size: str = "plain", whole: bool = False
) -> list[float]:
    """Return how wide each column runs [mm] when no cell of it is broken; size: a key of SIZES.

    A heading may be broken between words, unless `whole`; the last row may be a bold one of totals.
    """
    letters, head, _ = SIZES[size]
    inset = SMALL_INSET_MM if size == "small" else INSET_MM
    found = []
    for x, title in enumerate(heads):
        parts = [title] if whole else title.split() or [""]
        long = max(width(part, head * PT_MM, weight=600) for part in parts)
        cells = [width(row[x], letters * PT_MM) for row in rows[:-1]]
        cells += [width(row[x], letters * PT_MM, weight=700) for row in rows[-1:]]
        found.append(max(long, *cells, 0.0) + 2.0 * inset + SLACK_MM)
    return found


def row_height(size: str) -> float:
    """Return the height [mm] of a row of one line; size: a key of SIZES."""
    letters, _, above = SIZES[size]
    return letters * PT_MM * LEADING + 2.0 * above


def grouped(rows: list[list[str]], groups: int) -> list[list[str | None]]:
    """Return rows set in groups beside each other, to be read down each group; None where nothing stands.

    Between two groups stands one empty column.
    """
    if not rows:
        return []
    high = math.ceil(len(rows) / groups)
    blank: list[str | None] = [None] * len(rows[0])
    made: list[list[str | None]] = []
    for y in range(high):
        line: list[str | None] = []
        for g in range(groups):
            n = g * high + y
            line += ([None] if g else []) + (list(rows[n]) if n < len(rows) else blank)
        made.append(line)
    return made


def table_block(block: TableBlock, *, wide: float, high: float, system: System, lang: str) -> dict[str, Any]:
    """Return the template's data of a table; wide and high: the page's free width and height [mm]."""
    table = block.table
    columns, heads, rows, size = _written(block, system, lang)
    natural = natural_widths(heads, rows, size=size)
    groups = _how_many(block, sum(natural), len(rows), wide)
    loose = natural_widths(heads, rows, size=size, whole=True)
    if groups * (sum(loose) + GAP_MM) - GAP_MM <= wide:
        natural = loose
    letters, head, above = SIZES[size]
    title = table.title.of(lang) if block.heading is None else block.heading
    return {
        "kind": "table",
        "title": _set(title),
        "size": letters,
        "small": block.small,
        "head_size": head,
        "inset_x": SMALL_INSET_MM if block.small else INSET_MM,
        "inset_y": above,
        "gap": GAP_MM,
        "total": table.total is not None,
        **_columns(columns, heads, natural, groups, wide),
        "parts": _parts(rows, groups, size, high),
    }


def _set(text: str) -> str:
    return typeset(clean(text))


def _how_many(block: TableBlock, natural: float, rows: int, wide: float) -> int:
    """Return in how many groups a table is set: as many as it may, as fit, and as are worth it."""
    if block.groups < 2 or block.table.total is not None:
        return 1
    fit = int((wide + GAP_MM) / (natural + GAP_MM))
    return max(1, min(block.groups, fit, rows // LEAST_ROWS))


def _columns(
    columns: list[Column], heads: list[str], natural: list[float], groups: int, wide: float
) -> dict[str, list[Any]]:
    """Return headings, kinds and widths of all groups: a width [mm], or 'gap'."""
    kinds = [TEXT if c.kind == TEXT else "number" for c in columns]
    widths: list[float | str] = list(_given(natural, kinds, wide) if groups == 1 else natural)
    made: dict[str, list[Any]] = {"heads": [], "kinds": [], "widths": []}
    for g in range(groups):
        made["heads"] += ([None] if g else []) + heads
        made["kinds"] += ([TEXT] if g else []) + kinds
        made["widths"] += (["gap"] if g else []) + widths
    return made


def _given(natural: list[float], kinds: list[str], wide: float) -> list[float]:
    """Return column widths [mm] that keep to a width: the widest columns of words give way, to one width."""
    over = sum(natural) - wide
    words = sorted((n for n, kind in enumerate(kinds) if kind == TEXT), key=lambda n: -natural[n])
    if over <= 0.0 or not words:
        return natural
    cap = 0.0
    for count in range(1, len(words) + 1):
        cap = (sum(natural[n] for n in words[:count]) - over) / count
        if count == len(words) or cap >= natural[words[count]]:
            break
    cap = max(cap, LEAST_WORDS_MM)
    return [min(w, cap) if kind == TEXT else w for w, kind in zip(natural, kinds, strict=True)]


def _parts(rows: list[list[str]], groups: int, size: str, high: float) -> list[dict[str, Any]]:
    """Return the rows in parts that are kept together: groups must not run over the end of a page."""
    if groups == 1:
        return [{"rows": rows, "keep": False}]
    most = max(1, int((high - HEADING_MM - 1.5 * row_height(size)) / (1.12 * row_height(size)))) * groups
    return [{"rows": grouped(rows[n : n + most], groups), "keep": True} for n in range(0, len(rows), most)]


def table_size(block: TableBlock, *, wide: float, system: System, lang: str) -> tuple[float, float]:
    """Return how wide a table runs in one group, and about how high it becomes in a width [mm]."""
    columns, heads, rows, size = _written(block, system, lang)
    widths = natural_widths(heads, rows, size=size)
    natural = sum(widths)
    groups = _how_many(block, natural, len(rows), wide)
    heading = SMALL_HEADING_MM if block.small else HEADING_MM
    high = heading + (math.ceil(len(rows) / groups) + 1.4) * row_height(size)
    return natural, high + _broken(columns, rows, widths, wide, size) if groups == 1 else high


def _broken(
    columns: list[Column], rows: list[list[str]], natural: list[float], wide: float, size: str
) -> float:
    """Return about how much higher [mm] a table of one group becomes by cells that are broken into lines."""
    kinds = [TEXT if c.kind == TEXT else "number" for c in columns]
    letters, _, _ = SIZES[size]
    inset = 2.0 * (SMALL_INSET_MM if size == "small" else INSET_MM)
    given = [
        (n, max(1.0, FILLED * (w - inset)))
        for n, w in enumerate(_given(natural, kinds, wide))
        if w < natural[n]
    ]
    more = 0
    for row in rows:
        lines = [math.ceil(width(row[n], letters * PT_MM) / room) for n, room in given if row[n]]
        more += max(lines, default=1) - 1
    return more * LINE * letters * PT_MM


def _written(
    block: TableBlock, system: System, lang: str
) -> tuple[list[Column], list[str], list[list[str]], str]:
    """Return a table's columns, headings and rows as they are set, and the key of its size."""
    table = block.table
    size = "small" if block.small else "big" if block.big else "plain"
    keep = [n for n, c in enumerate(table.columns) if not block.columns or c.key in block.columns]
    columns = [table.columns[n] for n in keep]
    put = clean if block.small else _set  # a small fraction is read better as it is typed
    rows = [[put(row[n]) for n in keep] for row in page_rows(table, system=system, lang=lang)]
    return columns, [_set(c.heading(lang)) for c in columns], rows, size
