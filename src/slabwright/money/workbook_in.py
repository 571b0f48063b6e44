"""The first sheet of a workbook (XLSX, ECMA-376) as rows of text, for tables of thousands of rows.

The packed parts are checked before they are believed: sizes, well-formed, no document type, no comments or
character data sections. In such a text an angle bracket is always markup, so that patterns take cells
apart soundly and three times as fast as a general reader. Memory follows the cells that are there, never the
place at which a cell says that it stands.
"""

from __future__ import annotations

import html
import io
import re
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cache
from typing import NoReturn
from xml.etree import ElementTree
from xml.parsers import expat

MOST_UNPACKED = 100_000_000  # [bytes]; a book of 100,000 lines has about 62 million
MOST_COLUMNS = 64
MOST_OF_ROW = 3_000_000  # [letters] of one row with its markup
DEEPEST = 50  # elements within each other; a spreadsheet writes eight
DEEP_FROM = 4_000_000  # [bytes] of a part whose depth is counted; one below takes 0.2 GB at the worst
_DATES = frozenset((*range(14, 23), *range(27, 37), *range(45, 48), *range(50, 59)))
_PERCENTS = frozenset((9, 10))
_QUIET = re.compile(r'"[^"]*"|\[[^\]]*\]|\\.|_.|\*.')  # of a number's format: texts, colours, padding
_ID = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_ID_STRICT = "{http://purl.oclc.org/ooxml/officeDocument/relationships}id"
_ROW = re.compile(r"\sr\s*=\s*[\"']([0-9]{1,9})[\"']")
_ATTRIBUTE = re.compile(r'(\w+)\s*=\s*(?:"([^"]*)"|\'([^\']*)\')')


class WorkbookError(Exception):
    """A workbook that cannot be read; str() says why in a few words."""


class TooBigError(WorkbookError):
    """A workbook that unpacks to more than is read."""


@dataclass(frozen=True, slots=True)
class _Looks:
    """What the number formats of a workbook mean, by a cell's style: dates, shares; the first day."""

    dates: frozenset[str]
    percents: frozenset[str]
    first: date


def first_sheet(data: bytes, *, most_rows: int) -> list[tuple[int, list[str]]]:
    """Return (row number from 1, cells as text) of the first sheet, no more than `most_rows` + 1 of them.

    A date is written YYYY-MM-DD; a share kept as a fraction (0.15 shown as 15 %) as it shows; a formula
    without its result as the formula. WorkbookError for what cannot be read, TooBigError for too much.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(entry.file_size for entry in packed.infolist()) > MOST_UNPACKED:
                raise TooBigError("too big")
            sheet, looks = _parts(packed)
            return _rows(sheet, _shared(packed), looks, most_rows)
    except WorkbookError:
        raise
    except Exception as error:  # a damaged archive fails in many ways inside zipfile and zlib
        raise WorkbookError(str(error) or type(error).__name__) from error


# --- the parts ------------------------------------------------------------------------------------------


def _refuse(*_: object) -> NoReturn:
    raise WorkbookError("a part of it holds comments or a document type, which no spreadsheet writes")


def _plain(part: bytes) -> str:
    """Return a part's text where it is well formed and plain: then every '<' in it begins a tag."""
    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = _refuse
    parser.CommentHandler = _refuse
    parser.StartCdataSectionHandler = _refuse
    parser.ProcessingInstructionHandler = _refuse
    depth = 0  # 26 kB of elements that are never closed fill a gigabyte

    def deeper(*_: object) -> None:
        nonlocal depth
        depth += 1
        if depth > DEEPEST:
            raise WorkbookError("a part of it is nested deeper than any spreadsheet")

    def back(_: str) -> None:
        nonlocal depth
        depth -= 1

    if len(part) > DEEP_FROM:
        parser.StartElementHandler, parser.EndElementHandler = deeper, back
    try:
        parser.Parse(part, True)
        return part.decode("utf-8-sig")
    except (expat.ExpatError, UnicodeDecodeError) as error:
        raise WorkbookError(str(error)) from error


def _tree(packed: zipfile.ZipFile, name: str) -> ElementTree.Element:
    return ElementTree.fromstring(_plain(packed.read(name)))


