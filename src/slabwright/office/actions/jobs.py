"""What people do with jobs: start one, change it, take a change back. Each is saved wholly or not at all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from slabwright.notes import Mistake, NotesError, new_job, update
from slabwright.notes.writer import Set
from slabwright.office.actions import audit
from slabwright.office.actions.edits import (
    Clash,
    Edit,
    at,
    clash_of,
    made,
    mistakes_of,
    rebased,
    then,
)
from slabwright.office.actions.places import resolved
from slabwright.office.models import Job, Person, Revision, Shop
from slabwright.office.planning import Planned, planned, tree_of

TRIES = 8  # others may be quicker a few times; then the sender is asked to try again


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a change: a new revision, or clashes, or mistakes; with these nothing was saved."""

    number: int
    saved: bool
    clashes: tuple[Clash, ...] = ()
    mistakes: tuple[Mistake, ...] = ()
    by: str = ""  # who made the newest revision, where there are clashes
    gone: tuple[Edit, ...] = field(default=())  # edits of rows that somebody took away


class BusyError(Exception):
    """Too many people saved at the same moment; nothing was changed."""


def name_of(job: Job) -> str:
    """Return the job's short name for sheets and files."""
    kept = "".join(c if c.isalnum() else "-" for c in job.title.lower())
    return "-".join(part for part in kept.split("-") if part)[:60] or job.code


def plan_of(job: Job) -> Planned:
    """Return what becomes of the job's newest text."""
    return planned(job.text, name_of(job))


def good_plan_of(job: Job) -> tuple[Planned, int]:
    """Return the newest plan that there is and its revision's number; without any, the newest text's."""
    here = plan_of(job)
    if here.plan is not None or not job.good:
        return here, job.number
    old = Revision.objects.filter(job=job, number=job.good).first()
    if old is None:
        return here, job.number
    return planned(old.text, name_of(job)), old.number


@transaction.atomic
def start(
    *, person: Person | None, title: str, use: str = "walk", customer: str = "", lang: str = "en"
) -> Job:
    """Return a new job that begins as the example of its use, with the shop's units, clock and tools.

    `lang` is the language of the example's names and remarks, 'en' or 'es'.
    """
    shop = Shop.own()
    text = new_job(use, metric=shop.units == "metric", lang=lang)
    sets = [Set(("title",), title)]
    if customer:
        sets.append(Set(("customer",), customer))
    if shop.zone:
        sets.append(Set(("place", "zone"), shop.zone))
    kit = at(tree_of(f"title: x\n{shop.kit}"), ("kit",)) if shop.kit else None
    if kit:
        sets.append(Set(("kit",), kit))
    return _begin(update(text, sets), person=person, starter=True)


@transaction.atomic
def bring_in(*, person: Person | None, text: str) -> Job:
    """Return a new job with this job file's text. Raises NotesError where it cannot be used."""
    wrong = mistakes_of(text)
    if wrong:
        raise NotesError(wrong)
    return _begin(text, person=person, starter=False)


@transaction.atomic
def take_over(*, person: Person | None, text: str, starter: bool) -> Job:
    """Return a new job with a text that the office has already, mistakes and all."""
    return _begin(text, person=person, starter=starter)


def _begin(text: str, *, person: Person | None, starter: bool) -> Job:
    tree = tree_of(text)
    job = Job(text=text, title=str(tree.get("title", ""))[:200], starter=starter)
    job.customer = str(tree.get("customer") or "")[:200]
    _note_plan(job, plan_of(job))
    job.save()
    _keep(job, kind="start", person=person, changes=[])
    audit.note("job-started", person=person, about=job.title, job=job.code)
    return job


def _note_plan(job: Job, what: Planned) -> None:
    job.plans, job.stops = what.plan is not None, what.stops
    if job.plans:
        job.good = job.number


def _keep(
    job: Job, *, kind: str, person: Person | None, changes: list[dict[str, Any]], client: str | None = None
) -> Revision:
    return Revision.objects.create(
        job=job,
        number=job.number,
        text=job.text,
        plans=job.plans,
        changes=changes,
        kind=kind,
        person=person,
        by=str(person) if person else "",
        client=client or None,
    )


def change(
    *, person: Person | None, job: Job, edits: Sequence[Edit], base: int, client: str | None = None
) -> Outcome:
    """Make edits that were begun at revision `base`; all of them are saved, or none.

    client: the sender's own number of this change, so that one sent twice is made once. Raises BusyError.
    """
    for _ in range(TRIES):
        if client:
            again = Revision.objects.filter(job=job, client=client).only("number").first()
            if again is not None:
                return Outcome(again.number, saved=True)
        now = Job.objects.get(pk=job.pk)
        moved, gone = _moved(now, edits, base)
        tree = tree_of(now.text)
        moved, clashes = _settled(tree, moved)
        if clashes or gone:
            last = Revision.objects.filter(job=now, number=now.number).only("by").first()
            return Outcome(
                now.number, saved=False, clashes=clashes, by=last.by if last else "", gone=tuple(gone)
            )
        new, wrong = made(now.text, moved)
        if wrong:
            return Outcome(now.number, saved=False, mistakes=wrong)
        if new == now.text:
            return Outcome(now.number, saved=True)
        data = [edit.data(at(tree, edit.path)) for edit in moved]
        number = _save(now, new, kind="edit", person=person, changes=data, client=client)
        if number:
            return Outcome(number, saved=True)
    raise BusyError


