"""One way to say a day and a moment on every page: in words, by the clock on the shop's wall."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from django.utils import timezone

from slabwright.money.phrases import date_text
from slabwright.office.models import Shop

UTC = ZoneInfo("UTC")
SLACK = dt.timedelta(minutes=5)  # that two clocks of one office may be apart (own setting)


def is_zone(name: str) -> bool:
    """Return whether the public tables have a zone of this name."""
    return name in available_timezones()


def zone() -> ZoneInfo:
    """Return the shop's zone, UTC where it names none that is known."""
    try:
        return ZoneInfo(Shop.own().zone or "UTC")
    except (ZoneInfoNotFoundError, ValueError):
        return UTC


def today() -> dt.date:
    """Return the day as it is at the shop."""
    return timezone.now().astimezone(zone()).date()


def day_text(when: dt.date, lang: str) -> str:
    """Return a day in words, that of a moment as it is at the shop: May 4, 2026; 4 de mayo de 2026."""
    day = when.astimezone(zone()).date() if isinstance(when, dt.datetime) else when
    return date_text(day, lang)


def moment_text(when: dt.datetime, lang: str) -> str:
    """Return a moment as it is at the shop: May 4, 2026, 3:41 pm. Without a known zone it says UTC."""
    here = zone()
    local = when.astimezone(here)
    clock = f"{local.hour % 12 or 12}:{local:%M} {'am' if local.hour < 12 else 'pm'}"
    clock = clock if lang == "en" else f"{local:%H:%M}"
    return f"{date_text(local.date(), lang)}, {clock}{' UTC' if here is UTC else ''}"
