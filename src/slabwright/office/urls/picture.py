"""Addresses of what is drawn: the plan, slab and ground in space, the day of the pour; and of the gallery."""

from __future__ import annotations

from slabwright.office.access import May, way
from slabwright.office.pages import gallery, hours, hours_seen, picture, solid

WAYS = [
    way("gallery/", gallery.gallery, "gallery", may=May.CREW),
    way("jobs/<code>/picture/", picture.picture, "job-picture", may=May.CREW),
    way("jobs/<code>/place/", picture.place, "job-place", may=May.CREW),
    way("jobs/<code>/solid/", solid.solid, "job-solid", may=May.CREW),
    way("jobs/<code>/hours/", hours.hours, "job-hours", may=May.CREW),
    way("jobs/<code>/hours/day/", hours.day, "job-day", may=May.CREW),
    way("jobs/<code>/hours/windows/", hours.windows, "job-windows", may=May.CREW),
    way("jobs/<code>/hours/seen/", hours_seen.seen, "job-seen", may=May.CREW, methods="POST"),
    way("jobs/<code>/hours/weather/", hours.weather, "job-weather", may=May.CREW, methods="GET POST"),
]
