"""What every page knows."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest

from slabwright.measure import LANGUAGES


def everywhere(request: HttpRequest) -> dict[str, Any]:
    """Return the page's language and the person, if one is signed in."""
    person = getattr(request, "user", None)
    here = person if person is not None and person.is_authenticated else None
    return {
        "lang": getattr(request, "lang", "en"),
        "languages": LANGUAGES,
        "person": here,
        "owner": bool(here and getattr(here, "is_owner", False)),
    }
