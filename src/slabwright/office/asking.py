"""Who asks: the request of somebody who works here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpRequest

if TYPE_CHECKING:
    from slabwright.office.models import Person


class PersonRequest(HttpRequest):
    """A request of somebody who works here, as behind CREW and OWNER."""

    user: Person
    lang: str
