"""The files of a packet: PDF, SVG and DXF drawings, CSV and XLSX tables, plan.json, pictures."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

from slabwright.measure import System
from slabwright.result import Plan
from slabwright.sheets.document import plan_bytes
from slabwright.sheets.drawing import Drawing
from slabwright.sheets.furniture import compose
from slabwright.sheets.job_drawings import job_drawings
from slabwright.sheets.job_pages import job_pages
from slabwright.sheets.job_tables import all_tables
from slabwright.sheets.packet import write_pdf, write_png
from slabwright.sheets.pages import Page, Strip
from slabwright.sheets.picture import Picture
from slabwright.sheets.pour_chart import hours_chart
from slabwright.sheets.pour_pages import pour_findings, pour_pages
from slabwright.sheets.pour_tables import pour_tables
from slabwright.sheets.svg import svg
from slabwright.sheets.table_files import csv_text, xlsx_bytes
from slabwright.sheets.tables import Table

HOURS = "pour-hours.svg"
DEFAULT_PAPER = {System.IMPERIAL: "letter", System.METRIC: "A4"}


def paper_for(units: System, *asked: str | None) -> str:
    """Return the paper to print on: the first that is asked for, else that of the units."""
    return next(filter(None, asked), DEFAULT_PAPER[units]).lower()


class Packet:
    """The files of one packet, each made when it is asked for.

    date: ISO day printed on the sheets, or None. paper: 'letter', 'tabloid', 'A4', 'A3' or None for the
    job's own. The same plan and options give the same bytes.
    """

    def __init__(
        self,
        plan: Plan,
        *,
        date: str | None = None,
        revision: str = "",
        paper: str | None = None,
        lang: str = "en",
    ) -> None:
        """Take the plan and how it is printed."""
        self.plan, self.lang, self.system = plan, lang, plan.notes.units
        self.paper = paper_for(self.system, paper, plan.notes.paper)
        self.strip = Strip(
            job=plan.notes.title,
            date=datetime.date.fromisoformat(date) if date else None,
            revision=revision,
            drawn_from=plan.notes.measured or "",
        )
        self._pictures: dict[str, Picture] = {}

    @cached_property
    def pages(self) -> tuple[Page, ...]:
        """Return the sheets."""
        return job_pages(self.plan, paper=self.paper, lang=self.lang)

    @cached_property
    def drawings(self) -> Mapping[str, Drawing]:
        """Return the drawings of the job by their names."""
        return job_drawings(self.plan, self.lang)

    @cached_property
    def tables(self) -> tuple[Table, ...]:
        """Return the tables of the job and, where there is a pour, of its day."""
        return (*all_tables(self.plan, self.lang), *pour_tables(self.plan, self.lang))

    def printed(self, pages: Sequence[Page]) -> bytes:
        """Return pages as one PDF."""
        return write_pdf(pages, self.strip, system=self.system, lang=self.lang)

    def hours(self) -> bytes:
        """Return the chart of the pour's hours as SVG."""
        width, height = Page("", paper=self.paper).body()
        return svg(hours_chart(self.plan, self.lang)(width, height), fitted=True).encode()

    def _picture(self, key: str) -> Picture:
        if key not in self._pictures:
            width, height = Page("", paper=self.paper).body()
            self._pictures[key] = compose(
                self.drawings[key],
                width=width,
                height=height,
                system=self.system,
                lang=self.lang,
                bearing=self.plan.notes.place.bearing,
            )
        return self._pictures[key]

    def file(self, name: str) -> bytes:
        """Return one file by its name without a folder (grades.csv); empty for one that there is none of."""
        from slabwright.sheets.dxf import dxf_text

        stem, _, kind = name.rpartition(".")
        if name == "packet.pdf":
            return self.printed(self.pages)
        if name == "plan.json":
            return plan_bytes(self.plan)
        if name == "tables.xlsx":
            return xlsx_bytes(self.tables, system=self.system, lang=self.lang)
        if name == HOURS and self.plan.pour is not None:
            return self.hours()
        if kind in ("svg", "dxf") and stem in self.drawings:
            picture = self._picture(stem)
            return (svg(picture, fitted=True) if kind == "svg" else dxf_text(picture)).encode()
        found = [table for table in self.tables if kind == "csv" and table.key == stem]
        return csv_text(found[0], system=self.system, lang=self.lang).encode() if found else b""


def packet_files(
    plan: Plan,
    *,
    pictures: bool = False,
    on_stage: Callable[[str], None] | None = None,
    **printed: Any,
) -> Iterator[tuple[str, bytes]]:
    """Yield (file name, content) of every file of the packet.

    pictures: also each page as a PNG. printed: date, revision, paper and lang, as `Packet` takes them.
    """
    tell = on_stage or (lambda _stage: None)
    packet = Packet(plan, **printed)
    tell("sheets: the packet")
    yield from ((name, packet.file(name)) for name in ("packet.pdf", "plan.json"))
    tell("sheets: drawings")
    if plan.pour is not None:
        yield f"drawings/{HOURS}", packet.hours()
    for key in packet.drawings:
        yield from ((f"drawings/{key}.{kind}", packet.file(f"{key}.{kind}")) for kind in ("svg", "dxf"))
    tell("sheets: tables")
    for table in packet.tables:
        yield f"tables/{table.key}.csv", packet.file(f"{table.key}.csv")
    yield "tables.xlsx", packet.file("tables.xlsx")
    if pictures:
        tell("sheets: pictures")
        pngs = write_png(packet.pages, packet.strip, system=packet.system, lang=packet.lang)
        yield from ((f"sheet-{n}.png", png) for n, png in enumerate(pngs, 1))


def pour_files(
    plan: Plan, *, on_stage: Callable[[str], None] | None = None, **printed: Any
) -> Iterator[tuple[str, bytes]]:
    """Yield (file name, content) of the pour's sheets, chart and tables; options as in `packet_files`.

    ValueError where the plan has no pour.
    """
    if plan.pour is None:
        raise ValueError("no weather was given, so there is no pour to print")
    tell = on_stage or (lambda _stage: None)
    packet = Packet(plan, **printed)
    size, lang = packet.paper, packet.lang
    tell("sheets: the pour")
    pages = (*pour_pages(plan, paper=size, lang=lang), pour_findings(plan, paper=size, lang=lang))
    yield "pour.pdf", packet.printed(pages)
    yield f"drawings/{HOURS}", packet.hours()
    for table in pour_tables(plan, lang):
        yield f"tables/{table.key}.csv", packet.file(f"{table.key}.csv")
