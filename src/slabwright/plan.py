"""The one pipeline: Notes in, Plan out. The only module that knows the whole order of the rooms."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from slabwright import build, ground, slab, survey
from slabwright.findings import Finding, Level
from slabwright.measure import HOUR
from slabwright.notes.defaults import specify
from slabwright.notes.models import Notes
from slabwright.pourday.crew_model import PourAsked
from slabwright.pourday.model import Cure
from slabwright.result import Plan, PourRun
from slabwright.survey.from_notes import net_of

if TYPE_CHECKING:
    from datetime import date

    from slabwright.pourday.crew_model import WayOut
    from slabwright.pourday.model import PourDay, Site, Weather
    from slabwright.pourday.ways import Case

USUAL_START = 7.0 * HOUR  # [s, clock] where none is given (common practice)
USUAL_CURE: Cure = "compound"
DAYS_AHEAD = 7
LIKELY, FROST = 0.10, 0.02  # [-] chances from which ways out are worked out

OnStage = Callable[[str], None]


class PlanError(Exception):
    """The notes are well written, yet nothing can be worked out from them; str() says why."""


def make(notes: Notes, *, name: str = "job", on_stage: OnStage | None = None, mapped: bool = True) -> Plan:
    """Return the plan of a job: every room in the order of the work.

    name: the job's short name, for sheets and files. on_stage: called with the name of each stage as
    it begins. mapped: with the cut-depth map, which only sheets and files need. Pure: the same notes
    give the same plan. Raises PlanError when there is nothing to plan from, saying what is missing.
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
    built = build.make(notes, surveyed, there, shaped, mapped=mapped)
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


def pour(
    plan: Plan,
    weather: Weather,
    *,
    day: date,
    start: float | None = None,
    told: tuple[Finding, ...] = (),
    asked: PourAsked | None = None,
    on_stage: OnStage | None = None,
) -> Plan:
    """Return the plan with the day of its pour: windows, crew and trucks, ways out, the days after.

    start: the first truck's clock [s]; the crew's own, else 7 in the morning, where None. told: findings of
    the reading of the weather. asked: covers and cure, a set time seen, what was seen during the pour,
    beside what the job file says of them. Pure, and the same for the same arguments. PlanError where the job
    does not say where it lies, the weather does not cover the day, or what was seen cannot be.
    """
    from slabwright.pourday import forecast
    from slabwright.pourday.advice import advise
    from slabwright.pourday.clocks import since_begin
    from slabwright.pourday.day import SAMPLES
    from slabwright.pourday.from_job import (
        asked_of,
        by_plan,
        delivered_of,
        loads_of,
        mix_of,
        obstacles_of,
        panels_of,
        works_of,
    )
    from slabwright.pourday.search import Choices, plan_crew
    from slabwright.pourday.simulate import Setting
    from slabwright.pourday.update import SEEN_SAMPLES, plan_during
    from slabwright.pourday.ways import Case

    tell = on_stage or (lambda _stage: None)
    notes = plan.notes
    site = pour_site(notes)
    begins = start if start is not None else notes.crew.start
    first = USUAL_START if begins is None else begins
    warm, assumed = delivered_of(notes, weather, day)
    asked = asked_of(notes, asked)
    laid, cure, seen = asked.protections, asked.cure or USUAL_CURE, asked.seen
    shade = obstacles_of(plan.ground)
    works = works_of(plan.shaped, plan.built)
    panels = panels_of(plan.shaped, plan.built, start=first, every=0.0)
    loads = loads_of(plan.built, works)
    tell("the pour: crew and trucks")
    try:
        mix = mix_of(plan.built, delivered=warm, set_seen=asked.set_seen)
        midnight = since_begin(weather, day, 0.0)
        setting = Setting(weather, site, mix, midnight, protections=laid, obstacles=shade, cure=cure)
        people = (notes.crew.people,)
        one, every = (Choices(people=people, starts=starts) for starts in ((first,), Choices().starts))
        crew, updated = plan_during(day, setting, panels[0], works, loads, choices=one, seen=seen)
        others = plan_crew(day, setting, panels[0], works, loads, choices=every)
        tell("the pour: what the weather does to it")
        panels = by_plan(panels, works, loads, crew)
        over: Any = {"obstacles": shade, "protections": laid, "cure": cure}
        count = SEEN_SAMPLES if seen else SAMPLES
        told_day = forecast(panels, weather, site, mix, day=day, seen=seen, samples=count, **over)
        tell("the pour: the days after, and ways out")
        days = advise(panels, weather, site, mix, first=day, days=DAYS_AHEAD, **over)
        case = Case(day, setting, panels[0], works, loads, crew.best.day)
        ways = () if seen else _ways(case, crew.best.late_chance, told_day)
    except ValueError as error:
        raise PlanError(str(error)) from error
    run = PourRun(crew, others.rows, ways, days, mix, begins is not None, laid, cure, updated)
    learned = updated.findings if updated else ()
    found = in_order(plan.findings, told, assumed, told_day.findings, crew.findings, learned)
    return replace(plan, pour=told_day, pour_run=run, findings=found)


def pour_site(notes: Notes) -> Site:
    """Return where the job lies; PlanError where it does not say so."""
    from slabwright.pourday.from_job import site_of

    site = site_of(notes, notes.place.zone or "")
    if site is None:
        raise PlanError(
            "the job does not say where it lies, and the sun hangs on it. "
            "Write for example place: {latitude: 45.5, longitude: -122.7, zone: America/Los_Angeles}"
        )
    return site


def _ways(case: Case, late: float, told: PourDay) -> tuple[WayOut, ...]:
    """Return what would help, worked out, where something stands against the plan."""
    from slabwright.pourday.ways import ways_out

    keys: dict[str, None] = {}
    if late >= LIKELY:
        keys |= dict.fromkeys(("start-at-6", "retarder", "two-more-people", "trucks-apart", "two-pours"))
    if max(w.shrink_chance for w in told.windows) >= LIKELY:
        keys |= dict.fromkeys(("start-at-6", "shade", "windbreak", "film"))
    if max(w.frost_chance for w in told.windows) >= FROST:
        keys |= dict.fromkeys(("start-at-10", "accelerator", "blankets"))
    if any(f.code == "rain-fresh" for f in told.findings):
        keys |= dict.fromkeys(("start-at-6",))
    return ways_out(case, (*keys, "next-day")) if keys else ()


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


def pour_sheets_of(plan: Plan, **options: Any) -> Iterator[tuple[str, bytes]]:
    """Yield (file name, content) of the pour's sheets alone; options as in `sheets.files.pour_files`."""
    from slabwright.sheets.files import pour_files

    return pour_files(plan, **options)


def plan_schema() -> dict[str, Any]:
    """Return the JSON Schema of plan.json."""
    from slabwright.sheets.document import plan_schema as schema

    return schema()
