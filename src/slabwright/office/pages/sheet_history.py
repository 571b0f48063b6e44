"""Every revision of a job: who, when, what; taking one back; going back to an older state."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from slabwright.office.actions import jobs as actions
from slabwright.office.actions.jobs import BusyError, Outcome
from slabwright.office.asking import PersonRequest
from slabwright.office.models import Job, Revision
from slabwright.office.sheet.story import difference, story
from slabwright.office.words import word

A_PAGE = 40  # revisions


def history(request: PersonRequest, code: str) -> HttpResponse:
    """Show the revisions, the newest on top."""
    job = get_object_or_404(Job.objects.defer("text"), code=code)
    rows = Revision.objects.filter(job=job).defer("text").order_by("-number")
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    listed = [_row(one, request.lang) for one in page]
    shown = {"job": job, "page": page, "rows": listed, "last": listed[0] if page.number == 1 else None}
    return render(request, "office/sheet_history.html", shown)


def _row(one: Revision, lang: str) -> dict[str, Any]:
    return {
        "number": one.number,
        "who": one.by or word("clash-somebody", lang),
        "when": one.when,
        "plans": one.plans,
        "kind": one.kind,
        "lines": story(one.kind, one.changes, lang).lines,
    }


def revision(request: PersonRequest, code: str, number: int) -> HttpResponse:
    """Show one revision beside the one before it."""
    job = get_object_or_404(Job.objects.defer("text"), code=code)
    one = get_object_or_404(Revision, job=job, number=number)
    before = Revision.objects.filter(job=job, number=number - 1).first()
    lines = difference(before.text if before else "", one.text)
    shown = {"job": job, "row": _row(one, request.lang), "lines": lines, "first": before is None}
    return render(request, "office/sheet_revision.html", shown)


def undo(request: PersonRequest, code: str, number: int) -> HttpResponse:
    """Take one revision back."""
    job = get_object_or_404(Job, code=code)
    get_object_or_404(Revision, job=job, number=number)
    lang = request.lang
    try:
        done = actions.undo(person=request.user, job=job, number=number)
    except BusyError:
        messages.error(request, word("sheet-busy", lang))
        return redirect("job-history", code=code)
    if done.saved:
        messages.success(request, word("history-undone", lang, number=number))
    else:
        why = word(_why_not(done), lang)
        messages.error(request, word("history-not-undone", lang, number=number, why=why))
    back = "job" if request.POST.get("back") == "sheet" and done.saved else "job-history"
    return redirect(back, code=code)


def _why_not(done: Outcome) -> str:
    return "history-written-since" if done.clashes or done.gone or done.mistakes else "history-nothing"


def restore(request: PersonRequest, code: str, number: int) -> HttpResponse:
    """Go back to the text of one revision; what came between is kept as revisions too."""
    job = get_object_or_404(Job, code=code)
    get_object_or_404(Revision, job=job, number=number)
    try:
        actions.restore(person=request.user, job=job, number=number)
    except BusyError:
        messages.error(request, word("sheet-busy", request.lang))
    else:
        messages.success(request, word("history-restored", request.lang, number=number))
    return redirect("job", code=code)
