"""Addresses of signing in and of people."""

from __future__ import annotations

from slabwright.office.access import May, way
from slabwright.office.pages import health, people, people_links, people_list, people_me

WAYS = [
    way("health/", health.health, "health", may=May.ANYONE),
    way("first/", people.first, "first", may=May.ANYONE, methods="GET POST"),
    way("sign-in/", people.sign_in, "sign-in", may=May.ANYONE, methods="GET POST"),
    way("sign-out/", people.sign_out, "sign-out", may=May.ANYONE, methods="POST"),
    way("language/", people.language, "language", may=May.ANYONE, methods="POST"),
    way("join/<token>/", people_links.join, "join", may=May.LINK, methods="GET POST"),
    way("password/<token>/", people_links.reset, "reset", may=May.LINK, methods="GET POST"),
    way("me/", people_me.me, "me", may=May.CREW, methods="GET POST"),
    way("me/password/", people_me.password, "me-password", may=May.CREW, methods="POST"),
    way("me/sign-out/", people_me.sign_out_everywhere, "me-sign-out", may=May.CREW, methods="POST"),
    way("me/data/", people_me.data, "me-data", may=May.CREW),
    way("people/", people_list.listed, "people", may=May.OWNER),
    way("people/invite/", people_list.invite, "invite", may=May.OWNER, methods="POST"),
    way("people/link/<int:pk>/end/", people_list.end_link, "link-end", may=May.OWNER, methods="POST"),
    way("people/<int:pk>/role/", people_list.role, "person-role", may=May.OWNER, methods="POST"),
    way("people/<int:pk>/password/", people_list.reset, "person-reset", may=May.OWNER, methods="POST"),
    way("people/<int:pk>/sign-out/", people_list.end_sessions, "person-out", may=May.OWNER, methods="POST"),
    way("people/<int:pk>/data/", people_list.data, "person-data", may=May.OWNER),
    way("people/<int:pk>/forget/", people_list.forget, "person-forget", may=May.OWNER, methods="GET POST"),
    way("log/", people_list.log, "log", may=May.OWNER),
]
