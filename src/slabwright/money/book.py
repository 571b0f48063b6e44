"""The price book: rows read to lines, every mistake by its row; one book laid over another."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import lru_cache
from operator import itemgetter
from pathlib import Path

from slabwright.findings import Finding, find
from slabwright.measure import MeasureError, read, read_money
from slabwright.measure.money import CURRENCIES
from slabwright.measure.scan import plain_numeral
from slabwright.money.model import Book, BookLine
from slabwright.money.tables_in import RowError, Rows, read_rows
from slabwright.money.units import PERCENT, book_unit

COLUMNS = (
    "group",
    "code",
    "condition",
    "unit",
    "value",
    "low",
    "high",
    "least",
    "pack",
    "currency",
    "date",
    "supplier",
    "note",
    "name",
    "name-es",
)
"""The columns of a book's file, in the order in which they are written."""
NEEDED = ("group", "code", "unit", "value")
_SPANISH = (
    "grupo",
    "clave",
    "condición",
    "unidad",
    "valor",
    "bajo",
    "alto",
    "mínimo",
    "paquete",
    "moneda",
    "fecha",
    "proveedor",
    "nota",
    "nombre",
    "nombre-es",
)
ALIASES = {
    **{column: column for column in COLUMNS},
    **dict(zip(_SPANISH, COLUMNS, strict=True)),
    "price": "value",
    "rate": "value",
    "precio": "value",
    "condicion": "condition",
    "minimo": "least",
    "spanish name": "name-es",
    "nombre en español": "name-es",
}

PRICED = (
    "material",
    "plant",
    "haul",
    "disposal",
    "rental",
    "subcontract",
    "permit",
    "travel",
)
"""Groups of prices: a code stands once in all of them together."""
SHARES = {"burden": (), "tax": ("on material", "on price"), "term": ("on cost", "on price", "of paid hours")}
"""Groups that hold shares, with the conditions that say of what."""
TERMS = {
    "overhead": ("%", "on cost"),
    "overhead-hour": ("h", ""),
    "contingency": ("%", "on cost"),
    "profit": ("%", "on cost|on price"),
    "productive": ("%", "of paid hours"),
    "day": ("h", ""),
    "pace-spread": ("%", ""),
    "least-job": ("job", ""),
    "valid": ("day", ""),
    "retained": ("%", ""),
}
"""Terms of a book: code, unit, what it is a share of."""
GROUPS = (*PRICED, "labour", "crew", "burden", "rate", "term", "tax")
FREE = frozenset(("free", "no charge", "gratis", "sin cargo"))
MOST = Decimal(10) ** 9

_PLAIN = re.compile(r"[0-9]{1,12}(?:\.[0-9]{1,9})?").fullmatch
_UNDER = re.compile(r"(?:under|menos de) (.{1,30})").fullmatch
_MONEY_GROUPS = frozenset((*PRICED, "labour"))
_MONEY_TERMS = frozenset(("overhead-hour", "least-job"))


def number(text: str, column: str) -> Decimal:
    """Return a plain number written in a cell, exact; RowError for anything else."""
    if _PLAIN(text):
        return Decimal(text)
    bare = text.removesuffix("%").strip()
    if bare.startswith("-"):
        raise RowError("row-negative", column, written=text[:40])
    plain = plain_numeral(bare) if bare and not bare.strip("0123456789.,") else None
    plain = f"0{plain}" if plain and plain.startswith(".") else plain
    if not plain or not _PLAIN(plain):
        raise RowError("row-not-number", column, written=text[:40])
    return Decimal(plain)


def amount_of_money(text: str, column: str, currency: str) -> Decimal:
    """Return an amount of money in the book's currency; RowError for another one, or none."""
    if _PLAIN(text):
        return Decimal(text)
    try:
        money = read_money(text, bare=currency)
    except MeasureError as error:
        raise RowError("row-not-number", column, written=text[:40]) from error
    if money.currency != currency:
        raise RowError("row-currency", column, written=money.currency, currency=currency)
    if money.amount < 0:
        raise RowError("row-negative", column, written=text[:40])
    return money.amount


def small_load_under(condition: str) -> float | None:
    """Return the volume [m3] of 'under 4 yd3', or None where the condition is not written so."""
    found = _UNDER(condition)
    try:
        return read("volume", found[1]) if found else None
    except MeasureError:
        return None


