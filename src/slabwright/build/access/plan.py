"""How concrete gets to each panel: chute, barrow, buggy or pump, in an order that shuts nobody in."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from slabwright.build.access.haul import cycle, held, trips
from slabwright.build.access.order import panel_order, slab_order
from slabwright.build.access.say import access_findings
from slabwright.build.access.site import Site, look, net_for, over, steepest
from slabwright.build.model_yard import AccessPlan, Haul
from slabwright.build.tables import rule, table
from slabwright.findings import Finding, find
from slabwright.ground.model import XY, Ground
from slabwright.ground.untyped import shapely
from slabwright.measure import read
from slabwright.notes.models import Notes
from slabwright.slab.model import Panel, Shaped, Slab
from slabwright.slab.thick_edges import concrete_in


@dataclass(frozen=True, slots=True)
class _Means:
    """How concrete is moved: what was asked for, the wheeled means, its load [m3], how many at once."""

    asked: str
    wheels: Literal["barrow", "buggy"]
    load: float
    pushers: int
    placers: int
    reach: float


def plan_access(shaped: Shaped, ground: Ground, notes: Notes, points: Mapping[str, XY]) -> AccessPlan:
    """Return where the truck stands and how every panel is filled, in placing order.

    shaped: the slabs with their panels; ground: walls, trees, the ground's heights; notes: access, crew
    and kit; points: places by name (x, y) [m]. Ways are shortest ways round walls, trunks, fences, ground to
    keep off and concrete placed before; slabs that are there may be driven on. Of several places for the
    truck the one with the least hauling is taken. Sources barrow-load, hand-cart, barrow-cycle,
    barrow-runway, chute-reach, pump-pace, hose-volume.
    """
    means = _means(notes)
    names = [notes.access.truck_stops_at, *notes.access.or_stops_at]
    stands = [(name, points[name]) for name in names if name is not None and name in points]
    if not stands:
        found = (find("build", "access-no-stand"),) if shaped.slabs else ()
        hauls = tuple(_unreached(slab, panel) for slab in shaped.slabs for panel in slab.joint_plan.panels)
        return AccessPlan(None, None, means.reach, hauls, 0, 0.0, means.pushers, findings=found)
    site = look(shaped, ground, notes, points, means.wheels)
    plans = [_from(name, stand, shaped, ground, notes, site, means) for name, stand in stands]
    return min(plans, key=lambda plan: (len(plan.no_way), plan.time))


def _means(notes: Notes) -> _Means:
    asked = notes.access.by or "any"
    wheels: Literal["barrow", "buggy"] = "buggy" if asked == "buggy" else "barrow"
    placers = min(notes.crew.people, round(rule("yard", "placers")))
    hands = max(1, notes.crew.people - placers)
    pushers = min(hands, notes.kit.barrows) if notes.kit.barrows else hands
    reach = notes.access.chute or rule("yard", "chute", notes.units)
    return _Means(asked, wheels, rule("yard", f"{wheels}_load"), pushers, max(1, placers), reach)


def _unreached(slab: Slab, panel: Panel) -> Haul:
    return Haul(slab.spec.name, panel.name, "none", (), 0.0, 0.0, 0.0, volume_of(slab, panel), 0, 0.0)


def volume_of(slab: Slab, panel: Panel) -> float:
    """Return a panel's concrete as drawn [m3], thickened edges included."""
    return concrete_in(slab, panel.ring, panel.area)


def _from(
    name: str, stand: XY, shaped: Shaped, ground: Ground, notes: Notes, site: Site, means: _Means
) -> AccessPlan:
    hauls: list[Haul] = []
    found: list[Finding] = []
    done: list[Slab] = []
    for slab in slab_order(shaped.slabs, site, stand):
        made, shut = _fill(slab, done, shaped, ground, site, means, stand)
        if shut is not None:
            found.append(
                find("build", "access-trapped", where=slab.spec.name, line=slab.spec.line, panel=shut)
            )
        hauls += made
        done.append(slab)
    shut_in = {f.where for f in found}
    no_way = [
        slab.spec.name
        for slab in shaped.slabs
        if slab.spec.name not in shut_in and any(h.slab == slab.spec.name and h.way == "none" for h in hauls)
    ]
    hose = max((haul.run for haul in hauls if haul.way == "pump"), default=0.0)
    plan = AccessPlan(
        stand=stand,
        stand_name=name,
        reach=means.reach,
        hauls=tuple(hauls),
        trips=sum(haul.trips for haul in hauls),
        time=math.fsum(haul.time for haul in hauls),
        pushers=means.pushers,
        hose=hose,
        hose_volume=held(hose, rule("yard", "hose_bore", notes.units)),
        no_way=tuple(no_way),
    )
    more = access_findings(plan, shaped, ground, notes, site, wheels=means.wheels)
    return replace(plan, findings=(*found, *more))


