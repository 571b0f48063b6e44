from __future__ import annotations

import csv
import io
import math
import re
import zipfile
from decimal import Decimal

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.measure import KINDS, Both, Quantity, System, read, write
from slabwright.sheets.table_files import csv_text, xlsx_bytes
from slabwright.sheets.tables import Column, Table, page_rows

FT = 0.3048
COLUMNS = (
    Column("stake", "Stake", "Estaca"),
    Column("along", "Along", "A lo largo", "fine_length"),
    Column("height", "From sill", "Desde el umbral", "height_difference"),
    Column("volume", "Concrete", "Concreto", "volume"),
    Column("pieces", "Pieces", "Piezas", "count"),
    Column("price", "Price", "Precio", "money"),
)


def table(*rows: tuple[object, ...], total: tuple[object, ...] | None = None) -> Table:
    return Table("heights", Both("Heights", "Alturas"), COLUMNS, tuple(rows), total)  # type: ignore[arg-type]


SAMPLE = table(
    ("S1", 15.5 * FT, -4.375 * FT / 12, 0.764554857984, 12, Decimal("1250.00")),
    ("S2", None, 0.0, None, None, None),
    total=("Total", 15.5 * FT, None, 0.764554857984, 12, Decimal("1250.00")),
)


def read_csv(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline="")))


def test_csv_holds_numbers_with_their_unit_and_the_writing() -> None:
    rows = read_csv(csv_text(SAMPLE))
    assert rows[0] == [
        "Stake",
        "Along [ft]",
        "Along (as written)",
        "From sill [in]",
        "From sill (as written)",
        "Concrete [yd3]",
        "Concrete (as written)",
        "Pieces",
        "Price",
    ]
    assert rows[1] == ["S1", "15.5", "15'-6\"", "-4.375", '-4 3/8"', "1", "1.00 yd3", "12", "1250.00"]
    assert rows[2] == ["S2", "", "", "0", '0"', "", "", "", ""]
    assert rows[3][0] == "Total"


def test_csv_in_metric_and_spanish() -> None:
    rows = read_csv(csv_text(SAMPLE, system=System.METRIC, lang="es"))
    assert rows[0][1:3] == ["A lo largo [m]", "A lo largo (como se escribe)"]
    assert float(rows[1][1]) == pytest.approx(15.5 * FT, abs=5e-7)


def test_csv_lines_end_as_the_standard_says_and_quotes_are_doubled() -> None:
    text = csv_text(table(('a "b", c\nd', None, None, None, None, None)))
    assert text.endswith("\r\n")
    assert '"a ""b"", c\nd"' in text
    assert read_csv(text)[1][0] == 'a "b", c\nd'


RUNS = [
    *("=1+1", "+1", "-1+cmd|' /C calc'!A0", "@SUM(A1)", "\t=1", "\r=1", '=HYPERLINK("x")'),
    *("-", '-"', "-'", "-A1", "-7-3", '-7+A1"', '-7 3/4"+1', '=7 3/4"', "-7' A1", '-7 3/4"\n=1', "-7 mm+1"),
]
OURS = ['-7 3/4"', '+2 1/2"', '-3/8"', "-5'", "-5'-0\"", "-41'-8 1/4\"", "-197 mm", "-1.600 m"]


@pytest.mark.parametrize("text", RUNS)
def test_a_text_is_never_run_as_a_formula(text: str) -> None:
    one = table((text, None, None, None, None, None))
    assert read_csv(csv_text(one))[1][0] == "'" + text
    book = openpyxl.load_workbook(io.BytesIO(xlsx_bytes([one])))
    cell = book.active["A2"]
    assert cell.data_type == "s"
    assert cell.value.strip() == text.strip()


@pytest.mark.parametrize("text", OURS)
def test_a_length_with_its_sign_stays_as_it_is_written(text: str) -> None:
    one = table((text, None, None, None, None, None))
    assert read_csv(csv_text(one))[1][0] == text
    cell = openpyxl.load_workbook(io.BytesIO(xlsx_bytes([one]))).active["A2"]
    assert (cell.data_type, cell.value, cell.quotePrefix) == ("s", text, False)


