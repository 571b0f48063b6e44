"""One job as one long sheet, and what a field's text is read as while it is typed."""

# Addresses name their parts.
# ruff: noqa: ARG001

from __future__ import annotations

import json

from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render

from slabwright.measure import System
from slabwright.notes import NotesError
from slabwright.office.actions.job_list import after
from slabwright.office.asking import PersonRequest
from slabwright.office.models import Job, Revision
from slabwright.office.pages.quotes_taken import told_took
from slabwright.office.pages.sheet_edits import value_of
from slabwright.office.pages.sheet_parts import board_of, context, section_parts
from slabwright.office.sheet.asread import as_read
from slabwright.office.sheet.places import places_of
from slabwright.office.sheet.shape import PlaceError, spot
from slabwright.office.sheet.story import story
from slabwright.office.words import word

LONGEST_TYPED = 2_000  # letters


def sheet(request: PersonRequest, code: str) -> HttpResponse:
    """Show the job."""
    job = get_object_or_404(Job, code=code)
    board = board_of(job, request.lang)
    parts = tuple(section_parts(board, money=request.user.is_owner))
    examples = sum(g.examples for p in parts for g in p.groups)
    more = {"parts": parts, "examples": examples, "places": places_of(board.sheet)}
    more["next_state"] = after(request.user, job.state)
    more["took"] = told_took(request, job)
    return render(request, "office/sheet.html", context(board, **more))


def read(request: PersonRequest, code: str) -> JsonResponse:
    """Answer how ?text= is read at ?path= (JSON): {read} or {why, example}; nothing is saved."""
    lang = request.lang
    text = request.GET.get("text", "")[:LONGEST_TYPED]
    try:
        at = spot(tuple(json.loads(request.GET.get("path", "[]"))))
    except (PlaceError, ValueError, TypeError, RecursionError):
        return JsonResponse({"read": ""})
    metric = request.GET.get("units") == "metric"
    try:
        one = as_read(at, value_of(at, text), system=System.METRIC if metric else System.IMPERIAL, lang=lang)
    except NotesError as error:
        return JsonResponse({"why": error.mistakes[0].say(lang).why, "example": at.example})
    if one.good:
        said = word("sheet-read-as", lang, what=one.text) if one.text else ""
        return JsonResponse({"read": said})
    return JsonResponse({"why": one.why, "example": one.example or at.example})


def since(request: PersonRequest, code: str, number: int) -> HttpResponse:
    """Answer what others did after revision `number`: 204 where nothing is new."""
    job = get_object_or_404(Job.objects.only("number"), code=code)
    if job.number <= number:
        return HttpResponse(status=204)
    newer = Revision.objects.filter(job=job, number__gt=number).defer("text").order_by("-number")
    told = [
        word(
            "sheet-news" if one.kind == "edit" else "sheet-news-whole",
            request.lang,
            who=one.by or word("clash-somebody", request.lang),
            what=what,
        )
        for one in newer[:5]
        for what in story(one.kind, one.changes, request.lang).short
    ]
    return JsonResponse({"number": job.number, "told": told[:5]})
