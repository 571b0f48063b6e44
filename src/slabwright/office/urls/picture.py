"""Addresses of the plan's picture."""

from __future__ import annotations

from slabwright.office.access import May, way
from slabwright.office.pages import picture, solid

WAYS = [
    way("jobs/<code>/picture/", picture.picture, "job-picture", may=May.CREW),
    way("jobs/<code>/place/", picture.place, "job-place", may=May.CREW),
    way("jobs/<code>/solid/", solid.solid, "job-solid", may=May.CREW),
]
