"""What was done on a day and what became of an order: written down, read by the engine's own readers."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping

from django.db import transaction

from slabwright.findings import Finding, Level
from slabwright.money.model import Actual, OrderActual
from slabwright.money.records import ACTUAL, ORDER, unknown_job
from slabwright.office.actions import audit
from slabwright.office.actions.jobs import name_of
from slabwright.office.models import DayRecord, Job, LoadRecord, Person
from slabwright.priced import NotUsableError, Records, read_records

Read = tuple[tuple[Actual, ...], tuple[OrderActual, ...]]


class RecordError(ValueError):
    """Rows that cannot be used; nothing was kept. `findings` name each with its row and column."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__("; ".join(one.code for one in findings[:10]))
        self.findings = findings


def keep_row(*, person: Person, job: Job, typed: Mapping[str, str], load: bool) -> None:
    """Keep one day's record, or one order's (load), as it was typed. RecordError where it cannot be read."""
    heads = ORDER if load else ACTUAL
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(heads)
    writer.writerow([job.code if head == "job" else typed.get(head, "").strip() for head in heads])
    _keep(person=person, job=job, content=out.getvalue().encode(), name="orders.csv" if load else "days.csv")


def bring_in(*, person: Person, job: Job, content: bytes, name: str) -> int:
    """Keep every row of a CSV or XLSX with the job that it names, all or none; return how many. RecordError.

    A row is known by the job's title or code; the short name that the command line prints does too.
    """
    return _keep(person=person, job=job, content=content, name=name)


def _keep(*, person: Person, job: Job, content: bytes, name: str) -> int:
    try:
        read: Records = read_records([(name, content)])
    except NotUsableError as error:
        raise RecordError(error.findings) from error
    wrong = tuple(one for one in read.findings if one.level is Level.STOP)
    if wrong or not (read.actuals or read.orders):
        raise RecordError(wrong or read.findings)
    every: tuple[Actual | OrderActual, ...] = (*read.actuals, *read.orders)
    jobs = _jobs(job, {one.job for one in every})
    strange = tuple(unknown_job(one, name) for one in every if one.job not in jobs)
    if strange:
        raise RecordError(strange)
    with transaction.atomic():
        DayRecord.objects.bulk_create(_day(one, jobs[one.job], person) for one in read.actuals)
        LoadRecord.objects.bulk_create(_load(one, jobs[one.job], person) for one in read.orders)
        count = len(read.actuals) + len(read.orders)
        audit.note("records-kept", person=person, about=job.title, job=job.code, rows=count)
    return count


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())


def _jobs(here: Job, names: set[str]) -> dict[str, Job]:
    """Return the job that each name means: this one before others of its title; none for two of one title."""
    own = {"", *map(_folded, (here.code, here.title, name_of(here)))}
    found = {name: here for name in names if _folded(name) in own}
    others: dict[str, list[Job]] = {}
    if len(found) < len(names):
        for job in Job.objects.only("pk", "code", "title"):
            for name in {_folded(job.code), _folded(job.title)}:
                others.setdefault(name, []).append(job)
    for name in names - found.keys():
        meant = others.get(_folded(name), [])
        if len(meant) == 1:
            found[name] = meant[0]
    return found


def _day(one: Actual, job: Job, person: Person) -> DayRecord:
    return DayRecord(
        job=job,
        day=one.day,
        step=one.step[:40],
        condition=one.condition[:40],
        unit=one.unit,
        amount=str(one.amount),
        hours=str(one.hours),
        person=person,
    )


def _load(one: OrderActual, job: Job, person: Person) -> LoadRecord:
    return LoadRecord(
        job=job,
        day=one.day,
        unit=one.unit,
        drawn=str(one.drawn),
        delivered=str(one.delivered),
        left=str(one.left),
        person=person,
    )


@transaction.atomic
def take_away(*, person: Person, row: DayRecord | LoadRecord) -> None:
    """Take one record away; the log keeps what it said."""
    audit.note("record-gone", person=person, about=row.job.title, job=row.job.code, said=str(row))
    row.delete()
