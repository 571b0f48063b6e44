"""Guessing slowed down: who comes with too many wrong links from one address has to wait."""

from __future__ import annotations

import datetime as dt

from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone

from slabwright.office.clock import SLACK
from slabwright.office.models import Misses

MOST = 20  # wrong links from one address
WITHIN = dt.timedelta(minutes=15)  # in this time, and as long one waits


def too_many(origin: str) -> bool:
    """Return whether nothing is looked up for this address for a while."""
    since = timezone.now() - WITHIN
    until = timezone.now() + SLACK  # counted under a clock that was ahead: nobody waits for years
    return Misses.objects.filter(origin=origin, count__gte=MOST, since__gt=since, since__lte=until).exists()


def note(origin: str) -> None:
    """Count one wrong link; counts that are old are forgotten, so that the table stays small."""
    now = timezone.now()
    Misses.objects.exclude(since__gt=now - WITHIN, since__lte=now + SLACK).delete()
    if Misses.objects.filter(origin=origin).update(count=F("count") + 1):
        return
    try:
        with transaction.atomic():
            Misses.objects.create(origin=origin, count=1, since=now)
    except IntegrityError:  # another request of this address was quicker
        Misses.objects.filter(origin=origin).update(count=F("count") + 1)
