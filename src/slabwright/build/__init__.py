"""How it gets made: set-out, dig, forms, steel, kit, the order."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from slabwright.build.whole import Built
    from slabwright.ground.model import Ground
    from slabwright.notes.models import Notes
    from slabwright.slab.model import Shaped
    from slabwright.survey import Survey

__all__ = ["make"]


def make(notes: Notes, survey: Survey, ground: Ground, shaped: Shaped, *, mapped: bool = True) -> Built:
    """Return how a job gets made: the room's door.

    notes: kit, crew, access and what the plant sells; survey: points to pull tapes from and lines of
    sight; ground: what is there; shaped: the slabs; mapped: with the cut-depth map, which only sheets
    and files show. ValueError when there is nothing to pour.
    """
    from slabwright.build.making import make_all  # numerics are loaded only when a job is made

    return make_all(notes, survey, ground, shaped, mapped=mapped)
