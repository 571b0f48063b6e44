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
from slabwright.pourday.crew_model import CrewPlan, PlanRow, Updated, WayOut
from slabwright.pourday.model import Cure, DayAdvice, MixDay, PourDay, Protection
from slabwright.slab.drainage.model import Drainage
from slabwright.slab.model import Shaped
from slabwright.survey import Survey


@dataclass(frozen=True, slots=True)
class PourRun:
    """How the day of the pour is run, and what else could be done.

    `crew` is the plan for the start asked for; `starts` what other starts come to with the same people;
    `ways` are ways out, worked out where something stands against the plan, the plan as it is first; `days`
    go, wait or no for each day that the weather covers; `mix` as it was taken; `begun` says whether the
    start was given or is the usual one. `protections` are laid over it or stood round it, and `cure` goes on
    after the broom; `updated` says what was learned during the pour, None before.
    """

    crew: CrewPlan
    starts: tuple[PlanRow, ...]
    ways: tuple[WayOut, ...]
    days: tuple[DayAdvice, ...]
    mix: MixDay
    begun: bool
    protections: tuple[Protection, ...] = ()
    cure: Cure = "compound"
    updated: Updated | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """One job, planned.

    `name` is the job file's name without its ending; `findings` holds those of every room, gravest
    first, in the order of the work. `pour` and `pour_run` are None where no weather was given.
    """

    name: str
    notes: Notes
    survey: Survey
    ground: Ground
    shaped: Shaped
    water: Drainage
    built: Built
    findings: tuple[Finding, ...]
    pour: PourDay | None = None
    pour_run: PourRun | None = None
