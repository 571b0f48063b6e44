"""Pages behind the owner's links: to join the shop, and to choose a new password."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth import login
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from slabwright.measure import LANGUAGES
from slabwright.office.actions import people as actions
from slabwright.office.models import LinkKind, Person, Shop
from slabwright.office.pages.links import held_back, missed, private
from slabwright.office.words import word

BACKEND = "django.contrib.auth.backends.ModelBackend"


def check_password(form: forms.Form, field: str, person: Person) -> None:
    """Check a password that was typed against the rules; what is wrong stands at its field."""
    typed = form.cleaned_data.get(field)
    if not typed:
        return
    try:
        validate_password(typed, person)
    except ValidationError as error:
        form.add_error(field, error)


class JoinForm(forms.Form):
    """Who joins: name, address, password, language."""

    name = forms.CharField(max_length=120)
    email = forms.EmailField(max_length=254)
    password = forms.CharField(max_length=200, strip=False)
    language = forms.ChoiceField(choices=[(code, code) for code in LANGUAGES], initial="en")

    def clean(self) -> dict[str, Any]:
        """Check the password with the name and address beside it."""
        data: dict[str, Any] = super().clean() or {}
        check_password(self, "password", Person(email=data.get("email", ""), name=data.get("name", "")))
        return data


class ResetForm(forms.Form):
    """A new password for a person."""

    password = forms.CharField(max_length=200, strip=False)

    def __init__(self, person: Person, *args: Any, **named: Any) -> None:
        """Keep whose it is: it must not be like the name."""
        super().__init__(*args, **named)
        self.person = person

    def clean(self) -> dict[str, Any]:
        """Check it against the rules."""
        data: dict[str, Any] = super().clean() or {}
        check_password(self, "password", self.person)
        return data


def join(request: HttpRequest, token: str) -> HttpResponse:
    """Make the account of somebody whom the owner invited, and sign in."""
    refused = held_back(request)
    if refused is not None:
        return refused
    link = actions.link_of(token, LinkKind.JOIN)
    if link is None:
        return missed(request)
    lang = getattr(request, "lang", "en")
    form = JoinForm(request.POST or None, initial={"name": link.name, "language": lang})
    if request.method == "POST" and form.is_valid():
        try:
            person = actions.join(link=link, **form.cleaned_data)
        except actions.PeopleError as error:
            form.add_error("email" if str(error) == "people-email-taken" else None, word(str(error), lang))
        else:
            login(request, person, backend=BACKEND)
            return redirect("jobs")
    shown = {"form": form, "link": link, "shop": Shop.own()}
    return private(render(request, "office/people/join.html", shown, status=422 if form.errors else 200))


def reset(request: HttpRequest, token: str) -> HttpResponse:
    """Choose a new password, and sign in with it; other sessions of the person end."""
    refused = held_back(request)
    if refused is not None:
        return refused
    link = actions.link_of(token, LinkKind.RESET)
    if link is None or link.person is None:
        return missed(request)
    form = ResetForm(link.person, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            person = actions.reset(link=link, password=form.cleaned_data["password"])
        except actions.PeopleError:
            return missed(request)
        if person.works_here:
            login(request, person, backend=BACKEND)
        return redirect("jobs")
    shown = {"form": form, "link": link}
    return private(render(request, "office/people/reset.html", shown, status=422 if form.errors else 200))
