"""The day of the pour: the page at once, the day itself in a request of its own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe

from slabwright.office.actions import weather as actions
from slabwright.office.actions.jobs import name_of, plan_of
from slabwright.office.asking import PersonRequest
from slabwright.office.hours.run import half_typed, poured, wants_weather
from slabwright.office.hours.seen import asked
from slabwright.office.hours.steps import step_at, steps
from slabwright.office.html_tables import html_table
from slabwright.office.models import Job, WeatherTable
from slabwright.office.picture.facts import windows as panel_windows
from slabwright.office.words import word
from slabwright.pourday.from_job import site_of
from slabwright.pourday.weather import WeatherError
from slabwright.result import Plan
from slabwright.sheets import pour_tables
from slabwright.sheets.pour_chart import hours_chart
from slabwright.sheets.pour_clock import day_text
from slabwright.sheets.svg import svg

WIDE_MM, HIGH_MM = 245.0, 140.0  # the legend under the bars wants this width


def hours(request: PersonRequest, code: str) -> HttpResponse:
    """Show the page; its script asks for the day, or `?now=1` works it out here, without a script."""
    job = get_object_or_404(Job, code=code)
    return render(request, "office/hours/page.html", page_of(job, request.lang, now="now" in request.GET))


def page_of(
    job: Job,
    lang: str,
    *,
    now: bool = False,
    why: str = "",
    unseen: str = "",
    typed: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """Return what the page shows.

    now: with the day worked out; why: what is wrong with a table of weather; unseen: with what was `typed`
    of something seen.
    """
    made, table = plan_of(job), WeatherTable.objects.filter(job=job).first()
    given = table.text if table else ""
    wants = half_typed(made) if made.notes is None else wants_weather(made.notes, given)
    nowhere = made.notes is not None and site_of(made.notes) is None
    shown: dict[str, Any] = {"job": job, "planned": made, "table": table, "wants": wants, "why": why}
    shown["nowhere"] = nowhere
    if wants or nowhere:
        return shown
    shown |= {"asked": asked(made, lang, at=timezone.now()), "unseen": unseen, "typed": typed or {}}
    return shown | _day(job, lang) if now else shown


def day(request: PersonRequest, code: str) -> HttpResponse:
    """Return the day worked out, as the part of the page that its script puts in."""
    job = get_object_or_404(Job, code=code)
    return render(request, "office/hours/day.html", {"job": job, **_day(job, request.lang)})


def windows(request: PersonRequest, code: str) -> JsonResponse:
    """Return the hours of each panel, for the picture's box: none while the weather is missing."""
    job = get_object_or_404(Job, code=code)
    made, table = plan_of(job), actions.hours_of(job)
    if made.notes is None or wants_weather(made.notes, table[0]):
        return JsonResponse({})
    run = poured(job.text, name_of(job), *table)
    return JsonResponse(panel_windows(run.plan, request.lang) if run.plan is not None else {})


def _day(job: Job, lang: str) -> dict[str, Any]:
    run = poured(job.text, name_of(job), *actions.hours_of(job))
    if run.plan is None:
        return {"ready": True, "run": run}
    return {"ready": True, "run": run, **_shown(run.plan, lang)}


def _shown(plan: Plan, lang: str) -> dict[str, Any]:
    from datetime import date

    pour, _ = pour_tables.told(plan)
    chart = svg(hours_chart(plan, lang)(WIDE_MM, HIGH_MM), alone=False)
    units = plan.notes.units
    listed = (
        pour_tables.card(plan, lang),
        pour_tables.bands(plan, lang),
        pour_tables.hours(plan, lang),
        pour_tables.days(plan, lang),
        pour_tables.ways(plan, lang),
        pour_tables.starts(plan, lang),
    )
    moments = steps(plan, lang, wide=WIDE_MM)
    begins = step_at(plan, timezone.now(), len(moments))
    if begins is None:
        begins = next((n for n, one in enumerate(moments) if any(p[3] == "placing" for p in one.panels)), 0)
    return {
        "day": day_text(date.fromisoformat(pour.date), lang),
        "chart": mark_safe(chart),  # our own writer escapes every word
        "steps": [
            {"clock": s.clock, "x": s.x, "crew": s.crew, "panels": [p[1:] for p in s.panels]} for s in moments
        ],
        "last": len(moments) - 1,
        "begins": begins,
        "first": moments[begins],
        "tables": [html_table(one, system=units, lang=lang) for one in listed if one.rows],
        "told": [
            finding.text(system=units, lang=lang)
            for finding in plan.findings
            if finding.room == "pourday" or finding in pour.findings
        ],
    }


def weather(request: PersonRequest, code: str) -> HttpResponse:
    """Take a table of weather in, or away; who reloads the page that refused one sees the day's page."""
    if request.method != "POST":
        return redirect("job-hours", code=code)
    job = get_object_or_404(Job, code=code)
    if request.POST.get("does") == "drop":
        actions.drop_weather(person=request.user, job=job)
        return redirect("job-hours", code=job.code)
    file = request.FILES.get("file")
    why = word("weather-none", request.lang)
    if file is not None:
        try:
            data = file.read(actions.MOST_BYTES + 1)
            actions.keep_weather(
                person=request.user, job=job, name=str(file.name), data=data, lang=request.lang
            )
        except WeatherError as error:
            rows = [finding.text(lang=request.lang).what for finding in error.findings[:3]]
            why = " ".join([f"{error}.", *rows])
        else:
            return redirect("job-hours", code=job.code)
    return render(request, "office/hours/page.html", page_of(job, request.lang, why=why), status=422)
