"""What a customer took of a quote, told to all who see the job, and put into its notes by an owner."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect

from slabwright.office.actions import taken as actions
from slabwright.office.actions.jobs import BusyError, Outcome
from slabwright.office.asking import PersonRequest
from slabwright.office.models import Job, Quote
from slabwright.office.words import word


def told_took(request: PersonRequest, job: Job) -> dict[str, Any] | None:
    """Return what the notice shows: names of options, never a price; None where none was taken."""
    found, lang = actions.took(job), request.lang
    if found is None:
        return None
    names = "; ".join(found.names(lang))
    return {
        "pk": found.quote.pk,
        "missing": found.what.missing,
        "said": word("took-missing", lang, names=names),
        "by_hand": "; ".join(found.by_hand(lang)),
        "edits": bool(found.what.edits),
        "owner": request.user.is_owner,
    }


def into_notes(request: PersonRequest, code: str, pk: int) -> HttpResponse:
    """Put what was taken into the notes."""
    job = get_object_or_404(Job, code=code)
    get_object_or_404(Quote, pk=pk, job=job)
    lang = request.lang
    try:
        done = actions.put_in(person=request.user, job=job)
    except BusyError:
        messages.error(request, word("sheet-busy", lang))
    else:
        job.refresh_from_db()
        left = actions.took(job)
        if not done.saved:
            messages.error(request, word("took-refused", lang, why=_why(done, lang)))
        elif left is not None and left.what.missing:
            messages.warning(request, word("took-not-yet", lang))
        else:
            messages.success(request, word("took-held", lang))
    return redirect("job", code=code) if request.POST.get("back") == "job" else redirect("quote", code, pk)


def _why(done: Outcome, lang: str) -> str:
    if done.mistakes:
        return done.mistakes[0].say(lang).why
    return word("took-moved", lang)
