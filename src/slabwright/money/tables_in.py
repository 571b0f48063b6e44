"""Tables from the office: CSV in the usual dialects and XLSX, as rows of text. Every file is hostile."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path

from slabwright.files import head_of
from slabwright.findings import Finding, find
from slabwright.money.workbook_in import MOST_UNPACKED, TooBigError, WorkbookError, first_sheet

MOST_BYTES = 20_000_000  # a book of 100,000 lines has about 12 MB
MOST_ROWS = 100_000
MOST_LETTERS = 2_000  # of a cell
LONGEST_HEADING = 40  # that is compared with the known ones
MOST_SUGGESTED = 30  # headings that are
_XLSX = b"PK\x03\x04"
_GUARD = "'"


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of a table under its own column names: (row number from 1, cells by column)."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    findings: tuple[Finding, ...] = ()
    headings: Mapping[str, str] = field(default_factory=dict)

    def place(self, row: int, column: str) -> str:
        """Return where a cell stands, under the heading that the file gives it: 'prices.csv:12, valor'."""
        return f"{self.name}:{row}, {self.headings.get(column, column)}"


class RowError(Exception):
    """One thing wrong in one row: the finding's code, the column that it stands in, its values."""

    def __init__(self, code: str, column: str, **values: str | int) -> None:
        super().__init__(code)
        self.code, self.column, self.values = code, column, values

    def finding(self, rows: Rows, row: int) -> Finding:
        """Return it as a finding that names file, row and column."""
        heading = rows.headings.get(self.column, self.column)
        where = rows.place(row, self.column)
        return find("money", self.code, where=where, line=row, **{"column": heading, **self.values})


def read_rows(
    given: Path | str | bytes,
    aliases: Mapping[str, str],
    *,
    needed: Iterable[str],
    name: str = "book.csv",
) -> Rows:
    """Return a table's rows.

    given: a path, the text of a CSV, or the bytes of a CSV or XLSX. aliases: every accepted heading in
    small letters, to the column it means. needed: columns without which nothing can be read. Never
    raises for what is in a file: what cannot be read is a finding. OSError where a path cannot be opened.
    """
    if isinstance(given, Path):
        name = given.name
        if given.stat().st_size > MOST_BYTES:
            return Rows(name, (), (), (find("money", "table-too-big", where=name, most=MOST_BYTES // 10**6),))
        given = head_of(given, MOST_BYTES)
    if len(given) > MOST_BYTES:
        return Rows(name, (), (), (find("money", "table-too-big", where=name, most=MOST_BYTES // 10**6),))
    found: list[Finding] = []
    if isinstance(given, bytes) and given.startswith(_XLSX):
        lines = _from_xlsx(given, name, found)
    else:
        lines = _from_csv(given if isinstance(given, str) else _decoded(given, name, found), name, found)
    return _headed(lines, aliases, tuple(needed), name, found)


def _decoded(data: bytes, name: str, found: list[Finding]) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        found.append(find("money", "table-letters", where=name))
        return data.decode("cp1252", errors="replace")


def _from_csv(text: str, name: str, found: list[Finding]) -> list[tuple[int, list[str]]]:
    text = text.removeprefix("\N{BYTE ORDER MARK}")
    if "\0" in text:
        found.append(find("money", "table-not-text", where=name))
        return []
    first = next((line for line in text[:MOST_LETTERS].splitlines() if line.strip()), "")
    mark = max(",;\t", key=first.count)
    rows: list[tuple[int, list[str]]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark)
    try:
        for cells in reader:
            if len(rows) > MOST_ROWS:
                found.append(find("money", "table-too-long", where=name, most=MOST_ROWS))
                break
            if cells:
                rows.append((reader.line_num, cells))
    except csv.Error as error:
        found.append(find("money", "table-broken", where=f"{name}:{reader.line_num}", said=str(error)))
    return rows


def _from_xlsx(data: bytes, name: str, found: list[Finding]) -> list[tuple[int, list[str]]]:
    try:
        rows = first_sheet(data, most_rows=MOST_ROWS)
    except TooBigError:
        found.append(find("money", "table-too-big", where=name, most=MOST_UNPACKED // 10**6))
        return []
    except WorkbookError as error:
        found.append(find("money", "table-broken", where=name, said=str(error)))
        return []
    if len(rows) > MOST_ROWS:
        found.append(find("money", "table-too-long", where=name, most=MOST_ROWS))
    return rows[:MOST_ROWS]


def _headed(
    lines: list[tuple[int, list[str]]],
    aliases: Mapping[str, str],
    needed: tuple[str, ...],
    name: str,
    found: list[Finding],
) -> Rows:
    if not lines:
        if not found:
            found.append(find("money", "table-empty", where=name))
        return Rows(name, (), (), tuple(found))
    row, heads = lines[0]
    columns: list[str] = []
    for head in heads:
        text = " ".join(head.strip().lower().split())
        column = aliases.get(text, "")
        if text and (not column or column in columns):
            near = aliases if len(found) < MOST_SUGGESTED else {}
            found.append(_unknown(head, text, near, f"{name}:{row}", row))
            column = ""
        columns.append(column)
    missing = [column for column in needed if column not in columns]
    if missing:
        found.append(
            find("money", "columns-missing", where=f"{name}:{row}", line=row, columns=", ".join(missing))
        )
        return Rows(name, tuple(columns), (), tuple(found))
    headings = {column: head.strip() for column, head in zip(columns, heads, strict=True) if column}
    return Rows(name, tuple(columns), tuple(_filled(lines[1:], len(columns))), tuple(found), headings)


# Headings that people give a column of prices; none is taken for it without a word.
_MEANT = dict.fromkeys(("cost", "unit cost", "unit price", "amount", "costo", "precio unitario"), "value")


def _unknown(head: str, text: str, aliases: Mapping[str, str], where: str, row: int) -> Finding:
    """Return the finding of a heading that is not known, with the one that may be meant."""
    short = text if len(text) <= LONGEST_HEADING and text not in aliases else ""
    near = get_close_matches(short, [*aliases, *_MEANT], n=1, cutoff=0.75) if short else []
    meant = _MEANT.get(near[0], near[0]) if near else ""
    if meant in aliases:
        return find("money", "column-meant", where=where, line=row, column=head[:40], meant=meant)
    return find("money", "column-unknown", where=where, line=row, column=head[:40])


def _filled(lines: list[tuple[int, list[str]]], wide: int) -> list[tuple[int, tuple[str, ...]]]:
    rows: list[tuple[int, tuple[str, ...]]] = []
    for number, cells in lines:
        texts = tuple(map(str.strip, cells[:wide]))
        whole = "".join(texts)
        if not whole:
            continue
        if _GUARD in whole or len(whole) > MOST_LETTERS:
            # A guard keeps a spreadsheet from running a text as a formula; it is no part of the text.
            texts = tuple([text.removeprefix(_GUARD)[:MOST_LETTERS] for text in texts])
        rows.append((number, texts if len(texts) == wide else texts + ("",) * (wide - len(texts))))
    return rows
