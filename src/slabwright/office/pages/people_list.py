"""The owner's page of people: who works here, invitations, roles, links for a new password, the log."""

from __future__ import annotations

from typing import Any, cast

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from slabwright.office.actions import people as actions
from slabwright.office.models import Audit, Link, LinkKind, Person, Role
from slabwright.office.pages.links import private
from slabwright.office.pages.people_me import as_file
from slabwright.office.words import word, words

A_PAGE = 60  # rows of the log


class InviteForm(forms.Form):
    """For whom a link is, and what they may do."""

    name = forms.CharField(max_length=120)
    role = forms.ChoiceField(choices=[(r, r) for r in (Role.CREW, Role.OWNER)], initial=Role.CREW)


class RoleForm(forms.Form):
    """What a person may do from now on."""

    role = forms.ChoiceField(choices=[(r, r) for r in (Role.CREW, Role.OWNER, Role.AWAY)])


def _by(request: HttpRequest) -> Person:
    return cast(Person, request.user)


def _page(request: HttpRequest, status: int = 200, **more: Any) -> HttpResponse:
    open_links = Link.objects.filter(kind=LinkKind.JOIN, used=None, ends__gt=timezone.now())
    shown = {
        "people": Person.objects.order_by("role", "name"),
        "links": open_links.order_by("ends"),
        "form": InviteForm(),
        "roles": [Role.OWNER, Role.CREW, Role.AWAY],
        **more,
    }
    return render(request, "office/people/people.html", shown, status=status)


def listed(request: HttpRequest) -> HttpResponse:
    """Show who works here and who was invited."""
    return _page(request)


def _link_shown(request: HttpRequest, link: Link, token: str) -> HttpResponse:
    """Show a link this once; nobody can look it up later."""
    at = reverse("join" if link.kind == LinkKind.JOIN else "reset", args=(token,))
    return private(_page(request, link=link, address=request.build_absolute_uri(at)))


def invite(request: HttpRequest) -> HttpResponse:
    """Make a link for somebody to join with."""
    form = InviteForm(request.POST)
    if not form.is_valid():
        return _page(request, 422, form=form)
    return _link_shown(request, *actions.invite(by=_by(request), **form.cleaned_data))


def end_link(request: HttpRequest, pk: int) -> HttpResponse:
    """Make an invitation useless."""
    actions.end_link(by=_by(request), link=get_object_or_404(Link, pk=pk, kind=LinkKind.JOIN))
    return redirect("people")


def role(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what a person may do."""
    person = get_object_or_404(Person, pk=pk)
    form = RoleForm(request.POST)
    if not form.is_valid():
        return _page(request, 422, wrong=word("role-unknown", getattr(request, "lang", "en")))
    try:
        actions.give_role(by=_by(request), person=person, role=form.cleaned_data["role"])
    except actions.PeopleError as error:
        return _refused(request, error)
    return _told(request, "role-given", person)


def _refused(request: HttpRequest, error: actions.PeopleError) -> HttpResponse:
    return _page(request, 422, wrong=word(str(error), getattr(request, "lang", "en")))


def _told(request: HttpRequest, key: str, person: Person) -> HttpResponse:
    messages.success(request, word(key, getattr(request, "lang", "en"), who=str(person)))
    return redirect("people")


def reset(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a link with which a person chooses a new password."""
    person = get_object_or_404(Person, pk=pk)
    return _link_shown(request, *actions.reset_link(by=_by(request), person=person))


def end_sessions(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign a person out everywhere."""
    person = get_object_or_404(Person, pk=pk)
    actions.end_sessions(by=_by(request), person=person)
    return _told(request, "sessions-ended", person)


def data(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand out all that is kept of a person."""
    person = get_object_or_404(Person, pk=pk)
    return as_file(actions.export(by=_by(request), person=person))


def forget(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask whether a person shall be forgotten; do it when the name is typed."""
    person = get_object_or_404(Person, pk=pk)
    if request.method == "POST":
        lang = getattr(request, "lang", "en")
        typed = " ".join(request.POST.get("name", "").split())
        if typed.casefold() != " ".join(person.name.split()).casefold():
            shown = {
                "who": person,
                "typed": typed,
                "wrong": word("forget-name-wrong", lang, name=person.name),
            }
            return render(request, "office/people/forget.html", shown, status=422)
        try:
            actions.forget(by=_by(request), person=person)
        except actions.PeopleError as error:
            return _refused(request, error)
        messages.success(request, word("forgotten", lang))
        return redirect("people")
    return render(request, "office/people/forget.html", {"who": person})


def log(request: HttpRequest) -> HttpResponse:
    """Show who did what, newest on top."""
    rows = Audit.objects.order_by("-pk")
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    lang = getattr(request, "lang", "en")
    told = [(row, _did(row.what, lang), _more(row.more)) for row in page]
    return render(request, "office/people/log.html", {"page": page, "rows": told})


def _did(what: str, lang: str) -> str:
    """Return what was done in words; one that has none is shown by its code."""
    return word(f"did-{what}", lang) if f"did-{what}" in words() else what


def _more(more: dict[str, Any]) -> str:
    return ", ".join(f"{key}: {value}" for key, value in more.items() if key not in ("who", "link"))
