"""What the crew saw during the pour: what the page asks, and the edit of the notes that it becomes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import get_args

from slabwright.measure import HOUR, MeasureError, Quantity, read, write
from slabwright.notes.models import Notes
from slabwright.notes.models_pour import SeenName
from slabwright.notes.models_weather import WeatherNotes
from slabwright.office.actions.edits import Edit
from slabwright.office.hours.clock import day_and_clock
from slabwright.office.planning import Planned, tree_of
from slabwright.office.when import SLACK
from slabwright.office.words import word
from slabwright.result import Plan

WHATS: tuple[SeenName, ...] = get_args(SeenName)
PLACE = ("pour", "seen")
GUESSED = 2.5 * HOUR  # [s] where the zone is guessed from the longitude: summer time and borders


class SeenError(ValueError):
    """What was sent cannot be kept; str() says why, in the words of a language."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the page asks and lists.

    `panels` (value to send, name) in placing order; `now` the time of day where the job lies, as a field of
    the browser wants it; `seen` (number, words) of what is in the notes, by the clock; `day` says that the
    pour is today; `next` the panel that is likely meant: the one told of last, or the one after it where it
    was told to be placed.
    """

    panels: tuple[tuple[str, str], ...]
    now: str
    seen: tuple[tuple[int, str], ...]
    day: bool
    next: str
    whats: tuple[SeenName, ...] = WHATS


def asked(made: Planned, lang: str, *, at: datetime) -> Asked | None:
    """Return what the page asks; `at` is the moment now. None where there is no plan."""
    if made.plan is None or made.notes is None:
        return None
    (day, clock), weather = day_and_clock(made.notes, at), made.notes.weather
    today = isinstance(weather, WeatherNotes) and weather.day == day
    now = f"{int(clock // 3600):02d}:{int(clock % 3600 // 60):02d}"
    panels = _panels(made.plan, lang)
    likely = _next([value for value, _ in panels], made.notes)
    return Asked(panels, now, tuple(_listed(made.notes, lang)), today, likely)


def _next(panels: Sequence[str], notes: Notes) -> str:
    told = notes.pour.seen if notes.pour else ()
    if not told or not panels:
        return ""
    last = told[-1]
    names = [value.rpartition("|")[::2] for value in panels]
    here = next(
        (n for n, (slab, name) in enumerate(names) if name == last.panel and slab == (last.slab or slab)), 0
    )
    return panels[min(here + (last.what == "placed"), len(panels) - 1)]


def _panels(plan: Plan, lang: str) -> tuple[tuple[str, str], ...]:
    several = len(plan.shaped.slabs) > 1
    hauls = plan.built.access.hauls
    names = [word("spot-panel", lang, name=h.panel) + (f", {h.slab}" if several else "") for h in hauls]
    return tuple((f"{h.slab}|{h.panel}", name) for h, name in zip(hauls, names, strict=True))


def _listed(notes: Notes, lang: str) -> list[tuple[int, str]]:
    rows = []
    seen = enumerate(notes.pour.seen if notes.pour else ())
    for n, one in sorted(seen, key=lambda pair: pair[1].at):
        where = word("spot-panel", lang, name=one.panel) if one.panel else word("seen-first", lang)
        if one.slab:
            where += f", {one.slab}"
        clock = write(Quantity("clock", one.at), system=notes.units, lang=lang)
        rows.append((n, f"{clock}: {word(f'choice-{one.what}', lang)}, {where}"))
    return rows


def kept(text: str, plan: Plan, what: str, panel: str, clock: str, lang: str, *, now: datetime) -> Edit:
    """Return the edit that keeps one thing seen on a panel at a clock; SeenError where it cannot be.

    Said once more of the same panel, it takes the place of what was said before. On the day itself nothing
    was seen later than `now`.
    """
    if what not in WHATS or panel not in dict(_panels(plan, lang)):
        raise SeenError(word("seen-what", lang))
    try:
        at = read("clock", clock)
    except MeasureError:
        raise SeenError(word("seen-clock", lang, written=clock[:20])) from None
    day, clock_now = day_and_clock(plan.notes, now)
    weather = plan.notes.weather
    ahead = SLACK.total_seconds() if plan.notes.place.zone else GUESSED
    if isinstance(weather, WeatherNotes) and weather.day == day and at > clock_now + ahead:
        written = write(Quantity("clock", at), system=plan.notes.units)
        raise SeenError(word("seen-later", lang, written=written))
    slab, _, name = panel.rpartition("|")
    row = {"what": what, "panel": name, "at": write(Quantity("clock", at), system=plan.notes.units)}
    if len(plan.shaped.slabs) > 1:
        row["slab"] = slab
    same = [n for n, one in enumerate(_rows(text)) if {**row, "at": ""} == {**one, "at": ""}]
    return Edit("set", (*PLACE, same[0], "at"), row["at"]) if same else Edit("append", PLACE, row)


def _rows(text: str) -> list[dict[str, str]]:
    return (tree_of(text).get("pour") or {}).get("seen") or []


def taken_back(text: str, number: int, lang: str) -> Edit:
    """Return the edit that takes one thing seen away; SeenError where there is none of that number."""
    rows = _rows(text)
    if not 0 <= number < len(rows):
        raise SeenError(word("seen-gone", lang))
    if len(rows) == 1:
        return Edit("delete", PLACE, seen=rows)
    return Edit("delete", (*PLACE, number), seen=rows[number])
