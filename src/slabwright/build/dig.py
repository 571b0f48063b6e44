"""Dig: exact cut, fill and base by panel, the form strip, what leaves and what comes in.

The floor of the dig is the underside of the base: finished top less concrete less base. Sod and topsoil
come out everywhere, however low the ground lies. Where the stripped ground is then below that floor, the
gap is filled with base stone, so it is bought with the base. The base runs on under the forms.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from slabwright.build.model import XY, Dig, DigLine
from slabwright.build.prisms import Overlay, Plane, overlay
from slabwright.build.strips import form_strips
from slabwright.build.tables import rule, table
from slabwright.build.top import top_facets
from slabwright.findings import Finding, Value, find
from slabwright.ground import beyond, ground_height
from slabwright.ground.model import ExistingSlab, Floats, Ground, Surface
from slabwright.measure import Quantity, System, read
from slabwright.slab.model import Shaped, Slab

MEETS = 0.05  # [m] a slab's edge this near to an existing slab is poured against it
JUST = 1e-9  # rounding in a quotient of volumes


@dataclass(frozen=True, slots=True)
class Row:
    """One owner of volumes: a panel of a slab, or the form strip beside it."""

    slab: Slab
    panel: str
    strip: bool


@dataclass(frozen=True, slots=True)
class Measured:
    """By row: area [m2], volume of soil under the strip and gap to fill [m3], depths of the dig [m].

    `low` and `high` are the least and most depth from the ground to the dig's floor (below zero where
    the ground lies lower); `beside` [m3] reaches from the base's top up to the ground.
    """

    area: Floats
    mineral: Floats
    fill: Floats
    low: Floats
    high: Floats
    beside: Floats


def soil_factor(soil: str, change: str) -> float:
    """Return the volume [-] after a change of state for one before (source fm-5-434).

    change: 'bank_loose', 'bank_compacted', 'loose_bank', 'loose_compacted', 'compacted_bank' or
    'compacted_loose'.
    """
    return float(table("earth")["soil"][soil][change])


def loose_base(compacted: float, *, loose_density: float, density: float) -> tuple[float, float]:
    """Return the loose volume [m3] and mass [kg] of stone that compacts to a volume [m3].

    loose_density, density: of the stone in the truck and compacted [kg/m3].
    """
    mass = compacted * density
    return mass / loose_density, mass


def loads(volume: float, truck: float) -> int:
    """Return how many loads of `truck` [m3] a volume [m3] takes."""
    return math.ceil(volume / truck - JUST) if volume > 0 else 0


def lifts_for(depth: float) -> int:
    """Return in how many layers a compacted depth of base [m] is placed and compacted."""
    loose = depth * rule("earth", "base_density") / rule("earth", "base_loose_density")
    return max(1, math.ceil(loose / rule("earth", "lift") - 1e-6))


def plan_dig(shaped: Shaped, ground: Ground, *, system: System = System.IMPERIAL) -> Dig | None:
    """Return the earthwork of a job by panel; None when the ground was not shot.

    shaped: slabs with finished heights. ground: its surface [m], depth of sod and topsoil [m] and soil.
    system: whose over-dig and truck are taken. Volumes are exact prisms between the slabs' planes and
    the triangles of the ground; beyond the shots the ground is carried on level, with a finding.
    """
    surface = ground.surface
    if surface is None:
        return None
    rows, pieces = _pieces(shaped, ground, rule("earth", "over_dig", system))
    found = _measured(rows, overlay(pieces, surface), ground.organic)
    lines = _lines(rows, found, ground.organic)
    cut = sum(line.cut for line in lines)
    fill = sum(line.fill for line in lines)
    base = sum(line.base_volume for line in lines)
    organic = sum(line.organic_volume for line in lines)
    backfill = min(float(found.beside[1::2].sum()), organic)
    base_loose, mass = loose_base(
        base + fill,
        loose_density=rule("earth", "base_loose_density"),
        density=rule("earth", "base_density"),
    )
    spoil = (cut - backfill) * soil_factor(ground.soil, "bank_loose")
    truck = rule("earth", "truck", system)
    deepest = max(_fill_depths(found, ground.organic).values(), default=0.0)
    return Dig(
        lines=tuple(lines),
        cut=cut,
        fill=fill,
        base_volume=base,
        organic_volume=organic,
        over_dig=sum(line.over_dig for line in lines),
        spoil_loose=spoil,
        base_loose=base_loose,
        base_mass=mass,
        backfill=backfill,
        lifts=lifts_for(max((s.spec.base for s in shaped.slabs), default=0.0) + deepest),
        truck=truck,
        spoil_loads=loads(spoil, truck),
        node_depths=node_depths(shaped, surface, ground.organic),
        hand_time=_hand_time(cut, ground.soil),
        findings=(
            *_work(cut, backfill, spoil, truck, ground.soil),
            *_found(rows, found, ground),
            *_beyond_shots(shaped, surface),
            *_beside_existing(shaped, ground),
        ),
    )


def node_depths(shaped: Shaped, surface: Surface, organic: float) -> tuple[tuple[str, str, float], ...]:
    """Return slab, label and depth of dig [m] at every grade node, from the ground to the dig's floor.

    organic: depth of sod and topsoil [m], which is the least depth anywhere.
    """
    nodes = [(slab, node) for slab in shaped.slabs for node in slab.height_plan.nodes]
    ground = ground_height(surface, [(node.x, node.y) for _, node in nodes])
    return tuple(
        (slab.spec.name, node.label, max(organic, float(z) - (node.z - _below(slab))))
        for (slab, node), z in zip(nodes, ground, strict=True)
        if math.isfinite(node.z)
    )


def _below(slab: Slab) -> float:
    """Return how far the dig's floor lies below the finished top [m]."""
    return slab.spec.thickness + slab.spec.base


