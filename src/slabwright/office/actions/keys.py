"""Keys with which programs come to the API: shown once, kept as a hash, ending on their own."""

from __future__ import annotations

import datetime as dt

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from slabwright.office.actions import audit
from slabwright.office.clock import SLACK
from slabwright.office.models import Person, Token
from slabwright.office.models.people import fresh_token, hashed

MOST_DAYS = 730
NOTED = dt.timedelta(minutes=1)  # how fine 'last used' is: a busy program must not write at every request


@transaction.atomic
def make(*, person: Person, name: str, writes: bool, days: int) -> tuple[Token, str]:
    """Return a new key of a person and its token, which nobody can look up later."""
    token = fresh_token()
    ends = timezone.now() + dt.timedelta(days=days)
    key = Token.objects.create(person=person, name=name, digest=hashed(token), writes=writes, ends=ends)
    audit.note("key-made", person=person, about=name, writes=writes, days=days)
    return key, token


@transaction.atomic
def revoke(*, person: Person, key: Token) -> None:
    """End a key at once."""
    audit.note("key-ended", person=person, about=key.name)
    key.delete()


def key_of(token: str) -> Token | None:
    """Return the key of a token while it holds and its person works here; notes that it was used."""
    now = timezone.now()
    key = (
        Token.objects.select_related("person")
        .filter(digest=hashed(token), ends__gt=now, made__lte=now + SLACK)
        .first()
    )
    if key is None or not key.person.works_here:
        return None
    if key.used is None or now - key.used > NOTED:
        Token.objects.filter(pk=key.pk).update(used=now)
    return key


def too_fast(key: Token, most: int) -> bool:
    """Count a request of a key; return whether it is one too many in this minute.

    The count stands in the database: all workers share it.
    """
    minute = timezone.now().replace(second=0, microsecond=0)
    mine = Token.objects.filter(pk=key.pk)
    if not mine.filter(minute=minute).update(asked=F("asked") + 1):
        mine.exclude(minute=minute).update(minute=minute, asked=1)
    return mine.filter(asked__gt=most).exists()
