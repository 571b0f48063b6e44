"""A job's sheets and files, made when they are asked for and kept for a while."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from functools import lru_cache
from io import BytesIO
from typing import Any

from django.contrib import messages
from django.http import FileResponse, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect

from slabwright.office.actions import jobs as actions
from slabwright.office.asking import PersonRequest
from slabwright.office.models import Job, Revision
from slabwright.office.pages.errors import not_found
from slabwright.office.planning import read
from slabwright.office.words import word
from slabwright.plan import make
from slabwright.result import Plan
from slabwright.sheets.files import DEFAULT_PAPER
from slabwright.sheets.job_drawings import job_drawings
from slabwright.sheets.job_tables import all_tables
from slabwright.sheets.pages import Page, Strip

KEPT = 12  # files that a worker keeps; a packet takes about 200 kB
MAPPED = 4  # plans with everything that paper needs


@lru_cache(maxsize=MAPPED)
def plan_for_paper(text: str, name: str) -> Plan:
    """Return the plan with the cut-depth map, which only sheets need. The text is one that can be planned."""
    notes, _ = read(text)
    assert notes is not None
    return make(notes, name=name)


def _packet(plan: Plan, lang: str, revision: int, day: str) -> bytes:
    from slabwright.sheets.job_pages import job_pages
    from slabwright.sheets.packet import write_pdf

    strip = Strip(
        job=plan.notes.title,
        date=datetime.date.fromisoformat(day),
        revision=str(revision),
        drawn_from=plan.notes.measured or "",
    )
    return write_pdf(
        job_pages(plan, paper=_paper(plan), lang=lang), strip, system=plan.notes.units, lang=lang
    )


def _paper(plan: Plan) -> str:
    return (plan.notes.paper or DEFAULT_PAPER[plan.notes.units]).lower()


def _tables(plan: Plan, lang: str, _revision: int, _day: str) -> bytes:
    from slabwright.sheets.table_files import xlsx_bytes

    return xlsx_bytes(all_tables(plan, lang), system=plan.notes.units, lang=lang)


def _document(plan: Plan, _lang: str, _revision: int, _day: str) -> bytes:
    from slabwright.sheets.document import plan_bytes

    return plan_bytes(plan)


def _csv(key: str) -> Callable[[Plan, str, int, str], bytes]:
    def one(plan: Plan, lang: str, _revision: int, _day: str) -> bytes:
        from slabwright.sheets.table_files import csv_text

        table = next((t for t in all_tables(plan, lang) if t.key == key), None)
        return csv_text(table, system=plan.notes.units, lang=lang).encode() if table is not None else b""

    return one


def _drawing(key: str, kind: str) -> Callable[[Plan, str, int, str], bytes]:
    def one(plan: Plan, lang: str, _revision: int, _day: str) -> bytes:
        from slabwright.sheets.dxf import dxf_text
        from slabwright.sheets.furniture import compose
        from slabwright.sheets.svg import svg

        drawing = job_drawings(plan, lang).get(key)
        if drawing is None:
            return b""
        wide, high = Page("", paper=_paper(plan)).body()
        system, north = plan.notes.units, plan.notes.place.north
        picture = compose(drawing, width=wide, height=high, system=system, lang=lang, bearing=north)
        return (svg(picture, fitted=True) if kind == "svg" else dxf_text(picture)).encode()

    return one


TYPES = {
    "pdf": "application/pdf",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "json": "application/json",
    "csv": "text/csv; charset=utf-8",
    "svg": "image/svg+xml",
    "dxf": "image/vnd.dxf",
    "yaml": "application/yaml; charset=utf-8",
}


@lru_cache(maxsize=KEPT)
def made(text: str, name: str, file: str, lang: str, revision: int, day: str) -> bytes:
    """Return one file of a text that can be planned, empty for a name that there is none of."""
    stem, _, kind = file.rpartition(".")
    makers: dict[str, Callable[[Plan, str, int, str], bytes]] = {
        "packet.pdf": _packet,
        "tables.xlsx": _tables,
        "plan.json": _document,
    }
    maker = makers.get(file)
    if maker is None and kind == "csv":
        maker = _csv(stem)
    elif maker is None and kind in ("svg", "dxf"):
        maker = _drawing(stem, kind)
    return maker(plan_for_paper(text, name), lang, revision, day) if maker is not None else b""


def file(request: PersonRequest, code: str, name: str) -> HttpResponseBase:
    """Hand out one file of the newest plan that there is; the job file itself is always the newest."""
    job = get_object_or_404(Job, code=code)
    short = actions.name_of(job)
    if name == "job.yaml":
        return _handed(job.text.encode(), f"{short}.yaml", "yaml")
    planned, number = actions.good_plan_of(job)
    if planned.plan is None:
        messages.error(request, word("files-none", request.lang))
        return redirect("job", code=code)
    old = Revision.objects.get(job=job, number=number)
    body = made(old.text, short, name, request.lang, number, old.when.date().isoformat())
    if not body:
        return not_found(request)
    kind = name.rpartition(".")[2]
    return _handed(body, f"{short}-{number}.{kind}" if name == "packet.pdf" else f"{short}-{name}", kind)


def _handed(body: bytes, called: str, kind: str) -> HttpResponseBase:
    shown_here = kind in ("pdf", "json", "yaml")
    response = FileResponse(
        BytesIO(body), as_attachment=not shown_here, filename=called, content_type=TYPES[kind]
    )
    # A drawing or a text is shown by itself: nothing in it may run.
    response.headers["Content-Security-Policy"] = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
    if kind == "pdf":
        del response.headers["Content-Security-Policy"]
    return response


def listed(plan: Plan | None, lang: str) -> dict[str, Any]:
    """Return which files there are: tables and drawings with their names, nothing where there is no plan."""
    if plan is None:
        return {"tables": (), "drawings": ()}
    return {
        "tables": tuple((one.key, one.title.of(lang)) for one in all_tables(plan, lang)),
        "drawings": tuple((key, one.alt) for key, one in job_drawings(plan, lang).items()),
    }


def files(request: PersonRequest, code: str) -> HttpResponse:
    """Show every file of a job."""
    from django.shortcuts import render

    job = get_object_or_404(Job, code=code)
    planned, number = actions.good_plan_of(job)
    shown = {"job": job, "number": number, "planned": planned, **listed(planned.plan, request.lang)}
    return render(request, "office/sheet_files.html", shown)
