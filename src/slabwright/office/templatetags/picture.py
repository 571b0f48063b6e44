"""The plan's picture for templates: {% plan_picture planned job %}."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.safestring import mark_safe

from slabwright.office.models import Job
from slabwright.office.picture.shown import job_picture
from slabwright.office.planning import Planned

register = template.Library()


@register.inclusion_tag("office/picture/view.html", takes_context=True)
def plan_picture(context: template.Context, planned: Planned, job: Job, number: int = 0) -> dict[str, Any]:
    """Return what the picture's template needs; `number` is the revision that the plan is of."""
    lang = str(context.get("lang", "en"))
    one = job_picture(job, planned, lang, newest=number in (0, job.number))
    svg = mark_safe(one.svg) if one else ""  # our own writer escapes every word
    return {
        "lang": lang,
        "job": job,
        "one": one,
        "svg": svg,
        "number": number or job.number,
        "alone": context.get("alone", False),
        "metric": planned.plan is not None and str(planned.plan.notes.units) == "metric",
    }
