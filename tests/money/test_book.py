"""Price books: every mistake by its row, nothing read as zero, files that read back the same."""

from __future__ import annotations

import io
import zipfile
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.money import tables_in, workbook_in
from slabwright.money.book import COLUMNS, lay_over, load_book
from slabwright.money.book_files import book_csv, book_xlsx
from slabwright.money.model import Book, BookLine

HEAD = "group,code,condition,unit,value,low,high,least,pack,currency,date,supplier,note,name\n"
GOOD = "material,base,,ton,31.00,,,,,,,,,\n"


def one(row: str, currency: str = "USD") -> Book:
    return load_book(HEAD + GOOD + row + "\n", currency=currency)


BAD = [
    ("materials,x,,ton,1,,,,,,,,,", "row-group", "group"),
    ("material,,,ton,1,,,,,,,,,", "row-code", "code"),
    ("material,x,,yd,1,,,,,,,,,", "row-unit", "unit"),
    ("material,x,,,1,,,,,,,,,", "row-unit", "unit"),
    ("material,x,,ton,,,,,,,,,,", "row-no-value", "value"),
    ("material,x,,ton,0,,,,,,,,,", "row-zero-price", "value"),
    ("material,x,,ton,0.00,,,,,,,,,", "row-zero-price", "value"),
    ("material,x,,ton,-5,,,,,,,,,", "row-negative", "value"),
    ("material,x,,ton,-$5.00,,,,,,,,,", "row-negative", "value"),
    ("rate,x,,ft2,-5,,,,,,,,,", "row-negative", "value"),
    ("material,x,,ton,abc,,,,,,,,,", "row-not-number", "value"),
    ("rate,x,,ft2,1e5,,,,,,,,,", "row-not-number", "value"),
    ("rate,x,,ft2,nan,,,,,,,,,", "row-not-number", "value"),
    ('rate,x,,ft2,"1,234",,,,,,,,,', "row-not-number", "value"),
    ("material,x,,ton,9999999999,,,,,,,,,", "row-not-number", "value"),
    ("material,x,,ton,5,,,0,,,,,,", "row-not-number", "least"),
    ("material,x,,ton,5,,,,0,,,,,", "row-not-number", "pack"),
    ("material,x,,ton,5,,,,,EUR,,,,", "row-currency", "currency"),
    ("material,x,,ton,5 EUR,,,,,,,,,", "row-currency", "value"),
    ("material,x,,ton,5,6,7,,,,,,,", "row-spread", "low"),
    ("material,x,,ton,5,4,4.5,,,,,,,", "row-spread", "high"),
    ("material,x,,ton,5,,,,,,4/5/2026,,,", "row-date", "date"),
    ("rate,dig,,yd3,0,,,,,,,,,", "row-rate-zero", "value"),
    ("labour,helper,,day,200,,,,,,,,,", "row-unit-group", "unit"),
    ("labour,helper,,h,free,,,,,,,,,", "row-not-number", "value"),
    ("crew,helper,,each,1.5,,,,,,,,,", "row-crew", "value"),
    ("crew,helper,,day,2,,,,,,,,,", "row-crew", "unit"),
    ("crew,helper,,each,0,,,,,,,,,", "row-crew", "value"),
    ("burden,payroll,,h,7,,,,,,,,,", "row-unit-group", "unit"),
    ("tax,sales,,%,7,,,,,,,,,", "row-share-of", "condition"),
    ("plant,small-load,often,yd3,45,,,,,,,,,", "row-share-of", "condition"),
    ("term,profits,on cost,%,15,,,,,,,,,", "row-term", "code"),
    ("term,profit,,%,15,,,,,,,,,", "profit-unclear", "condition"),
    ("term,profit,on price,%,100,,,,,,,,,", "margin-full", "value"),
    ("term,overhead,on price,%,10,,,,,,,,,", "row-share-of", "condition"),
    ("term,productive,of paid hours,%,0,,,,,,,,,", "row-not-number", "value"),
    ("term,day,,h,0,,,,,,,,,", "row-rate-zero", "value"),
    ("material,base,,ton,32.00,,,,,,,,,", "row-twice", "code"),
    ("disposal,base,,ton,32.00,,,,,,,,,", "row-twice", "code"),
]


