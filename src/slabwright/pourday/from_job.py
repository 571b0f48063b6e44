"""From the job's own records to what the day of the pour asks: site, panels, work, mix, shade."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from slabwright.build.model_yard import Haul
from slabwright.build.whole import Built
from slabwright.findings import Finding, find
from slabwright.ground.model import Ground
from slabwright.measure import DAY, HOUR, Quantity
from slabwright.notes.models import Notes
from slabwright.notes.models_pour import CoverName, SeenName
from slabwright.pourday.clocks import since_begin
from slabwright.pourday.crew import pieces_of
from slabwright.pourday.crew_model import CrewPlan, Observed, PanelWork, PourAsked, Seen
from slabwright.pourday.mix import calibrate
from slabwright.pourday.model import XY, Laid, MixDay, Obstacle, PanelDay, Protection, Site, Weather
from slabwright.pourday.tables import taken
from slabwright.slab.model import Panel, Shaped


def site_of(notes: Notes, zone: str = "") -> Site | None:
    """Return the site, None where the job gives no latitude or longitude: they are not guessed."""
    place = notes.place
    if place.latitude is None or place.longitude is None:
        return None
    return Site.of_degrees(place.latitude, place.longitude, zone, north=place.north)


# What the job file calls covers and things seen, and what they are here.
COVERS: dict[CoverName, Laid] = {
    "blankets": "blanket",
    "sheets": "sheet",
    "burlap": "burlap",
    "shade": "shade",
    "windbreak": "windbreak",
    "evaporation retarder": "film",
}
WHATS: dict[SeenName, Observed] = {"placed": "placed", "sheen gone": "sheen_gone", "broom": "broom"}


def asked_of(notes: Notes, said: PourAsked | None = None) -> PourAsked:
    """Return what is known of the pour: what was `said` goes before the job file, things seen are joined."""
    said = said or PourAsked()
    written = notes.pour
    if written is None:
        return said
    laid = tuple(protection(COVERS[c.cover], c.from_, c.to, c.days or 0) for c in written.covers)
    seen = tuple(Seen(WHATS[s.what], s.at, s.panel or "", s.slab or "") for s in written.seen)
    known = None if written.set is None else (written.set.after, written.set.at)
    return PourAsked(
        said.protections or laid, said.cure or written.cure, said.set_seen or known, (*seen, *said.seen)
    )


def protection(cover: Laid, on: float, off: float | None, days: int = 0) -> Protection:
    """Return a cover from one clock to the next time that the other shows [s], `days` more between them."""
    if off is None:
        return Protection(cover, on)
    return Protection(cover, on, off + DAY * (days + (off <= on)))


def obstacles_of(ground: Ground, *, wall: float | None = None) -> tuple[Obstacle, ...]:
    """Return the walls and trees that shade; heights [m] where the notes have none are the table's."""
    eave = taken("wall") if wall is None else wall
    made = [Obstacle(w.p, w.q, eave) for w in ground.walls]
    made += [Obstacle(t.at, t.at, taken("tree"), taken("crown") / 2.0) for t in ground.trees]
    return tuple(made)


def panels_of(shaped: Shaped, built: Built, *, start: float, every: float) -> tuple[PanelDay, ...]:
    """Return the panels in placing order, the first placed at `start`, the next `every` later [s, clock]."""
    specs = {slab.spec.name: slab.spec for slab in shaped.slabs}
    sawn = {s.spec.name: any(j.made == "sawn" for j in s.joint_plan.joints) for s in shaped.slabs}
    return tuple(
        PanelDay(
            slab=haul.slab,
            panel=haul.panel,
            at=middle(panel),
            area=panel.area,
            thickness=specs[haul.slab].thickness,
            base=specs[haul.slab].base,
            placed_at=start + every * n,
            sawn=sawn[haul.slab],
        )
        for n, (haul, panel) in enumerate(_in_order(shaped, built))
    )


