"""The one pipeline: Notes in, Plan out. The only module that knows the whole order of the rooms."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from slabwright import build, ground, slab, survey
from slabwright.findings import Finding, Level
from slabwright.notes.defaults import specify
from slabwright.notes.models import Notes
from slabwright.result import Plan
from slabwright.survey.from_notes import net_of

OnStage = Callable[[str], None]


class PlanError(Exception):
    """The notes are well written, yet nothing can be worked out from them; str() says why."""


def make(notes: Notes, *, name: str = "job", on_stage: OnStage | None = None) -> Plan:
    """Return the plan of a job: every room in the order of the work.

    name: the job's short name, for sheets and files. on_stage: called with the name of each stage as
    it begins. Pure: the same notes give the same plan. Raises PlanError when there is nothing to plan
    from, saying what is missing.
    """
    tell = on_stage or (lambda _stage: None)
    tell("measuring: tape pulls and rod readings")
    try:
        surveyed = survey.adjust(net_of(notes))
    except ValueError as error:
        raise PlanError(str(error)) from error
    points = {p.name: (p.x, p.y) for p in surveyed.points.values()}
    heights = {h.name: h.height for h in surveyed.heights.values()}
    tell("the ground and what stands on it")
    there = ground.survey_ground(notes, points, heights)
    specs = specify(notes)
    tell("outlines, joints and heights")
    try:
        shaped = slab.shape(specs, points, heights, there, datum=notes.datum, units=notes.units)
    except ValueError as error:
        raise PlanError(str(error)) from error
    tell("where the rain goes")
    water = slab.drain(notes.water, points, shaped, there)
    tell("forms, steel, dig and the order")
    built = build.make(notes, surveyed, there, shaped)
    return Plan(
        name=name,
        notes=notes,
        survey=surveyed,
        ground=there,
        shaped=shaped,
        water=water,
        built=built,
        findings=in_order(
            surveyed.findings, there.findings, _slab_findings(shaped), water.findings, built.findings
        ),
    )


def _slab_findings(shaped: slab.Shaped) -> tuple[Finding, ...]:
    found: list[Finding] = []
    for one in shaped.slabs:
        found += [*one.joint_plan.findings, *one.height_plan.findings, *one.steel.findings]
    return (*found, *shaped.findings)


def in_order(*rooms: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return all findings once each, gravest first, within a level in the order of the work."""
    every: list[Finding] = []
    for finding in (f for room in rooms for f in room):
        if finding not in every:
            every.append(finding)
    rank = {level: i for i, level in enumerate(Level)}
    return tuple(sorted(every, key=lambda f: rank[f.level]))


def sheets_of(plan: Plan, **options: Any) -> Iterator[tuple[str, bytes]]:
    """Yield (file name, content) of the whole packet; options as in `sheets.files.packet_files`."""
    from slabwright.sheets.files import packet_files

    return packet_files(plan, **options)


def plan_schema() -> dict[str, Any]:
    """Return the JSON Schema of plan.json."""
    from slabwright.sheets.document import plan_schema as schema

    return schema()
