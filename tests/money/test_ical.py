"""Days agreed: what can go wrong before any reader sees it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from slabwright.measure import Both
from slabwright.money.ical import AgreedDay, calendar_text
from slabwright.money.phrases import Phrase

NOW = datetime(2026, 4, 1, 12, 0, tzinfo=UTC)
POUR = Phrase("on-pour", {"title": "Alder Street 12"})


def test_same_days_same_text() -> None:
    days = [AgreedDay("pour", POUR, date(2026, 5, 6))]
    assert calendar_text(days, job="a", stamp=NOW) == calendar_text(days, job="a", stamp=NOW)


def test_a_moved_day_keeps_its_identity() -> None:
    one = calendar_text([AgreedDay("pour", POUR, date(2026, 5, 6))], job="a", stamp=NOW)
    two = calendar_text([AgreedDay("pour", POUR, date(2026, 5, 8), moved=1)], job="a", stamp=NOW)
    uid = next(line for line in one.splitlines() if line.startswith("UID:"))
    assert uid in two
    assert "SEQUENCE:1" in two


@pytest.mark.parametrize(
    "day",
    [
        AgreedDay("x", POUR, date(2026, 5, 6), days=0),
        AgreedDay("x", POUR, datetime(2026, 5, 6, 7, tzinfo=UTC)),
        AgreedDay("x", POUR, datetime(2026, 5, 6, 7, tzinfo=UTC), ends=datetime(2026, 5, 6, 7, tzinfo=UTC)),
        AgreedDay("x", POUR, datetime(2026, 5, 6, 7), ends=datetime(2026, 5, 6, 9)),
    ],
)
def test_days_that_cannot_be(day: AgreedDay) -> None:
    with pytest.raises(ValueError, match=r"must end|takes 0 days|zone"):
        calendar_text([day], job="a", stamp=NOW)


def test_two_days_with_one_key() -> None:
    day = AgreedDay("x", POUR, date(2026, 5, 6))
    with pytest.raises(ValueError, match="key"):
        calendar_text([day, day], job="a", stamp=NOW)


def test_times_are_written_in_utc() -> None:
    west = timezone(timedelta(hours=-7))
    day = AgreedDay(
        "x", POUR, datetime(2026, 5, 6, 7, tzinfo=west), ends=datetime(2026, 5, 6, 19, tzinfo=west)
    )
    text = calendar_text([day], job="a", stamp=NOW)
    assert "DTSTART:20260506T140000Z" in text
    assert "DTEND:20260507T020000Z" in text


def test_control_letters_do_not_break_a_line() -> None:
    nasty = Both("a\r\nBEGIN:VEVENT\x07;b,c\\d", "x")
    text = calendar_text([AgreedDay("x", nasty, date(2026, 5, 6))], job="a", stamp=NOW)
    assert text.count("\r\nBEGIN:VEVENT\r\n") == 1
    assert "\x07" not in text
    assert "a\\nBEGIN:VEVENT\\;b\\,c\\\\d" in text
