"""Days and moments are said one way on every page: in words, by the clock on the shop's wall."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest

import slabwright.office
from slabwright.office import when
from slabwright.office.models import Shop

pytestmark = pytest.mark.django_db
LATE = dt.datetime(2026, 11, 26, 3, 5, tzinfo=dt.UTC)


def shop_in(zone: str) -> None:
    shop = Shop.own()
    shop.zone = zone
    shop.save()


@pytest.mark.parametrize(
    ("zone", "lang", "day", "moment"),
    [
        ("", "en", "November 26, 2026", "November 26, 2026, 3:05 am UTC"),
        ("nowhere", "en", "November 26, 2026", "November 26, 2026, 3:05 am UTC"),
        ("America/Denver", "en", "November 25, 2026", "November 25, 2026, 8:05 pm"),
        ("America/Denver", "es", "25 de noviembre de 2026", "25 de noviembre de 2026, 20:05"),
    ],
)
def test_a_moment_is_that_of_the_shop(zone: str, lang: str, day: str, moment: str) -> None:
    shop_in(zone)
    assert when.day_text(LATE, lang) == day
    assert when.moment_text(LATE, lang) == moment
    assert when.day_text(dt.date(2026, 5, 4), "en") == "May 4, 2026"  # a day is a day everywhere


@pytest.mark.parametrize(("hour", "said"), [(0, "12:00 am"), (12, "12:00 pm"), (13, "1:00 pm")])
def test_noon_and_midnight(hour: int, said: str) -> None:
    assert when.moment_text(dt.datetime(2026, 5, 4, hour, tzinfo=dt.UTC), "en").endswith(f", {said} UTC")


def test_no_page_says_a_day_another_way() -> None:
    templates = Path(slabwright.office.__file__).parent / "templates"
    for file in templates.rglob("*.html"):
        text = file.read_text(encoding="utf-8")
        # Formats in single quotes stand in addresses and in <time datetime>, which machines read.
        assert not re.search(r"\|\s*(date|time)(?!:')", text), file.name
        assert " UTC" not in text, file.name
