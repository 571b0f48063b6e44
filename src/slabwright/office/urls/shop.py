"""Addresses of the list of jobs and of the rest of the shop."""

from __future__ import annotations

from slabwright.office.access import May, way
from slabwright.office.pages import books, calendar, jobs, jobs_one, records, shop

WAYS = [
    way("", jobs.listed, "jobs", may=May.CREW),
    way("jobs/new/", jobs.new, "job-new", may=May.CREW, methods="GET POST"),
    way("jobs/bring/", jobs.bring, "job-bring", may=May.CREW, methods="GET POST"),
    way("jobs/<code>/state/", jobs_one.stand, "job-state", may=May.CREW, methods="POST"),
    way("jobs/<code>/hide/", jobs_one.hide, "job-hide", may=May.CREW, methods="POST"),
    way("jobs/<code>/copy/", jobs_one.copy, "job-copy", may=May.CREW, methods="POST"),
    way("jobs/<code>/delete/", jobs_one.delete, "job-delete", may=May.OWNER, methods="GET POST"),
    way("calendar/", calendar.month, "calendar", may=May.CREW),
    way("calendar/set/", calendar.agreed, "calendar-set", may=May.CREW, methods="POST"),
    way("calendar/feed/", calendar.renew, "feed-renew", may=May.OWNER, methods="POST"),
    way("calendar/<token>/days.ics", calendar.feed, "feed", may=May.LINK),
    way("books/", books.listed, "books", may=May.OWNER, methods="GET POST"),
    way("books/demo/", books.demo, "book-demo", may=May.OWNER, methods="POST"),
    way("books/learned/", books.learned, "learned", may=May.OWNER),
    way("books/<int:pk>/", books.show, "book", may=May.OWNER),
    way("books/<int:pk>/use/", books.use, "book-use", may=May.OWNER, methods="POST"),
    way("books/<int:pk>/prices.csv", books.file, "book-file", may=May.OWNER),
    way("jobs/<code>/records/", records.listed, "records", may=May.CREW, methods="GET POST"),
    way(
        "jobs/<code>/records/<kind>/<int:pk>/gone/",
        records.gone,
        "record-gone",
        may=May.CREW,
        methods="POST",
    ),
    way("shop/", shop.own, "shop", may=May.OWNER, methods="GET POST"),
    way("jobs/<code>/boards/", shop.boards, "job-boards", may=May.CREW, methods="GET POST"),
]
