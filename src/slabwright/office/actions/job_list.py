"""What is done to a whole job: where it stands, out of sight, copied, deleted. Each is in the log."""

from __future__ import annotations

import datetime as dt
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Iterable
from typing import Any

from django.db import transaction

from slabwright.notes import Set, update
from slabwright.office.actions import audit
from slabwright.office.actions import jobs as actions
from slabwright.office.actions.edits import Edit
from slabwright.office.models import Job, Person, QuoteState, State

ORDER = (State.MEASURE, State.QUOTED, State.ACCEPTED, State.READY, State.POURED, State.DONE)
MONEY = (State.QUOTED, State.ACCEPTED, State.LOST)  # what was offered and agreed: the owner's to say
MOST_BYTES = 1_000_000  # of a job file; one of a house job has some 6,000


class FileError(ValueError):
    """A file that is no job file at all: the key of the words that say why."""


class OwnerOnlyError(ValueError):
    """A state that only the owner may say."""


def may_stand(person: Person, now: str, then: str) -> bool:
    """Whether a person may take a job from state `now` to `then`.

    What was quoted, agreed or turned down is the owner's to say, and to take back; the work is anyone's.
    """
    return person.is_owner or not (then in MONEY or (now in MONEY and then == State.MEASURE))


def after(person: Person, state: str) -> str:
    """Return the state that follows in the order of the work.

    '' after the last, for a lost job, and where the next is not this person's to say.
    """
    names = [one.value for one in ORDER]
    place = names.index(state) + 1 if state in names else len(names)
    found = names[place] if place < len(names) else ""
    return found if found and may_stand(person, state, found) else ""


def others(person: Person, state: str) -> list[str]:
    """Return the states that a person may put a job into, without its own and the one that follows."""
    left_out = (state, after(person, state))
    return [one for one in State.values if one not in left_out and may_stand(person, state, one)]


@transaction.atomic
def stand(*, person: Person, job: Job, state: str) -> bool:
    """Put a job into a state; False where it stood there already. OwnerOnlyError where crew may not."""
    before = Job.objects.select_for_update().values_list("state", flat=True).get(pk=job.pk)
    if before == state:
        job.state = state
        return False
    if not may_stand(person, before, state):
        raise OwnerOnlyError(state)
    job.state = state
    Job.objects.filter(pk=job.pk).update(state=state)
    audit.note("job-state", person=person, about=job.title, job=job.code, before=before, now=state)
    return True


@transaction.atomic
def put_away(*, person: Person, job: Job, hidden: bool) -> None:
    """Take a job out of the list, or put it back; nothing of it is lost."""
    if Job.objects.filter(pk=job.pk).exclude(hidden=hidden).update(hidden=hidden):
        audit.note("job-hidden" if hidden else "job-shown", person=person, about=job.title, job=job.code)


@transaction.atomic
def agree(*, person: Person, job: Job, begins: dt.date | None, pours: dt.date | None) -> None:
    """Keep the days agreed: the first on site and that of the pour."""
    job.begins, job.pours = begins, pours
    Job.objects.filter(pk=job.pk).update(begins=begins, pours=pours)
    days = {"begins": str(begins or ""), "pours": str(pours or "")}
    audit.note("job-days", person=person, about=job.title, job=job.code, **days)


def follow(*, person: Person, job: Job, edits: Iterable[Edit]) -> None:
    """Put the day of the pour that was written into the notes on the calendar too.

    A day that was agreed otherwise on the calendar stays, and so does a first day on site after it.
    """
    for edit in edits:
        if edit.kind != "set" or edit.path != ("weather", "day"):
            continue
        day, before = _day(edit.value), _day(edit.seen)
        free = job.pours is None or job.pours == before
        if day is not None and free and (job.begins is None or job.begins <= day):
            agree(person=person, job=job, begins=job.begins, pours=day)


def _day(value: Any) -> dt.date | None:
    try:
        return dt.date.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        return None


def copy(*, person: Person, job: Job, title: str) -> Job:
    """Return a new job with the text of this one under another title: its history begins anew."""
    text = Job.objects.values_list("text", flat=True).get(pk=job.pk)
    return actions.take_over(person=person, text=update(text, [Set(("title",), title)]), starter=job.starter)


def text_of_file(content: bytes) -> str:
    """Return a job file's text. FileError where it is too big, no text, or in letters nobody can read."""
    if len(content) > MOST_BYTES:
        raise FileError("bring-too-big")
    try:
        wide = content.startswith((BOM_UTF16_LE, BOM_UTF16_BE))
        text = content.decode("utf-16" if wide else "utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        raise FileError("bring-no-text") from error
    if "\0" in text:
        raise FileError("bring-no-text")
    if not text.strip():
        raise FileError("bring-empty")
    return text


def hangs_on(job: Job) -> dict[str, int]:
    """Return how much would go with a job."""
    quotes = job.quotes.values_list("state", flat=True)
    return {
        "revisions": job.revisions.count(),
        "photos": job.photos.count(),
        "quotes": len(quotes),
        "accepted": sum(state == QuoteState.ACCEPTED for state in quotes),
        "days": job.days.count() + job.loads.count(),
    }


@transaction.atomic
def delete(*, person: Person, job: Job) -> None:
    """Delete a job with all that hangs on it; a photo's files go with its row."""
    held: dict[str, Any] = hangs_on(job)
    audit.note("job-deleted", person=person, about=job.title, job=job.code, **held)
    job.delete()
