"""The log of who did what."""

from __future__ import annotations

from typing import Any

from slabwright.office.models import Audit, Person


def note(what: str, *, person: Person | None = None, about: str = "", by: str = "", **more: Any) -> None:
    """Add a row: `what` is a short code (quote-sent), `about` the thing, `more` data without secrets."""
    Audit.objects.create(
        what=what, person=person, by=by or (str(person) if person else ""), about=about[:200], more=more
    )
