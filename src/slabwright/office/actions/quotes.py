"""What is done with quotes: frozen, sent by a link, taken back, opened and accepted by the customer."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from slabwright.findings import Finding, Level
from slabwright.office import offer
from slabwright.office.actions import audit
from slabwright.office.actions.prices import QuoteError, priced_now
from slabwright.office.models import Job, Person, Quote, QuoteState, Revision, Shop, State
from slabwright.office.models.people import fresh_token, hashed
from slabwright.office.when import today
from slabwright.priced import paper_of, party_of, quote_job, quote_number

MOST_DAYS = 365  # that a price may hold
LONGEST_NAME = 120

# --- made and sent --------------------------------------------------------------------------------------


def make(
    *,
    person: Person,
    job: Job,
    revision: int,
    language: str,
    options: Sequence[str] = (),
    valid_days: int = 30,
    customer: str = "",
) -> tuple[Quote, tuple[offer.Apart, ...]]:
    """Return a draft frozen from a revision, and pairs of options that do not simply add up.

    options: as they are written among the job's terms. customer: 'name; address', the job's own where empty.
    QuoteError where it would not be ready to sign; pricing.TermsError where the terms cannot be read.
    """
    if len(options) > offer.MOST_OPTIONS:
        raise QuoteError("quote-many-options", most=str(offer.MOST_OPTIONS))
    old = Revision.objects.filter(job=job, number=revision).first()
    if old is None:
        raise QuoteError("quote-no-revision", number=str(revision))
    priced = priced_now(job, text=old.text, options=options)
    unpriced = [option for option in priced.options if option.difference is None]
    if unpriced:
        raise QuoteError("quote-option-bad", [f for option in unpriced for f in option.findings])
    shop, dated = Shop.own(), today()
    number = _number(job, quote_number(priced, dated))
    given: dict[str, Any] = {"customer": party_of(customer)} if customer.strip() else {}
    made, papers = quote_job(
        priced,
        dated=dated,
        number=number,
        business=party_of(shop.party),
        place=shop.place,
        valid_days=valid_days,
        lang=language,
        **given,
    )
    if not made.ready:
        raise QuoteError("quote-not-ready", [f for f in (*priced.findings, *made.findings) if _stops(f)])
    pairs = offer.apart(priced)
    shown = offer.frozen(made, priced, pairs=pairs, place=shop.place, paper=paper_of(priced.plan))
    pdf = dict(papers)["quote.pdf"]
    return _kept(person, job, revision, language, shown, pdf), pairs


def _stops(finding: Finding) -> bool:
    return finding.level is Level.STOP


def _number(job: Job, wanted: str) -> str:
    """Return the number, with a count behind it where the job has a quote of that number."""
    taken = set(Quote.objects.filter(job=job).values_list("number", flat=True))
    count = 2
    number = wanted
    while number in taken:
        number, count = f"{wanted}-{count}", count + 1
    return number


@transaction.atomic
def _kept(person: Person, job: Job, revision: int, language: str, shown: dict[str, Any], pdf: bytes) -> Quote:
    try:
        with transaction.atomic():
            made = Quote.objects.create(
                job=job,
                number=shown["number"],
                revision=revision,
                language=language,
                shown=shown,
                pdf=pdf,
                picture=shown[language]["picture"],
                total=shown["total"],
                currency=shown["currency"],
                ends=shown["valid_until"],
                person=person,
            )
    except IntegrityError as error:  # two at the same moment
        raise QuoteError("quote-number-taken", number=shown["number"]) from error
    audit.note("quote-made", person=person, about=job.title, number=made.number, job=job.code)
    made.refresh_from_db()
    return made


@transaction.atomic
def send(*, person: Person, quote: Quote) -> str:
    """Return the token of the customer's link, which is kept nowhere; a new one ends the one before.

    Other open quotes of the job are replaced by this one. QuoteError where it cannot be sent.
    """
    # The job's row is the lock: of two quotes sent at once the later one stands.
    job = Job.objects.select_for_update().only("pk", "title", "code").get(pk=quote.job_id)
    if quote.ends < today():
        raise QuoteError("quote-ended", number=quote.number)
    token = fresh_token()
    may = (QuoteState.DRAFT, QuoteState.SENT)
    fresh = Quote.objects.filter(pk=quote.pk, state__in=may).update(
        state=QuoteState.SENT, digest=hashed(token), sent=timezone.now()
    )
    if not fresh:
        raise QuoteError("quote-not-open", number=quote.number)
    Quote.objects.filter(job=job, state=QuoteState.SENT).exclude(pk=quote.pk).update(
        state=QuoteState.REPLACED
    )
    Job.objects.filter(pk=job.pk, state__in=(State.MEASURE, State.LOST)).update(state=State.QUOTED)
    audit.note("quote-sent", person=person, about=job.title, number=quote.number, job=job.code)
    return token


@transaction.atomic
def withdraw(*, person: Person, quote: Quote) -> None:
    """Take a sent quote back: its link then says so. QuoteError where it was accepted or not sent."""
    job = Job.objects.select_for_update().only("pk", "title", "code").get(pk=quote.job_id)
    if not Quote.objects.filter(pk=quote.pk, state=QuoteState.SENT).update(state=QuoteState.WITHDRAWN):
        raise QuoteError("quote-not-open", number=quote.number)
    Job.objects.filter(pk=job.pk, state=State.QUOTED).update(state=State.MEASURE)
    audit.note("quote-withdrawn", person=person, about=job.title, number=quote.number, job=job.code)


@transaction.atomic
def throw_away(*, person: Person, quote: Quote) -> None:
    """Delete a draft that nobody was sent. QuoteError for any other quote."""
    if not Quote.objects.filter(pk=quote.pk, state=QuoteState.DRAFT).delete()[0]:
        raise QuoteError("quote-not-draft", number=quote.number)
    audit.note("quote-deleted", person=person, about=quote.job.title, number=quote.number)


# --- the customer ---------------------------------------------------------------------------------------


def quote_of(token: str) -> Quote | None:
    """Return the quote of a link, whatever became of it; None for a wrong token and a draft."""
    found = Quote.objects.filter(digest=hashed(token)).exclude(state=QuoteState.DRAFT)
    return found.select_related("job").defer("job__text", "pdf").first()


def standing(quote: Quote) -> str:
    """Return what the customer can do: open, ended, accepted, withdrawn or replaced."""
    if quote.state == QuoteState.SENT:
        return "open" if today() <= quote.ends else "ended"
    return str(quote.state)


def opened(quote: Quote) -> None:
    """Note that the customer opened the link, the first time."""
    fresh = Quote.objects.filter(pk=quote.pk, opened=None).update(opened=timezone.now())
    if fresh:
        audit.note("quote-opened", about=quote.job.title, number=quote.number, job=quote.job.code)


@transaction.atomic
def accept(*, quote: Quote, name: str, keys: Sequence[str], origin: str) -> bool:
    """Accept a quote with the options `keys`, by the name typed; True for whoever was first.

    offer.OfferError for options that are not offered; QuoteError where it is not open any more.
    """
    chosen = offer.chosen_of(quote.shown, keys, quote.language)
    job = Job.objects.select_for_update().only("pk", "title", "code").get(pk=quote.job_id)
    fresh = Quote.objects.filter(pk=quote.pk, state=QuoteState.SENT, ends__gte=today()).update(
        state=QuoteState.ACCEPTED,
        accepted=timezone.now(),
        signed=" ".join(name.split())[:LONGEST_NAME],
        signed_from=origin[:60],
        chosen=list(chosen.keys),
        agreed=chosen.total,
    )
    quote.refresh_from_db(fields=["state", "accepted", "signed", "chosen", "agreed", "ends"])
    if not fresh:
        if quote.state == QuoteState.ACCEPTED:
            return False  # sent twice, or by two of the family: the first one holds
        raise QuoteError("quote-not-open", number=quote.number)
    Job.objects.filter(pk=job.pk, state__in=(State.MEASURE, State.QUOTED, State.LOST)).update(
        state=State.ACCEPTED
    )
    audit.note(
        "quote-accepted",
        by=quote.signed,
        about=job.title,
        number=quote.number,
        total=str(chosen.total),
        job=job.code,
    )
    return True
