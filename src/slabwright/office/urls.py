"""Every address of the office, each with who may open it."""

from __future__ import annotations

from slabwright.office.access import May, way
from slabwright.office.pages import health, jobs, people, sheet

handler400 = "slabwright.office.pages.errors.bad_request"
handler403 = "slabwright.office.pages.errors.forbidden"
handler404 = "slabwright.office.pages.errors.not_found"
handler500 = "slabwright.office.pages.errors.fault"

urlpatterns = [
    way("health/", health.health, "health", may=May.ANYONE),
    way("first/", people.first, "first", may=May.ANYONE, methods="GET POST"),
    way("sign-in/", people.sign_in, "sign-in", may=May.ANYONE, methods="GET POST"),
    way("sign-out/", people.sign_out, "sign-out", may=May.ANYONE, methods="POST"),
    way("language/", people.language, "language", may=May.ANYONE, methods="POST"),
    way("", jobs.listed, "jobs", may=May.CREW),
    way("jobs/new/", jobs.new, "job-new", may=May.CREW, methods="GET POST"),
    way("jobs/<code>/", sheet.sheet, "job", may=May.CREW),
    way("jobs/<code>/change/", sheet.change, "job-change", may=May.CREW, methods="POST"),
]
