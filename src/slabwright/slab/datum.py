"""What heights on paper are counted from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # the ground's door loads geometry, which `--help` must not wait for
    from slabwright.ground.model import DoorAt


def datum_name(wanted: str | None, shot: Mapping[str, object], doors: Iterable[DoorAt]) -> str:
    """Return the name of the height that all others on paper are up or down from.

    The one that the notes name, else the first sill that was shot, else the first height; '' where no
    height was shot at all.
    """
    if wanted and wanted in shot:
        return wanted
    for door in doors:
        if door.sill_name and door.sill is not None:
            return door.sill_name
    return next(iter(shot), "")
