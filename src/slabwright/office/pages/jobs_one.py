"""One tap on a job of the list: its state, out of sight, a copy; and the question before it is deleted."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import url_has_allowed_host_and_scheme

from slabwright.office.actions import job_list as actions
from slabwright.office.asking import PersonRequest
from slabwright.office.models import Job, State
from slabwright.office.pages.errors import bad_request
from slabwright.office.words import word


def came_from(request: HttpRequest, otherwise: str = "jobs") -> HttpResponse:
    """Return to the page of this office that the form stood on."""
    back = request.POST.get("back", "")
    own = url_has_allowed_host_and_scheme(back, {request.get_host()}, require_https=request.is_secure())
    return redirect(back if own and back.startswith("/") else otherwise)


def _job(code: str) -> Job:
    return get_object_or_404(Job.objects.defer("text"), code=code)


def stand(request: PersonRequest, code: str) -> HttpResponse:
    """Put a job into a state."""
    job, state = _job(code), request.POST.get("state", "")
    if state not in State.values:
        return bad_request(request)
    said = word(f"state-{state}", request.lang)
    try:
        if actions.stand(person=request.user, job=job, state=state):
            messages.success(request, word("job-stands", request.lang, title=job.title, state=said))
    except actions.OwnerOnlyError:
        was = word(f"state-{job.state}", request.lang)
        messages.error(request, word("job-stands-not", request.lang, title=job.title, state=said, was=was))
    return came_from(request)


def hide(request: PersonRequest, code: str) -> HttpResponse:
    """Take a job out of the list, or put it back."""
    job, hidden = _job(code), request.POST.get("hidden", "1") != "0"
    actions.put_away(person=request.user, job=job, hidden=hidden)
    key = "job-put-away" if hidden else "job-put-back"
    messages.success(request, word(key, request.lang, title=job.title))
    return came_from(request)


def copy(request: PersonRequest, code: str) -> HttpResponse:
    """Make a new job of this one's notes."""
    job = _job(code)
    title = word("job-copy-title", request.lang, title=job.title)[:200]
    made = actions.copy(person=request.user, job=job, title=title)
    messages.success(request, word("job-copied", request.lang, title=job.title))
    return redirect("job", code=made.code)


def delete(request: PersonRequest, code: str) -> HttpResponse:
    """Ask whether a job shall be deleted with all that hangs on it; do it when the box is ticked."""
    job = _job(code)
    if request.method == "POST" and request.POST.get("sure") == "yes":
        title = job.title
        actions.delete(person=request.user, job=job)
        messages.success(request, word("job-deleted", request.lang, title=title))
        return redirect("jobs")
    wrong = request.method == "POST"
    shown = {"job": job, "held": actions.hangs_on(job), "wrong": wrong}
    return render(request, "office/job_delete.html", shown, status=422 if wrong else 200)
