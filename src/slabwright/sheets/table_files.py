"""Tables as files: CSV after RFC 4180, and one XLSX workbook. The same tables give the same bytes."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from importlib import import_module
from typing import Any

from slabwright.files import workbook_bytes
from slabwright.measure import System
from slabwright.sheets.lettering import clean
from slabwright.sheets.tables import Table, file_headings, file_rows

# A spreadsheet runs a text that begins like this as a formula (source: owasp-csv).
_RUNS = ("=", "+", "-", "@", "\t", "\r")
# Our own writing of a length with its sign (-7 3/4", -5'-0 1/2", -197 mm): there is nothing to run in it.
_LENGTH = re.compile(
    r"""[+-](?:[0-9]+'(?:-(?=[0-9]))?)?(?:[0-9]+(?: [0-9]+/[0-9]+)?"|[0-9]+/[0-9]+"|(?<='))"""
    r"""|[+-][0-9]+(?:[.,][0-9]+)? m?m"""
)
_FIXED = datetime(2000, 1, 1)
_ZIP_DATE = (2000, 1, 1, 0, 0, 0)
_NO_SHEET_NAME = re.compile(r"[\[\]:*?/\\]")


def _runs(text: str) -> bool:
    """Whether a spreadsheet could run a text as a formula."""
    return text.startswith(_RUNS) and _LENGTH.fullmatch(text) is None


def _safe(cell: float | int | Decimal | str | None) -> str:
    """Return a cell for CSV: numbers as they are, texts that a spreadsheet would run with an apostrophe."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return f"'{cell}" if _runs(cell) else cell
    if isinstance(cell, float):
        text = f"{cell:.6f}".rstrip("0").rstrip(".")
        return "0" if text == "-0" else text
    return str(cell)


def csv_text(table: Table, *, system: System = System.IMPERIAL, lang: str = "en") -> str:
    """Return a table as CSV (comma, CRLF, quotes doubled), numbers in the job's units and as written.

    A text cell that begins with = + - @ gets an apostrophe before it, so that no spreadsheet runs it; a
    length with its sign (-7 3/4") is no formula and stays as it is.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([_safe(head) for head in file_headings(table, system=system, lang=lang)])
    for row in file_rows(table, system=system, lang=lang):
        writer.writerow([_safe(cell) for cell in row])
    return out.getvalue()


def _sheet_name(title: str, taken: set[str]) -> str:
    """Return a title as a worksheet may be called: no forbidden letter, 31 at most, none twice."""
    base = _NO_SHEET_NAME.sub(" ", clean(title)).strip(" '")[:31] or "-"
    name, n = base, 1
    while name.lower() in taken:
        n += 1
        tail = f" {n}"
        name = base[: 31 - len(tail)] + tail
    taken.add(name.lower())
    return name


def _fill(sheet: Any, table: Table, *, system: System, lang: str) -> None:
    styles, utils = import_module("openpyxl.styles"), import_module("openpyxl.utils")
    bold, wrap = styles.Font(bold=True), styles.Alignment(wrap_text=True, vertical="top")
    rows: list[list[Any]] = [list(file_headings(table, system=system, lang=lang))]
    rows += file_rows(table, system=system, lang=lang)
    widths = [8] * len(rows[0])
    for y, row in enumerate(rows, 1):
        for x, value in enumerate(row, 1):
            if value is None:
                continue
            # The format allows 32,767 letters in a cell.
            cell = sheet.cell(y, x, value[:32000] if isinstance(value, str) else value)
            if isinstance(value, str):
                # A text is a text, whatever it begins with: never a formula.
                cell.data_type = "s"
                cell.quotePrefix = _runs(value)
            widths[x - 1] = min(60, max(widths[x - 1], len(str(value)) + 2))
            if y == 1 or (table.total is not None and y == len(rows)):
                cell.font = bold
            if y == 1:
                cell.alignment = wrap
    for n, width in enumerate(widths, 1):
        sheet.column_dimensions[utils.get_column_letter(n)].width = width
    sheet.freeze_panes = "A2"


def xlsx_bytes(tables: Iterable[Table], *, system: System = System.IMPERIAL, lang: str = "en") -> bytes:
    """Return a workbook with one sheet a table, headings frozen, texts never run as formulas.

    Raises ValueError when there is no table, for a workbook must have a sheet.
    """
    book = import_module("openpyxl").Workbook()  # here: slow to import, and only wanted for this file
    book.remove(book.active)
    taken: set[str] = set()
    for table in tables:
        sheet = book.create_sheet(_sheet_name(table.title.of(lang), taken))
        _fill(sheet, table, system=system, lang=lang)
    if not taken:
        raise ValueError("a workbook needs at least one table")
    book.properties.creator = "Slabwright"
    book.properties.created = _FIXED
    return _dated(workbook_bytes(book))


def _dated(data: bytes) -> bytes:
    """Return a workbook's bytes with every time of writing in it set to one fixed date."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(data)) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in sorted(old.namelist()):
            body = old.read(name)
            if name == "docProps/core.xml":
                stamp = f">{_FIXED:%Y-%m-%dT%H:%M:%SZ}<".encode()
                body = re.sub(rb">\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ<", stamp, body)
            entry = zipfile.ZipInfo(name, _ZIP_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(entry, body)
    return out.getvalue()
