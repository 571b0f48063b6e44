"""What was done on a day and what became of an order: written down, read by the engine's own readers."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping

from django.db import transaction

from slabwright.findings import Finding, Level
from slabwright.money.model import Actual, OrderActual
from slabwright.money.records import ACTUAL, ORDER
from slabwright.office.actions import audit
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
    """Keep every row of a CSV or XLSX as records of this job, all or none; return how many. RecordError."""
    return _keep(person=person, job=job, content=content, name=name)


def _keep(*, person: Person, job: Job, content: bytes, name: str) -> int:
    try:
        read: Records = read_records([(name, content)])
    except NotUsableError as error:
        raise RecordError(error.findings) from error
    wrong = tuple(one for one in read.findings if one.level is Level.STOP)
    if wrong or not (read.actuals or read.orders):
        raise RecordError(wrong or read.findings)
    with transaction.atomic():
        DayRecord.objects.bulk_create(_day(one, job, person) for one in read.actuals)
        LoadRecord.objects.bulk_create(_load(one, job, person) for one in read.orders)
        count = len(read.actuals) + len(read.orders)
        audit.note("records-kept", person=person, about=job.title, job=job.code, rows=count)
    return count


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