def _pieces(
    shaped: Shaped, ground: Ground, over_dig: float
) -> tuple[list[Row], list[tuple[int, Sequence[XY], Plane]]]:
    """Return the owners of volumes, and all plane pieces with the number of their owner."""
    rows: list[Row] = []
    pieces: list[tuple[int, Sequence[XY], Plane]] = []
    solid = [ring for ring in (ground.house_ring, *(slab.ring for slab in ground.existing)) if len(ring) > 2]
    for slab in shaped.slabs:
        facets = top_facets(slab)
        taken = [*solid, *(other.outline.ring for other in shaped.slabs if other is not slab)]
        strips = form_strips(slab, facets, over_dig, taken)
        for panel in slab.joint_plan.panels:
            for strip, parts in ((False, facets), (True, strips)):
                own = [part for part in parts if part.panel == panel.name]
                pieces += [(len(rows), part.ring, part.plane) for part in own]
                rows.append(Row(slab, panel.name, strip))
    return rows, pieces


def _measured(rows: Sequence[Row], cells: Overlay, organic: float) -> Measured:
    """Return volumes and depths of every row."""
    count = len(rows)
    below = np.array([_below(row.slab) for row in rows])
    base = np.array([row.slab.spec.base for row in rows])
    mineral, fill = cells.volumes(count, below - organic)
    low, high = cells.spread(count)
    beside, _ = cells.volumes(count, below - base)
    return Measured(cells.areas(count), mineral, fill, low + below, high + below, beside)


def _lines(rows: Sequence[Row], found: Measured, organic: float) -> list[DigLine]:
    """Return one line for each panel, the strip beside it included."""
    cut = found.area * organic + found.mineral
    lines = []
    for k in range(0, len(rows), 2):
        slab, strip = rows[k].slab, k + 1
        area = float(found.area[k] + found.area[strip])
        lines.append(
            DigLine(
                slab=slab.spec.name,
                panel=rows[k].panel,
                area=float(found.area[k]),
                cut=float(cut[k] + cut[strip]),
                fill=float(found.fill[k] + found.fill[strip]),
                base_volume=area * slab.spec.base,
                organic_volume=area * organic,
                depth_least=max(organic, _or(found.low[k], organic)),
                depth_most=max(organic, _or(found.high[k], organic)),
                over_dig=float(cut[strip]),
            )
        )
    return lines


def _or(value: float, otherwise: float) -> float:
    return float(value) if math.isfinite(value) else otherwise


def _fill_depths(found: Measured, organic: float) -> dict[int, float]:
    """Return the rows where the stripped ground lies below the dig's floor, and how far at most [m]."""
    depths = organic - found.low
    return {int(k): float(depths[k]) for k in np.flatnonzero(depths > JUST)}


def _hand_time(cut: float, soil: str) -> tuple[float, float] | None:
    """Return how long one person digs a bank volume [m3] by hand, from - to [s]; None in rock."""
    pace = table("earth")["dig_pace"].get(soil)
    if pace is None:
        return None
    slow, fast = (read("flow", text) for text in pace)
    return cut / fast, cut / slow


