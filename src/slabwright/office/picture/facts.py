"""What can be pressed on the picture, and what its tables say of it: the rows of the sheets, no others."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from slabwright.measure import Quantity, write
from slabwright.office.words import word
from slabwright.result import Plan
from slabwright.sheets import job_tables as tables
from slabwright.sheets import job_tables_build as build
from slabwright.sheets import job_tables_yard as yard
from slabwright.sheets import pour_tables
from slabwright.sheets.scene_slab import fall_of
from slabwright.sheets.tables import Table, written

XY = tuple[float, float]
Fact = tuple[str, str]  # heading, as written
Row = tuple[Fact, ...]

SAME = 0.01  # m; a mark this near to a measured point is that point
NAMES = {"slab", "stake", "mark", "at", "panel", "number", "point", "order"}


@dataclass(frozen=True, slots=True)
class Spot:
    """A thing on the picture: key ('mark:side walk:1'), kind, name, where [m on site], what is known of it.

    `kind`: point (as measured), mark (a corner, joint end or stake), panel (places: its ring) or joint
    (places: its line). `said` is what a screen reader says; `point` is the measured point that lies there.
    """

    key: str
    kind: str
    name: str
    slab: str
    places: tuple[XY, ...]
    facts: Row
    said: str
    point: str = ""


def spots(plan: Plan, lang: str = "en") -> Iterator[Spot]:
    """Yield what can be pressed, largest first, so that points lie on top."""
    yield from _panels(plan, lang)
    yield from _joints(plan, lang)
    known = by_name(plan, tables.points(plan), lang, skip=1)
    taken: set[str] = set()
    for mark in _marks(plan, lang):
        name = _point_at(plan, mark.places[0])
        # a corner that is a measured point is pressed once, and says both
        if name and name not in taken:
            taken.add(name)
            own = ((word("fact-point", lang), name), *known.get((name,), ()))
            yield replace(mark, point=name, facts=tuple(dict.fromkeys((*mark.facts, *own))))
        else:
            yield mark
    yield from _points(plan, lang, known, taken)


def _point_at(plan: Plan, at: XY) -> str:
    """Return the measured point at a place [m], '' where there is none."""
    near = [(math.dist((p.x, p.y), at), name) for name, p in plan.survey.points.items()]
    off, name = min(near, default=(math.inf, ""))
    return name if off < SAME else ""


def by_name(plan: Plan, table: Table, lang: str, *, skip: int) -> Mapping[tuple[str, ...], Row]:
    """Return a table's rows by their first `skip` cells, as headings with what stands under them."""
    system = plan.notes.units
    found: dict[tuple[str, ...], Row] = {}
    for row in table.rows:
        key = tuple(str(cell) for cell in row[:skip])
        cells = zip(row[skip:], table.columns[skip:], strict=True)
        facts = tuple(
            (column.heading(lang), written(cell, column.kind, system=system, lang=lang))
            for cell, column in cells
            if cell not in (None, "") and column.key not in NAMES
        )
        found[key] = (*found.get(key, ()), *facts)
    return found


def _spot(kind: str, slab: str, name: str, places: Sequence[XY], facts: Iterable[Fact], lang: str) -> Spot:
    told = tuple(dict.fromkeys(facts))
    title = word(f"spot-{kind}", lang, name=name)
    first = ", ".join(f"{head} {value}" for head, value in told[:2])
    said = f"{title}, {slab}: {first}" if slab else f"{title}: {first}"
    return Spot(f"{kind}:{slab}:{name}", kind, name, slab, tuple(places), told, said)


