"""One job as one long sheet, and its changes."""

from __future__ import annotations

import json

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render

from slabwright.office.actions import jobs as actions
from slabwright.office.actions.edits import EditError, edit_of
from slabwright.office.models import Job, Person


def sheet(request: HttpRequest, code: str) -> HttpResponse:
    """Show the job."""
    job = get_object_or_404(Job, code=code)
    made, number = actions.good_plan_of(job)
    return render(request, "office/sheet.html", {"job": job, "planned": made, "plan_number": number})


def change(request: HttpRequest, code: str) -> HttpResponse:
    """Make the edits {edits, base, client} that a page sent as JSON."""
    job = get_object_or_404(Job, code=code)
    try:
        sent = json.loads(request.body)
        edits = [edit_of(one) for one in sent["edits"]]
        base = int(sent["base"])
    except (EditError, ValueError, KeyError, TypeError) as error:
        return JsonResponse({"error": "bad", "what": str(error)}, status=400)
    assert isinstance(request.user, Person)
    done = actions.change(
        person=request.user, job=job, edits=edits, base=base, client=str(sent.get("client", ""))[:40]
    )
    return JsonResponse({"saved": done.saved, "number": done.number}, status=200 if done.saved else 409)
