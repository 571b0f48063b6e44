"""Plan: everything that the rooms found out about one job, for sheets to draw and files to hold.

`plan.make` fills it; nothing else does. A number on a sheet, on a page and in plan.json is read
from the same field here.
"""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.build.whole import Built
from slabwright.findings import Finding
from slabwright.ground.model import Ground
from slabwright.notes.models import Notes
from slabwright.slab.drainage_model import Drainage
from slabwright.slab.model import Shaped
from slabwright.survey import Survey


@dataclass(frozen=True, slots=True)
class Plan:
    """One job, planned.

    `name` is the job file's name without its ending; `findings` holds those of every room, gravest
    first, in the order of the work.
    """

    name: str
    notes: Notes
    survey: Survey
    ground: Ground
    shaped: Shaped
    water: Drainage
    built: Built
    findings: tuple[Finding, ...]
