"""The one table model as a page shows it: headings with their scope, figures to the right, totals last."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from django.utils.safestring import SafeString, mark_safe

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

    @property
    def headed(self) -> tuple[tuple[str, bool], ...]:
        """Return each heading with whether figures stand under it."""
        return tuple(zip(self.heads, self.figures, strict=True))

    @property
    def body(self) -> SafeString:
        """Return the rows as HTML; a job's tables have some two thousand cells, too many for a template."""
        rows = "\n".join(_row(row) for row in self.rows)
        foot = f"<tfoot>{_row(self.total)}</tfoot>" if self.total else ""
        return mark_safe(f"<tbody>{rows}</tbody>{foot}")


def _row(cells: tuple[tuple[str, bool], ...]) -> str:
    first, *rest = cells
    made = [f'<th scope="row">{escape(first[0])}</th>']
    for text, figure in rest:
        kind = ' class="number"' if figure else ""
        made.append(f"<td{kind}>{escape(text)}</td>")
    return f"<tr>{''.join(made)}</tr>"


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