def _fill(
    slab: Slab,
    done: Sequence[Slab],
    shaped: Shaped,
    ground: Ground,
    site: Site,
    means: _Means,
    stand: XY,
) -> tuple[list[Haul], str | None]:
    """Return one slab's hauls in placing order, and the panel that is shut in, if any."""
    net = net_for(slab, done, site, stand, shaped.slabs)
    panels = slab.joint_plan.panels
    order, shut = panel_order(net)
    reached_at_all = [math.isfinite(way) for way in net.all_ways(())]
    hauls: list[Haul] = []
    wheeled: list[tuple[int, Panel, float, tuple[XY, ...]]] = []  # place among the hauls, panel, run, way
    for n, k in enumerate(order):
        panel = panels[k]
        straight = _straight(panel, stand)
        if means.asked == "pump":
            hauls.append(_pumped(slab, panel, straight))
        elif means.asked in ("any", "chute") and _chute_reaches(straight, means.reach, site):
            hauls.append(_chuted(slab, panel, straight, means))
        else:
            run, path = net.way(k, order[:n])
            if path:
                wheeled.append((len(hauls), panel, run, path))
            hauls.append(_unreached(slab, panel))
    slopes = steepest([path for _, _, _, path in wheeled], ground, site)
    for (at, panel, run, path), slope in zip(wheeled, slopes, strict=True):
        hauls[at] = _wheeled(slab, panel, path, run, over(path, net.base), slope, means)
    by_wheels = {haul.panel for haul in hauls if haul.way == "none"}
    panel_shut = panels[shut].name if shut is not None and reached_at_all[shut] else None
    return hauls, panel_shut if panel_shut in by_wheels else None


def _straight(panel: Panel, stand: XY) -> tuple[XY, XY]:
    middle = shapely.centroid(shapely.polygons(panel.ring))
    return stand, (float(middle.x), float(middle.y))


def _chute_reaches(straight: tuple[XY, XY], reach: float, site: Site) -> bool:
    """Tell whether the middle of a panel is within the chute's reach [m] and no wall lies between."""
    line = shapely.linestrings(straight)
    return math.dist(*straight) <= reach + 1e-9 and not shapely.intersects(site.house, line)


def _chuted(slab: Slab, panel: Panel, straight: tuple[XY, XY], means: _Means) -> Haul:
    pace = read("flow", table("pour")["placing"]["chute"]) * means.placers
    volume = volume_of(slab, panel)
    return Haul(
        slab.spec.name,
        panel.name,
        "chute",
        straight,
        math.dist(*straight),
        0.0,
        0.0,
        volume,
        0,
        volume / pace,
    )


def _pumped(slab: Slab, panel: Panel, straight: tuple[XY, XY]) -> Haul:
    """A line is laid straight, over or through what a barrow must go round."""
    volume = volume_of(slab, panel)
    time = volume / rule("yard", "pump_pace")
    return Haul(slab.spec.name, panel.name, "pump", straight, math.dist(*straight), 0.0, 0.0, volume, 0, time)


def _wheeled(
    slab: Slab,
    panel: Panel,
    path: tuple[XY, ...],
    run: float,
    planks: float,
    slope: float,
    means: _Means,
) -> Haul:
    volume = volume_of(slab, panel)
    count = trips(volume, means.load)
    one = cycle(run, fixed=rule("yard", "fixed"), pace=rule("yard", "pace"))
    if slope > rule("yard", "steep"):
        one /= 1.0 - rule("yard", "steep_slows")
    together = min(means.pushers, max(1, count))
    return Haul(
        slab.spec.name,
        panel.name,
        means.wheels,
        path,
        run,
        planks,
        slope,
        volume,
        count,
        count * one / together,
    )