def _panels(plan: Plan, lang: str) -> Iterator[Spot]:
    listed = [(tables.panels(plan), 2), (build.dig(plan), 2)]
    known = [by_name(plan, table, lang, skip=skip) for table, skip in listed]
    ways = _hauls(plan, lang)
    hours = _hours(plan, lang)
    for slab in plan.shaped.slabs:
        falls = dict(_falls(plan, slab.spec.name, lang))
        for panel in slab.joint_plan.panels:
            key = (slab.spec.name, panel.name)
            facts = [fact for one in (*known, ways, hours) for fact in one.get(key, ())]
            if panel.name in falls:
                facts.insert(3, (word("fact-fall", lang), falls[panel.name]))
            yield _spot("panel", slab.spec.name, panel.name, panel.ring, facts, lang)


def _falls(plan: Plan, name: str, lang: str) -> Iterator[Fact]:
    """Yield each panel's steepest fall, as written."""
    for slab in plan.shaped.slabs:
        if slab.spec.name != name:
            continue
        worst: dict[str, float] = {}
        for facet in slab.height_plan.facets:
            fall = fall_of(slab, facet)
            worst[facet.panel] = max(worst.get(facet.panel, 0.0), math.hypot(*fall) if fall else 0.0)
        for panel, steepest in worst.items():
            yield panel, write(Quantity("slope", steepest), system=plan.notes.units, lang=lang)


def _hauls(plan: Plan, lang: str) -> Mapping[tuple[str, ...], Row]:
    table = yard.hauls(plan, lang)
    order = [column.key for column in table.columns]
    if "slab" not in order or "panel" not in order:
        return {}
    at = [order.index("slab"), order.index("panel")]
    rest = [n for n in range(len(order)) if n not in at]
    moved = Table(
        table.key,
        table.title,
        tuple(table.columns[n] for n in (*at, *rest)),
        tuple(tuple(row[n] for n in (*at, *rest)) for row in table.rows),
    )
    return by_name(plan, moved, lang, skip=2)


def windows(plan: Plan, lang: str) -> dict[str, Row]:
    """Return the hours of each panel by its key on the picture; none where no pour was worked out."""
    return {f"panel:{slab}:{panel}": row for (slab, panel), row in _hours(plan, lang).items()}


def _hours(plan: Plan, lang: str) -> Mapping[tuple[str, ...], Row]:
    """Return the hours of each panel where a pour has been worked out."""
    if plan.pour is None:
        return {}
    return by_name(plan, pour_tables.card(plan, lang), lang, skip=2)


def _joints(plan: Plan, lang: str) -> Iterator[Spot]:
    known = by_name(plan, tables.joints(plan, lang), lang, skip=2)
    for slab in plan.shaped.slabs:
        for n, joint in enumerate(slab.joint_plan.joints, 1):
            facts = known.get((slab.spec.name, str(n)), ())
            yield _spot("joint", slab.spec.name, str(n), joint.line, facts, lang)


def _marks(plan: Plan, lang: str) -> Iterator[Spot]:
    grades = by_name(plan, tables.grades(plan), lang, skip=2)
    stakes = by_name(plan, build.stakes(plan, lang), lang, skip=2)
    seen: set[tuple[str, str]] = set()
    for stake in plan.built.set_out.stakes:
        key = (stake.slab, stake.label)
        seen.add(key)
        kind = ((word("fact-kind", lang), word(f"stake-{stake.kind.replace(' ', '-')}", lang)),)
        facts = (*grades.get(key, ()), *kind, *stakes.get(key, ()))
        yield _spot("mark", stake.slab, stake.label, ((stake.x, stake.y),), facts, lang)
    for slab in plan.shaped.slabs:
        for node in slab.height_plan.nodes:
            key = (slab.spec.name, node.label)
            if not node.shape_only and key not in seen:
                yield _spot("mark", key[0], key[1], ((node.x, node.y),), grades.get(key, ()), lang)


def _points(plan: Plan, lang: str, known: Mapping[tuple[str, ...], Row], taken: set[str]) -> Iterator[Spot]:
    for name, point in plan.survey.points.items():
        if name not in taken:
            spot = _spot("point", "", name, ((point.x, point.y),), known.get((name,), ()), lang)
            yield replace(spot, point=name)
