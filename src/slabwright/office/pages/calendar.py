"""The month: days on site and pour days, set by a tap; the feed for other calendars."""

from __future__ import annotations

import calendar
import datetime as dt
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from slabwright.office.actions import days as actions
from slabwright.office.actions import job_list
from slabwright.office.asking import PersonRequest
from slabwright.office.models import Job, Shop, State
from slabwright.office.pages.links import held_back, missed, private
from slabwright.office.when import today
from slabwright.office.words import word

FIRST, LAST = dt.date(2000, 1, 1), dt.date(2100, 12, 31)
OPEN = (State.MEASURE, State.QUOTED, State.ACCEPTED, State.READY)
MOST_OFFERED = 200
MOST_ON_SITE = 400  # [days] of one job that are shown


class DaysForm(forms.Form):
    """The days agreed for a job; an empty one takes the day away."""

    job = forms.CharField(max_length=12)
    begins = forms.DateField(required=False)
    pours = forms.DateField(required=False)

    def clean(self) -> dict[str, Any]:
        """See that the days are of this time and in their order; `order` is what is wrong otherwise."""
        data: dict[str, Any] = super().clean() or {}
        begins, pours = data.get("begins"), data.get("pours")
        if any(day is not None and not FIRST <= day <= LAST for day in (begins, pours)):
            self.add_error("pours", "days-far")
        elif begins and pours and begins > pours:
            self.add_error("begins", "days-order")
        return data


def _month(text: str, now: dt.date) -> dt.date:
    try:
        first = dt.date.fromisoformat(f"{text}-01")
    except ValueError:
        first = now.replace(day=1)
    return min(max(first, FIRST), LAST.replace(day=1))


def month(request: PersonRequest) -> HttpResponse:
    """Show one month; `day` or `job` fill the form in."""
    return _page(request)


def _page(
    request: PersonRequest, *, form: DaysForm | None = None, status: int = 200, **more: Any
) -> HttpResponse:
    now = today()
    first = _month(request.GET.get("month") or request.POST.get("month", ""), now)
    weeks = calendar.Calendar().monthdatescalendar(first.year, first.month)
    jobs = actions.between(weeks[0][0], weeks[-1][-1])
    held: dict[dt.date, list[tuple[str, Job]]] = {}
    for job in jobs:
        site = actions.on_site(job)
        if site is not None and job.begins != job.pours:
            for n in range(min(site[1], MOST_ON_SITE)):
                held.setdefault(site[0] + dt.timedelta(days=n), []).append(("site", job))
        if job.pours:
            held.setdefault(job.pours, []).append(("pour", job))
    chosen = Job.objects.filter(code=request.GET.get("job", "")).defer("text").first()
    offered = Job.objects.filter(hidden=False, state__in=OPEN).order_by("-touched").only("code", "title")
    initial = {"pours": request.GET.get("day", "")}
    if chosen is not None:
        initial = {
            "job": chosen.code,
            "begins": str(chosen.begins or ""),
            "pours": initial["pours"] or str(chosen.pours or ""),
        }
    choices = list(offered[:MOST_OFFERED])
    if chosen is not None and chosen not in choices:
        choices.insert(0, chosen)
    shown = {
        "first": first,
        "weeks": [[(day, held.get(day, [])) for day in week] for week in weeks],
        "heads": [word(f"weekday-{n}", request.lang) for n in range(7)],
        "name": word(f"month-{first.month}", request.lang),
        "before": (first - dt.timedelta(days=1)).strftime("%Y-%m"),
        "after": (first + dt.timedelta(days=31)).strftime("%Y-%m"),
        "now": now,
        "form": form or DaysForm(initial=initial),
        "choices": choices,
        "fed": bool(Shop.own().feed),
        **more,
    }
    return render(request, "office/calendar.html", shown, status=status)


def agreed(request: PersonRequest) -> HttpResponse:
    """Keep the days of one job."""
    form = DaysForm(request.POST)
    if not form.is_valid():
        return _page(request, form=form, status=422)
    job = get_object_or_404(Job.objects.defer("text"), code=form.cleaned_data["job"])
    begins, pours = form.cleaned_data["begins"], form.cleaned_data["pours"]
    job_list.agree(person=request.user, job=job, begins=begins, pours=pours)
    messages.success(request, word("days-kept", request.lang, title=job.title))
    shown = pours or begins
    to = reverse("calendar")
    return redirect(f"{to}?month={shown:%Y-%m}" if shown else to)


def renew(request: PersonRequest) -> HttpResponse:
    """Make a new link to the feed, shown this once; the old one ends."""
    token = actions.renew(person=request.user)
    return private(_page(request, address=request.build_absolute_uri(reverse("feed", args=(token,)))))


def feed(request: HttpRequest, token: str) -> HttpResponse:
    """Hand the days out to another calendar."""
    refused = held_back(request)
    if refused is not None:
        return refused
    if not actions.opens(token):
        return missed(request)
    text = actions.feed(now=timezone.now(), lang=Shop.own().language)
    answer = HttpResponse(text, content_type="text/calendar; charset=utf-8")
    answer.headers["Content-Disposition"] = 'inline; filename="days.ics"'
    return private(answer)
