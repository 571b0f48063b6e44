"""A job's sheets and files, made when they are asked for and kept for a while."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from io import BytesIO
from typing import Any

from django.contrib import messages
from django.http import FileResponse, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render

from slabwright.office.actions import jobs as actions
from slabwright.office.actions.weather import hours_of
from slabwright.office.asking import PersonRequest
from slabwright.office.hours.run import poured
from slabwright.office.models import Job, Revision
from slabwright.office.pages.errors import not_found
from slabwright.office.planning import planned
from slabwright.office.sheet.sections import sections
from slabwright.office.words import word
from slabwright.result import Plan
from slabwright.sheets.files import Packet

KEPT = 12  # files that a worker keeps; a packet takes about 200 kB
POURED = 4  # plans with everything that paper needs
PART = re.compile(r"sheets-([a-z-]+)\.pdf")  # the sheets of one part of the long sheet


@dataclass(frozen=True, slots=True)
class Source:
    """What files are made from: a text that can be planned, its revision and day, hours of weather if any."""

    text: str
    name: str
    revision: int
    day: str
    weather: str = ""
    weather_name: str = ""


@lru_cache(maxsize=POURED)
def plan_for_paper(source: Source) -> Plan:
    """Return the plan with what only sheets need: the pour, if its weather is given."""
    plan = planned(source.text, source.name).plan
    assert plan is not None, "a source is a text that can be planned"
    run = poured(source.text, source.name, source.weather, source.weather_name)
    if run.plan is None:
        return plan
    return replace(plan, pour=run.plan.pour, pour_run=run.plan.pour_run, findings=run.plan.findings)


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
def file_of(source: Source, file: str, lang: str) -> bytes:
    """Return one file, empty for a name that there is none of."""
    plan = plan_for_paper(source)
    packet = Packet(plan, date=source.day, revision=str(source.revision), lang=lang)
    wanted = _part(file)
    if wanted is None:
        return packet.file(file)
    pages = [page for page in packet.pages if page.key in wanted]
    return packet.printed(pages) if pages else b""


def _part(file: str) -> tuple[str, ...] | None:
    """Return the sheets that 'sheets-dig.pdf' holds, None for a file that is no part of the long sheet."""
    own = PART.fullmatch(file)
    return next((one.sheets for one in sections() if own is not None and one.key == own[1]), None)


def source_of(job: Job) -> Source | None:
    """Return what a job's files are made from: its newest text that can be planned; None where none can."""
    found, number = actions.good_plan_of(job)
    if found.plan is None:
        return None
    old = Revision.objects.get(job=job, number=number)
    return Source(old.text, actions.name_of(job), number, old.when.date().isoformat(), *hours_of(job))


def file(request: PersonRequest, code: str, name: str = "packet.pdf") -> HttpResponseBase:
    """Hand out one file of the newest plan that there is; the job file itself is always the newest."""
    job = get_object_or_404(Job, code=code)
    short = actions.name_of(job)
    if name == "job.yaml":
        return _handed(job.text.encode(), f"{short}.yaml", "yaml")
    source = source_of(job)
    if source is None:
        messages.error(request, word("files-none", request.lang))
        return redirect("job", code=code)
    body = file_of(source, name, request.lang)
    if not body and _part(name) is not None:
        return redirect("job-packet", code=code)  # a part that has no sheet of its own stands in the whole
    if not body:
        return not_found(request)
    kind = name.rpartition(".")[2]
    called = f"{short}-{source.revision}.{kind}" if name == "packet.pdf" else f"{short}-{name}"
    return _handed(body, called, kind)


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
    packet = Packet(plan, lang=lang)
    return {
        "tables": tuple((one.key, one.title.of(lang)) for one in packet.tables),
        "drawings": tuple((key, one.alt) for key, one in packet.drawings.items()),
    }


def files(request: PersonRequest, code: str) -> HttpResponse:
    """Show every file of a job."""
    job = get_object_or_404(Job, code=code)
    source = source_of(job)
    plan = plan_for_paper(source) if source is not None else None
    shown = {"job": job, "source": source, **listed(plan, request.lang)}
    return render(request, "office/sheet_files.html", shown)
