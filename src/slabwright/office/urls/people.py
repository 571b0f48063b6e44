"""Addresses of signing in and of people."""

from __future__ import annotations

from slabwright.office.access import May, way
from slabwright.office.pages import health, people

WAYS = [
    way("health/", health.health, "health", may=May.ANYONE),
    way("first/", people.first, "first", may=May.ANYONE, methods="GET POST"),
    way("sign-in/", people.sign_in, "sign-in", may=May.ANYONE, methods="GET POST"),
    way("sign-out/", people.sign_out, "sign-out", may=May.ANYONE, methods="POST"),
    way("language/", people.language, "language", may=May.ANYONE, methods="POST"),
]
