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
from slabwright.build.dig_map import Piece, map_dig
from slabwright.build.earth import (
    Measured,
    Row,
    below,
    hand_time,
    lifts_for,
    loads,
    loose_base,
    machine_time,
    soil_factor,
)
from slabwright.build.model import Dig, DigLine, DigMap
from slabwright.build.strips import ON_EDGE, form_strips
from slabwright.build.tables import rule
from slabwright.build.top import split_facets, top_facets
from slabwright.ground import ground_height
from slabwright.ground.model import Ground, Surface
from slabwright.ground.prisms import Overlay, overlay
from slabwright.ground.untyped import shapely
from slabwright.measure import System
from slabwright.slab.model import Shaped
from slabwright.slab.thick_edges import edge_depth, thick_region


def plan_dig(
    shaped: Shaped, ground: Ground, *, system: System = System.IMPERIAL, mapped: bool = False
) -> Dig | None:
    """Return the earthwork of a job by panel; None when the ground was not shot.

    shaped: slabs with finished heights. ground: its surface [m], depth of sod and topsoil [m] and soil.
    system: whose over-dig and truck are taken; mapped: with the cut-depth map. Volumes are exact prisms
    between the slabs' planes and the triangles of the ground; beyond the shots the ground is
    carried on level, with a finding.
    """
    surface = ground.surface
    if surface is None:
        return None
    rows, pieces = _pieces(shaped, ground, rule("earth", "over_dig", system))
    cells = overlay(pieces, surface)
    found = _measured(rows, cells, ground.organic)
    lines = _lines(rows, found, ground.organic)
    cut = sum(line.cut for line in lines)
    fill = sum(line.fill for line in lines)
    base = sum(line.base_volume for line in lines)
    organic = sum(line.organic_volume for line in lines)
    beside = found.beside[[row.strip for row in rows]]
    backfill = min(float(beside.sum()), organic)
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
        machine_time=machine_time(cut, ground.soil),
        map=_map(rows, pieces, cells, ground, system) if mapped else None,
        findings=(
            *work_of(cut, backfill, spoil, truck, ground.soil),
            *low_and_sunk(rows, found, ground),
            *beyond_shots(shaped, surface),
            *beside_existing(shaped, ground),
        ),
    )


def _map(
    rows: Sequence[Row], pieces: Sequence[Piece], cells: Overlay, ground: Ground, system: System
) -> DigMap | None:
    assert ground.surface is not None
    return map_dig(rows, pieces, cells, ground.surface, organic=ground.organic, system=system)


def node_depths(shaped: Shaped, surface: Surface, organic: float) -> tuple[tuple[str, str, float], ...]:
    """Return slab, label and depth of dig [m] at every grade node, from the ground to the dig's floor.

    organic: depth of sod and topsoil [m], which is the least depth anywhere.
    """
    depths: list[tuple[str, str, float]] = []
    for slab in shaped.slabs:
        nodes = [node for node in slab.height_plan.nodes if not node.shape_only and math.isfinite(node.z)]
        places = [(node.x, node.y) for node in nodes]
        on_thick = shapely.distance(thick_region(slab), shapely.points(places)) <= ON_EDGE
        extra = edge_depth(slab) - slab.spec.thickness
        for node, deeper, z in zip(nodes, on_thick, ground_height(surface, places), strict=True):
            under = below(slab) + (extra if deeper else 0.0)
            depths.append((slab.spec.name, node.label, max(organic, float(z) - (node.z - under))))
    return tuple(depths)


def _pieces(shaped: Shaped, ground: Ground, over_dig: float) -> tuple[list[Row], list[Piece]]:
    """Return the owners of volumes, and all plane pieces with the number of their owner."""
    rows: list[Row] = []
    pieces: list[Piece] = []
    solid = [ring for ring in (ground.house_ring, *(slab.ring for slab in ground.existing)) if len(ring) > 2]
    for slab in shaped.slabs:
        whole = top_facets(slab)
        taken = [*solid, *(other.outline.ring for other in shaped.slabs if other is not slab)]
        extra = edge_depth(slab) - slab.spec.thickness
        strips = form_strips(slab, whole, over_dig, taken)
        thick, thin = split_facets(whole, thick_region(slab)) if slab.thick else ((), whole)
        for panel in slab.joint_plan.panels:
            for row, parts in (
                (Row(slab, panel.name, False), thin),  # every panel has this one, empty or not
                (Row(slab, panel.name, False, extra), thick),
                (Row(slab, panel.name, True, extra), strips),
            ):
                own = [part for part in parts if part.panel == panel.name]
                if own or parts is thin:
                    pieces += [(len(rows), part.ring, part.plane) for part in own]
                    rows.append(row)
    return rows, pieces


def _measured(rows: Sequence[Row], cells: Overlay, organic: float) -> Measured:
    """Return volumes and depths of every row."""
    count = len(rows)
    under = np.array([row.under for row in rows])
    base = np.array([row.slab.spec.base for row in rows])
    mineral, fill = cells.volumes(count, under - organic)
    low, high = cells.spread(count)
    beside, _ = cells.volumes(count, under - base)
    return Measured(cells.areas(count), mineral, fill, low + under, high + under, beside)


def _lines(rows: Sequence[Row], found: Measured, organic: float) -> list[DigLine]:
    """Return one line for each panel, its thickened part and the strip beside it included."""
    cut = found.area * organic + found.mineral
    by_panel: dict[tuple[str, str], list[int]] = {}
    for k, row in enumerate(rows):
        by_panel.setdefault((row.slab.spec.name, row.panel), []).append(k)
    lines = []
    for (slab, panel), every in by_panel.items():
        own = [k for k in every if not rows[k].strip]
        area = float(found.area[every].sum())
        lines.append(
            DigLine(
                slab=slab,
                panel=panel,
                area=float(found.area[own].sum()),
                cut=float(cut[every].sum()),
                fill=float(found.fill[every].sum()),
                base_volume=area * rows[own[0]].slab.spec.base,
                organic_volume=area * organic,
                depth_least=max(organic, min((_or(found.low[k], organic) for k in own), default=organic)),
                depth_most=max(organic, max((_or(found.high[k], organic) for k in own), default=organic)),
                over_dig=float(cut[[k for k in every if rows[k].strip]].sum()),
            )
        )
    return lines


def _or(value: float, otherwise: float) -> float:
    return float(value) if math.isfinite(value) else otherwise
