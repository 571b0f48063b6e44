"""One's own keys for the API: made, shown once, ended."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from slabwright.office.actions import keys as actions
from slabwright.office.asking import PersonRequest
from slabwright.office.models import Token
from slabwright.office.pages.links import private
from slabwright.office.words import word


class KeyForm(forms.Form):
    """What a key is for, whether it may change jobs, and for how many days it holds."""

    name = forms.CharField(max_length=80)
    writes = forms.BooleanField(required=False)
    days = forms.IntegerField(min_value=1, max_value=actions.MOST_DAYS, initial=90)


def listed(request: PersonRequest) -> HttpResponse:
    """Show one's keys; make one, whose token is shown this once."""
    form = KeyForm(request.POST if request.method == "POST" else None)
    token = ""
    if request.method == "POST" and form.is_valid():
        _, token = actions.make(person=request.user, **form.cleaned_data)
        form = KeyForm()
    rows = Token.objects.filter(person=request.user).order_by("-made")
    shown = {"form": form, "keys": rows, "token": token, "now": timezone.now(), "most": actions.MOST_DAYS}
    return private(render(request, "office/keys.html", shown, status=422 if form.errors else 200))


def end(request: PersonRequest, pk: int) -> HttpResponse:
    """End one of one's keys."""
    key = get_object_or_404(Token, pk=pk, person=request.user)
    actions.revoke(person=request.user, key=key)
    messages.success(request, word("key-ended", request.lang, name=key.name))
    return redirect("keys")
