"""Pages of what went wrong. They ask nothing of the database, so that they can always be shown."""

# Django names the arguments of its handlers.
# ruff: noqa: ARG001

from __future__ import annotations

from typing import Any

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string

from slabwright.office.words import word


def _wants_json(request: HttpRequest) -> bool:
    return request.path.startswith("/api/")


def _page(request: HttpRequest, key: str, status: int, **values: Any) -> HttpResponse:
    """Return the page (or JSON, or fragment) of error `key`: its title, what happened, what to do."""
    lang = getattr(request, "lang", "en")
    said = {part: word(f"error-{key}-{part}", lang) for part in ("title", "what", "do")}
    if _wants_json(request):
        return JsonResponse({"error": key, **said, **values}, status=status)
    template = "error_part.html" if request.headers.get("X-Part") else "error.html"
    body = render_to_string(f"office/{template}", {"lang": lang, "status": status, **said, **values})
    return HttpResponse(body, status=status)


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """400: what was sent cannot be used; 413 where a page's form was too large."""
    if isinstance(exception, RequestDataTooBig) and not _wants_json(request):
        return too_large(request)
    return _page(request, "bad", 400)


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """403: not for this person."""
    return _page(request, "forbidden", 403)


def forged(request: HttpRequest, reason: str = "") -> HttpResponse:
    """403: the form's token was missing or old."""
    return _page(request, "forged", 403)


def signed_out(request: HttpRequest) -> HttpResponse:
    """401: to somebody whose session ended while typing."""
    return _page(request, "signed-out", 401)


def too_many(request: HttpRequest) -> HttpResponse:
    """429: too many wrong links from one address."""
    response = _page(request, "too-many", 429)
    response.headers["Retry-After"] = "900"
    return response


def too_large(request: HttpRequest) -> HttpResponse:
    """413: more was sent than may be."""
    return _page(request, "too-large", 413)


def not_this_way(request: HttpRequest, allowed: list[str]) -> HttpResponse:
    """405: the address is there, but not for what was asked of it, such as a form's, opened like a page."""
    response = _page(request, "method", 405)
    response.headers["Allow"] = ", ".join(allowed)
    return response


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """404: there is no such page, or not for this person."""
    return _page(request, "not-found", 404)


def fault(request: HttpRequest) -> HttpResponse:
    """500: a fault of the program itself."""
    return _page(request, "fault", 500)


def no_database(request: HttpRequest, why: str) -> HttpResponse:
    """503: the database does not answer, or its disk is full."""
    full = "full" in why or "readonly" in why
    return _page(request, "full" if full else "database", 507 if full else 503)


def no_room(request: HttpRequest, why: OSError) -> HttpResponse:
    """507: a file could not be written."""
    return _page(request, "full", 507)
