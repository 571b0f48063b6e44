"""How the API talks: who may come in, what goes in and out, and what is said when something is wrong."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Literal

from django.http import HttpRequest
from django.utils import timezone
from ninja import Path, Schema
from ninja.security import HttpBearer
from ninja.throttling import BaseThrottle
from pydantic import Field

from slabwright.office.actions import keys, misses
from slabwright.office.models import Token
from slabwright.office.peer import origin
from slabwright.office.words import word

MOST_A_MINUTE = 600  # requests of one key
PLAIN = r"^[^\x00-\x1f\x7f]*$"
Code = Annotated[str, Path(pattern=r"^[a-z0-9]{1,12}$", description="the job's code, as in its address")]
Number = Annotated[int, Path(ge=1, le=2_000_000_000, description="number of a revision or a photo")]
FileName = Annotated[str, Path(pattern=r"^[a-z0-9.-]{1,80}$", description="as listed under files")]


class ApiError(Exception):
    """An answer that is no success: the code of the words, the status, and what else a program needs."""

    def __init__(self, code: str, status: int, **more: Any) -> None:
        super().__init__(code)
        self.code, self.status, self.more = code, status, more


def told(request: HttpRequest, code: str, **more: Any) -> dict[str, Any]:
    """Return an error as the API says it: its code, what happened, what to do."""
    lang = getattr(request, "lang", "en")
    return {"error": code, "what": word(f"api-{code}-what", lang), "do": word(f"api-{code}-do", lang), **more}


class Key(HttpBearer):
    """`Authorization: Bearer <token>`; wrong tokens are counted and slowed down. A session opens nothing."""

    def authenticate(self, request: HttpRequest, token: str) -> Token | None:
        """Return the key, None for a token that is none."""
        here = origin(request)
        if misses.too_many(here):
            raise ApiError("throttled", 429)
        key = keys.key_of(token)
        if key is None:
            misses.note(here)
        return key


class Pace(BaseThrottle):
    """So many requests a minute for one key, at all workers together."""

    def __init__(self, most: int) -> None:
        self.most = most

    def allow_request(self, request: HttpRequest) -> bool:
        """Return whether this request may be answered; one without a key is refused elsewhere."""
        key = getattr(request, "auth", None)
        return not (isinstance(key, Token) and keys.too_fast(key, self.most))

    def wait(self) -> float:
        """Return the seconds after which it may ask again: what is left of the minute."""
        return 60.0 - timezone.now().second


class Wrong(Schema):
    """What is said when something is wrong."""

    error: str = Field(description="a short code that stays the same")
    what: str = Field(description="what happened")
    do: str = Field(description="what to do about it")
    mistakes: list[MistakeOut] | None = None
    clashes: list[ClashOut] | None = None
    gone: list[list[str | int]] | None = None
    number: int | None = Field(None, description="the job's newest revision")
    fields: list[FieldOut] | None = Field(None, description="what of the request cannot be used")


class FieldOut(Schema):
    """One part of a request that cannot be used."""

    at: str
    why: str


class MistakeOut(Schema):
    """One mistake of a job file."""

    line: int | None
    field: str
    written: str | None
    why: str
    example: str | None


class ClashOut(Schema):
    """Somebody else changed the same field: send the edit again with `seen` as it is `now`, or let it be."""

    path: list[str | int]
    seen: Any
    now: Any
    wanted: Any


class JobOut(Schema):
    """A job without its notes."""

    code: str
    title: str
    customer: str
    state: str
    number: int = Field(description="newest revision, to be sent as `base` of a change")
    plans: bool = Field(description="whether the newest notes can be planned")
    stops: int = Field(description="findings of the newest plan that say stop")
    begins: dt.date | None
    pours: dt.date | None
    touched: dt.datetime
    hidden: bool


class JobWhole(JobOut):
    """A job with its notes."""

    text: str = Field(description="the job file")


class JobList(Schema):
    """One page of jobs, those touched last on top."""

    jobs: list[JobOut]
    count: int
    page: int
    pages: int


class NewJob(Schema):
    """Either the whole text of a job file, or a title and a use to begin with."""

    text: str | None = Field(None, max_length=1_000_000)
    title: str | None = Field(None, min_length=1, max_length=200, pattern=PLAIN)
    use: Literal["walk", "patio", "driveway", "apron", "pad", "landing"] = "walk"
    customer: str = Field("", max_length=200, pattern=PLAIN)


class EditIn(Schema):
    """One edit. `seen` is what stood there; without it the edit holds whatever others wrote."""

    kind: Literal["set", "delete", "append"] = "set"
    path: list[str | int] = Field(min_length=1, max_length=12, examples=[["slabs", 0, "width"]])
    value: Any = None
    seen: Any = None


class ChangeIn(Schema):
    """Edits that are saved together or not at all."""

    edits: list[EditIn] = Field(min_length=1, max_length=200)
    base: int = Field(ge=1, le=2_000_000_000, description="the revision that the edits were begun at")
    client: str | None = Field(
        None,
        min_length=1,
        max_length=40,
        pattern=r"^[A-Za-z0-9._-]+$",
        description="your own number of this change: sent twice, it is made once",
    )


class Saved(Schema):
    """The revision that a change became."""

    number: int


class RevisionOut(Schema):
    """One kept version of a job's notes."""

    number: int
    kind: str
    by: str
    when: dt.datetime
    plans: bool


class RevisionWhole(RevisionOut):
    """One kept version with its text."""

    text: str


class FindingOut(Schema):
    """One finding of a plan."""

    code: str
    level: str
    where: str
    line: int | None
    what: str
    why: str
    do: str


class Findings(Schema):
    """The findings of the newest notes; with mistakes there is no plan."""

    number: int
    plans: bool
    problem: str
    findings: list[FindingOut]
    mistakes: list[MistakeOut]


class QuoteOut(Schema):
    """A quote, for the owner."""

    number: str
    revision: int
    state: str
    total: str
    currency: str
    ends: dt.date


class DayOut(Schema):
    """What was done on one day: how much of a step, in how many hours of all people together."""

    day: dt.date
    step: str
    condition: str
    unit: str
    amount: str
    hours: str


class LoadOut(Schema):
    """What became of an order: as drawn, delivered in all, left over."""

    day: dt.date
    unit: str
    drawn: str
    delivered: str
    left: str


class Records(Schema):
    """A job's record, the oldest first."""

    days: list[DayOut]
    loads: list[LoadOut]


class PhotoOut(Schema):
    """A photo without its picture, which has an address of its own."""

    number: int
    words: str
    when: dt.datetime


Wrong.model_rebuild()
