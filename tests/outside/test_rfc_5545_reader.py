"""iCalendar text of agreed days, read back by the library `icalendar`, an independent reader of RFC 5545.

RFC 5545, "Internet Calendaring and Scheduling Core Object Specification" (2009): section 3.1 content
lines of at most 75 octets ended by CRLF; 3.3.11 escapes; 3.6.1 events; 3.8.2.2 DTEND of whole days is
the day after.
"""

from __future__ import annotations

from datetime import UTC, date, datetime

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.measure import Both
from slabwright.money.ical import AgreedDay, calendar_text
from slabwright.money.phrases import Phrase

NOW = datetime(2026, 4, 1, 12, 0, tzinfo=UTC)


def events(text: str) -> list[icalendar.Event]:
    return list(icalendar.Calendar.from_ical(text).walk("VEVENT"))


@pytest.mark.parametrize(
    ("lang", "summary"),
    [
        ("en", "Calle Olmo 3, atrás: pour; keep the drive free"),
        ("es", "Calle Olmo 3, atrás: colado; deje libre la entrada"),
    ],
)
def test_agreed_days_are_read_back(lang: str, summary: str) -> None:
    """3.6.1 and 3.8.2.2: whole days end the day after; times in UTC."""
    title = {"title": "Calle Olmo 3, atrás"}
    days = [
        AgreedDay("dig", Phrase("on-dig", title), date(2026, 5, 4), days=2),
        AgreedDay(
            "pour",
            Phrase("on-pour", title),
            datetime(2026, 5, 6, 14, tzinfo=UTC),
            ends=datetime(2026, 5, 6, 20, tzinfo=UTC),
            note=Both("Truck at 7; hose ready.\nBring blankets", "Camión a las 7"),
            place="Calle Olmo 3",
            moved=2,
        ),
    ]
    dig, pour = events(calendar_text(days, job="olmo 3", stamp=NOW, lang=lang))
    assert (dig["DTSTART"].dt, dig["DTEND"].dt) == (date(2026, 5, 4), date(2026, 5, 6))
    assert str(pour["SUMMARY"]) == summary
    assert (pour["DTSTART"].dt, pour["DTEND"].dt) == (days[1].begins, days[1].ends)
    assert pour["DTSTAMP"].dt == NOW
    assert (int(pour["SEQUENCE"]), str(pour["STATUS"]), str(pour["LOCATION"])) == (
        2,
        "CONFIRMED",
        "Calle Olmo 3",
    )
    if lang == "en":
        assert str(pour["DESCRIPTION"]) == "Truck at 7; hose ready.\nBring blankets"
    assert len({str(e["UID"]) for e in (dig, pour)}) == 2


words = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Zl", "Zp"]), min_size=1, max_size=120)


@settings(max_examples=80, deadline=None)
@given(text=words)
def test_any_text_survives_folding_and_escapes(text: str) -> None:
    """3.1: no content line over 75 octets; 3.3.11: backslash, semicolon, comma escaped."""
    made = calendar_text([AgreedDay("x", Both(text, text), date(2026, 5, 6))], job="a", stamp=NOW)
    assert made.endswith("\r\n")
    lines = made.split("\r\n")
    assert max(len(line.encode("utf-8")) for line in lines) <= 75
    assert "\n" not in "".join(lines)
    (event,) = events(made)
    plain = "".join(c for c in text if c.isprintable())
    assert str(event["SUMMARY"]).strip() == plain.strip()
