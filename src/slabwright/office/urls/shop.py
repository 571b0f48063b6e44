"""Addresses of the list of jobs and of the rest of the shop."""

from __future__ import annotations

from slabwright.office.access import May, way
from slabwright.office.pages import jobs

WAYS = [
    way("", jobs.listed, "jobs", may=May.CREW),
    way("jobs/new/", jobs.new, "job-new", may=May.CREW, methods="GET POST"),
]
