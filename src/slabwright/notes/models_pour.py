"""The pour as the job file holds it: covers, cure, a set that was seen, what is seen on the day."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from slabwright.notes.rows import Row
from slabwright.notes.values import Clock, Duration, Name, Temperature

CoverName = Literal["blankets", "sheets", "burlap", "shade", "windbreak", "evaporation retarder"]
CureName = Literal["compound", "blanket", "sheet", "burlap"]
SeenName = Literal["placed", "sheen gone", "broom"]


class CoverNotes(Row):
    """What is laid over the slab, or stood round it, from an hour of the day to another."""

    cover: CoverName
    from_: Clock
    to: Clock | None = None  # the next time the clock shows it; left out: it stays
    days: Annotated[int, Field(ge=0, le=9)] | None = None  # more, before it comes off


class SetNotes(Row):
    """An initial set that this crew saw with this mix."""

    after: Duration  # batching
    at: Temperature  # of the concrete


class SeenNotes(Row):
    """Something seen during the pour."""

    what: SeenName
    at: Clock
    panel: Name | None = None  # as the card names it; left out: the first
    slab: Name | None = None  # where several have a panel of that name


class PourNotes(Row):
    """What is known of the pour beside its weather."""

    cure: CureName | None = None
    covers: Annotated[tuple[CoverNotes, ...], Field(max_length=20)] = ()
    set: SetNotes | None = None
    seen: Annotated[tuple[SeenNotes, ...], Field(max_length=400)] = ()
