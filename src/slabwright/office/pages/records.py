"""The end of a day: what was done and what became of the order, in one short form for a job."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from slabwright.money.tables_in import MOST_BYTES
from slabwright.office.actions import prices
from slabwright.office.actions import records as actions
from slabwright.office.asking import PersonRequest
from slabwright.office.models import Book, DayRecord, Job, LoadRecord
from slabwright.office.pages.books import rows_told
from slabwright.office.when import today
from slabwright.office.words import word

KINDS = {"day": DayRecord, "load": LoadRecord}


def steps() -> list[tuple[str, str, str]]:
    """Return the steps whose rate may be learned, with condition and unit, from the book in use."""
    from slabwright.office.actions.books import lines_of

    book = Book.objects.filter(used=True).order_by("-when", "-pk").first()
    lines = lines_of(book or Book(name="demo", csv=prices.demo_csv())).group("rate")
    return [(one.code, one.condition, one.unit) for one in lines]


def _page(request: PersonRequest, job: Job, status: int = 200, **more: Any) -> HttpResponse:
    shown = {
        "job": job,
        "steps": steps(),
        "days": job.days.select_related("person").order_by("-day", "-pk"),
        "loads": job.loads.select_related("person").order_by("-day", "-pk"),
        "typed": {"date": today().isoformat(), "unit": "yd3"},
        **more,
    }
    return render(request, "office/records.html", shown, status=status)


def listed(request: PersonRequest, code: str) -> HttpResponse:
    """Show a job's record; keep a day (kind day), an order (kind load), or a whole file."""
    job = get_object_or_404(Job.objects.defer("text"), code=code)
    if request.method != "POST":
        return _page(request, job)
    kind = request.POST.get("kind", "")
    typed = {key: str(value)[:200] for key, value in request.POST.items() if key != "csrfmiddlewaretoken"}
    if kind == "day":
        step, _, rest = typed.get("what", "").partition("|")
        condition, _, unit = rest.partition("|")
        typed |= {"step": step, "condition": condition, "unit": unit}
    file = request.FILES.get("file")
    try:
        if kind in KINDS:
            actions.keep_row(person=request.user, job=job, typed=typed, load=kind == "load")
            count = 1
        elif file is None or (file.size or 0) > MOST_BYTES:
            return _page(request, job, 422, wrong=word("records-choose", request.lang))
        else:
            count = actions.bring_in(
                person=request.user, job=job, content=file.read(), name=file.name or "days.csv"
            )
    except actions.RecordError as error:
        told = rows_told(error.findings, request.lang)
        wrong = word("records-wrong", request.lang)
        return _page(request, job, 422, wrong=wrong, told=told, typed=typed)
    messages.success(request, word("records-kept", request.lang, n=count))
    return redirect("records", code=code)


def gone(request: PersonRequest, code: str, kind: str, pk: int) -> HttpResponse:
    """Take one record away."""
    job = get_object_or_404(Job.objects.defer("text"), code=code)
    row: DayRecord | LoadRecord
    if kind == "load":
        row = get_object_or_404(LoadRecord, pk=pk, job=job)
    else:
        row = get_object_or_404(DayRecord, pk=pk, job=job)
    actions.take_away(person=request.user, row=row)
    return redirect("records", code=code)
