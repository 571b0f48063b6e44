"""Dig: exact cut, fill and base by panel, the form strip, what leaves and what comes in.

The floor of the dig is the underside of the base: finished top less concrete less base. Sod and topsoil
come out everywhere, however low the ground lies. Where the stripped ground is then below that floor, the
gap is filled with base stone, so it is bought with the base. The base runs on under the forms.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from slabwright.build.dig_findings import beside_existing, beyond_shots, fill_depths, low_and_sunk, work_of
from slabwright.build.earth import Measured, Row, below, hand_time, lifts_for, loads, loose_base, soil_factor
from slabwright.build.model import XY, Dig, DigLine
from slabwright.build.strips import form_strips
from slabwright.build.tables import rule
from slabwright.build.top import top_facets
from slabwright.ground import ground_height
from slabwright.ground.model import Ground, Surface
from slabwright.ground.prisms import Overlay, Plane, overlay
from slabwright.measure import System
from slabwright.slab.model import Shaped


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
    deepest = max(fill_depths(found, ground.organic).values(), default=0.0)
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
        hand_time=hand_time(cut, ground.soil),
        findings=(
            *work_of(cut, backfill, spoil, truck, ground.soil),
            *low_and_sunk(rows, found, ground),
            *beyond_shots(shaped, surface),
            *beside_existing(shaped, ground),
        ),
    )


def node_depths(shaped: Shaped, surface: Surface, organic: float) -> tuple[tuple[str, str, float], ...]:
    """Return slab, label and depth of dig [m] at every grade node, from the ground to the dig's floor.

    organic: depth of sod and topsoil [m], which is the least depth anywhere.
    """
    nodes = [(slab, n) for slab in shaped.slabs for n in slab.height_plan.nodes if not n.shape_only]
    ground = ground_height(surface, [(node.x, node.y) for _, node in nodes])
    return tuple(
        (slab.spec.name, node.label, max(organic, float(z) - (node.z - below(slab))))
        for (slab, node), z in zip(nodes, ground, strict=True)
        if math.isfinite(node.z)
    )


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
    under = np.array([below(row.slab) for row in rows])
    base = np.array([row.slab.spec.base for row in rows])
    mineral, fill = cells.volumes(count, under - organic)
    low, high = cells.spread(count)
    beside, _ = cells.volumes(count, under - base)
    return Measured(cells.areas(count), mineral, fill, low + under, high + under, beside)


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
