"""Everything that stands round the plan's picture on a page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from slabwright.office.html_tables import HtmlTable, html_table
from slabwright.office.models import Job
from slabwright.office.picture.facts import Spot
from slabwright.office.picture.moves import Move, measured, moves
from slabwright.office.picture.parts import AT_FIRST
from slabwright.office.picture.writer import drawn
from slabwright.office.planning import Planned, tree_of
from slabwright.office.words import word
from slabwright.result import Plan
from slabwright.sheets.job_tables import all_tables

# The tables that say what the picture shows, in the order of its switches.
SAME_AS = (
    "points",
    "panels",
    "grades",
    "form-runs",
    "stakes",
    "joints",
    "bars",
    "dowels",
    "mesh-sheets",
    "dig",
    "water-edges",
    "ponds",
    "hauls",
)
KINDS = ("panel", "mark", "joint", "point")


@dataclass(frozen=True, slots=True)
class Shown:
    """The picture for a template: SVG, switches (key, whether on), what can be chosen, its facts as data.

    `choices` are (kind, ((key, name), ...)); `facts` goes to the page's script as JSON.
    """

    svg: str
    switches: tuple[tuple[str, bool], ...]
    choices: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    facts: dict[str, Any]


def shown(planned: Planned, *, lang: str, text: str | None = None) -> Shown | None:
    """Return the picture of a plan, None where there is none.

    text: the job file behind it, so that its points can be moved; None leaves them where they are.
    """
    plan = planned.plan
    if plan is None:
        return None
    made = drawn(plan, lang)
    movable = moves(plan, tree_of(text)) if text is not None else {}
    held = measured(plan.notes) if text is not None else set()
    facts = {one.key: _facts(one, plan, movable, held, lang) for one in made.spots}
    ordered = sorted(made.spots, key=lambda one: (KINDS.index(one.kind), one.slab))
    choices = tuple(
        (kind, tuple((one.key, _name(one, plan, lang)) for one in group))
        for kind, group in groupby(ordered, key=lambda one: one.kind)
    )
    return Shown(made.svg, tuple((key, key in AT_FIRST) for key in made.switches), choices, facts)


def _name(spot: Spot, plan: Plan, lang: str) -> str:
    name = word(f"spot-{spot.kind}", lang, name=spot.name)
    return f"{name}, {spot.slab}" if spot.slab and len(plan.shaped.slabs) > 1 else name


def _facts(spot: Spot, plan: Plan, movable: Mapping[str, Move], held: set[str], lang: str) -> dict[str, Any]:
    """Return what the page's box shows of a spot, and how it can be moved if it can."""
    data: dict[str, Any] = {"title": _name(spot, plan, lang), "facts": spot.facts}
    move = movable.get(spot.point)
    if move is not None:
        data["move"] = {
            "point": move.point,
            "line": move.line,
            "paths": move.paths,
            "written": move.written,
            "start": move.start,
            "way": move.way,
            "drops": [(path, seen) for path, seen, _ in move.drops],
        }
        if move.drops:
            pulls = ", ".join(name for *_, name in reversed(move.drops))
            data["stays"] = word("move-drops", lang, pulls=pulls)
    elif spot.point in held:
        data["stays"] = word("move-measured", lang)
    return data


def picture_tables(plan: Plan, lang: str) -> tuple[HtmlTable, ...]:
    """Return what the picture shows as tables, in the order of its switches."""
    made = {table.key: table for table in all_tables(plan, lang)}
    listed = [made[key] for key in SAME_AS if key in made]
    system = plan.notes.units
    return tuple(html_table(one, system=system, lang=lang) for one in listed)


def job_picture(job: Job, planned: Planned, lang: str, *, newest: bool) -> Shown | None:
    """Return a job's picture; its points can be moved while what is shown is its newest text."""
    return shown(planned, lang=lang, text=job.text if newest else None)
