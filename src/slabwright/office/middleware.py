"""The language of each request, and plain words where the machine fails."""

from __future__ import annotations

import logging
from collections.abc import Callable

from django.conf import settings
from django.db import DatabaseError, InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.utils import translation

from slabwright.measure import LANGUAGES
from slabwright.office.pages import errors

log = logging.getLogger("slabwright.office")
Answer = Callable[[HttpRequest], HttpResponse]


def language_of(request: HttpRequest) -> str:
    """Return the request's language: the cookie's, else the person's, else the browser's."""
    chosen = request.COOKIES.get(settings.LANGUAGE_COOKIE_NAME)
    if chosen in LANGUAGES:
        return chosen
    if request.user.is_authenticated:
        own = getattr(request.user, "language", "")
        if own in LANGUAGES:
            return str(own)
    wanted = request.headers.get("Accept-Language", "")
    for part in wanted.split(","):
        code = part.split(";")[0].strip()[:2].lower()
        if code in LANGUAGES:
            return code
    return "en"


class Language:
    """Puts `request.lang` and Django's own words into one language."""

    def __init__(self, get_response: Answer) -> None:
        """Keep the next in line."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer in the request's language."""
        lang = language_of(request)
        request.lang = lang  # type: ignore[attr-defined]
        with translation.override(lang):
            response = self.get_response(request)
        response.headers.setdefault("Content-Language", lang)
        return response


class Bounded:
    """What is too large to be sent in is refused by its length alone, before any of it fills the disk."""

    def __init__(self, get_response: Answer) -> None:
        """Keep the next in line."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, or say how much may be sent; a request without a length is read as empty by the server."""
        length = str(request.META.get("CONTENT_LENGTH") or "0")
        if length.isdigit() and int(length) > settings.UPLOAD_MOST_BYTES:
            return errors.too_large(request)
        return self.get_response(request)


class Plainly:
    """A database that does not answer, or a full disk, becomes a page that says so."""

    def __init__(self, get_response: Answer) -> None:
        """Keep the next in line."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer; private pages are kept out of shared stores."""
        response = self.get_response(request)
        if request.path.startswith(("/static/", "/health")):
            return response
        response.headers.setdefault("Cache-Control", "no-store, private")
        if request.method == "HEAD" and not response.streaming:
            response.content = b""
        return response

    def process_exception(self, request: HttpRequest, fault: Exception) -> HttpResponse | None:
        """Return a page for faults of the machine; None leaves the rest to the page of faults."""
        if isinstance(fault, OperationalError | InterfaceError) or (
            isinstance(fault, DatabaseError) and "disk" in str(fault)
        ):
            log.error("database: %s", fault)
            return errors.no_database(request, str(fault))
        if isinstance(fault, OSError) and fault.errno is not None:
            log.error("machine: %s", fault)
            return errors.no_room(request, fault)
        return None
