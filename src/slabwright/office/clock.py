"""A clock that is wrong: nothing opens for longer by it, and nobody who was slowed down waits for years."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from django.utils import timezone

SLACK = dt.timedelta(hours=1)  # by which a clock may be off before what it dated is not believed


def look(tell: Callable[[str], None]) -> None:
    """Say so where the log holds what has not happened yet; forget what was counted then against somebody."""
    from axes.models import AccessAttempt

    from slabwright.office.models import Audit, Misses

    now = timezone.now()
    AccessAttempt.objects.filter(attempt_time__gt=now + SLACK).delete()
    Misses.objects.filter(since__gt=now + SLACK).delete()
    last = Audit.objects.order_by("-pk").values_list("when", flat=True).first()
    if last is not None and last > now + SLACK:
        tell(
            f"this machine's clock says {now:%Y-%m-%d %H:%M} UTC, and the log was written on until "
            f"{last:%Y-%m-%d %H:%M} UTC: set the clock, for links and quotes end by it"
        )
