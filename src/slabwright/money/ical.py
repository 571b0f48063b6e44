"""Days agreed, as iCalendar text after RFC 5545: content lines folded, texts escaped, times in UTC."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from slabwright.measure import System
from slabwright.money.phrases import Said, say

FOLD = 75  # octets of a content line (source rfc-5545, section 3.1)
_ESCAPES = {"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n"}


@dataclass(frozen=True, slots=True)
class AgreedDay:
    """Something agreed for a day, or from one clock time to another.

    `key` makes its identity together with the job: the same key later moves it. `begins` is a date for
    whole days (`days` of them), or a time that knows its zone, with `ends`. `moved` counts how often it
    was moved.
    """

    key: str
    what: Said
    begins: date | datetime
    days: int = 1
    ends: datetime | None = None
    note: Said | None = None
    place: str = ""
    moved: int = 0
    called_off: bool = False


def calendar_text(
    days: Sequence[AgreedDay],
    *,
    job: str,
    stamp: datetime,
    lang: str = "en",
    system: System = System.IMPERIAL,
) -> str:
    """Return days as the text of an .ics file, lines ended by CRLF.

    job: the job's own short name, a part of every event's identity. stamp: when this text is made, knowing
    its zone. ValueError for times without a zone, an end before its beginning, or a key used twice.
    """
    if len({day.key for day in days}) != len(days):
        raise ValueError("two days have the same key; each needs its own, so that it can be moved later")
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//Slabwright//days agreed//EN",
        "CALSCALE:GREGORIAN",
    ]
    for day in days:
        lines += _event(day, job, stamp, lang, system)
    lines.append("END:VCALENDAR")
    return "".join(f"{_folded(line)}\r\n" for line in lines)


def _event(day: AgreedDay, job: str, stamp: datetime, lang: str, system: System) -> list[str]:
    lines = [
        "BEGIN:VEVENT",
        f"UID:{_escaped(f'{job}-{day.key}'.replace(' ', '-'))}@slabwright.invalid",
        f"DTSTAMP:{_utc(stamp)}",
        *_when(day),
        f"SUMMARY;LANGUAGE={lang}:{_escaped(say(day.what, lang, system))}",
    ]
    if day.note is not None:
        lines.append(f"DESCRIPTION;LANGUAGE={lang}:{_escaped(say(day.note, lang, system))}")
    if day.place:
        lines.append(f"LOCATION:{_escaped(day.place)}")
    lines += [
        f"SEQUENCE:{day.moved}",
        f"STATUS:{'CANCELLED' if day.called_off else 'CONFIRMED'}",
        "END:VEVENT",
    ]
    return lines


def _when(day: AgreedDay) -> list[str]:
    if isinstance(day.begins, datetime):
        ends = day.ends
        if ends is None or ends <= day.begins:
            raise ValueError(f"{day.key} must end after it begins")
        return [f"DTSTART:{_utc(day.begins)}", f"DTEND:{_utc(ends)}"]
    if day.days < 1:
        raise ValueError(f"{day.key} takes {day.days} days; a day agreed takes one at least")
    after = day.begins + timedelta(days=day.days)  # the day after the last one, as the standard has it
    return [f"DTSTART;VALUE=DATE:{day.begins:%Y%m%d}", f"DTEND;VALUE=DATE:{after:%Y%m%d}"]


def _utc(at: datetime) -> str:
    if at.tzinfo is None:
        raise ValueError(f"{at} does not know its zone")
    return f"{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _escaped(text: str) -> str:
    # Control letters have no place in a content line; line ends are written out.
    plain = "".join(c for c in text.replace("\r\n", "\n") if c == "\n" or c.isprintable())
    return "".join(_ESCAPES.get(c, c) for c in plain)


def _folded(line: str) -> str:
    """Return a content line folded so that no part is over 75 octets and no letter is cut apart."""
    parts, part, size = [], "", 0
    for letter in line:
        octets = len(letter.encode("utf-8"))
        if size + octets > FOLD:
            parts.append(part)
            part, size = "", 1  # the blank that begins the next part counts
        part, size = part + letter, size + octets
    return "\r\n ".join((*parts, part))
