"""What is done with people: let in, changed, given a new password, shown what is kept of them, forgotten."""

from __future__ import annotations

import datetime as dt
from typing import Any

from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.contrib.sessions.models import Session
from django.db import IntegrityError, transaction
from django.db.models import F, Q
from django.utils import timezone

from slabwright.office.actions import audit
from slabwright.office.clock import SLACK
from slabwright.office.models import (
    Audit,
    DayRecord,
    Link,
    LinkKind,
    LoadRecord,
    Person,
    Photo,
    Quote,
    Revision,
    Role,
    Shop,
    Token,
)
from slabwright.office.models.people import fresh_token, hashed
from slabwright.office.words import word

JOIN_DAYS, RESET_HOURS = 7, 24  # that a link can be used


class PeopleError(Exception):
    """Something that may not be done; str() is the key of the word that says why."""


def _locked(person: Person) -> tuple[Person, bool]:
    """Return the person as they are now, and whether they are the last owner.

    All owners are locked, always in the same order, so that two cannot let each other go at once.
    """
    owners = list(Person.objects.select_for_update().filter(role=Role.OWNER, is_active=True).order_by("pk"))
    now = Person.objects.get(pk=person.pk)
    return now, [owner.pk for owner in owners] == [now.pk]


# --- links ----------------------------------------------------------------------------------------------


@transaction.atomic
def invite(*, by: Person, name: str, role: str) -> tuple[Link, str]:
    """Return a link that lets somebody join with a role, and its token, which is kept nowhere."""
    token = fresh_token()
    ends = timezone.now() + dt.timedelta(days=JOIN_DAYS)
    link = Link.objects.create(
        kind=LinkKind.JOIN, digest=hashed(token), role=role, name=name[:120], by=by, ends=ends
    )
    audit.note("invited", person=by, about=name, role=role, link=link.pk)
    return link, token


@transaction.atomic
def reset_link(*, by: Person | None, person: Person) -> tuple[Link, str]:
    """Return a link with which a person chooses a new password, and its token; older ones end."""
    Link.objects.filter(kind=LinkKind.RESET, person=person, used=None).delete()
    token = fresh_token()
    ends = timezone.now() + dt.timedelta(hours=RESET_HOURS)
    link = Link.objects.create(
        kind=LinkKind.RESET, digest=hashed(token), name=person.name, person=person, by=by, ends=ends
    )
    audit.note("reset-link", person=by, about=str(person), who=person.pk)
    return link, token


@transaction.atomic
def end_link(*, by: Person, link: Link) -> None:
    """Make a link that was not used yet useless."""
    if Link.objects.filter(pk=link.pk, used=None).delete()[0]:
        audit.note("link-ended", person=by, about=link.name, link=link.pk)


def link_of(token: str, kind: LinkKind) -> Link | None:
    """Return the open link of a token, None for one that is wrong, used or over."""
    now = timezone.now()
    open_ones = Link.objects.filter(used=None, ends__gt=now, made__lte=now + SLACK)
    found = open_ones.filter(digest=hashed(token), kind=kind)
    return found.select_related("person").first()


def _use(link: Link) -> None:
    """Mark a link as used; PeopleError where somebody was quicker."""
    now = timezone.now()
    still = Link.objects.filter(pk=link.pk, used=None, ends__gt=now, made__lte=now + SLACK)
    if not still.update(used=now):
        raise PeopleError("link-over")


@transaction.atomic
def join(*, link: Link, name: str, email: str, password: str, language: str) -> Person:
    """Return the new person of an invitation. PeopleError for an address that is taken or a used link."""
    _use(link)
    try:
        with transaction.atomic():
            person = Person.objects.create_user(email, password, name=name, role=link.role, language=language)
    except IntegrityError as error:
        raise PeopleError("people-email-taken") from error
    Link.objects.filter(pk=link.pk).update(person=person)
    audit.note("joined", person=person, role=link.role)
    return person


@transaction.atomic
def reset(*, link: Link, password: str) -> Person:
    """Return the person of a reset link with the new password; all their sessions end."""
    _use(link)
    assert link.person is not None
    person = Person.objects.select_for_update().get(pk=link.person.pk)
    _new_password(person, password)
    audit.note("password-reset", person=person)
    return person


# --- one's own account ----------------------------------------------------------------------------------


def _new_password(person: Person, password: str) -> None:
    person.set_password(password)
    person.stamp += 1
    person.save(update_fields=["password", "stamp"])


@transaction.atomic
def change_password(*, person: Person, password: str) -> None:
    """Give a person a new password; every session but the one that is renewed afterwards ends."""
    _new_password(person, password)
    audit.note("password-changed", person=person)


@transaction.atomic
def end_sessions(*, by: Person, person: Person) -> None:
    """Sign a person out everywhere."""
    Person.objects.filter(pk=person.pk).update(stamp=F("stamp") + 1)
    person.refresh_from_db(fields=["stamp"])
    audit.note("sessions-ended", person=by, about=str(person), who=person.pk)