@pytest.mark.parametrize(("row", "code", "column"), BAD)
def test_a_bad_row_is_named_with_its_column_and_left_out(row: str, code: str, column: str) -> None:
    book = one(row)
    assert [f.code for f in book.findings] == [code]
    (finding,) = book.findings
    assert (finding.line, finding.where) == (3, f"book.csv:3, {column}")
    assert len(book.lines) == 1  # the good row stays
    for lang in ("en", "es"):
        text = finding.text(lang=lang)
        assert "{" not in text.what + text.why + text.do


def test_a_column_is_named_as_the_file_heads_it() -> None:
    heads = "Grupo,Clave,Condición,Unidad,Precio\n"
    book = load_book(heads + "material,x,,ton,-5\nmaterial,y,,furlong,5\n", name="lista.csv")
    assert [finding.where for finding in book.findings] == ["lista.csv:2, Precio", "lista.csv:3, Unidad"]
    assert "Precio" in book.findings[0].text(lang="es").what


def test_all_mistakes_come_in_one_pass() -> None:
    book = load_book(HEAD + "\n".join(row for row, *_ in BAD[:10]))
    assert [f.line for f in book.findings] == list(range(2, 12))


@pytest.mark.parametrize(
    ("row", "value"),
    [
        ("material,x,,ton,$1.50,,,,,,,,,", "1.50"),
        ('material,x,,ton,"$1,250",,,,,,,,,', "1250"),
        ("material,x,,ton,free,,,,,,,,,", "0"),
        ("material,x,,ton,Gratis,,,,,,,,,", "0"),
        ("rate,x,,ft2,.5,,,,,,,,,", "0.5"),
        ("burden,x,,%,7.65 %,,,,,,,,,", "7.65"),
    ],
)
def test_ways_of_writing_a_value(row: str, value: str) -> None:
    book = one(row)
    assert book.findings == ()
    assert list(book.lines.values())[-1].value == Decimal(value)


def test_a_term_stands_once_whatever_it_is_a_share_of() -> None:
    rows = "term,profit,on cost,%,15,,,,,,,,,\nterm,profit,on price,%,15,,,,,,,,,"
    assert [f.code for f in one(rows).findings] == ["row-twice"]


def test_a_price_under_a_condition_goes_before_one_that_always_holds() -> None:
    book = one("plant,concrete,,yd3,170,,,,,,,,,\nplant,concrete,4500 psi,yd3,180,,,,,,,,,")
    found = [book.find("price", "concrete", c) for c in ("4500 psi", "3000 psi")]
    assert [line.value for line in found if line] == [Decimal(180), Decimal(170)]
    assert book.find("price", "gravel") is None


# --- files ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "table-empty"),
        (b"\n\n", "table-empty"),
        (HEAD.encode(), "table-empty"),
        (b"a,b,c\n1,2,3\n", "columns-missing"),
        (b"group,code\0", "table-not-text"),
        (b"PK\x03\x04 not a workbook", "table-broken"),
        (HEAD.encode() + b'material,"x' + b"y" * 200_000 + b'",,ton,1', "table-broken"),
    ],
)
def test_files_that_are_no_book(data: bytes, code: str) -> None:
    book = load_book(data)
    assert code in {f.code for f in book.findings}
    assert not book.lines


def test_a_file_too_big_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tables_in, "MOST_BYTES", 100)
    path = tmp_path / "big.csv"
    path.write_text(HEAD + GOOD * 20)
    for given_ in (path, path.read_bytes(), path.read_text()):
        assert [f.code for f in load_book(given_).findings] == ["table-too-big"]


def test_a_workbook_that_unpacks_too_far_is_not_read(monkeypatch: pytest.MonkeyPatch) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b"0" * 10_000)
    monkeypatch.setattr(workbook_in, "MOST_UNPACKED", 5_000)
    assert [f.code for f in load_book(out.getvalue()).findings] == ["table-too-big"]


