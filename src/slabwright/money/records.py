"""The crew's own record: what was done in a day and what became of an order, with every mistake by row."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

from slabwright.findings import Finding, find
from slabwright.money.book import number
from slabwright.money.model import Actual, OrderActual
from slabwright.money.tables_in import RowError, Rows, read_rows
from slabwright.money.units import book_unit

ACTUAL = ("date", "job", "step", "condition", "unit", "amount", "hours", "note")
"""Columns of a day's record; `hours` are of all people together."""
ORDER = ("date", "job", "unit", "drawn", "delivered", "left")
"""Columns of the record of orders; `delivered` counts a second load, `left` what stayed over."""
_ES = {
    "fecha": "date",
    "obra": "job",
    "paso": "step",
    "condición": "condition",
    "condicion": "condition",
    "unidad": "unit",
    "cantidad": "amount",
    "horas": "hours",
    "nota": "note",
    "dibujado": "drawn",
    "entregado": "delivered",
    "sobrante": "left",
}


def _named(rows: Rows, cells: tuple[str, ...]) -> dict[str, str]:
    return {column: cell for column, cell in zip(rows.columns, cells, strict=True) if column}


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise RowError("row-date", "date", written=text[:40] or "-") from None


def _unit(text: str, wanted: str = "") -> str:
    unit = book_unit(text)
    if unit is None or (wanted and unit.dimension != wanted):
        raise RowError("row-unit", "unit", written=text[:40] or "-")
    return unit.key


def _above_zero(text: str, column: str) -> Decimal:
    if not text:
        raise RowError("record-missing", column)
    value = number(text, column)
    if not value:
        raise RowError("record-zero", column)
    return value


def read_actuals(
    given: Path | str | bytes, *, name: str = "days.csv"
) -> tuple[tuple[Actual, ...], tuple[Finding, ...]]:
    """Return days' records from a path, the text of a CSV, or the bytes of a CSV or XLSX, and findings.

    A row that cannot be used is left out and is a finding with its row. OSError for a path that cannot be
    opened.
    """
    aliases = {**{c: c for c in ACTUAL}, **{es: en for es, en in _ES.items() if en in ACTUAL}}
    needed = ("date", "job", "step", "unit", "amount", "hours")
    rows = read_rows(given, aliases, needed=needed, name=name)
    found, actuals = list(rows.findings), []
    for row, cells in rows.rows:
        cell = _named(rows, cells)
        try:
            for column in ("job", "step"):
                if not cell[column]:
                    raise RowError("record-missing", column)
            actuals.append(
                Actual(
                    day=_day(cell["date"]),
                    job=cell["job"],
                    step=cell["step"].lower(),
                    condition=cell.get("condition", "").lower(),
                    unit=_unit(cell["unit"]),
                    amount=_above_zero(cell["amount"], "amount"),
                    hours=_above_zero(cell["hours"], "hours"),
                    row=row,
                    note=cell.get("note", ""),
                )
            )
        except RowError as error:
            found.append(error.finding(rows, row))
    return tuple(actuals), tuple(found)


def read_orders(
    given: Path | str | bytes, *, name: str = "orders.csv"
) -> tuple[tuple[OrderActual, ...], tuple[Finding, ...]]:
    """Return the record of orders, as `read_actuals` does."""
    aliases = {**{c: c for c in ORDER}, **{es: en for es, en in _ES.items() if en in ORDER}}
    rows = read_rows(given, aliases, needed=ORDER, name=name)
    found, orders = list(rows.findings), []
    for row, cells in rows.rows:
        cell = _named(rows, cells)
        try:
            drawn = _above_zero(cell["drawn"], "drawn")
            delivered = _above_zero(cell["delivered"], "delivered")
            left = number(cell["left"] or "0", "left")
            if left >= delivered:
                raise RowError("record-left", "left", left=str(left), delivered=str(delivered))
            unit = _unit(cell["unit"], "volume")
            orders.append(OrderActual(_day(cell["date"]), cell["job"], unit, drawn, delivered, left, row))
        except RowError as error:
            found.append(error.finding(rows, row))
    return tuple(orders), tuple(found)


def unknown_job(record: Actual | OrderActual, name: str) -> Finding:
    """Return the finding of a record whose job nobody knows here."""
    place = f"{name}:{record.row}, job"
    return find("money", "record-job", where=place, line=record.row, written=record.job[:60])
