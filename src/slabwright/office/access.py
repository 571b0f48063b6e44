"""Who may open what. Every address is made by `way`, so that none can be left without a rule."""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import URLPattern, path, reverse

from slabwright.office.pages import errors

View = Callable[..., HttpResponseBase]


class May(Enum):
    """The rungs of the ladder."""

    ANYONE = "anyone"  # signed out or in
    LINK = "link"  # who holds the link; the view looks the token up
    KEY = "key"  # a program with a token; the API looks it up
    CREW = "crew"  # owner and crew
    OWNER = "owner"


def way(route: str, view: View, name: str, *, may: May, methods: str = "GET") -> URLPattern:
    """Return the address `route` of a view that only `may` open, by `methods` (HEAD goes with GET)."""
    allowed = methods.split()
    if "GET" in allowed:
        allowed.append("HEAD")

    @wraps(view)
    def kept(request: HttpRequest, *args: Any, **named: Any) -> HttpResponseBase:
        if request.method not in allowed:
            return errors.not_this_way(request, allowed)
        refused = _refusal(request, may)
        return view(request, *args, **named) if refused is None else refused

    kept.may = may  # type: ignore[attr-defined]  # read by the ladder's tests
    kept.methods = tuple(allowed)  # type: ignore[attr-defined]
    return path(route, kept, name=name)


def _refusal(request: HttpRequest, may: May) -> HttpResponse | None:
    """Return what who may not come in gets instead, None for who may."""
    if may in (May.ANYONE, May.LINK, May.KEY):
        return None
    person = request.user
    if not person.is_authenticated:
        to = f"{reverse('sign-in')}?next={request.get_full_path()}" if request.method == "GET" else ""
        if request.headers.get("X-Part") or request.method not in ("GET", "HEAD"):
            # What was typed stays in the page; it says that one has to sign in again.
            return errors.signed_out(request)
        return redirect(to or reverse("sign-in"))
    if not getattr(person, "works_here", False):
        return errors.forbidden(request)
    if may is May.OWNER and not getattr(person, "is_owner", False):
        return errors.forbidden(request)
    return None
