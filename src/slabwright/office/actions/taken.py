"""What a customer took of a quote's options, and putting it into the job's notes."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.money.phrases import called
from slabwright.money.wanted import WantedError
from slabwright.office.actions import audit, jobs
from slabwright.office.actions.jobs import Outcome
from slabwright.office.actions.prices import text_of
from slabwright.office.actions.taking import Taken, options_taken, taken
from slabwright.office.models import Job, Person, Quote, QuoteState, Revision
from slabwright.office.planning import read, tree_of


@dataclass(frozen=True, slots=True)
class Took:
    """The accepted quote of a job with options in it, and what of them is not in the notes; no price."""

    quote: Quote
    what: Taken

    def names(self, lang: str) -> tuple[str, ...]:
        """Return what the options that are missing are called."""
        return self._called(self.what.missing, lang)

    def by_hand(self, lang: str) -> tuple[str, ...]:
        """Return what the options are called that somebody must write into the notes."""
        return self._called(self.what.by_hand, lang)

    def _called(self, keys: tuple[str, ...], lang: str) -> tuple[str, ...]:
        listed = {one["key"]: one for one in self.quote.shown["options"]}
        return tuple(called(listed[key]["en"], listed[key]["es"], lang) for key in keys)


def took(job: Job) -> Took | None:
    """Return what the customer took of the quote accepted last, None where no option was taken.

    While the newest notes cannot be read, those of the newest plan are looked at, and nothing can be put in.
    """
    held = Quote.objects.filter(job=job, state=QuoteState.ACCEPTED).order_by("-accepted", "-pk")
    quote = held.only("pk", "job_id", "number", "revision", "shown", "chosen", "accepted").first()
    if quote is None or not quote.chosen:
        return None
    every = tuple(quote.chosen)
    old = Revision.objects.filter(job=job, number=quote.revision).values_list("text", flat=True).first()
    quoted = read(old)[0] if old else None
    now, good = read(job.text)[0], True
    if now is None:
        now, good = read(text_of(job)[0])[0], False
    if quoted is None or now is None:
        return Took(quote, Taken(every, (), every if good else ()))
    try:
        what = taken(quoted, now, tree_of(job.text), options_taken(quote.shown, every))
    except (WantedError, KeyError):  # of an offer that was frozen by an older program
        return Took(quote, Taken(every, (), every))
    return Took(quote, what if good else Taken(what.missing, (), what.by_hand))


def put_in(*, person: Person, job: Job) -> Outcome:
    """Put what the customer took into the notes as one revision; nothing is made where they hold it.

    What no edit can put in stays missing. Raises BusyError.
    """
    found = took(job)
    if found is None or not found.what.edits:
        return Outcome(job.number, saved=True)
    # Of two who press at once the second finds the first one's revision.
    client = f"took-{found.quote.pk}-{job.number}"
    own = Revision.objects.filter(job=job, client=client)
    again = own.exists()
    done = jobs.change(person=person, job=job, edits=found.what.edits, base=job.number, client=client)
    if done.saved and not again and own.exists():
        number, revision = found.quote.number, done.number
        audit.note(
            "quote-into-notes",
            person=person,
            about=job.title,
            number=number,
            revision=revision,
            job=job.code,
        )
    return done