class _Reader:
    """Reads the rows of one table, whose columns stand at `at`."""

    def __init__(self, columns: tuple[str, ...], book: str, currency: str) -> None:
        here = {column: i for i, column in enumerate(columns) if column}
        # A column that is not there reads the empty cell put behind every row.
        self.places = itemgetter(*(here.get(column, len(columns)) for column in COLUMNS))
        self.book, self.currency = book, currency

    def line(self, row: int, cells: tuple[str, ...]) -> BookLine:
        """Return one line; RowError says what is wrong with it."""
        (
            written_group,
            code,
            condition,
            written_unit,
            value_text,
            low_text,
            high_text,
            least,
            pack,
            currency,
            dated,
            supplier,
            note,
            name,
            name_es,
        ) = self.places((*cells, ""))
        group, code = written_group.lower(), code.lower()
        if group not in GROUPS:
            raise RowError("row-group", "group", written=written_group[:40], groups=", ".join(GROUPS))
        if not code:
            raise RowError("row-code", "code")
        unit = book_unit(written_unit)
        if unit is None:
            raise RowError("row-unit", "unit", written=written_unit[:40] or "-")
        if currency and currency.upper() != self.currency:
            raise RowError("row-currency", "currency", written=currency[:10], currency=self.currency)
        money = group in _MONEY_GROUPS or code in _MONEY_TERMS
        value = self._value(value_text, money, group in PRICED)
        low, high = self._spread(value, low_text, high_text, money)
        line = BookLine(
            group,
            code,
            condition.lower(),
            unit.key,
            value,
            low,
            high,
            self._plus(least, "least", True),
            self._plus(pack, "pack", False),
            _dated(dated) if dated else None,
            supplier,
            note,
            name,
            name_es,
            self.book,
            row,
        )
        if code == "small-load" or group not in PRICED:
            _check(line, unit.dimension)
        return line

    def _spread(
        self, value: Decimal, low_text: str, high_text: str, money: bool
    ) -> tuple[Decimal | None, Decimal | None]:
        """Return least and most about a likely value; where one of them is written the other is the value."""
        low, high = self._plus(low_text, "low", money), self._plus(high_text, "high", money)
        if low is None and high is None:
            return None, None
        low, high = value if low is None else low, value if high is None else high
        if not low <= value <= high:
            wrong = "low" if low > value else "high"
            raise RowError("row-spread", wrong, low=str(low), value=str(value), high=str(high))
        return low, high

    def _value(self, text: str, money: bool, free: bool) -> Decimal:
        if not text:
            raise RowError("row-no-value", "value")
        if free and text.lower() in FREE:
            return Decimal(0)
        value = amount_of_money(text, "value", self.currency) if money else number(text, "value")
        if value >= MOST:
            raise RowError("row-not-number", "value", written=text[:40])
        if money and not value:
            raise RowError("row-zero-price", "value")
        return value

    def _plus(self, text: str, column: str, money: bool) -> Decimal | None:
        if not text:
            return None
        value = amount_of_money(text, column, self.currency) if money else number(text, column)
        if not value:
            raise RowError("row-not-number", column, written=text[:40])
        return value