def works_of(shaped: Shaped, built: Built) -> tuple[PanelWork, ...]:
    """Return the panels as work in placing order; volumes share out what the job likely takes.

    Where the access plan found no way in, concrete is carried by barrow: its own findings say what is wrong.
    """
    order = _in_order(shaped, built)
    drawn = sum(haul.volume for haul, _ in order)
    more = built.order.need / drawn if drawn > 0.0 else 1.0
    return tuple(
        PanelWork(
            slab=haul.slab,
            panel=haul.panel,
            area=panel.area,
            volume=haul.volume * more,
            by="barrow" if haul.way == "none" else haul.way,
            carry=haul.run if haul.way in {"barrow", "buggy", "none"} else 0.0,
        )
        for haul, panel in order
    )


def _in_order(shaped: Shaped, built: Built) -> list[tuple[Haul, Panel]]:
    panels = {(s.spec.name, p.name): p for s in shaped.slabs for p in s.joint_plan.panels}
    return [(haul, panels[haul.slab, haul.panel]) for haul in built.access.hauls]


def by_plan(
    panels: Sequence[PanelDay], works: Sequence[PanelWork], loads: Sequence[float], crew: CrewPlan
) -> tuple[PanelDay, ...]:
    """Return the panels placed as the crew's plan has it, each with its truck and how long it waited on site.

    A truck comes as late after its hour as the first one begins after its own, on the median day.
    """
    first = {p.panel: p.truck for p in reversed(pieces_of(works, loads))}
    placed = [t.placed.likely for t in crew.turns]
    began = placed[0]
    made = []
    for n, panel in enumerate(panels):
        clock = placed[n]
        if clock is None or began is None:
            made.append(panel)
            continue
        truck = crew.trucks[first[n]][0] + began - crew.trucks[0][0]
        made.append(replace(panel, placed_at=clock, waited=max(0.0, clock - truck), truck=first[n]))
    return tuple(made)


def loads_of(built: Built, works: Sequence[PanelWork]) -> tuple[float, ...]:
    """Return the loads [m3] as ordered; one of just what is needed where the job is made from bags."""
    need = sum(w.volume for w in works)
    if built.order.bags:
        return (need,)
    loads = tuple(load for load in built.order.loads if load > 0.0)
    if sum(loads) >= need:
        return loads
    return (*loads[:-1], loads[-1] + need - sum(loads)) if loads else (need,)


def delivered_of(notes: Notes, weather: Weather, day: date) -> tuple[float, tuple[Finding, ...]]:
    """Return the concrete's temperature at discharge [degC]: as written, or by the air of the day.

    Where the notes have none it is a little over the mean air of the day's first 24 h in the weather, and a
    finding says so.
    """
    written = notes.order.mix_temperature if notes.order else None
    if written is not None:
        return written, ()
    first = int(max(0.0, since_begin(weather, day, 0.0)) // HOUR)
    air = weather.air_temperature[first : first + 24]
    mean = float(air.mean()) if air.size else float(weather.air_temperature.mean())
    warm = min(max(mean + taken("over_air"), taken("warm_least")), taken("warm_most"))
    return warm, (find("pourday", "concrete-assumed", warm=Quantity("temperature", warm)),)


def mix_of(
    built: Built,
    *,
    delivered: float,
    cement: str = "type-i-ii",
    set_seen: tuple[float, float] | None = None,
) -> MixDay:
    """Return the mix as ordered; `delivered` [degC] at discharge.

    `set_seen`: an initial set that was seen, time after batching [s] and temperature [degC], which the mix is
    then held to. ValueError where it does not belong to such a mix.
    """
    mix = MixDay(
        cement=cement,
        w_cm=built.order.w_cm or MixDay().w_cm,
        delivered=delivered,
        strength=built.order.strength,
        entrained=built.order.air is not None,
    )
    if set_seen is None:
        return mix
    return calibrate(mix, hours=set_seen[0] / HOUR, temperature=set_seen[1])


def middle(panel: Panel) -> XY:
    """Return the centre of a panel's ring [m]."""
    area = x = y = 0.0
    for (ax, ay), (bx, by) in zip(panel.ring, (*panel.ring[1:], panel.ring[0]), strict=True):
        cross = ax * by - bx * ay
        area += cross / 2.0
        x += (ax + bx) * cross / 6.0
        y += (ay + by) * cross / 6.0
    return x / area, y / area
