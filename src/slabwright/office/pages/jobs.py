"""The list of jobs: searched, by state, page by page; new ones, typed or brought in as a file."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.core.paginator import Page, Paginator
from django.db.models import Count, QuerySet
from django.http import HttpResponse
from django.shortcuts import redirect, render

from slabwright.notes import Mistake, NotesError
from slabwright.office.actions import job_list
from slabwright.office.actions import jobs as actions
from slabwright.office.asking import PersonRequest
from slabwright.office.models import Job, State
from slabwright.office.words import word

USES = ("walk", "patio", "driveway", "apron", "pad", "landing")
A_PAGE = 50
SHOWN = ("code", "title", "customer", "state", "plans", "stops", "pours", "hidden")
MOST_MISTAKES = 100  # that a page shows


class NewForm(forms.Form):
    """What a new job needs: a title, a use; the customer may come later."""

    title = forms.CharField(max_length=200)
    use = forms.ChoiceField(choices=[(use, use) for use in USES], initial="walk")
    customer = forms.CharField(max_length=200, required=False)


def folded(text: str) -> str:
    """Return a text as it is searched: small letters without their accents."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    return "".join(c for c in plain if not unicodedata.combining(c))


def searched(rows: QuerySet[Job], typed: str, lang: str) -> list[int]:
    """Return the keys of the jobs whose title, customer and state hold every word that was typed."""
    words = folded(typed).split()
    states = {state.value: folded(word(f"state-{state.value}", lang)) for state in State}
    return [
        pk
        for pk, title, customer, state in rows.values_list("pk", "title", "customer", "state")
        if all(one in f"{folded(title)}\n{folded(customer)}\n{states.get(state, state)}" for one in words)
    ]


def listed(request: PersonRequest) -> HttpResponse:
    """Show the jobs, those touched last on top; `q` searches, `state` and `hidden` choose."""
    hidden = request.GET.get("hidden") == "1"
    typed = " ".join(request.GET.get("q", "").split())[:100]
    state = request.GET.get("state", "")
    rows = Job.objects.filter(hidden=hidden).order_by("-touched", "-pk")
    counts = dict(rows.order_by().values_list("state").annotate(Count("pk")))
    if state in State.values:
        rows = rows.filter(state=state)
    else:
        state = ""
    keys: Any = searched(rows, typed, request.lang) if typed else rows.values_list("pk", flat=True)
    page: Page[int] = Paginator(keys, A_PAGE).get_page(request.GET.get("page"))
    found = Job.objects.only(*SHOWN).in_bulk(list(page.object_list))
    who = request.user
    jobs = [
        (job, job_list.after(who, job.state), job_list.others(who, job.state))
        for job in (found.get(pk) for pk in page)
        if job is not None
    ]
    asked = {"q": typed, "state": state, "hidden": "1" if hidden else ""}
    shown = {
        "jobs": jobs,
        "page": page,
        "typed": typed,
        "state": state,
        "hidden": hidden,
        "states": [(one, counts.get(one, 0)) for one in State.values],
        "every": sum(counts.values()),
        "put_away": 0 if hidden else Job.objects.filter(hidden=True).count(),
        "before": _address(asked, page.previous_page_number()) if page.has_previous() else "",
        "after": _address(asked, page.next_page_number()) if page.has_next() else "",
        "back": request.get_full_path(),
    }
    return render(request, "office/jobs.html", shown)


def _address(asked: dict[str, str], number: int) -> str:
    return "?" + urlencode({**{k: v for k, v in asked.items() if v}, "page": number})


def new(request: PersonRequest) -> HttpResponse:
    """Start a job."""
    form = NewForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        job = actions.start(person=request.user, lang=request.lang, **form.cleaned_data)
        return redirect("job", code=job.code)
    shown = {"form": form, "uses": USES}
    return render(request, "office/job_new.html", shown, status=422 if form.errors else 200)


def bring(request: PersonRequest) -> HttpResponse:
    """Bring a job file in, as a file or as text; what is wrong with it stands by line, the text stays."""
    if request.method != "POST":
        return _bring_page(request, "")
    file = request.FILES.get("file")
    text = request.POST.get("text", "").replace("\r\n", "\n")
    try:
        if file is not None:
            if (file.size or 0) > job_list.MOST_BYTES:
                raise job_list.FileError("bring-too-big")
            text = job_list.text_of_file(file.read())
        else:
            text = job_list.text_of_file(text.encode("utf-8", "replace"))
        job = actions.bring_in(person=request.user, text=text)
    except job_list.FileError as error:
        return _bring_page(request, text, wrong=word(str(error), request.lang))
    except NotesError as error:
        return _bring_page(request, text, mistakes=error.mistakes)
    return redirect("job", code=job.code)


def _bring_page(
    request: PersonRequest, text: str, *, wrong: str = "", mistakes: Iterable[Mistake] = ()
) -> HttpResponse:
    every = tuple(mistakes)
    said = [one.say(request.lang) for one in every[:MOST_MISTAKES]]
    shown = {"text": text, "wrong": wrong, "mistakes": said, "count": len(every)}
    return render(request, "office/job_bring.html", shown, status=422 if wrong or every else 200)
