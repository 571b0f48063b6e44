"""The days agreed as a calendar that other programs read, behind a link that the owner may renew."""

from __future__ import annotations

import datetime as dt
import hmac
from collections import Counter

from django.db import transaction
from django.db.models import Q

from slabwright.money.ical import AgreedDay, calendar_text
from slabwright.money.phrases import Phrase
from slabwright.office.actions import audit
from slabwright.office.models import Audit, Job, Person, Shop
from slabwright.office.models.people import fresh_token, hashed


@transaction.atomic
def renew(*, person: Person) -> str:
    """Return the token of a new link to the feed; the one before opens nothing any more."""
    shop, token = Shop.own(), fresh_token()
    shop.feed = hashed(token)
    shop.save(update_fields=["feed"])
    audit.note("feed-renewed", person=person, about=shop.name)
    return token


def opens(token: str) -> bool:
    """Return whether a token is that of the feed."""
    kept = Shop.own().feed
    return bool(kept) and hmac.compare_digest(kept, hashed(token))


def between(first: dt.date, last: dt.date) -> list[Job]:
    """Return the jobs on site or poured from `first` to `last`, both of them counted."""
    inside = Q(pours__range=(first, last)) | Q(begins__lte=last, pours__gte=first)
    rows = Job.objects.filter(inside | Q(begins__range=(first, last)), hidden=False)
    return list(rows.defer("text").order_by("pours", "begins", "title"))


def on_site(job: Job) -> tuple[dt.date, int] | None:
    """Return the first day of preparing and how many there are before the pour; None where none is set."""
    if job.begins is None:
        return None
    return job.begins, max(1, (job.pours - job.begins).days) if job.pours else 1


def feed(*, now: dt.datetime, lang: str) -> str:
    """Return every day agreed as iCalendar: titles of jobs and what is done, no names and no money."""
    moved = Counter(str(more.get("job")) for more in _told())
    days: list[AgreedDay] = []
    rows = Job.objects.filter(Q(pours__isnull=False) | Q(begins__isnull=False), hidden=False)
    for job in rows.only("code", "title", "begins", "pours").order_by("pk"):
        title, count = {"title": job.title}, moved[job.code]
        preparing = on_site(job)
        if preparing is not None and job.begins != job.pours:
            first, length = preparing
            said = Phrase("on-dig", title)
            days.append(AgreedDay(f"{job.code}-dig", said, first, days=length, moved=count))
        if job.pours is not None:
            days.append(AgreedDay(f"{job.code}-pour", Phrase("on-pour", title), job.pours, moved=count))
    return calendar_text(days, job="shop", stamp=now, lang=lang)


def _told() -> list[dict[str, object]]:
    return list(Audit.objects.filter(what="job-days").values_list("more", flat=True))
