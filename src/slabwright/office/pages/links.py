"""What every page behind a link does: wrong ones are counted, and nothing of it is kept or listed."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from slabwright.office.actions import misses
from slabwright.office.pages import errors
from slabwright.office.peer import origin


def held_back(request: HttpRequest) -> HttpResponse | None:
    """Return what somebody gets who came with too many wrong links, None for everybody else."""
    return errors.too_many(request) if misses.too_many(origin(request)) else None


def missed(request: HttpRequest) -> HttpResponse:
    """Count a wrong link and say that there is no such page."""
    misses.note(origin(request))
    return private(errors.not_found(request))


def private(response: HttpResponse) -> HttpResponse:
    """Keep a page out of every store, list and referrer.

    'same-origin' and not 'no-referrer': with the latter browsers send their forms without an origin, and
    those are refused as forged. The address goes to no other site either way.
    """
    response.headers["Cache-Control"] = "no-store, private"
    response.headers["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    response.headers["Referrer-Policy"] = "same-origin"
    return response
