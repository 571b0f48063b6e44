"""The files of a packet: PDF, SVG and DXF drawings, CSV and XLSX tables, plan.json, pictures."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator

from slabwright.measure import System
from slabwright.result import Plan
from slabwright.sheets.document import plan_bytes
from slabwright.sheets.furniture import compose
from slabwright.sheets.job_drawings import job_drawings
from slabwright.sheets.job_pages import job_pages
from slabwright.sheets.job_tables import all_tables
from slabwright.sheets.packet import write_pdf, write_png
from slabwright.sheets.pages import Page, Strip
from slabwright.sheets.pour_chart import hours_chart
from slabwright.sheets.pour_pages import pour_findings, pour_pages
from slabwright.sheets.pour_tables import pour_tables
from slabwright.sheets.svg import svg
from slabwright.sheets.table_files import csv_text, xlsx_bytes

DEFAULT_PAPER = {System.IMPERIAL: "letter", System.METRIC: "A4"}


def packet_files(
    plan: Plan,
    *,
    date: str | None = None,
    revision: str = "",
    paper: str | None = None,
    lang: str = "en",
    pictures: bool = False,
    on_stage: Callable[[str], None] | None = None,
) -> Iterator[tuple[str, bytes]]:
    """Yield (file name, content) of every file of the packet.

    date: ISO day printed on the sheets, or None. paper: 'letter', 'tabloid', 'A4', 'A3' or None for the
    job's own. pictures: also each page as a PNG. The same plan and options give the same bytes.
    """
    from slabwright.sheets.dxf import dxf_text

    tell = on_stage or (lambda _stage: None)
    size = (paper or plan.notes.paper or DEFAULT_PAPER[plan.notes.units]).lower()
    strip = Strip(
        job=plan.notes.title,
        date=datetime.date.fromisoformat(date) if date else None,
        revision=revision,
        drawn_from=plan.notes.measured or "",
    )
    tell("sheets: the packet")
    pages = job_pages(plan, paper=size, lang=lang)
    yield "packet.pdf", write_pdf(pages, strip, system=plan.notes.units, lang=lang)
    yield "plan.json", plan_bytes(plan)
    tell("sheets: drawings")
    width, height = Page("", paper=size).body()
    if plan.pour is not None:
        yield _pour_chart(plan, width, height, lang)
    for key, one in job_drawings(plan, lang).items():
        picture = compose(
            one,
            width=width,
            height=height,
            system=plan.notes.units,
            lang=lang,
            bearing=plan.notes.place.bearing,
        )
        yield f"drawings/{key}.svg", svg(picture, fitted=True).encode()
        yield f"drawings/{key}.dxf", dxf_text(picture).encode()
    tell("sheets: tables")
    listed = (*all_tables(plan, lang), *pour_tables(plan, lang))
    for table in listed:
        yield f"tables/{table.key}.csv", csv_text(table, system=plan.notes.units, lang=lang).encode()
    yield "tables.xlsx", xlsx_bytes(listed, system=plan.notes.units, lang=lang)
    if pictures:
        tell("sheets: pictures")
        for n, png in enumerate(write_png(pages, strip, system=plan.notes.units, lang=lang), 1):
            yield f"sheet-{n}.png", png


def pour_files(
    plan: Plan,
    *,
    date: str | None = None,
    paper: str | None = None,
    lang: str = "en",
    on_stage: Callable[[str], None] | None = None,
) -> Iterator[tuple[str, bytes]]:
    """Yield (file name, content) of the pour's sheets, chart and tables; options as in `packet_files`.

    ValueError where the plan has no pour.
    """
    if plan.pour is None:
        raise ValueError("no weather was given, so there is no pour to print")
    tell = on_stage or (lambda _stage: None)
    size = (paper or plan.notes.paper or DEFAULT_PAPER[plan.notes.units]).lower()
    strip = Strip(
        job=plan.notes.title,
        date=datetime.date.fromisoformat(date) if date else None,
        drawn_from=plan.notes.measured or "",
    )
    tell("sheets: the pour")
    pages = (*pour_pages(plan, paper=size, lang=lang), pour_findings(plan, paper=size, lang=lang))
    yield "pour.pdf", write_pdf(pages, strip, system=plan.notes.units, lang=lang)
    yield _pour_chart(plan, *Page("", paper=size).body(), lang)
    for table in pour_tables(plan, lang):
        yield f"tables/{table.key}.csv", csv_text(table, system=plan.notes.units, lang=lang).encode()


def _pour_chart(plan: Plan, width: float, height: float, lang: str) -> tuple[str, bytes]:
    return "drawings/pour-hours.svg", svg(hours_chart(plan, lang)(width, height), fitted=True).encode()
