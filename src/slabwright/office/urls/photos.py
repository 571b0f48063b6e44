"""Addresses of a job's photos."""

from __future__ import annotations

from slabwright.office.access import May, way
from slabwright.office.pages import photos

WAYS = [
    way("jobs/<code>/photos/", photos.listed, "photos", may=May.CREW, methods="GET POST"),
    way("photos/<int:pk>/", photos.show, "photo", may=May.CREW),
    way("photos/<int:pk>/small/", photos.small, "photo-small", may=May.CREW),
    way("photos/<int:pk>/delete/", photos.delete, "photo-delete", may=May.CREW, methods="POST"),
]
