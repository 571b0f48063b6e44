"""What the ways and trips mean for the crew, as findings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from slabwright.build.access.site import Site, way_width
from slabwright.build.model_yard import AccessPlan, Haul
from slabwright.build.tables import rule
from slabwright.findings import Finding, find
from slabwright.ground.model import Ground
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity
from slabwright.notes.models import Notes
from slabwright.slab.model import Shaped


def access_findings(
    plan: AccessPlan,
    shaped: Shaped,
    ground: Ground,
    notes: Notes,
    site: Site,
    *,
    wheels: str,
) -> list[Finding]:
    """Return the findings on a plan of access; wheels: barrow or buggy."""
    found: list[Finding] = []
    for slab in shaped.slabs:
        hauls = [haul for haul in plan.hauls if haul.slab == slab.spec.name]
        where, line = slab.spec.name, slab.spec.line
        if where in plan.no_way:
            width = Quantity("length", way_width(notes, wheels, notes.units))
            found.append(find("build", "access-no-way", where=where, line=line, width=width))
        found += _order(hauls, where, line)
        found += _ways(hauls, where, line)
        found += _chute(hauls, plan, notes, where, line)
    found += _totals(plan)
    found += _by_wall(plan, ground, site)
    return found


def _order(hauls: Sequence[Haul], where: str, line: int | None) -> Iterator[Finding]:
    reached = [haul for haul in hauls if haul.way != "none"]
    if len(reached) > 1:
        order = ", ".join(haul.panel for haul in reached)
        yield find("build", "access-order", where=where, line=line, order=order)


def _ways(hauls: Sequence[Haul], where: str, line: int | None) -> Iterator[Finding]:
    wheeled = [haul for haul in hauls if haul.way in ("barrow", "buggy")]
    if not wheeled:
        return
    run, slope = max(haul.run for haul in wheeled), max(haul.steepest for haul in wheeled)
    if run > rule("yard", "run_most"):
        most = Quantity("length", rule("yard", "run_most"))
        yield find("build", "access-far", where=where, line=line, run=Quantity("length", run), most=most)
    for code, key in (("access-too-steep", "too_steep"), ("access-steep", "steep")):
        if slope > rule("yard", key):
            most = Quantity("slope", rule("yard", key))
            yield find("build", code, where=where, line=line, slope=Quantity("slope", slope), most=most)
            break
    over = max(haul.over_base for haul in wheeled)
    if over > 1.0:
        yield find("build", "access-over-base", where=where, line=line, length=Quantity("length", over))


def _chute(
    hauls: Sequence[Haul], plan: AccessPlan, notes: Notes, where: str, line: int | None
) -> Iterator[Finding]:
    straight = [haul for haul in hauls if haul.way == "chute"]
    most = Quantity("length", rule("yard", "chute_most", notes.units))
    reach = Quantity("length", plan.reach)
    if straight:
        panels = ", ".join(haul.panel for haul in straight)
        yield find("build", "access-chute", where=where, line=line, reach=reach, panels=panels, most=most)
    short = [haul for haul in hauls if haul.way in ("barrow", "none")]
    if notes.access.by == "chute" and short:
        yield find(
            "build",
            "access-chute-short",
            where=where,
            line=line,
            reach=reach,
            panels=", ".join(haul.panel for haul in short),
            run=Quantity("length", max(haul.run for haul in short)),
            most=most,
        )


def _totals(plan: AccessPlan) -> Iterator[Finding]:
    if plan.trips:
        to = rule("pour", "spacing_to")  # no plan of barrows is good to the second
        time = sum(haul.time for haul in plan.hauls if haul.way in ("barrow", "buggy"))
        yield find(
            "build",
            "access-trips",
            trips=plan.trips,
            pushers=plan.pushers,
            time=Quantity("duration", math.ceil(time / to - 1e-9) * to),
        )
    if plan.hose > 0:
        yield find(
            "build",
            "access-pump",
            hose=Quantity("length", plan.hose),
            left=Quantity("volume", plan.hose_volume),
        )


def _by_wall(plan: AccessPlan, ground: Ground, site: Site) -> Iterator[Finding]:
    if plan.stand is None or not (ground.walls or ground.house_ring):
        return
    away = float(shapely.distance(site.house, shapely.points(plan.stand)))
    if away < rule("yard", "off_wall"):
        yield find(
            "build",
            "access-by-wall",
            where=plan.stand_name or "",
            away=Quantity("length", away),
            off=Quantity("length", rule("yard", "off_wall")),
        )
