"""Slab and ground in space."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from slabwright.office.actions import jobs as actions
from slabwright.office.html_tables import html_table
from slabwright.office.models import Job
from slabwright.office.solid import solid as shapes
from slabwright.office.solid.told import falls
from slabwright.sheets import job_tables

VIEWS = ("yard", "left", "right", "house", "above")
KINDS = ("slab", "there", "ground", "bank", "house", "water")


def solid(request: HttpRequest, code: str) -> HttpResponse:
    """Show the view, and the same as tables."""
    job = get_object_or_404(Job, code=code)
    made, _ = actions.good_plan_of(job)
    shown = {"job": job, "planned": made, "views": VIEWS, "kinds": KINDS}
    if made.plan is not None:
        lang = str(getattr(request, "lang", "en"))
        listed = (falls(made.plan, lang), job_tables.grades(made.plan))
        units = made.plan.notes.units
        shown |= {
            "data": shapes(made.plan),
            "tables": [html_table(one, system=units, lang=lang) for one in listed if one.rows],
        }
    return render(request, "office/solid/page.html", shown)
