"""The job file as text, for what the sheet's fields do not hold."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from slabwright.notes import Mistake
from slabwright.office.actions import jobs as actions
from slabwright.office.actions.edits import mistakes_of
from slabwright.office.actions.jobs import BusyError
from slabwright.office.asking import PersonRequest
from slabwright.office.models import Job, Revision
from slabwright.office.sheet.story import difference
from slabwright.office.words import word


def notes(request: PersonRequest, code: str) -> HttpResponse:
    """Show and take the whole text; a text that cannot be used is shown again with what is wrong, by line."""
    job = get_object_or_404(Job, code=code)
    if request.method != "POST":
        return _page(request, job, job.text, wrong=mistakes_of(job.text))
    text = _lines(request.POST.get("text", ""))
    try:
        base = int(request.POST.get("base", ""))
    except ValueError:
        base = 0
    try:
        done = actions.rewrite(person=request.user, job=job, text=text, base=base)
    except BusyError:
        return _page(request, job, text, status=503, busy=word("sheet-busy", request.lang))
    if done.saved:
        messages.success(request, word("sheet-saved", request.lang))
        return redirect("job", code=code)
    job.refresh_from_db()
    if done.clashes:
        before = Revision.objects.filter(job=job, number=base).first()
        theirs = difference(before.text if before else text, job.text)
        who = done.by or word("clash-somebody", request.lang)
        return _page(request, job, text, status=409, theirs=theirs, who=who)
    return _page(request, job, text, status=422, base=base, wrong=done.mistakes, refused=True)


def _lines(text: str) -> str:
    """Return what a browser sent with the line ends of a job file, ending with one."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return text if not text or text.endswith("\n") else text + "\n"


def _page(
    request: PersonRequest,
    job: Job,
    text: str,
    *,
    status: int = 200,
    base: int | None = None,
    wrong: tuple[Mistake, ...] = (),
    **more: Any,
) -> HttpResponse:
    said = [one.say(request.lang) for one in wrong]
    shown = {"job": job, "text": text, "base": base or job.number, "wrong": said, **more}
    return render(request, "office/sheet_notes.html", shown, status=status)
