"""A price book written to files: CSV after RFC 4180 and XLSX; read again, they are the same book."""

from __future__ import annotations

import csv
import io
from decimal import Decimal
from importlib import import_module

from slabwright.files import workbook_bytes
from slabwright.money.book import COLUMNS
from slabwright.money.model import Book, BookLine

# A spreadsheet runs a text that begins like this as a formula (source: owasp-csv).
_RUNS = ("=", "+", "-", "@", "\t", "\r", "'")
_NUMBERS = frozenset(("value", "low", "high", "least", "pack"))


def _cells(line: BookLine, currency: str) -> dict[str, str | Decimal]:
    cells: dict[str, str | Decimal] = {}
    for column in COLUMNS:
        if column == "currency":
            cells[column] = currency
        elif column == "date":
            cells[column] = line.dated.isoformat() if line.dated else ""
        else:
            value = getattr(line, column.replace("-", "_"))
            cells[column] = "" if value is None else value
    if not line.value and line.group not in ("burden", "term", "tax"):
        cells["value"] = "free"
    return cells


def _safe(cell: str | Decimal) -> str:
    if isinstance(cell, Decimal):
        return f"{cell:f}"
    return f"'{cell}" if cell.startswith(_RUNS) else cell


def book_csv(book: Book) -> str:
    """Return a book as CSV (comma, CRLF); a text that a spreadsheet would run gets an apostrophe."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for line in book.lines.values():
        writer.writerow([_safe(cell) for cell in _cells(line, book.currency).values()])
    return out.getvalue()


def book_xlsx(book: Book) -> bytes:
    """Return a book as a workbook of one sheet, numbers as numbers, texts never as formulas."""
    workbook = import_module("openpyxl").Workbook()  # here: slow to import, and only wanted for this file
    sheet = workbook.active
    sheet.title = "price book"
    sheet.append(list(COLUMNS))
    for y, line in enumerate(book.lines.values(), 2):
        for x, (column, value) in enumerate(_cells(line, book.currency).items(), 1):
            if value == "":
                continue
            cell = sheet.cell(y, x, value if column in _NUMBERS else str(value))
            if isinstance(value, str):
                cell.data_type = "s"
                cell.quotePrefix = value.startswith(_RUNS)
    sheet.freeze_panes = "A2"
    return workbook_bytes(workbook)
