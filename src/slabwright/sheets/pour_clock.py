"""Hours of the pour as they are said on site: rounded the safe way, with the weekday on another day."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, timedelta
from typing import Literal

from slabwright.measure import DAY, Quantity, System, write
from slabwright.pourday.model import Band
from slabwright.sheets.words import word as say

FIVE = 300.0  # [s] nobody works to the minute when the band is an hour wide

Round = Literal["near", "down", "up"]
_ROUNDS: dict[Round, Callable[[float], int]] = {"near": round, "down": math.floor, "up": math.ceil}


def day_text(day: date, lang: str) -> str:
    """Return 'Wed 15 Jul 2026', 'mié 15 jul 2026'."""
    weekday, month = say(f"weekday-{day.weekday()}", lang), say(f"month-{day.month}", lang)
    return f"{weekday} {day.day} {month} {day.year}"


def clock_text(
    clock: float | None,
    day: str,
    *,
    system: System,
    lang: str,
    to: float = FIVE,
    how: Round = "near",
    dated: bool = False,
) -> str:
    """Return a clock [s after midnight of `day`] rounded to `to` [s]; a dash where it is not known.

    On another day than the pour's the weekday stands before it, from a week on the date too; `dated` always
    puts both.
    """
    if clock is None:
        return "–"
    shown = _ROUNDS[how](clock / to) * to
    days, rest = divmod(shown, DAY)
    text = write(Quantity("clock", rest), system=system, lang=lang)
    if not days and not dated:
        return text
    then = date.fromisoformat(day) + timedelta(days=int(days))
    if abs(days) < 6 and not dated:
        return f"{say(f'weekday-{then.weekday()}', lang)} {text}"
    weekday, month = say(f"weekday-{then.weekday()}", lang), say(f"month-{then.month}", lang)
    return f"{weekday} {then.day} {month} {text}"


def band_text(band: Band, day: str, *, system: System, lang: str, to: float = FIVE) -> str:
    """Return 'earliest – latest' of a band; a dash at an end that is not known."""
    early = clock_text(band.early, day, system=system, lang=lang, to=to, how="down")
    late = clock_text(band.late, day, system=system, lang=lang, to=to, how="up")
    return early if early == late else f"{early} – {late}"