def _moved(job: Job, edits: Sequence[Edit], base: int) -> tuple[list[Edit], list[Edit]]:
    """Return the edits with their places as they are now, and those whose rows are gone."""
    if base >= job.number:
        return list(edits), []
    newer = (
        Revision.objects.filter(job=job, number__gt=base).order_by("number").values_list("changes", flat=True)
    )
    since = [one for changes in newer for one in changes]
    moved, gone = [], []
    for edit in edits:
        here = rebased(edit, since)
        if here is None:
            if edit.kind != "delete":  # to take away what is gone already is done
                gone.append(edit)
        else:
            moved.append(here)
    return moved, gone


def _settled(tree: Any, edits: Sequence[Edit]) -> tuple[list[Edit], tuple[Clash, ...]]:
    """Return the edits at the places that the text has, and the clashes, each at the place asked for."""
    made_good: list[Edit] = []
    clashes: list[Clash] = []
    for edit in edits:
        one = resolved(tree, edit)
        clash = one if isinstance(one, Clash) else clash_of(tree, one)
        if clash is not None:
            clashes.append(replace(clash, path=edit.path, wanted=edit.value))
        elif isinstance(one, Edit):
            made_good.append(one)
            tree = then(tree, one)  # the next may write the same record
    return made_good, tuple(clashes)


def _save(
    job: Job,
    text: str,
    *,
    kind: str,
    person: Person | None,
    changes: list[dict[str, Any]],
    client: str | None = None,
) -> int:
    """Save the text as the revision after `job.number`; 0 where somebody was quicker."""
    before = job.number
    tree = tree_of(text)
    job.text, job.number, job.touched = text, before + 1, timezone.now()
    job.title = str(tree.get("title") or job.title)[:200]
    job.customer = str(tree.get("customer") or "")[:200]
    # Planned before the transaction, so that a writer holds the database for a moment only.
    _note_plan(job, plan_of(job))
    try:
        with transaction.atomic():
            fresh = Job.objects.filter(pk=job.pk, number=before).update(
                text=job.text,
                number=job.number,
                touched=job.touched,
                title=job.title,
                customer=job.customer,
                plans=job.plans,
                good=job.good,
                stops=job.stops,
            )
            if not fresh:
                return 0
            _keep(job, kind=kind, person=person, changes=changes, client=client)
    except IntegrityError:  # the same change came in twice at the same moment
        return 0
    return job.number


def rewrite(*, person: Person | None, job: Job, text: str, base: int, kind: str = "text") -> Outcome:
    """Save a whole text begun at revision `base`; refused while it cannot be used, or when others wrote."""
    now = Job.objects.get(pk=job.pk)
    if now.number != base:
        last = Revision.objects.filter(job=now, number=now.number).only("by").first()
        clash = Clash((), None, now.text, text)
        return Outcome(now.number, saved=False, clashes=(clash,), by=last.by if last else "")
    wrong = mistakes_of(text) if kind == "text" else ()
    if wrong:
        return Outcome(now.number, saved=False, mistakes=wrong)
    if text == now.text:
        return Outcome(now.number, saved=True)
    number = _save(now, text, kind=kind, person=person, changes=[{"kind": "whole", "path": []}])
    if not number:
        raise BusyError
    return Outcome(number, saved=True)


def undo(*, person: Person | None, job: Job, number: int) -> Outcome:
    """Take back revision `number`: wholly while it is the newest, else the fields nobody wrote since."""
    now = Job.objects.get(pk=job.pk)
    target = Revision.objects.get(job=now, number=number)
    if number == now.number:
        before = Revision.objects.filter(job=now, number=number - 1).first()
        if before is None:
            return Outcome(now.number, saved=False)
        return rewrite(person=person, job=now, text=before.text, base=now.number, kind="undo")
    edits = list(_inverse(target))
    if not edits:
        return Outcome(now.number, saved=False)
    return change(person=person, job=now, edits=edits, base=number)


def _inverse(revision: Revision) -> Iterator[Edit]:
    """Yield the edits that take a revision's sets back; a row that was added is taken away."""
    for one in revision.changes:
        path = tuple(one["path"])
        if one["kind"] == "set" and one["was"] is not None:
            yield Edit("set", path, one["was"], one["value"])
        elif one["kind"] == "set":
            yield Edit("delete", path, None, one["value"])
        elif one["kind"] == "append":
            rows = at(tree_of(revision.text), path)
            if isinstance(rows, list):
                yield Edit("delete", (*path, len(rows) - 1), None, one["value"])
        elif one["kind"] == "delete" and one["was"] is not None and isinstance(path[-1], str):
            yield Edit("set", path, one["was"], None)
        elif one["kind"] == "delete" and isinstance(one["was"], dict):
            yield Edit("append", path[:-1], one["was"])  # a record comes back at the end of its list


def restore(*, person: Person | None, job: Job, number: int) -> Outcome:
    """Make the text of an old revision the newest one."""
    old = Revision.objects.get(job=job, number=number)
    now = Job.objects.get(pk=job.pk)
    return rewrite(person=person, job=now, text=old.text, base=now.number, kind="restore")