@given(st.floats(-1e6, 1e6))
@settings(max_examples=80, deadline=None)
def test_numbers_stay_numbers(value: float) -> None:
    row = read_csv(csv_text(table(("S1", value, None, None, None, None))))[1]
    assert float(row[1]) == pytest.approx(value / FT, abs=6e-7, rel=1e-12)


@given(st.text(max_size=30))
@settings(max_examples=80, deadline=None)
def test_any_text_survives_the_way_through_csv(text: str) -> None:
    row = read_csv(csv_text(table((text, 1.0, None, None, None, None))))
    assert len(row) == 2
    assert len(row[1]) == len(row[0])
    assert row[1][1] == "3.28084"


def test_every_kind_of_measure_can_stand_in_a_column() -> None:
    for name, kind in KINDS.items():
        value = 3600.0 if name in ("clock", "duration") else max(kind.least, min(kind.most, 0.01))
        one = Table("k", Both("K", "K"), (Column("x", "X", "X", name),), ((value,),))
        for system in System:
            rows = read_csv(csv_text(one, system=system))
            assert len(rows[0]) == len(rows[1])
            assert page_rows(one, system=system, lang="es")[0][0] == write(
                Quantity(name, value), system=system, lang="es"
            )


def test_a_quantity_keeps_its_own_kind() -> None:
    one = table(("S1", Quantity("inches", 0.0889), None, None, None, None))
    assert page_rows(one, system=System.IMPERIAL, lang="en")[0][1] == '3 1/2"'
    assert read("length", "3 1/2 in") == pytest.approx(0.0889)


def test_page_and_file_say_the_same() -> None:
    page = page_rows(SAMPLE, system=System.IMPERIAL, lang="en")
    rows = read_csv(csv_text(SAMPLE))[1:]
    assert [row[2] for row in rows] == [row[1] for row in page]


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_number_that_is_none_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="no number"):
        csv_text(table(("S1", bad, None, None, None, None)))


def test_tables_of_the_wrong_shape_are_refused() -> None:
    with pytest.raises(ValueError, match="row 1 has 2 cells for 6 columns"):
        table(("S1", 1.0))
    with pytest.raises(ValueError, match="no kind 'lenght'"):
        Table("t", Both("T", "T"), (Column("a", "A", "A", "lenght"),))


def test_xlsx_holds_numbers_headings_and_titles() -> None:
    book = openpyxl.load_workbook(io.BytesIO(xlsx_bytes([SAMPLE, SAMPLE, table()])))
    assert book.sheetnames == ["Heights", "Heights 2", "Heights 3"]
    sheet = book["Heights"]
    assert sheet["B1"].value == "Along [ft]"
    assert sheet["B2"].value == 15.5
    assert sheet["B2"].data_type == "n"
    assert sheet["C2"].value == "15'-6\""
    assert sheet.freeze_panes == "A2"


@pytest.mark.parametrize("title", ["a/b:c*d?e[f]g\\h", "x" * 80, "'", "", "日本 🙂", "\x00"])
def test_xlsx_takes_any_title(title: str) -> None:
    one = Table("t", Both(title, title), COLUMNS[:1], (("S1",), ("\x00\ud800" + "y" * 40000,)))
    book = openpyxl.load_workbook(io.BytesIO(xlsx_bytes([one, one])))
    assert len(book.sheetnames) == 2
    assert all(0 < len(name) <= 31 for name in book.sheetnames)


def test_xlsx_holds_no_time_of_writing() -> None:
    made = xlsx_bytes([SAMPLE])
    assert xlsx_bytes([SAMPLE]) == made
    with zipfile.ZipFile(io.BytesIO(made)) as book:
        assert {entry.date_time[:3] for entry in book.infolist()} == {(2000, 1, 1)}
        stamps = re.findall(rb"\d{4}-\d\d-\d\dT[\d:]+Z?", book.read("docProps/core.xml"))
    assert len(stamps) == 2
    assert set(stamps) == {b"2000-01-01T00:00:00Z"}


def test_a_workbook_needs_a_table() -> None:
    with pytest.raises(ValueError, match="at least one table"):
        xlsx_bytes([])
