"""The list of jobs, and new ones."""

from __future__ import annotations

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from slabwright.office.actions import jobs as actions
from slabwright.office.models import Job, Person

USES = ("walk", "patio", "driveway", "apron", "pad", "landing")


class NewForm(forms.Form):
    """What a new job needs: a title, a use; the customer may come later."""

    title = forms.CharField(max_length=200)
    use = forms.ChoiceField(choices=[(use, use) for use in USES], initial="walk")
    customer = forms.CharField(max_length=200, required=False)


def listed(request: HttpRequest) -> HttpResponse:
    """Show the jobs, those touched last on top."""
    rows = Job.objects.filter(hidden=False).order_by("-touched").defer("text")
    return render(request, "office/jobs.html", {"jobs": rows[:100]})


def new(request: HttpRequest) -> HttpResponse:
    """Start a job."""
    form = NewForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        assert isinstance(request.user, Person)
        job = actions.start(person=request.user, **form.cleaned_data)
        return redirect("job", code=job.code)
    shown = {"form": form, "uses": USES}
    return render(request, "office/job_new.html", shown, status=422 if form.errors else 200)
