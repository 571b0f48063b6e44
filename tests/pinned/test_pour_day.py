"""Four likely days as this code worked them out: nobody's measurement, only a guard against change unseen.

Minutes after midnight. A change of physics or of a table moves them; a change of code must not.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from tests.pourday.slabs import CHICAGO, COLD, COOL, HOT, MILD, MIX, days, panels

from slabwright.pourday import forecast
from slabwright.pourday.model import MixDay
from slabwright.pourday.weather import DayFigures

NAMES = ("sheen_gone", "broom", "broom_end", "initial_set", "final_set", "saw", "walk")
DAYS = [
    (MILD, 7.0, MIX, (609, 592, 643, 659, 755, 1113, 1242), (32.2, 13.4)),
    (
        HOT,
        6.0,
        replace(MIX, delivered=30.0, entrained=True),
        (383, 437, 496, 493, 569, 838, 896),
        (41.4, 23.0),
    ),
    (COOL, 8.0, replace(MIX, delivered=16.0), (662, 684, 773, 805, 935, 1964, 2178), (21.6, 7.1)),
    (COLD, 9.0, replace(MIX, delivered=18.0), (652, 735, 827, 877, 1046, 2746, 3325), (18.7, -3.6)),
]


@pytest.mark.parametrize(("figures", "start", "mix", "minutes", "warmth"), DAYS)
def test_a_likely_day(
    figures: DayFigures, start: float, mix: MixDay, minutes: tuple[int, ...], warmth: tuple[float, float]
) -> None:
    weather = days(figures, 5, date(2026, 4, 20))
    got = forecast(panels(1, start=start), weather, CHICAGO, mix, day=date(2026, 4, 21), samples=1).windows[0]
    assert [getattr(got, name).likely / 60 for name in NAMES] == pytest.approx(minutes, abs=1.0)
    assert (got.warmest, got.coldest) == pytest.approx(warmth, abs=0.1)
