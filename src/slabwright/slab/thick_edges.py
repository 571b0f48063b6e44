"""Edges thicker than their slab: where they lie and what concrete they add.

The bottom is `width` wide and rises to the slab's underside at 45 degrees (common practice). For volumes
the slope counts as a step at its middle, which is exact along a straight edge.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from slabwright.findings import Finding, find
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity
from slabwright.notes.spec import SlabSpec
from slabwright.slab.model import XY, Edge, Outline, Slab, ThickEdge
from slabwright.slab.outline.curves import flatten

JUST = 1e-6  # [m] an edge deeper by less than this is not


def thicken(outline: Outline, spec: SlabSpec) -> tuple[ThickEdge | None, tuple[Finding, ...]]:
    """Return a slab's thickened edges, None where none are asked for or none is thicker, and findings.

    outline, spec: lengths in m.
    """
    asked = spec.thickened
    if asked is None:
        return None, ()
    deeper = asked.depth - spec.thickness
    if deeper <= JUST:
        return None, (_say(spec, "thick-edge-thin", depth=asked.depth, thickness=spec.thickness),)
    lines = _lines([e for e in outline.edges if asked.edges == "all" or e.kind == "free"])
    if not lines:
        return None, (_say(spec, "thick-edge-nowhere", depth=asked.depth, thickness=spec.thickness),)
    slab = shapely.Polygon(outline.ring, [hole.ring for hole in outline.holes])
    band = shapely.buffer(
        shapely.union_all(lines), asked.width + deeper / 2, cap_style="flat", join_style="mitre"
    )
    region = shapely.intersection(slab, band)
    edge = ThickEdge(
        depth=asked.depth,
        width=asked.width,
        area=float(region.area),
        volume=float(region.area) * deeper,
        rings=tuple(_rings(region)),
    )
    found = find(
        "slab",
        "thick-edge",
        where=spec.name,
        line=spec.line,
        depth=Quantity("inches", edge.depth),
        width=Quantity("inches", edge.width),
        volume=Quantity("volume", edge.volume),
    )
    return edge, (found,)


def concrete_of(slab: Slab) -> float:
    """Return a slab's concrete as drawn [m3], thickened edges included."""
    return slab.outline.area * slab.spec.thickness + (slab.thick.volume if slab.thick else 0.0)


def concrete_in(slab: Slab, ring: Sequence[XY], area: float) -> float:
    """Return the concrete of a part of a slab as drawn [m3]: its area [m2] and its share of thick edges.

    ring: the part's outline [m].
    """
    flat = area * slab.spec.thickness
    if slab.thick is None:
        return flat
    region = thick_region(slab)
    own = region.intersection(shapely.Polygon(ring)).area
    return flat + slab.thick.volume * (own / region.area if region.area > 0.0 else 0.0)


def edge_depth(slab: Slab) -> float:
    """Return how deep a slab's formed edges are [m]."""
    return slab.thick.depth if slab.thick else slab.spec.thickness


def thick_region(slab: Slab) -> Any:
    """Return where a slab is thicker as a shape of the polygon library, empty where it is nowhere."""
    if slab.thick is None:
        return shapely.Polygon()
    # Rings nest by turns, so an even number of them round a place leaves it out.
    region = shapely.Polygon()
    for ring in slab.thick.rings:
        region = region.symmetric_difference(shapely.Polygon(ring))
    return region


def _say(spec: SlabSpec, code: str, **lengths: float) -> Finding:
    values = {name: Quantity("inches", value) for name, value in lengths.items()}
    return find("slab", code, where=spec.name, line=spec.line, **values)


def _lines(edges: Sequence[Edge]) -> list[Any]:
    """Return sides as lines, neighbours joined so that their corner is mitred."""
    if not edges:
        return []
    lines = [shapely.LineString([*flatten(edge), edge.q]) for edge in edges]
    merged = shapely.line_merge(shapely.MultiLineString(lines))
    return list(shapely.get_parts(merged))


def _rings(region: Any) -> list[tuple[XY, ...]]:
    """Return the outer and inner rings of an area, not closed."""
    rings: list[tuple[XY, ...]] = []
    for part in shapely.get_parts(region):
        if part.geom_type != "Polygon" or part.is_empty:
            continue
        rings += [
            tuple((float(x), float(y)) for x, y in ring.coords[:-1])
            for ring in (part.exterior, *part.interiors)
        ]
    return rings