@lru_cache(maxsize=1024)
def _dated(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise RowError("row-date", "date", written=text[:40]) from None


def _check(line: BookLine, dimension: str) -> None:
    """Raise RowError where a line of its group cannot be meant so."""
    group, code, written = line.group, line.code, line.condition
    if group == "rate" and not line.value:
        raise RowError("row-rate-zero", "value")
    if group == "labour" and dimension != "duration":
        raise RowError("row-unit-group", "unit", written=line.unit, group=group, wanted="h")
    if group in ("burden", "tax") and line.unit != PERCENT:
        raise RowError("row-unit-group", "unit", written=line.unit, group=group, wanted=PERCENT)
    if group == "tax" and written not in SHARES["tax"]:
        raise RowError("row-share-of", "condition", written=written or "-", wanted=" / ".join(SHARES["tax"]))
    if code == "small-load" and small_load_under(written) is None:
        raise RowError("row-share-of", "condition", written=written or "-", wanted="under 4 yd3")
    if group == "crew" and (line.unit != "each" or line.value != int(line.value) or not line.value):
        wrong = "value" if line.unit == "each" else "unit"
        raise RowError("row-crew", wrong, written=f"{line.value} {line.unit}")
    if group == "term":
        _check_term(line)


def _check_term(line: BookLine) -> None:
    if line.code not in TERMS:
        raise RowError("row-term", "code", written=line.code, terms=", ".join(TERMS))
    unit, wanted = TERMS[line.code]
    if line.unit != unit:
        raise RowError("row-unit-group", "unit", written=line.unit, group=line.code, wanted=unit)
    if wanted and line.condition not in wanted.split("|"):
        code = "profit-unclear" if line.code == "profit" else "row-share-of"
        raise RowError(code, "condition", written=line.condition or "-", wanted=" / ".join(wanted.split("|")))
    if line.code == "profit" and line.condition == "on price" and line.value >= 100:
        raise RowError("margin-full", "value", written=str(line.value))
    if line.code == "productive" and not 0 < line.value <= 100:
        raise RowError("row-not-number", "value", written=str(line.value))
    if line.code in ("day", "valid") and not line.value:
        raise RowError("row-rate-zero", "value")


def key_of(line: BookLine) -> tuple[str, str, str]:
    """Return what a line is looked up by: all prices share one list of codes, a term stands once."""
    if line.group == "term":
        return ("term", line.code, "")
    return ("price" if line.group in PRICED else line.group, line.code, line.condition)


def _other_currency(rows: Rows, currency: str) -> str:
    """Return the currency that every row names, where it is one and not the one asked for; else nothing."""
    at = rows.columns.index("currency") if "currency" in rows.columns else -1
    named = {cells[at].upper() for _, cells in rows.rows} if at >= 0 else set()
    (only,) = named if len(named) == 1 else ("",)
    return only if only in CURRENCIES and only != currency else ""


def book_of(rows: Rows, *, currency: str = "USD") -> Book:
    """Return the book that rows hold, with a finding for every row that cannot be used."""
    if currency not in CURRENCIES:
        raise ValueError(f"{currency!r} is not a known currency; known are {', '.join(sorted(CURRENCIES))}")
    reader = _Reader(rows.columns, rows.name, currency)
    lines: dict[tuple[str, str, str], BookLine] = {}
    found = list(rows.findings)
    other = _other_currency(rows, currency)
    if other:
        place = rows.place(rows.rows[0][0], "currency")
        said = find(
            "money", "book-currency", where=place, line=rows.rows[0][0], other=other, currency=currency
        )
        return Book(rows.name, currency, {}, (*found, said))
    for row, cells in rows.rows:
        try:
            line = reader.line(row, cells)
        except RowError as error:
            found.append(error.finding(rows, row))
            continue
        key = key_of(line)
        if key in lines:
            first = lines[key].row
            found.append(
                find("money", "row-twice", where=rows.place(row, "code"), line=row, item=line.code, row=first)
            )
        else:
            lines[key] = line
    if not lines and not found:
        found.append(find("money", "table-empty", where=rows.name))
    return Book(rows.name, currency, lines, tuple(found))


def load_book(given: Path | str | bytes, *, name: str = "book.csv", currency: str = "USD") -> Book:
    """Return a price book from a path, the text of a CSV, or the bytes of a CSV or XLSX.

    currency: of every amount in it (ISO 4217). A row that cannot be used is left out and is a finding with
    its row; nothing is read as zero. OSError where a path cannot be opened.
    """
    return book_of(read_rows(given, ALIASES, needed=NEEDED, name=name), currency=currency)


def lay_over(base: Book, *others: Book) -> Book:
    """Return a book in which lines of later books replace those of earlier ones, one by one.

    A book in another currency is left out whole, with a finding: no rate of exchange is known here.
    """
    lines = dict(base.lines)
    found: list[Finding] = list(base.findings)
    names = [base.name]
    for other in others:
        found += other.findings
        if other.currency != base.currency:
            found.append(
                find(
                    "money",
                    "two-currencies",
                    where=other.name,
                    currency=base.currency,
                    other=other.currency,
                )
            )
            continue
        lines.update(other.lines)
        names.append(other.name)
    return Book(" + ".join(names), base.currency, lines, tuple(found))


def with_lines(book: Book, lines: Iterable[BookLine]) -> Book:
    """Return a book with some lines replaced or added."""
    return replace(book, lines={**book.lines, **{key_of(line): line for line in lines}})
