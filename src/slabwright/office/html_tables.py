"""The one table model as a page shows it: headings with their scope, figures to the right, totals last."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.measure import System
from slabwright.sheets.tables import TEXT, Table, page_rows


@dataclass(frozen=True, slots=True)
class HtmlTable:
    """A table written out in one language; `figures` tells of each column whether it holds figures."""

    key: str
    title: str
    heads: tuple[str, ...]
    figures: tuple[bool, ...]
    rows: tuple[tuple[tuple[str, bool], ...], ...]
    total: tuple[tuple[str, bool], ...] | None = None


def html_table(table: Table, *, system: System, lang: str, keep_empty: bool = False) -> HtmlTable:
    """Return a table for `office/table.html`; columns that hold nothing are left out unless kept.

    Every cell comes with whether it is a figure.
    """
    written = page_rows(table, system=system, lang=lang)
    shown = [n for n in range(len(table.columns)) if keep_empty or any(row[n] for row in written)]
    figures = tuple(table.columns[n].kind != TEXT for n in shown)
    rows = tuple(tuple((row[n], right) for n, right in zip(shown, figures, strict=True)) for row in written)
    total = rows[-1] if table.total is not None else None
    return HtmlTable(
        table.key,
        table.title.of(lang),
        tuple(table.columns[n].heading(lang) for n in shown),
        figures,
        rows[:-1] if total is not None else rows,
        total,
    )