def _local(element: ElementTree.Element) -> str:
    return element.tag.rpartition("}")[2]


def _parts(packed: zipfile.ZipFile) -> tuple[str, _Looks]:
    """Return the text of the first sheet, and what its styles mean."""
    book = _tree(packed, "xl/workbook.xml")
    sheets = [one for one in book.iter() if _local(one) == "sheet"]
    if not sheets:
        raise WorkbookError("no sheet in it")
    wanted = sheets[0].get(_ID) or sheets[0].get(_ID_STRICT)
    targets = {one.get("Id"): one.get("Target", "") for one in _tree(packed, "xl/_rels/workbook.xml.rels")}
    target = targets.get(wanted, "")
    path = target.removeprefix("/") if target.startswith("/") else f"xl/{target}"
    from_1904 = any(
        one.get("date1904") in ("1", "true") for one in book.iter() if _local(one) == "workbookPr"
    )
    first = date(1904, 1, 1) if from_1904 else date(1899, 12, 30)
    return _plain(packed.read(path)), _looks(packed, first)


def _looks(packed: zipfile.ZipFile, first: date) -> _Looks:
    if "xl/styles.xml" not in packed.namelist():
        return _Looks(frozenset(), frozenset(), first)
    root = _tree(packed, "xl/styles.xml")
    own = {
        int(one.get("numFmtId", "0")): one.get("formatCode", "")
        for one in root.iter()
        if _local(one) == "numFmt"
    }
    cells = next((one for one in root if _local(one) == "cellXfs"), ())
    dates, percents = set(), set()
    for n, cell in enumerate(cells):
        number = int(cell.get("numFmtId", "0"))
        code = _QUIET.sub("", own.get(number, "")).lower()
        if number in _PERCENTS or "%" in code:
            percents.add(str(n))
        elif number in _DATES or (code not in ("", "general") and any(letter in code for letter in "dmyhs")):
            dates.add(str(n))
    return _Looks(frozenset(dates), frozenset(percents), first)


def _prefix(text: str, root: str) -> str:
    """Return the namespace prefix, with its colon, that a part's own names carry ('' for none)."""
    found = re.search(rf"<((?:[\w.-]+:)?){root}[\s>/]", text)
    if found is None:
        raise WorkbookError("its first sheet is not a table")
    return re.escape(found[1])


@cache
def _texts_of(prefix: str) -> Callable[[str], str]:
    """Return what joins the runs of text inside an element, without the hints for pronouncing them."""
    runs = re.compile(rf"<{prefix}t(?:\s[^>]*)?>([^<]*)</{prefix}t\s*>")
    hints = re.compile(rf"<{prefix}rPh[\s>].*?</{prefix}rPh\s*>", re.DOTALL)

    def joined(inner: str) -> str:
        if "rPh" in inner:
            inner = hints.sub("", inner)
        return _clear("".join(runs.findall(inner)))

    return joined


def _clear(text: str) -> str:
    return html.unescape(text) if "&" in text else text


def _shared(packed: zipfile.ZipFile) -> list[str]:
    """Return the texts that cells name by number."""
    if "xl/sharedStrings.xml" not in packed.namelist():
        return []
    text = _plain(packed.read("xl/sharedStrings.xml"))
    prefix = _prefix(text, "sst")
    texts = _texts_of(prefix)
    items = re.compile(rf"<{prefix}si(?:\s[^>]*?)?(?:/>|>(.*?)</{prefix}si\s*>)", re.DOTALL)
    return [texts(inner) for inner in items.findall(text)]


# --- the cells ------------------------------------------------------------------------------------------


@cache
def _column(letters: str) -> int:
    """Return a column's place from 0: 'A' is 0, 'AB' is 27."""
    at = 0
    for letter in letters:
        at = at * 26 + ord(letter) - 64
    return at - 1


def _attributes(text: str) -> dict[str, str]:
    return {name: first or second for name, first, second in _ATTRIBUTE.findall(text)}


