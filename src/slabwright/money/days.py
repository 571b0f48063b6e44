"""The days of a job from its hours: preparing, the pour, taking the forms off, opening to cars.

Preparing takes as long as the hours of the whole crew, or as the longest chain of steps where only so many
people can work at one, whichever is more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from slabwright.measure import HOUR
from slabwright.money.ical import AgreedDay
from slabwright.money.model import Book, CostLine, Estimate, JobTerms, PlanQuantities
from slabwright.money.path import Path, Task, longest_path
from slabwright.money.phrases import Phrase
from slabwright.money.pricing import crew_of

ORDER = (
    "take out",
    "set out",
    "strip sod",
    "dig",
    "load spoil",
    "trench drain",
    "base",
    "compact",
    "forms",
    "steel",
)
"""Steps before the pour, each after all earlier ones of its slab but those of BESIDE."""
BESIDE = {"load spoil": ("dig",), "base": ("dig",), "trench drain": ("dig",)}
"""What these alone wait for: spoil is loaded while the base goes in."""
AT_ONCE = {"set out": 2, "compact": 1, "trench drain": 2}
"""How many can work at a step on one slab; all of the crew at the rest (source own-setting)."""
OPEN_DAYS = 7  # from the pour until cars may drive on it (source opening-3000)
WEEK = (0, 1, 2, 3, 4)  # Monday to Friday
DAY_HOURS = 8.0


@dataclass(frozen=True, slots=True)
class JobDays:
    """The days of a job and how long preparing takes: `whole` [s] of the crew, chance of being ready.

    `prepare` whole days before the pour; `chance_ready` [-] that they are enough.
    """

    days: tuple[AgreedDay, ...]
    prepare: int
    whole: float
    chance_ready: float


def job_days(
    quantities: PlanQuantities,
    made: Estimate,
    book: Book,
    first: date,
    *,
    terms: JobTerms | None = None,
    week: Sequence[int] = WEEK,
    driven: bool = True,
) -> JobDays:
    """Return the days of a job that begins on `first`, or on the first working day after it.

    week: days worked, Monday 0. driven: whether cars will drive on it, so that the day is told. ValueError
    for a week without days, or a crew of nobody.
    """
    if not week or not set(week) <= set(range(7)):
        raise ValueError("a week has working days, Monday 0 to Sunday 6")
    people = sum(count for _, count in crew_of(quantities, book, terms or JobTerms()))
    if not people:
        raise ValueError("nobody works here: the book has no wage")
    day = book.find("term", "day")
    shift = HOUR * (float(day.value) if day else DAY_HOURS)
    lines = [line for line in made.lines if line.group == "labour" and line.code in ORDER]
    crew_time = math.fsum(line.person_time for line in lines) / people
    path = preparing(lines, book, people)
    whole = max(crew_time, path.whole)
    prepare = max(1, math.ceil(whole / shift - 1e-9))
    # The crew's own hours are as uncertain as the chain of steps is, in proportion.
    spread = math.sqrt(path.whole_variance) * (whole / path.whole if path.whole else 0.0)
    ready = Path(whole, {}, {}, (), spread**2).chance_by(prepare * shift)
    start = _working(first, week)
    last = _later(start, prepare - 1, week)
    pour = _later(last, 1, week)
    title = {"title": made.title}
    days: tuple[AgreedDay, ...] = (
        AgreedDay("dig", Phrase("on-dig", title), start, days=(last - start).days + 1),
        AgreedDay("pour", Phrase("on-pour", title), pour),
        AgreedDay("strip", Phrase("on-strip", title), _later(pour, 1, week)),
    )
    if driven:
        days += (AgreedDay("drive", Phrase("on-drive", title), pour + timedelta(days=OPEN_DAYS)),)
    return JobDays(days, prepare, whole, ready)


def preparing(lines: Sequence[CostLine], book: Book, people: int) -> Path:
    """Return the longest chain of steps before the pour; each slab's steps follow one another."""
    tasks: dict[str, Task] = {}
    slabs = sorted({line.by_slab[0][0] if line.by_slab else "" for line in lines})
    for slab in slabs:
        own = [line for line in lines if (line.by_slab[0][0] if line.by_slab else "") == slab]
        before: dict[str, list[str]] = {}
        for step in ORDER:
            waits = BESIDE.get(step) or tuple(s for s in ORDER[: ORDER.index(step)] if s != "load spoil")
            after = tuple(name for s in waits for name in before.get(s, ()))
            for line in (line for line in own if line.code == step):
                name = f"{slab}: {step} {line.condition}".strip()
                tasks[name] = _task(line, book, min(people, AT_ONCE.get(step, people)), after)
                before.setdefault(step, []).append(name)
    return longest_path(tasks)


def _task(line: CostLine, book: Book, people: int, after: tuple[str, ...]) -> Task:
    likely = line.person_time / people
    row = book.find("rate", line.code, line.condition)
    low = row.low if row is not None and row.low is not None else None
    high = row.high if row is not None and row.high is not None else None
    value = row.value if row is not None else Decimal(1)
    slow = float(value / low) if low else 1.0
    fast = float(value / high) if high else 1.0
    return Task(likely * fast, likely, likely * slow, after)


def _working(day: date, week: Sequence[int]) -> date:
    while day.weekday() not in week:
        day += timedelta(days=1)
    return day


def _later(day: date, count: int, week: Sequence[int]) -> date:
    """Return the day so many working days later."""
    for _ in range(count):
        day = _working(day + timedelta(days=1), week)
    return day
