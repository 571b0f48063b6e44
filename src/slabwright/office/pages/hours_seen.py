"""During the pour: one thing seen goes into the notes, or out of them, and the day is worked out anew."""

from __future__ import annotations

from collections.abc import Mapping

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from slabwright.notes.said import told
from slabwright.office.actions import jobs as actions
from slabwright.office.actions.edits import Edit, made
from slabwright.office.actions.weather import hours_of
from slabwright.office.asking import PersonRequest
from slabwright.office.hours.run import poured
from slabwright.office.hours.seen import SeenError, kept, taken_back
from slabwright.office.models import Job
from slabwright.office.pages.hours import page_of
from slabwright.office.words import word


def seen(request: PersonRequest, code: str) -> HttpResponse:
    """Keep what was sent, or take row `drop` away; what cannot be is said on the page."""
    job = get_object_or_404(Job, code=code)
    lang, sent = request.lang, request.POST
    try:
        outcome = actions.change(
            person=request.user, job=job, edits=[_edit(job, sent, lang)], base=job.number
        )
        wrong = " ".join(one.why for one in outcome.mistakes) or word("seen-other", lang)
        why = "" if outcome.saved else wrong
    except SeenError as error:
        why = str(error)
    except actions.BusyError:
        why = word("sheet-busy", lang)
    if not why:
        return redirect(f"{reverse('job-hours', args=[job.code])}#seen")
    return render(request, "office/hours/page.html", page_of(job, lang, unseen=why, typed=sent), status=422)


def _edit(job: Job, sent: Mapping[str, str], lang: str) -> Edit:
    drop = sent.get("drop", "")
    if drop:
        return taken_back(job.text, int(drop) if drop.isdecimal() and len(drop) < 6 else -1, lang)
    plan = actions.plan_of(job).plan
    if plan is None:
        raise SeenError(word("picture-none", lang))
    what, panel, clock = (sent.get(key, "") for key in ("what", "panel", "at"))
    edit = kept(job.text, plan, what, panel, clock, lang, now=timezone.now())
    _tried(job, edit, lang)
    return edit


def _tried(job: Job, edit: Edit, lang: str) -> None:
    """Work the day out with what is to be kept; SeenError where it cannot have been so.

    What was seen before may be at fault as well: then the crew is told, and keeps nothing that does not fit.
    """
    new, wrong = made(job.text, [edit])
    if wrong:
        return  # told by the change itself
    run = poured(new, actions.name_of(job), *hours_of(job))
    if run.plan is None and run.why:
        raise SeenError(told(run.why, lang))