def _rows(sheet: str, shared: list[str], looks: _Looks, most_rows: int) -> list[tuple[int, list[str]]]:
    p = _prefix(sheet, "worksheet")
    table = sheet.partition(f"<{p}sheetData")[2].partition(f"</{p}sheetData")[0]
    # A cell is its column, other attributes, and its one text if it holds nothing else, or all that it holds.
    cells = re.compile(
        rf'<{p}c(?=[\s>/])(?:\s+r="([A-Z]{{1,3}})[0-9]{{1,7}}")?([^>]*)>'
        rf"(?:<{p}(?:v|is><{p}t)>([^<]*)</{p}(?:v|t></{p}is)></{p}c>|([^<]*(?:<(?!/?{p}c[\s>/])[^<]*)*))"
    ).findall
    of = _Cells(p, shared, looks)
    ways = of.ways
    found: list[tuple[int, list[str]]] = []
    number = 0
    for row in table.split(f"<{p}row")[1:]:
        head, _, inner = row.partition(">")
        if len(inner) > MOST_OF_ROW:
            raise WorkbookError("a row of it is longer than any table's")
        given = _ROW.search(head)
        number = int(given[1]) if given else number + 1
        texts: list[str] = []
        at = -1
        for letters, more, text, other in cells(inner):
            if letters:
                at = _column(letters)
            else:
                own = _attributes(more).get("r", "").rstrip("0123456789")
                at = _column(own) if own else at + 1
            if not (text or other) or at >= MOST_COLUMNS:
                continue
            # The way is looked up here and not in a function: this line is run for every cell.
            way = ways.get(more) if text else None
            written = way(text) if way is not None else of.text(more, text, other)
            if at == len(texts):
                texts.append(written)
            else:
                texts += [""] * (at + 1 - len(texts))
                texts[at] = written
        if any(texts):
            found.append((number, texts))
            if len(found) > most_rows:
                break
    return found


class _Cells:
    """Writes the cells of one sheet as text."""

    def __init__(self, prefix: str, shared: list[str], looks: _Looks) -> None:
        self.shared, self.looks = shared, looks
        self.value = re.compile(rf"<{prefix}v(?:\s[^>]*)?>([^<]*)</{prefix}v\s*>")
        self.formula = re.compile(rf"<{prefix}f(?:\s[^>]*)?>([^<]*)</{prefix}f\s*>")
        self.joined = _texts_of(prefix)
        self.ways: dict[str, Callable[[str], str]] = {}

    def text(self, more: str, text: str, other: str) -> str:
        """Return a cell's text from its further attributes, and its one text or all that stands in it."""
        way = self.ways.get(more)
        if way is None:
            way = self.ways[more] = self.way(_attributes(more))
        if not other:
            return way(text)
        if way is _clear:
            return self.joined(other)
        found = self.value.search(other)
        if found is None:
            formula = self.formula.search(other)
            return f"={_clear(formula[1])}" if formula else ""
        return way(found[1])

    def way(self, given: dict[str, str]) -> Callable[[str], str]:
        """Return how the value of a cell with these attributes is written."""
        kind, style = given.get("t", "n"), given.get("s", "")
        if kind == "inlineStr":
            return _clear
        if kind == "s":
            return self.named
        if kind == "d":
            return lambda value: value[:10]
        if kind == "b":
            return lambda value: "TRUE" if value == "1" else "FALSE"  # never a price of 1
        if kind != "n":
            return lambda value: _clear(value)
        if style in self.looks.percents:
            return lambda value: f"{Decimal(repr(float(value))) * 100:f} %"  # 15 % is kept as 0.15
        return self.day if style in self.looks.dates else _number

    def named(self, value: str) -> str:
        """Return the shared text of a number."""
        try:
            return self.shared[int(value)]
        except (ValueError, IndexError):
            raise WorkbookError("a cell names a text that is not there") from None

    def day(self, value: str) -> str:
        """Return the day of a serial number; what lies outside the calendar stays a number."""
        days = float(value)
        if not 0 <= days < 2_958_466:  # to the year 9999
            return _number(value)
        return (self.looks.first + timedelta(days=int(days))).isoformat()


def _number(value: str) -> str:
    number = float(value)
    if value.isdigit():
        return value
    short = repr(number)
    return f"{Decimal(short):f}" if "e" in short else short.removesuffix(".0")
