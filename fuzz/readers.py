"""The readers that are asked: files to begin with, what is watched, and what counts as a fault.

An `ask` answers what became of a file in a few words (its outcome); whatever it raises is a fault. What is
heavy is imported inside, so that only the reader at hand is loaded and counted.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fuzz import office

ROOT = Path(__file__).parents[1]
ZOO = ROOT / "tests" / "notes" / "zoo"
Ask = Callable[[bytes], str]
UNREAD = "no notes"  # the outcome of a file that is another reader's business
_FIGURES = re.compile(r"[0-9]+|\"[^\"]*\"|'[^']*'|&\S+|U\+\w+")


@dataclass(frozen=True, slots=True)
class Reader:
    """One reader: what it is, files to begin with, what makes an `Ask`, modules watched, kind of file.

    `slow` [s] is what a small file may take.
    """

    about: str
    seeds: Callable[[], Iterable[bytes]]
    ask: Callable[[], Ask]
    kind: str = "text"
    watched: tuple[str, ...] = ("slabwright",)
    slow: float = 5.0


def shape(said: str) -> str:
    """Return a message without its names and figures: two that differ only in those are one outcome."""
    return _FIGURES.sub("*", said)[:300]


def _said(mistakes: Iterable[Any]) -> str:
    """Return the outcome of mistakes; AssertionError for one that does not say what is wrong, or not in Spanish."""
    whys = set()
    for one in mistakes:
        assert one.why.strip(), "a mistake without a reason"
        assert "cannot be read as YAML" not in one.why, "the scanner's own words, without a line"
        whole = one.line is None and not one.field
        assert not whole or re.search(r"file|drawing|job|larger|empty|rows|points|unit", one.why), one.why
        for lang in ("en", "es"):
            line = one.text(lang)
            assert len(line.splitlines()) == 1, line
            line.encode()
        whys.add(shape(one.why))
    return " / ".join(sorted(whys))


def _told(findings: Iterable[Any]) -> str:
    """Return the outcome of findings, each said in both languages."""
    codes = set()
    for one in findings:
        codes.add(one.code)
        for lang in ("en", "es"):
            text = one.text(lang=lang)
            assert text.what.strip(), one.code
            f"{text.where} {text.what} {text.why} {text.do}".encode()
    return " ".join(sorted(codes)) or "fine"


# --- the job file -----------------------------------------------------------------------------------------


def _jobs() -> list[bytes]:
    return [path.read_bytes() for path in sorted((ROOT / "examples").glob("*/job.yaml"))]


def _job_seeds() -> list[bytes]:
    starters = sorted((ROOT / "src/slabwright/notes/starters").glob("*.yaml"))
    return [
        *_jobs(),
        *(p.read_bytes() for p in starters),
        *(p.read_bytes() for p in sorted(ZOO.glob("*.yaml"))),
    ]


def _job() -> Ask:
    from slabwright.notes import NotesError, parse_notes

    def ask(data: bytes) -> str:
        try:
            parse_notes(data)
        except NotesError as error:
            assert error.mistakes
            error.text("es").encode()
            return _said(error.mistakes)
        return "read"

    return ask


def _planned() -> Ask:
    from slabwright.notes import NotesError, parse_notes
    from slabwright.plan import PlanError, make

    make(parse_notes(_starters()[0]), mapped=False)  # what is loaded late is to be counted too

    def ask(data: bytes) -> str:
        try:
            notes = parse_notes(data)
        except NotesError:
            return UNREAD
        try:
            plan = make(notes, mapped=False)
        except PlanError as error:
            assert str(error).strip()
            return "no plan: " + shape(str(error))
        return _told(plan.findings)

    return ask


def _starters() -> list[bytes]:
    return [p.read_bytes() for p in sorted((ROOT / "src/slabwright/notes/starters").glob("*.yaml"))]


# --- measures ---------------------------------------------------------------------------------------------


def _measure_seeds() -> list[bytes]:
    from slabwright.measure import KINDS

    more = ("$1,234.50", "USD 5", "1.234,50 €", "finish=salt + wider=1 ft after thicker=1 in", "drain=P1,P2")
    return [kind.example.encode() for kind in KINDS.values()] + [text.encode() for text in more]


def _measures() -> Ask:
    from slabwright.measure import KINDS, MeasureError, Quantity, System, read, read_money, write
    from slabwright.money.wanted import WantedError, option_of

    kinds = {name: row for name, row in KINDS.items() if name != "money"}  # it has a door of its own

    def one(kind: str, text: str, bare: str | None) -> str:
        try:
            value = read(kind, text, bare=bare)
        except MeasureError as error:
            assert error.reason
            assert error.example
            assert 0 <= error.at <= len(text)
            f"{error}{error.one_line()}".encode()
            return shape(error.reason)
        assert math.isfinite(value)
        assert KINDS[kind].least <= value <= KINDS[kind].most
        for system in System:
            read(kind, write(Quantity(kind, value), system=system))
        return "read"

    def ask(data: bytes) -> str:
        text = data.decode("utf-8", errors="replace")
        said = {one(kind, text, bare) for kind, row in kinds.items() for bare in (None, row.metric)}
        try:
            read_money(text, bare="USD")
        except MeasureError as error:
            str(error).encode()
        try:
            option_of(text)
        except WantedError as error:
            str(error).encode()
        return " / ".join(sorted(said))

    return ask


# --- tables -----------------------------------------------------------------------------------------------

_DAYS = (
    b"date,job,step,condition,unit,amount,hours\n2026-05-04,walk,forms,,ft,64,5\n4.5.2026,x,pour,hot,yd3,3,\n"
)
_LOADS = b"fecha;obra;unidad;dibujado;entregado;sobrante\n2026-05-04;walk;yd3;3,1;3,5;0,2\n"


def _table_seeds() -> list[bytes]:
    book = (ROOT / "src/slabwright/money/demo_book.csv").read_bytes()
    lines = book.splitlines(keepends=True)
    return [book[:12_000].rpartition(b"\n")[0], b"".join(lines[:1] + lines[1::25]), _DAYS, _LOADS]


def _tables() -> Ask:
    from slabwright.priced import NotUsableError, read_books, read_records

    def ask(data: bytes) -> str:
        said = []
        for reader in (read_books, read_records):
            try:
                said.append(_told(reader([("given.csv", data)]).findings))
            except NotUsableError as error:
                assert all(one.where for one in error.findings)
                said.append(_told(error.findings))
        return " | ".join(said)

    return ask


def _workbook_seeds() -> list[bytes]:
    from slabwright.money import load_book
    from slabwright.money.book_files import book_xlsx

    lines = (ROOT / "src/slabwright/money/demo_book.csv").read_text(encoding="utf-8").splitlines()
    return [book_xlsx(load_book("\n".join(lines[:1] + lines[n::40]), name="b.csv")) for n in (1, 2)]


def _weather_seeds() -> list[bytes]:
    hours = "".join(f"2026-07-14T{h:02}:00,{60 + h},50,6,20\n" for h in range(24))
    head = "LOCATION,x,IL,USA,TMY3,725300,41.98,-87.92,-6.0,201\n" + "x\n" * 7
    rows = "".join(
        f"2020,7,{d},{h},0,x,24.0,15.0,55,99000,0,0,0,{h * 30},0,0,0,0,0,0,180,3.2,4,4\n"
        for d in (13, 14, 15)
        for h in range(1, 25)
    )
    period = '{"startTime":"2026-07-14T%02d:00:00-05:00","temperature":%d,"temperatureUnit":"F","windSpeed":"5 to 10 mph","shortForecast":"Sunny","relativeHumidity":{"unitCode":"wmoUnit:percent","value":50}}'
    periods = ",\n".join(period % (h, 60 + h) for h in range(24))
    layers = '"temperature":{"uom":"wmoUnit:degC","values":[\n{"validTime":"2026-07-14T00:00:00+00:00/PT12H",\n"value":20},\n{"validTime":"2026-07-14T12:00:00+00:00/P1D",\n"value":25}]},\n"windSpeed":{"uom":"wmoUnit:km_h-1","values":[{"validTime":"2026-07-14T00:00:00+00:00/P2D","value":9}]}'
    return [
        ("time,temperature F,humidity %,wind mph,sky %\n" + hours).encode(),
        (head + rows).encode(),
        ('{"properties":{"periods":[\n' + periods + "]}}").encode(),
        ('{"properties":{\n' + layers + "}}").encode(),
    ]


def _weather() -> Ask:
    from datetime import date

    from slabwright.pourday.model import Site
    from slabwright.pourday.weather import WeatherError
    from slabwright.pourday.weather_files import read_csv, read_epw, read_nws

    site = Site.of_degrees(41.9, -87.6, "America/Chicago")

    def ask(data: bytes) -> str:
        text = data.decode("utf-8", errors="replace")
        try:
            if text.startswith("LOCATION"):
                found = read_epw(text, date(2026, 7, 13), 3, site)[1]
            elif text.lstrip().startswith("{"):
                found = read_nws(text, site)[1]
            else:
                found = read_csv(text, site)[1]
        except WeatherError as error:
            assert str(error).strip()
            str(error).encode()
            return shape(str(error)) + _told(error.findings)
        return _told(found)

    return ask


# --- readings and points ----------------------------------------------------------------------------------


def _point_seeds() -> list[bytes]:
    from slabwright.ground.dxf_points import points_to_dxf
    from slabwright.ground.exchange import NamedPoint

    points = [
        NamedPoint("A", 0.0, 0.0, 1.0),
        NamedPoint("B", 12.0, 0.5, 1.1),
        NamedPoint("N1", 3.0, -4.0, 0.9),
    ]
    land = (
        b'<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2">\n<Units><Imperial linearUnit="foot"/></Units>\n'
        b'<CgPoints>\n<CgPoint name="A">0 0 100.5</CgPoint>\n<CgPoint name="B">0.2 48 100.1</CgPoint>\n</CgPoints></LandXML>'
    )
    readings = (
        b"set-up,point,reading (ft),remark\nS9,N1,4.85,by the gate\n,N2,4' 9 1/4,\n# talk\nS10,N1,3.2,\n"
    )
    return [readings, b"punto;lectura;nota\nN1;1,482 m;\nN2;1.4;\n", land, points_to_dxf(points).encode()]


def _points() -> Ask:
    from slabwright.ground.bring_in import with_points, with_readings
    from slabwright.ground.csv_readings import readings_from_csv
    from slabwright.ground.dxf_points import points_from_dxf
    from slabwright.ground.landxml import points_from_landxml
    from slabwright.notes import NotesError, WriteError, parse_notes

    text = (ROOT / "examples/side-walk/job.yaml").read_text(encoding="utf-8")
    notes = parse_notes(text)

    def ask(data: bytes) -> str:
        try:
            if data.lstrip()[:1] == b"<":
                new = with_points(text, notes, points_from_landxml(data, unit=None), name="f.xml")
            elif b"SECTION" in data[:200]:
                new = with_points(text, notes, points_from_dxf(data, unit="ft"), name="f.dxf")
            else:
                new = with_readings(
                    text, notes, readings_from_csv(data, unit="ft"), set_up="new", name="f.csv"
                )
            kept = {line.strip() for line in text.splitlines() if line.strip().startswith("#")}
            assert kept <= {line.strip() for line in new.splitlines()}, "a remark was lost"
            parse_notes(new)
        except NotesError as error:
            return _said(error.mistakes)
        except WriteError as error:
            return shape(str(error))
        return "brought in"

    return ask


READERS: dict[str, Reader] = {
    "job": Reader("the job file, read and checked", _job_seeds, _job, watched=("slabwright", "ruamel")),
    "plan": Reader("job files that can be read, planned", _starters, _planned, kind="notes", slow=20.0),
    "measure": Reader("lengths, slopes, times, money and options as typed", _measure_seeds, _measures),
    "table": Reader("price book and records, CSV", _table_seeds, _tables),
    "workbook": Reader("price book, XLSX", _workbook_seeds, _tables, kind="zip"),
    "weather": Reader("hours of weather: CSV, EPW, JSON", _weather_seeds, _weather),
    "points": Reader("readings and points brought in: CSV, LandXML, DXF", _point_seeds, _points),
    "kept": Reader("quote.json, with its changes and bills", office.kept_seeds, office.kept),
    "edits": Reader(
        "edits that pages and programs send, made in a job file", office.edit_seeds, office.edits
    ),
    "backup": Reader("backups taken back", office.backup_seeds, office.backups, kind="zip"),
    "photo": Reader(
        "photos sent in", office.photo_seeds, office.photos, kind="bytes", watched=("slabwright", "PIL")
    ),
}