def test_too_many_rows_are_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tables_in, "MOST_ROWS", 3)
    rows = "".join(f"material,x{n},,ton,1,,,,,,,,,\n" for n in range(9))
    assert "table-too-long" in {f.code for f in load_book(HEAD + rows).findings}


def test_a_book_of_a_spanish_spreadsheet() -> None:
    text = "grupo;clave;unidad;precio;nota\nmaterial;base;ton;31,50;grava\nmaterial;arena;t;\n"
    book = load_book(text.encode("cp1252"))
    line = book.find("price", "base")
    assert line is not None
    assert line.value == Decimal("31.50")
    assert [f.code for f in book.findings] == ["row-no-value"]


def test_letters_that_are_not_utf_8_are_said() -> None:
    book = load_book((HEAD + "material,x,,ton,1,,,,,,,Peña,,\n").encode("cp1252"))
    assert [f.code for f in book.findings] == ["table-letters"]
    assert next(iter(book.lines.values())).supplier == "Peña"


def test_utf_16_is_read() -> None:
    assert len(load_book((HEAD + GOOD).encode("utf-16")).lines) == 1


def test_an_unknown_column_is_said_once() -> None:
    book = load_book("group,code,unit,value,colour,\nmaterial,x,ton,1,red,\n")
    assert [f.code for f in book.findings] == ["column-unknown"]
    assert len(book.lines) == 1


def test_the_invented_book_has_no_mistake_and_says_that_it_is_invented(book: Book) -> None:
    assert book.findings == ()
    for line in book.lines.values():
        assert line.note, line
    prices = [line for key, line in book.lines.items() if key[0] == "price"]
    assert len(prices) > 30
    assert all("invented" in line.note for line in prices)


def same(a: Book, b: Book) -> bool:
    def bare(line: BookLine) -> BookLine:
        return replace(line, row=0, book="")

    return {k: bare(v) for k, v in a.lines.items()} == {k: bare(v) for k, v in b.lines.items()}


def test_csv_and_xlsx_read_back_the_same(book: Book) -> None:
    assert same(load_book(book_csv(book)), book)
    assert same(load_book(book_xlsx(book)), book)


def test_a_spreadsheet_library_opens_the_workbook(book: Book) -> None:
    sheet = openpyxl.load_workbook(io.BytesIO(book_xlsx(book))).active
    rows = list(sheet.iter_rows(values_only=True))
    assert rows[0] == COLUMNS
    assert len(rows) == 1 + len(book.lines)
    at = COLUMNS.index("value")
    assert all(isinstance(row[at], int | float) for row in rows[1:])


def test_a_share_kept_as_a_fraction_by_a_spreadsheet_is_read_as_it_shows() -> None:
    workbook = openpyxl.Workbook()
    workbook.active.append(["group", "code", "condition", "unit", "value"])
    workbook.active.append(["term", "profit", "on cost", "%", 0.15])
    workbook.active.append(["burden", "payroll", "", "%", 0.0765])
    workbook.active.append(["burden", "other", "", "%", 0.6])
    for row in (2, 3):
        workbook.active.cell(row, 5).number_format = "0.00%"
    out = io.BytesIO()
    workbook.save(out)
    values = [line.value for line in load_book(out.getvalue()).lines.values()]
    assert values == [Decimal(15), Decimal("7.65"), Decimal("0.6")]


def test_a_sheet_that_says_it_is_huge_is_read_for_what_is_there() -> None:
    workbook = openpyxl.Workbook()
    workbook.active.append(["group", "code", "unit", "value"])
    workbook.active.append(["material", "x", "ton", 5])
    out, told = io.BytesIO(), io.BytesIO()
    workbook.save(out)
    with zipfile.ZipFile(out) as old, zipfile.ZipFile(told, "w") as new:
        for entry in old.namelist():
            body = old.read(entry)
            if entry.endswith("sheet1.xml"):
                assert b'ref="A1:D2"' in body
                body = body.replace(b'ref="A1:D2"', b'ref="A1:XFD1048576"')
            new.writestr(entry, body)
    assert len(load_book(told.getvalue()).lines) == 1


word = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), max_size=12)
money = st.decimals("0.01", "99999", places=2)


