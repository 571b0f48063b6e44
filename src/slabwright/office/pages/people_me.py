"""One's own account: name, language, password, what is kept of one."""

from __future__ import annotations

from typing import Any, cast

from django import forms
from django.contrib import messages
from django.contrib.auth import authenticate, logout, update_session_auth_hash
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render

from slabwright.measure import LANGUAGES
from slabwright.office.actions import people as actions
from slabwright.office.models import Person
from slabwright.office.pages.people import keep_language, locked
from slabwright.office.pages.people_links import ResetForm
from slabwright.office.words import word


class MeForm(forms.Form):
    """Name and language."""

    name = forms.CharField(max_length=120)
    language = forms.ChoiceField(choices=[(code, code) for code in LANGUAGES])


class PasswordForm(ResetForm):
    """The old password and a new one."""

    old = forms.CharField(max_length=200, strip=False)
    field_order = ("old", "password")


def _page(
    request: HttpRequest, form: forms.Form | None = None, change: forms.Form | None = None
) -> HttpResponse:
    person = cast(Person, request.user)
    own = form or MeForm(initial={"name": person.name, "language": person.language})
    wrong = bool((form and form.errors) or (change and change.errors))
    shown = {"form": own, "change": change}
    return render(request, "office/people/me.html", shown, status=422 if wrong else 200)


def me(request: HttpRequest) -> HttpResponse:
    """Show the account; change name and language."""
    if request.method != "POST":
        return _page(request)
    form = MeForm(request.POST)
    if not form.is_valid():
        return _page(request, form)
    actions.describe(person=cast(Person, request.user), **form.cleaned_data)
    lang = form.cleaned_data["language"]
    messages.success(request, word("saved", lang))
    return keep_language(redirect("me"), lang)


def password(request: HttpRequest) -> HttpResponse:
    """Change the password; all other sessions end, this one gets a new key."""
    person = cast(Person, request.user)
    lang = getattr(request, "lang", "en")
    form = PasswordForm(person, request.POST)
    if form.is_valid():
        # By the same way as signing in, so that guessing here is slowed down as well.
        known = authenticate(request, username=person.email, password=form.cleaned_data["old"])
        if getattr(request, "axes_locked_out", False):
            return locked(request, {})
        if known is None:
            form.add_error("old", word("password-old-wrong", lang))
    if form.errors:
        return _page(request, change=form)
    actions.change_password(person=person, password=form.cleaned_data["password"])
    update_session_auth_hash(request, person)
    messages.success(request, word("password-changed", lang))
    return redirect("me")


def sign_out_everywhere(request: HttpRequest) -> HttpResponse:
    """End every session of one's own, this one too."""
    person = cast(Person, request.user)
    actions.end_sessions(by=person, person=person)
    logout(request)
    return redirect("sign-in")


def data(request: HttpRequest) -> HttpResponse:
    """Hand out all that is kept of oneself."""
    person = cast(Person, request.user)
    return as_file(actions.export(by=person, person=person))


def as_file(made: dict[str, Any]) -> HttpResponse:
    """Return JSON as a download."""
    response = JsonResponse(made, json_dumps_params={"indent": 1, "ensure_ascii": False})
    response.headers["Content-Disposition"] = 'attachment; filename="my-data.json"'
    return response
