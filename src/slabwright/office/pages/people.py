"""Signing in and out, and the owner's account at the first run."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.contrib.auth import authenticate, login, logout
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import Resolver404, resolve
from django.utils.http import url_has_allowed_host_and_scheme

from slabwright.measure import LANGUAGES
from slabwright.office.actions import audit
from slabwright.office.models import Person, Role, Shop
from slabwright.office.when import is_zone
from slabwright.office.words import word


def _next(request: HttpRequest) -> str:
    to = request.POST.get("next") or request.GET.get("next") or "/"
    safe = url_has_allowed_host_and_scheme(to, {request.get_host()}, require_https=request.is_secure())
    return to if safe else "/"


def _opens(path: str) -> bool:
    try:
        return "GET" in getattr(resolve(path).func, "methods", ())
    except Resolver404:
        return False


def _page_of(to: str) -> str:
    """Return `to` where it can be opened, else the page above it: some addresses only take a form."""
    path, _, _ = to.partition("?")
    if _opens(path):
        return to
    while path.count("/") > 1:
        path = path.rstrip("/").rpartition("/")[0] + "/"
        if _opens(path):
            return path
    return "/"


class FirstForm(forms.Form):
    """The owner's account and the shop's name."""

    shop = forms.CharField(max_length=120)
    name = forms.CharField(max_length=120)
    email = forms.EmailField(max_length=254)
    password = forms.CharField(max_length=200, widget=forms.PasswordInput, strip=False)
    units = forms.ChoiceField(choices=[("imperial", "imperial"), ("metric", "metric")])
    zone = forms.CharField(required=False)  # told by the browser; nobody types it

    def clean_zone(self) -> str:
        """Return the browser's zone where it is known, else none."""
        zone = str(self.cleaned_data["zone"])
        return zone if is_zone(zone) else ""

    def clean(self) -> dict[str, Any]:
        """Check the password against the rules and against what else was typed."""
        data: dict[str, Any] = super().clean() or {}
        if data.get("password"):
            person = Person(email=data.get("email", ""), name=data.get("name", ""))
            try:
                validate_password(data["password"], person)
            except ValidationError as error:
                self.add_error("password", error)
        return data


def first(request: HttpRequest) -> HttpResponse:
    """Make the owner's account while there is nobody yet; afterwards this page is gone."""
    from slabwright.office.pages.errors import not_found

    if Person.objects.exists():
        return not_found(request)
    form = FirstForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        with transaction.atomic():
            if Person.objects.exists():
                return not_found(request)
            lang = getattr(request, "lang", "en")
            person = Person.objects.create_user(
                data["email"], data["password"], name=data["name"], role=Role.OWNER, language=lang
            )
            shop = Shop.own()
            shop.name, shop.units, shop.language = data["shop"], data["units"], lang
            shop.zone = data["zone"]
            shop.save(update_fields=["name", "units", "language", "zone"])
            audit.note("office-opened", person=person, about=shop.name)
        login(request, person, backend="django.contrib.auth.backends.ModelBackend")
        return redirect("jobs")
    return render(request, "office/first.html", {"form": form}, status=422 if form.errors else 200)


def sign_in(request: HttpRequest) -> HttpResponse:
    """Sign in by e-mail and password; the same answer for a wrong one of either."""
    if not Person.objects.exists():
        return redirect("first")
    typed = request.POST.get("username", "")
    wrong = ""
    if request.method == "POST":
        person = authenticate(
            request, username=typed.strip().lower(), password=request.POST.get("password", "")
        )
        if person is not None:
            login(request, person)
            audit.note("signed-in", person=person)
            return redirect(_next(request))
        if getattr(request, "axes_locked_out", False):
            return locked(request, {})
        wrong = word("sign-in-wrong", getattr(request, "lang", "en"))
    shown = {"typed": typed, "wrong": wrong, "next": _next(request)}
    return render(request, "office/sign_in.html", shown, status=422 if wrong else 200)


def locked(request: HttpRequest, _credentials: Any, *_args: Any, **_more: Any) -> HttpResponse:
    """Say that there were too many tries."""
    lang = getattr(request, "lang", "en")
    minutes = round(float(settings.AXES_COOLOFF_TIME) * 60)
    shown = {"typed": "", "wrong": word("sign-in-locked", lang, minutes=minutes), "next": "/"}
    return render(request, "office/sign_in.html", shown, status=429)


def sign_out(request: HttpRequest) -> HttpResponse:
    """Sign out."""
    logout(request)
    return redirect("sign-in")


def keep_language(response: HttpResponse, lang: str) -> HttpResponse:
    """Return the answer with the language of the pages in a cookie, kept for a year."""
    response.set_cookie(
        settings.LANGUAGE_COOKIE_NAME,
        lang,
        max_age=365 * 24 * 3600,
        samesite="Lax",
        secure=settings.HTTPS,
        httponly=True,
    )
    return response


def language(request: HttpRequest) -> HttpResponse:
    """Choose the language of the pages."""
    chosen = request.POST.get("lang", "")
    response = redirect(_page_of(_next(request)))
    if chosen in LANGUAGES:
        keep_language(response, chosen)
        if isinstance(request.user, Person):
            Person.objects.filter(pk=request.user.pk).update(language=chosen)
    return response
