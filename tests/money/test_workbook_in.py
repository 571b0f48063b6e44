"""The quick reader of workbooks: beside a library's, on what other programs write, on hostile files."""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import re
import tracemalloc
import zipfile
from collections.abc import Callable
from decimal import Decimal

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.money.book import load_book
from slabwright.money.workbook_in import MOST_COLUMNS, TooBigError, WorkbookError, first_sheet

NS = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
R = 'xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"'
SHEET = "xl/worksheets/sheet1.xml"
Rows = list[tuple[int, list[str]]]


def read(data: bytes) -> Rows:
    return first_sheet(data, most_rows=1000)


def saved(fill: Callable[[openpyxl.Workbook], None]) -> bytes:
    workbook, out = openpyxl.Workbook(), io.BytesIO()
    fill(workbook)
    workbook.save(out)
    return out.getvalue()


def packed(sheet: str, *, strings: str = "", styles: str = "", book: str = "", path: str = SHEET) -> bytes:
    """A workbook made by hand, of the parts that matter."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as into:
        into.writestr(
            "xl/workbook.xml",
            book
            or f'<workbook {NS} {R}><sheets><sheet name="a" sheetId="1" r:id="rId7"/></sheets></workbook>',
        )
        target = path.removeprefix("xl/")
        into.writestr(
            "xl/_rels/workbook.xml.rels",
            f'<Relationships xmlns="x"><Relationship Id="rId7" Target="{target}"/></Relationships>',
        )
        into.writestr(path, sheet)
        if strings:
            into.writestr("xl/sharedStrings.xml", strings)
        if styles:
            into.writestr("xl/styles.xml", styles)
    return out.getvalue()


def sheet_of(rows: str) -> str:
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<worksheet {NS}><sheetData>{rows}</sheetData></worksheet>'
    )


def by_library(data: bytes) -> Rows:
    """The same by openpyxl, of texts, numbers and days."""

    def text(value: object) -> str:
        if value is None:
            return ""
        if isinstance(value, dt.datetime):
            return value.date().isoformat()
        if isinstance(value, float):
            return f"{Decimal(repr(value)):f}".removesuffix(".0")
        return str(value)

    sheet = openpyxl.load_workbook(io.BytesIO(data)).worksheets[0]
    rows = []
    for number, cells in enumerate(sheet.iter_rows(values_only=True, max_col=MOST_COLUMNS), 1):
        texts = [text(value) for value in cells]
        while texts and not texts[-1]:
            texts.pop()
        if texts:
            rows.append((number, texts))
    return rows


letters = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), max_size=12)
values = (
    st.none()
    | letters.filter(lambda text: not text.startswith("=") and not re.search("_x[0-9a-fA-F]{4}_", text))
    | st.integers(-(10**9), 10**9)
    | st.decimals("-99999", "99999", places=3).map(float)
    | st.dates(dt.date(1900, 3, 1), dt.date(2100, 1, 1))
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(values, max_size=6), min_size=1, max_size=6))
def test_what_a_library_reads_is_read_the_same(rows: list[list[object]]) -> None:
    def fill(workbook: openpyxl.Workbook) -> None:
        for y, row in enumerate(rows, 1):
            for x, value in enumerate(row, 1):
                workbook.active.cell(y, x, value)

    data = saved(fill)
    ended = [(number, "\0".join(cells).rstrip("\0").split("\0")) for number, cells in read(data)]
    assert ended == by_library(data)


def test_numbers_as_they_show() -> None:
    def fill(workbook: openpyxl.Workbook) -> None:
        sheet = workbook.active
        sheet.append([0.15, 0.0765, 12.0, 1e-7, 46146, 46146.5, 0.5])
        formats = ("0%", "0.00%", "General", "General", "d-mmm-yy", "[$-409]d/m/yy;@", '0.0 "days"')
        for x, shown in enumerate(formats, 1):
            sheet.cell(1, x).number_format = shown

    assert read(saved(fill)) == [
        (1, ["15.00 %", "7.6500 %", "12", "0.0000001", "2026-05-04", "2026-05-04", "0.5"])
    ]


def test_the_other_calendar_and_the_other_first_sheet() -> None:
    book = (
        f'<workbook {NS} {R}><workbookPr date1904="1"/>'
        '<sheets><sheet name="b" sheetId="2" r:id="rId7"/><sheet name="a" sheetId="1" r:id="rId1"/></sheets>'
        "</workbook>"
    )
    styles = (
        f'<styleSheet {NS}><cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs></styleSheet>'
    )
    data = packed(
        sheet_of('<row r="1"><c r="A1" s="1"><v>44684</v></c></row>'),
        book=book,
        styles=styles,
        path="xl/worksheets/other.xml",
    )
    assert read(data) == [(1, ["2026-05-04"])]


def test_shared_texts_with_runs_hints_and_entities() -> None:
    strings = (
        f"<sst {NS}><si><t>plain</t></si><si><r><t>two </t></r><r><rPr/><t xml:space='preserve'>runs</t></r>"
        "<rPh sb='0' eb='1'><t>hint</t></rPh></si><si><t>a &lt; b &amp; c &#233;</t></si><si/></sst>"
    )
    cells = "".join(f'<c r="{c}1" t="s"><v>{n}</v></c>' for n, c in enumerate("ABCD"))
    assert read(packed(sheet_of(f'<row r="1">{cells}</row>'), strings=strings)) == [
        (1, ["plain", "two runs", "a < b & c é", ""])
    ]
    with pytest.raises(WorkbookError, match="not there"):
        read(packed(sheet_of('<row><c t="s"><v>4</v></c></row>'), strings=strings))


@pytest.mark.parametrize(
    ("cells", "texts"),
    [
        ("<c><v>1</v></c><c/><c><v>3</v></c>", ["1", "", "3"]),  # places left out: one after another
        ('<c r="C1"><v>3</v></c><c r="A1"><v>1</v></c>', ["1", "", "3"]),  # not in their order
        ('<c s="0" r="B1"><v>2</v></c>', ["", "2"]),  # the place is not the first attribute
        ("<c r='B1'><v>2</v></c>", ["", "2"]),
        ('<c r="A1" t="b"><v>1</v></c>', ["TRUE"]),  # never a price of 1
        ('<c r="A1" t="e"><v>#N/A</v></c>', ["#N/A"]),
        ('<c r="A1"><f>B1*2</f></c>', ["=B1*2"]),  # never worked out
        ('<c r="A1"><f>B1*2</f><v>8.5</v></c>', ["8.5"]),
        ('<c r="A1" t="str"><f>B1&amp;C1</f><v>a &amp; b</v></c>', ["a & b"]),
        ('<c r="A1" t="d"><v>2026-05-04T00:00:00</v></c>', ["2026-05-04"]),
        ('<c r="A1" t="inlineStr"><is><r><t>a</t></r><r><t>b</t></r></is></c>', ["ab"]),
        ('<c r="A1" t="inlineStr"><is><t></t></is></c><c r="B1"><v>2</v></c>', ["", "2"]),
        ('<c r="A1"><v>1</v></c><c r="XFD1"><v>9</v></c>', ["1"]),  # beyond what is read
        ('<c r="A1">\n <v>1</v>\n</c>', ["1"]),
    ],
)
def test_cells_as_other_programs_write_them(cells: str, texts: list[str]) -> None:
    assert read(packed(sheet_of(f'<row r="1">{cells}</row>'))) == [(1, texts)]


def test_rows_keep_their_numbers_and_prefixes_do_not_matter() -> None:
    sheet = (
        '<x:worksheet xmlns:x="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><x:cols><x:col/>'
        '</x:cols><x:sheetData><x:row r="3"><x:c r="A3"><x:v>1</x:v></x:c></x:row><x:row/>'
        '<x:row><x:c t="inlineStr"><x:is><x:t>two</x:t></x:is></x:c></x:row></x:sheetData>'
        "<x:rowBreaks><x:brk/></x:rowBreaks></x:worksheet>"
    )
    assert read(packed(sheet)) == [(3, ["1"]), (5, ["two"])]


def test_a_cell_far_away_costs_nothing() -> None:
    sheet = sheet_of(
        '<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="A1048576"><v>2</v></c></row>'
    )
    assert read(packed(sheet)) == [(1, ["1"]), (1048576, ["2"])]


BOMB = "".join(f'<!ENTITY b{n} "{f"&b{n - 1};" * 10 if n else "ha" * 10}">' for n in range(9))


@pytest.mark.parametrize(
    "sheet",
    [
        f"<!DOCTYPE worksheet [{BOMB}]>" + sheet_of("<row><c><v>&b8;</v></c></row>").partition("\n")[2],
        sheet_of("<!-- <c r='A1'><v>1</v></c> -->"),
        sheet_of('<row r="1"><c r="A1" t="inlineStr"><is><t><![CDATA[<c>]]></t></is></c></row>'),
        sheet_of("<row><c><v>1</c></row>"),
        sheet_of("<row><c><v>one</v></c></row>"),
        f"<chartsheet {NS}/>",
        "",
        "no markup at all",
    ],
)
def test_a_sheet_that_is_not_plain_is_refused(sheet: str) -> None:
    with pytest.raises(WorkbookError):
        read(packed(sheet))
    assert [finding.code for finding in load_book(packed(sheet)).findings] == ["table-broken"]


def test_a_part_that_unpacks_to_more_than_it_says_is_refused() -> None:
    data = bytearray(packed(sheet_of("<row><c><v>1</v></c></row>" * 5000)))
    at = data.rindex(b"PK\x01\x02", 0, data.rindex(SHEET.encode()))
    data[at + 24 : at + 28] = (100).to_bytes(4, "little")  # its size in the table of contents
    with pytest.raises(WorkbookError):
        read(bytes(data))


@pytest.mark.parametrize("gone", ["xl/workbook.xml", "xl/_rels/workbook.xml.rels", SHEET])
def test_a_part_that_is_missing_is_said(gone: str) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(packed(sheet_of("")))) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            if name != gone:
                new.writestr(name, old.read(name))
    with pytest.raises(WorkbookError):
        read(out.getvalue())


def test_too_much_is_told_from_broken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("slabwright.money.workbook_in.MOST_UNPACKED", 10)
    with pytest.raises(TooBigError):
        read(packed(sheet_of("")))


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("<row><c>" + "<x>" * 600_000 + "</x>" * 600_000 + "</c></row>", "nested deeper than any"),
        ("<row>" + "<c><v>1</v></c>" * 250_000 + "</row>", "longer than any table's"),
        (
            '<row><c t="inlineStr"><is><t>' + "x" * 3_100_000 + "</t></is></c></row>",
            "longer than any table's",
        ),
    ],
)
def test_a_small_file_cannot_fill_the_memory(rows: str, said: str) -> None:
    data = packed(sheet_of(rows))
    tracemalloc.start()
    try:
        with pytest.raises(WorkbookError, match=said):
            read(data)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < 5 * len(rows) + 1_000_000


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_damage_ends_in_rows_or_in_a_clear_refusal(data: st.DataObject) -> None:
    whole = bytearray(packed(sheet_of('<row r="1"><c r="A1" t="inlineStr"><is><t>code</t></is></c></row>')))
    for _ in range(data.draw(st.integers(1, 6))):
        whole[data.draw(st.integers(4, len(whole) - 1))] = data.draw(st.integers(0, 255))
    with contextlib.suppress(WorkbookError):  # and nothing else
        read(bytes(whole))