@transaction.atomic
def describe(*, person: Person, name: str, language: str) -> None:
    """Change a person's own name and language; histories keep the name of their time."""
    Person.objects.filter(pk=person.pk).update(name=name, language=language)
    person.name, person.language = name, language
    audit.note("person-changed", person=person)


@transaction.atomic
def give_role(*, by: Person, person: Person, role: str) -> None:
    """Change what a person may do. PeopleError for the last owner."""
    person, last = _locked(person)
    if role == person.role:
        return
    if last:
        raise PeopleError("people-last-owner")
    Person.objects.filter(pk=person.pk).update(role=role, stamp=F("stamp") + 1)
    if role == Role.AWAY:
        Token.objects.filter(person=person).delete()
    audit.note("role-given", person=by, about=str(person), role=role, was=person.role, who=person.pk)


# --- what is kept of a person, and forgetting it --------------------------------------------------------


def _when(moment: dt.datetime | dt.date | None) -> str | None:
    return None if moment is None else moment.isoformat()


def data_of(person: Person) -> dict[str, Any]:
    """Return all that is kept of a person, as JSON: account, what they did, tries to sign in; no secrets."""
    tries = (*AccessLog.objects.filter(username=person.email), *_failures(person))
    return {
        "account": {
            "name": person.name,
            "email": person.email,
            "role": person.role,
            "language": person.language,
            "joined": _when(person.joined),
            "last_sign_in": _when(person.last_login),
        },
        "links": [
            {"kind": link.kind, "made": _when(link.made), "ends": _when(link.ends), "used": _when(link.used)}
            for link in Link.objects.filter(person=person)
        ],
        "keys": [
            {"name": t.name, "made": _when(t.made), "used": _when(t.used), "ends": _when(t.ends)}
            for t in Token.objects.filter(person=person)
        ],
        "revisions": [
            {"job": r.job.title, "number": r.number, "when": _when(r.when), "kind": r.kind}
            for r in Revision.objects.filter(person=person).select_related("job").defer("text", "job__text")
        ],
        "photos": [
            {"job": p.job.title, "words": p.words, "when": _when(p.when)}
            for p in Photo.objects.filter(person=person).select_related("job").defer("job__text")
        ],
        "days": [
            {"job": d.job.title, "day": _when(d.day), "step": d.step, "hours": d.hours}
            for d in DayRecord.objects.filter(person=person).select_related("job").defer("job__text")
        ],
        "loads": [
            {"job": d.job.title, "day": _when(d.day), "delivered": d.delivered, "unit": d.unit}
            for d in LoadRecord.objects.filter(person=person).select_related("job").defer("job__text")
        ],
        "quotes": [
            {"job": q.job.title, "number": q.number, "made": _when(q.made)}
            for q in Quote.objects.filter(person=person).select_related("job").defer("job__text", "pdf")
        ],
        "done": [
            {"what": a.what, "about": a.about, "when": _when(a.when)}
            for a in Audit.objects.filter(person=person).order_by("pk")
        ],
        "sign_ins": [
            {"when": _when(t.attempt_time), "from": t.ip_address, "with": t.user_agent} for t in tries
        ],
    }


def _failures(person: Person) -> list[Any]:
    return [
        *AccessAttempt.objects.filter(username=person.email),
        *AccessFailureLog.objects.filter(username=person.email),
    ]


def export(*, by: Person, person: Person) -> dict[str, Any]:
    """Return what is kept of a person, and note that it was asked for."""
    made = data_of(person)
    audit.note("data-exported", person=by, about=str(person), who=person.pk)
    return made


@transaction.atomic
def forget(*, by: Person, person: Person) -> None:
    """Take a person out of the office: account, address and sign-ins go, in histories a word stands instead.

    What they did to jobs stays, for the jobs' sake. PeopleError for the last owner.
    """
    person, last = _locked(person)
    if last:
        raise PeopleError("people-last-owner")
    left = word("somebody-left", Shop.own().language)
    Revision.objects.filter(person=person).update(by=left)
    Audit.objects.filter(person=person).update(by=left)
    links = list(Link.objects.filter(person=person).values_list("pk", flat=True))
    for told in (Q(more__who=person.pk), Q(more__link__in=links), Q(about__in={person.name, person.email})):
        Audit.objects.filter(told).update(about=left)
    for rows in (AccessLog, AccessAttempt, AccessFailureLog):
        rows.objects.filter(username__iexact=person.email).delete()
    _drop_sessions(person)
    themselves = by.pk == person.pk
    person.delete()
    audit.note("forgotten", person=None if themselves else by, by=left if themselves else "", about=left)


def _drop_sessions(person: Person) -> None:
    """Take away the person's sessions; other people's, and those that are over, stay as they are."""
    mine = [
        session.pk
        for session in Session.objects.filter(Q(expire_date__gt=timezone.now()))
        if session.get_decoded().get("_auth_user_id") == str(person.pk)
    ]
    Session.objects.filter(pk__in=mine).delete()