@settings(max_examples=40, deadline=None)
@given(note=word, name=word, value=money, pack=st.none() | st.decimals("0.5", "99", places=1))
def test_any_text_and_price_come_back(note: str, name: str, value: Decimal, pack: Decimal | None) -> None:
    note, name = note.strip().lstrip("'"), name.strip().lstrip("'")
    line = BookLine("material", "x", "", "ton", value, pack=pack, note=note, name=name)
    book = Book("b", "USD", {("price", "x", ""): line})
    assert same(load_book(book_csv(book)), book)


@pytest.mark.parametrize("text", ["=1+2", "+1", "-1", "@x", "=cmd|' /C calc'!A0"])
def test_no_text_is_run_by_a_spreadsheet(text: str) -> None:
    line = BookLine("material", "x", "", "ton", Decimal(1), note=text)
    book = Book("b", "USD", {("price", "x", ""): line})
    assert f"'{text}" in book_csv(book)
    sheet = openpyxl.load_workbook(io.BytesIO(book_xlsx(book))).active
    assert {cell.data_type for cell in sheet[2] if cell.value == text} == {"s"}
    assert next(iter(load_book(book_csv(book)).lines.values())).note == text


# --- one over another -----------------------------------------------------------------------------------


def test_a_later_book_overrides_line_by_line(book: Book) -> None:
    job = load_book(HEAD + "plant,concrete,,yd3,190,,,,,,,,,\nterm,profit,on price,%,20,,,,,,,,,\n")
    both = lay_over(book, job)
    concrete, profit = both.find("price", "concrete"), both.find("term", "profit")
    assert concrete is not None
    assert profit is not None
    assert concrete.value == Decimal(190)
    assert profit.condition == "on price"
    assert len(both.lines) == len(book.lines)
    assert both.name == "demo_book.csv + book.csv"


def test_a_book_in_another_currency_is_left_out_whole(book: Book) -> None:
    other = load_book(HEAD + "plant,concrete,,yd3,190,,,,,,,,,\n", currency="EUR")
    both = lay_over(book, other)
    assert [f.code for f in both.findings] == ["two-currencies"]
    assert both.find("price", "concrete") == book.find("price", "concrete")


def test_an_unknown_currency_is_refused() -> None:
    with pytest.raises(ValueError, match="USD"):
        load_book(HEAD + GOOD, currency="XXX")


@pytest.mark.parametrize(
    ("heading", "meant"),
    [
        ("cost", "value"),
        ("Unit price", "value"),
        ("valeu", "value"),
        ("condtion", "condition"),
        ("suplier", "supplier"),
    ],
)
def test_a_heading_that_is_nearly_known_is_asked_about(heading: str, meant: str) -> None:
    book = load_book(f"group,code,unit,value,{heading}\nmaterial,x,ton,5,\n")
    (found,) = book.findings
    assert (found.code, found.values["meant"]) == ("column-meant", meant)
    assert meant in found.text(lang="es").what


@pytest.mark.parametrize("heading", ["colour of the truck", "x" * 5000, "value"])
def test_a_heading_like_no_other_is_left_out_with_a_word(heading: str) -> None:
    book = load_book(f"group,code,unit,value,{heading}\nmaterial,x,ton,5,\n")
    assert [found.code for found in book.findings] == ["column-unknown"]
    assert len(book.lines) == 1


def test_a_whole_book_in_another_currency_is_said_once() -> None:
    rows = "".join(f"material,x{n},,ton,5,,,,,{'eur' if n else 'EUR'},,,,\n" for n in range(3))
    head = "group,code,condition,unit,value,low,high,least,pack,currency,date,supplier,note\n"
    book = load_book(head + rows)
    assert [found.code for found in book.findings] == ["book-currency"]
    assert not book.lines
    for lang in ("en", "es"):
        assert "EUR" in book.findings[0].text(lang=lang).do
    assert not load_book(head + rows, currency="EUR").findings
    mixed = load_book(head + rows + "material,y,,ton,5,,,,,USD,,,,\n")
    assert [found.code for found in mixed.findings] == ["row-currency"] * 3  # one slip a row, as before
