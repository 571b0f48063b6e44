"""Addresses of one job's long sheet."""

from __future__ import annotations

from slabwright.office.access import May, way
from slabwright.office.pages import sheet, sheet_change

WAYS = [
    way("jobs/<code>/", sheet.sheet, "job", may=May.CREW),
    way("jobs/<code>/read/", sheet.read, "job-read", may=May.CREW),
    way("jobs/<code>/since/<int:number>/", sheet.since, "job-since", may=May.CREW),
    way("jobs/<code>/change/", sheet_change.change, "job-change", may=May.CREW, methods="POST"),
    way(
        "jobs/<code>/change-form/", sheet_change.change_form, "job-change-form", may=May.CREW, methods="POST"
    ),
]
