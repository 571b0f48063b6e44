"""The one table model: named columns of SI values, written for the page, and as numbers for files.

A column's kind is 'text' or a kind of `measure.KINDS`; its cells then hold SI floats. None is an empty cell.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeAlias

from slabwright.measure import KINDS, Both, Quantity, System, in_units, unit_of, write
from slabwright.sheets.lettering import clean
from slabwright.sheets.words import word

Cell: TypeAlias = str | int | float | Decimal | Quantity | None
TEXT = "text"
# Kinds whose number and writing are the same: one column in a file is enough for them.
_ONE_COLUMN = ("count", "ratio", "money")


@dataclass(frozen=True, slots=True)
class Column:
    """One column: key for files, heading, and the kind of its cells ('text' or a kind of measure)."""

    key: str
    en: str
    es: str
    kind: str = TEXT

    def heading(self, lang: str) -> str:
        """Return the heading in 'en' or 'es'."""
        return Both(self.en, self.es).of(lang)


@dataclass(frozen=True, slots=True)
class Table:
    """A table: key for file names, title, columns, rows of cells [SI], and a last row of totals if any."""

    key: str
    title: Both
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...] = ()
    total: tuple[Cell, ...] | None = None

    def __post_init__(self) -> None:
        """Refuse unknown kinds and rows of another length than the columns."""
        for column in self.columns:
            if column.kind != TEXT and column.kind not in KINDS:
                raise ValueError(f"table {self.key}: column {column.key} has no kind {column.kind!r}")
        for n, row in enumerate(self.all_rows(), 1):
            if len(row) != len(self.columns):
                raise ValueError(
                    f"table {self.key}: row {n} has {len(row)} cells for {len(self.columns)} columns"
                )

    def all_rows(self) -> tuple[tuple[Cell, ...], ...]:
        """Return the rows with the row of totals last."""
        return self.rows if self.total is None else (*self.rows, self.total)


def written(cell: Cell, kind: str, *, system: System, lang: str) -> str:
    """Return a cell as the trade writes it; a Quantity keeps its own kind, a text stays as it is."""
    if cell is None:
        return ""
    if isinstance(cell, Quantity):
        return write(cell, system=system, lang=lang)
    if isinstance(cell, str):
        return clean(cell)
    if kind == TEXT or (isinstance(cell, int) and kind == "count"):
        return str(cell)
    return write(Quantity(kind, float(cell)), system=system, lang=lang)


def number(cell: Cell, kind: str, system: System) -> float | int | Decimal | str | None:
    """Return a cell as a plain number in the job's unit (`unit_of`), or its text where it is one.

    Raises ValueError for a number that is not finite.
    """
    if cell is None or isinstance(cell, str):
        return clean(cell) if isinstance(cell, str) else None
    if isinstance(cell, Quantity):
        kind, cell = cell.kind, cell.si
    if isinstance(cell, float) and not math.isfinite(cell):
        raise ValueError(f"a table cell of kind {kind!r} holds {cell}, which is no number")
    if kind == TEXT or kind in _ONE_COLUMN:
        return cell
    # Six decimals of a foot, a metre or a yard are far below anything that can be measured.
    return round(in_units(kind, float(cell), system), 6)


def file_headings(table: Table, *, system: System, lang: str) -> list[str]:
    """Return the headings of a file: a measured column gives a number with its unit, then the writing."""
    found: list[str] = []
    for column in table.columns:
        head = column.heading(lang)
        if column.kind == TEXT or column.kind in _ONE_COLUMN:
            found.append(head)
        else:
            found += [f"{head} [{unit_of(column.kind, system)}]", f"{head} ({word('as-written', lang)})"]
    return found


def file_rows(
    table: Table, *, system: System, lang: str
) -> Iterator[list[float | int | Decimal | str | None]]:
    """Yield the rows of a file under `file_headings`: numbers in the job's units, then as written."""
    for row in table.all_rows():
        out: list[float | int | Decimal | str | None] = []
        for cell, column in zip(row, table.columns, strict=True):
            out.append(number(cell, column.kind, system))
            if column.kind != TEXT and column.kind not in _ONE_COLUMN:
                out.append(written(cell, column.kind, system=system, lang=lang))
        yield out


def page_rows(table: Table, *, system: System, lang: str) -> list[list[str]]:
    """Return the rows of a printed table as the trade writes them, the row of totals last."""
    return [
        [written(c, k.kind, system=system, lang=lang) for c, k in zip(row, table.columns, strict=True)]
        for row in table.all_rows()
    ]
