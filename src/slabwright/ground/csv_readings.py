"""Rod readings from a table: point, reading, remark, and a set-up where there is more than one."""

from __future__ import annotations

import csv
import io
import re

from slabwright.ground.exchange import RodRow, Slips, check_size, decoded
from slabwright.measure import MeasureError, read

HEADERS = {
    "point": "point, name, shot, station, pt, id, punto, nombre",
    "reading": "reading, rod, rod reading, reads, fs, foresight, lectura, mira",
    "set-up": "set-up, setup, instrument, occupied, puesta, estacion",
    "remark": "remark, remarks, note, notes, comment, comments, description, nota, observaciones",
}
KNOWN = {word.strip(): key for key, words in HEADERS.items() for word in words.split(",")}
BARE = {"mm", "cm", "m", "ft", "in"}  # units that a heading may name in brackets
MOST_ROWS = 100_000
LONGEST_NAME = 60
EXAMPLE = "point,reading,remark / P1,4' 9 1/4,by the gate"


def readings_from_csv(
    data: bytes | str, *, name: str = "readings.csv", unit: str | None = None
) -> tuple[RodRow, ...]:
    """Return the rod readings of a table, in its order.

    Columns are known by their headings, in any order and in English or Spanish; without headings they are
    point, reading, remark. A heading such as 'reading (ft)' gives the unit of bare numbers. Commas,
    semicolons and tabs separate; an empty set-up means the one above; rows that begin with # are talk.

    :param data: the file's bytes or text.
    :param unit: unit of readings that name none ('ft', 'in', 'm', 'mm', 'cm').
    :raises ExchangeError: naming file, row and column of every mistake.
    """
    slips = Slips(name)
    check_size(data, "csv", slips)
    text = decoded(data, slips)
    rows = _rows(text, slips)
    if not rows:
        raise slips.stop(None, "", None, "there are no rows", EXAMPLE)
    columns, found_unit, headed = _columns(rows[0][1])
    if "reading" not in columns or "point" not in columns:
        lacks = "point" if "point" not in columns else "reading"
        raise slips.stop(rows[0][0], lacks, None, f"no column is headed '{lacks}'", EXAMPLE)
    out: list[RodRow] = []
    seen: dict[tuple[str | None, str], int] = {}
    set_up: str | None = None
    for line, cells in rows[1:] if headed else rows:
        given = {key: cells[k].strip() if k < len(cells) else "" for key, k in columns.items()}
        set_up = given.get("set-up") or set_up
        row = _row(line, given, set_up, found_unit or unit, slips)
        if len(cells) > len(columns) and any(cell.strip() for cell in cells[max(columns.values()) + 1 :]):
            slips.add(line, "", ",".join(cells), "this row has more columns than the first", EXAMPLE)
        elif row is not None and (set_up, row.point) in seen:
            before = seen[set_up, row.point]
            slips.add(
                line, "point", row.point, f"this point was already read on line {before} of this set-up"
            )
        elif row is not None:
            seen[set_up, row.point] = line
            out.append(row)
    slips.check()
    return tuple(out)


def _rows(text: str, slips: Slips) -> list[tuple[int, list[str]]]:
    """Return the rows that hold something, each with its line."""
    first = next((line for line in text.splitlines() if line.strip() and line.strip()[0] != "#"), "")
    mark = max(",;\t", key=first.count)
    # a rod reading ends in an inch mark, so quotes inside a cell are letters; only leading ones quote
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, skipinitialspace=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#"):
                rows.append((reader.line_num, cells))
            if len(rows) > MOST_ROWS:
                raise slips.stop(reader.line_num, "", None, f"there are more than {MOST_ROWS:,} rows")
    except csv.Error as bad:
        raise slips.stop(
            reader.line_num, "", None, f"this row cannot be taken apart ({bad})", EXAMPLE
        ) from None
    return rows


def _columns(cells: list[str]) -> tuple[dict[str, int], str | None, bool]:
    """Return the columns by key, the unit named in a heading, and whether the row is one of headings."""
    columns: dict[str, int] = {}
    unit: str | None = None
    for k, cell in enumerate(cells):
        found = re.fullmatch(r"([^(\[]*?)\s*(?:[(\[]\s*(\w+)\s*[)\]])?\s*", cell.strip().casefold())
        words = re.sub(r"[\s_]+", " ", found[1]).strip() if found else ""
        key = KNOWN.get(words) or KNOWN.get(words.replace(" ", "-"))
        if key and key not in columns:
            columns[key] = k
            if key == "reading" and found and found[2] in BARE:
                unit = found[2]
    if columns:
        return columns, unit, True
    bare = ("point", "reading", "remark") if len(cells) > 1 else ("point",)
    return {key: k for k, key in enumerate(bare)}, None, False


def _row(
    line: int, given: dict[str, str], set_up: str | None, unit: str | None, slips: Slips
) -> RodRow | None:
    """Return one row, or None with its mistakes noted."""
    point, written = given["point"], given["reading"]
    before = len(slips.found)
    if not point:
        slips.add(line, "point", None, "the point has no name", "P1")
    elif len(point) > LONGEST_NAME:
        slips.add(line, "point", point, f"a name has at most {LONGEST_NAME} letters", "P1")
    value = 0.0
    if not written:
        slips.add(line, "reading", None, "there is no reading", "4' 9 1/4\"")
    else:
        try:
            value = read("length", written, bare=unit)
        except MeasureError as bad:
            slips.add(line, "reading", written, bad.reason, bad.example)
    if len(slips.found) > before:
        return None
    return RodRow(point, value, written, set_up, given.get("remark", ""), line)