def _work(cut: float, backfill: float, spoil: float, truck: float, soil: str) -> list[Finding]:
    """Return what the dig takes: hand time, topsoil to keep, loads that leave."""
    if cut <= 0:
        return []
    time = _hand_time(cut, soil)
    made = find(
        "build",
        "dig-rock" if time is None else "dig-work",
        cut=Quantity("volume", cut),
        spoil=Quantity("volume", spoil),
        loads=loads(spoil, truck),
        truck=Quantity("volume", truck),
        keep=Quantity("volume", backfill),
    )
    if time is None:
        return [made]
    least, most = (Quantity("duration", t) for t in time)
    return [replace(made, values={**made.values, "least": least, "most": most})]


def _found(rows: Sequence[Row], found: Measured, ground: Ground) -> list[Finding]:
    """Return findings on low ground and on slabs that lie in a hole."""
    made: list[Finding] = []
    depths = _fill_depths(found, ground.organic)
    by_slab: dict[str, list[int]] = {}
    for k, row in enumerate(rows):
        by_slab.setdefault(row.slab.spec.name, []).append(k)
    for name, own in by_slab.items():
        slab = rows[own[0]].slab
        if float(found.fill[own].sum()) > rule("earth", "fill_worth"):
            panels = dict.fromkeys(rows[k].panel for k in own if k in depths)
            made += _low_ground(slab, panels, found, own, ground.organic)
        tops = [found.low[k] - _below(slab) for k in own if not rows[k].strip and math.isfinite(found.low[k])]
        if tops and min(tops) > rule("earth", "sunk"):
            least = Quantity("inches", float(min(tops)))
            made.append(find("build", "dig-sunk-slab", where=name, line=slab.spec.line, least=least))
    if ground.organic == 0.0:
        made.append(find("build", "dig-no-organic"))
    return made


def _low_ground(
    slab: Slab, panels: dict[str, None], found: Measured, own: list[int], organic: float
) -> list[Finding]:
    """Return what to do where a slab's stripped ground lies below its dig's floor."""
    deep = organic - float(np.nanmin(found.low[own]))
    made = [
        find(
            "build",
            "dig-fill",
            where=_where(slab.spec.name, panels),
            line=slab.spec.line,
            volume=Quantity("volume", float(found.fill[own].sum())),
            depth=Quantity("inches", deep),
            lifts=lifts_for(deep),
        )
    ]
    if organic > 0:
        sod = Quantity("inches", organic)
        code = "dig-organic-under-fill"
        made.append(find("build", code, where=slab.spec.name, line=slab.spec.line, organic=sod))
    return made


def _where(slab: str, panels: dict[str, None]) -> str:
    return f"{slab} {', '.join(panels)}"


def _beyond_shots(shaped: Shaped, surface: Surface) -> list[Finding]:
    found = []
    for slab in shaped.slabs:
        far = beyond(surface, slab.outline.ring)
        if far > rule("earth", "shot_reach"):
            found.append(
                find(
                    "ground",
                    "beyond-shots",
                    where=slab.spec.name,
                    line=slab.spec.line,
                    far=Quantity("length", far),
                )
            )
    return found


def _beside_existing(shaped: Shaped, ground: Ground) -> list[Finding]:
    """Return how far below the top of each slab that it meets a new slab is dug: a hand's check on site."""
    found = []
    for slab in shaped.slabs:
        for there in ground.existing:
            depths = depths_beside(slab, there)
            if len(depths):
                values: dict[str, Value] = {
                    "existing": there.name,
                    "least": Quantity("inches", float(depths.min())),
                    "most": Quantity("inches", float(depths.max())),
                    "concrete": Quantity("inches", slab.spec.thickness),
                    "base": Quantity("inches", slab.spec.base),
                }
                found.append(find("build", "dig-beside", where=slab.spec.name, line=slab.spec.line, **values))
    return found


def depths_beside(slab: Slab, there: ExistingSlab) -> Floats:
    """Return how far below an existing slab's top the dig's floor lies [m], at each node that meets it."""
    if len(there.edge) < 2:
        return np.empty(0)
    from slabwright.ground.untyped import shapely

    edge = shapely.linestrings(there.edge)
    nodes = [node for node in slab.height_plan.nodes if math.isfinite(node.z)]
    near = shapely.distance(shapely.points([(node.x, node.y) for node in nodes]), edge) < MEETS
    depths = []
    for node, close in zip(nodes, near, strict=True):
        top = there.height_on_edge(node.x, node.y)
        if close and top is not None:
            depths.append(top - (node.z - _below(slab)))
    return np.array(depths)
