"""Addresses of one job's long sheet."""

from __future__ import annotations

from slabwright.office.access import May, way
from slabwright.office.pages import sheet

WAYS = [
    way("jobs/<code>/", sheet.sheet, "job", may=May.CREW),
    way("jobs/<code>/change/", sheet.change, "job-change", may=May.CREW, methods="POST"),
]
