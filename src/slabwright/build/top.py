"""The top of a slab as planes: what volumes are taken from.

A plane facet stays whole. A ruled one is cut at the middle of its quadrilateral, which keeps its volume
exact on a parallelogram and its middle height on any other.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from slabwright.ground.model import XY, Floats
from slabwright.ground.untyped import shapely
from slabwright.slab.model import Facet, HeightPlan, Slab

Plane = tuple[float, float, float]

FLAT = 1e-4  # [m] a facet this near to a plane is one: far below what a form can be set to
SLIVER = 1e-9  # [m2] less than this holds nothing


@dataclass(frozen=True, slots=True)
class TopFacet:
    """A plane piece of a slab's top: its panel, ring [m] (either way round), height = a x + b y + c [m]."""

    panel: str
    ring: tuple[XY, ...]
    plane: Plane

    def height(self, x: float, y: float) -> float:
        """Return the height [m] of its plane at a place [m], inside it or not."""
        return self.plane[0] * x + self.plane[1] * y + self.plane[2]


def top_facets(slab: Slab) -> tuple[TopFacet, ...]:
    """Return plane pieces that cover a slab, openings cut out."""
    whole = [piece for facet in slab.height_plan.facets for piece in _planes_of(slab.height_plan, facet)]
    holes = [shapely.polygons(hole.ring) for hole in slab.outline.holes if len(hole.ring) > 2]
    return tuple(_without(whole, holes)) if holes else tuple(whole)


def split_facets(
    facets: Sequence[TopFacet], region: object
) -> tuple[tuple[TopFacet, ...], tuple[TopFacet, ...]]:
    """Return the parts of facets inside a region (a shape of the polygon library) and those outside."""
    return tuple(_parts_of(facets, region, inside=True)), tuple(_parts_of(facets, region, inside=False))


def _planes_of(plan: HeightPlan, facet: Facet) -> Iterable[TopFacet]:
    corners = np.array([(plan.nodes[k].x, plan.nodes[k].y, plan.nodes[k].z) for k in facet.nodes])
    if abs(_doubled(corners)) < SLIVER or not np.isfinite(corners).all():
        return
    plane, off = plane_through(corners)
    if off <= FLAT:
        yield TopFacet(facet.panel, _ring(corners), plane)
        return
    triangles = _fan(corners) if len(corners) == 4 and _bulges(corners) else _cut(corners)
    for triangle in triangles:
        if abs(_doubled(triangle)) >= SLIVER:
            yield TopFacet(facet.panel, _ring(triangle), plane_through(triangle)[0])


def plane_through(corners: Floats) -> tuple[Plane, float]:
    """Return the plane (a, b, c) of a ring of corners (n, 3) [m] and its largest misfit [m].

    The plane has the ring's own normal (Newell's sum over its sides), which is exact for a plane ring
    and for a triangle. ValueError for a ring without area in plan.
    """
    points = corners.tolist()
    nx = ny = nz = 0.0
    for (x0, y0, z0), (x1, y1, z1) in pairwise([*points, points[0]]):
        nx += (y0 - y1) * (z0 + z1)
        ny += (z0 - z1) * (x0 + x1)
        nz += (x0 - x1) * (y0 + y1)
    if abs(nz) < SLIVER:
        raise ValueError("a ring without area in plan has no plane")
    n = len(points)
    mx, my, mz = (sum(point[k] for point in points) / n for k in range(3))
    a, b = -nx / nz, -ny / nz
    off = max(abs(a * (x - mx) + b * (y - my) + mz - z) for x, y, z in points)
    return (a, b, mz - a * mx - b * my), off


def _fan(corners: Floats) -> list[Floats]:
    middle = corners.mean(axis=0)
    return [np.array([p, q, middle]) for p, q in zip(corners, np.roll(corners, -1, axis=0), strict=True)]


def _bulges(corners: Floats) -> bool:
    """Return whether a ring is convex."""
    edges = np.roll(corners, -1, axis=0) - corners
    after = np.roll(edges, -1, axis=0)
    turns = edges[:, 0] * after[:, 1] - edges[:, 1] * after[:, 0]
    return bool((turns >= 0).all() or (turns <= 0).all())


def _cut(corners: Floats) -> list[Floats]:
    """Return triangles between the corners of a ring that is no plane; no corner is added."""
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(shapely.polygons(corners[:, :2])))
    heights = {(x, y): z for x, y, z in corners.tolist()}
    made = []
    for part in parts:
        xy = shapely.get_coordinates(part)[:3]
        made.append(np.array([(x, y, heights[x, y]) for x, y in xy.tolist()]))
    return made


def _without(facets: Sequence[TopFacet], holes: Sequence[object]) -> Iterable[TopFacet]:
    return _parts_of(facets, shapely.union_all(holes), inside=False)


def _parts_of(facets: Iterable[TopFacet], region: object, *, inside: bool) -> Iterable[TopFacet]:
    for facet in facets:
        shape = shapely.polygons(facet.ring)
        if not shapely.intersects(shape, region):
            if not inside:
                yield facet
            continue
        cut = shapely.intersection if inside else shapely.difference
        left = cut(shapely.orient_polygons(shape), region)
        for part in shapely.get_parts(shapely.constrained_delaunay_triangles(left)):
            ring = shapely.get_coordinates(part)[:3]
            if abs(_doubled(ring)) >= SLIVER:
                yield TopFacet(facet.panel, _ring(ring), facet.plane)


def _ring(corners: Floats) -> tuple[XY, ...]:
    return tuple((float(x), float(y)) for x, y in corners[:, :2])


def _doubled(corners: Floats) -> float:
    x, y = corners[:, 0] - corners[0, 0], corners[:, 1] - corners[0, 1]
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
