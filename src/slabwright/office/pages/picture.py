"""The plan's picture by itself with its tables, and where a dragged point would be written."""

from __future__ import annotations

import math

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render

from slabwright.measure import MeasureError, System, read
from slabwright.office.actions import jobs as actions
from slabwright.office.models import Job
from slabwright.office.picture.moves import moves
from slabwright.office.picture.shown import picture_tables
from slabwright.office.planning import tree_of
from slabwright.office.words import word

FARTHEST = 1e4  # m; nothing of a yard lies further off
EXAMPLES = {System.IMPERIAL: "12' 6 1/2", System.METRIC: "3.81 m"}


def picture(request: HttpRequest, code: str) -> HttpResponse:
    """Show the picture large, and the same as tables."""
    job = get_object_or_404(Job, code=code)
    made, number = actions.good_plan_of(job)
    lang = str(getattr(request, "lang", "en"))
    tables = picture_tables(made.plan, lang) if made.plan is not None else ()
    shown = {"job": job, "planned": made, "plan_number": number, "tables": tables, "alone": True}
    return render(request, "office/picture/page.html", shown)


def place(request: HttpRequest, code: str) -> JsonResponse:
    """Return what the job file would say of point `point` at `x`, `y` [m on site]: {along, out, number}.

    With `along` and `out` instead, as somebody typed them: whether they can be read, else 422 with what to
    write.
    """
    job = get_object_or_404(Job, code=code)
    if "along" in request.GET:
        return _typed(request, job)
    try:
        x, y = (float(request.GET[key]) for key in ("x", "y"))
    except (KeyError, ValueError):
        return JsonResponse({"error": "bad", "what": "x and y are wanted, in metres"}, status=400)
    if not (math.hypot(x, y) <= FARTHEST):
        return JsonResponse({"error": "bad", "what": "x and y lie too far off"}, status=400)
    plan = actions.plan_of(job).plan
    move = moves(plan, tree_of(job.text)).get(request.GET.get("point", "")) if plan is not None else None
    if plan is None or move is None:
        return JsonResponse({"error": "stays", "what": "this point cannot be dragged"}, status=409)
    along, out = move.texts((x, y), plan.notes.units)
    return JsonResponse({"along": along, "out": out, "number": job.number})


def _typed(request: HttpRequest, job: Job) -> JsonResponse:
    notes = actions.plan_of(job).notes
    example = EXAMPLES[notes.units if notes is not None else System.IMPERIAL]
    for key in ("along", "out"):
        text = request.GET.get(key, "")[:200]
        try:
            read("length", text)
        except MeasureError:
            why = word("move-wrong", str(getattr(request, "lang", "en")), text=text or "–", example=example)
            return JsonResponse({"field": key, "why": why}, status=422)
    return JsonResponse({"number": job.number})
