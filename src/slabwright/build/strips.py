"""The strip beside a slab that is dug wider so that forms and stakes fit.

It runs along every edge that needs a form, mitred at corners, and ends square where the slab is poured
against a wall or another slab. Its floor follows the form: level square to the edge.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slabwright.build.top import Plane, TopFacet
from slabwright.ground.model import XY
from slabwright.ground.untyped import shapely
from slabwright.slab.model import Edge, Slab

ON_EDGE = 0.003  # [m] a panel's side this near to an edge of the outline lies on it
SHORT = 1e-6  # [m] shorter sides are the dust of arithmetic
MITRE = 2.0  # longest mitre, in widths; sharper corners are cut square
ARC_STEPS = 48


@dataclass(frozen=True, slots=True)
class Strip:
    """A piece of strip: the panel that it lies beside, ring [m], plane of the slab's top carried outward."""

    panel: str
    ring: tuple[XY, ...]
    plane: Plane


@dataclass(frozen=True, slots=True)
class _Side:
    """A side of a panel on a free edge, counter-clockwise: p to q with their heights [m]."""

    panel: str
    p: XY
    q: XY
    zp: float
    zq: float

    @property
    def out(self) -> XY:
        """Return the unit vector square to the side, away from the slab."""
        dx, dy = self.q[0] - self.p[0], self.q[1] - self.p[1]
        run = math.hypot(dx, dy)
        return dy / run, -dx / run


def form_strips(
    slab: Slab, facets: Sequence[TopFacet], width: float, taken: Sequence[Sequence[XY]] = ()
) -> tuple[Strip, ...]:
    """Return the strips beside a slab's free edges.

    :param facets: the slab's top.
    :param width: how much wider the hole is than the slab [m].
    :param taken: rings [m] where nothing is dug: the house, slabs that stay, other new slabs.
    """
    if width <= 0:
        return ()
    sides = _free_sides(slab, facets)
    starts = {_key(side.p): side for side in sides}
    ends = {_key(side.q): side for side in sides}
    made: list[Strip] = []
    for side in sides:
        before, after = ends.get(_key(side.p)), starts.get(_key(side.q))
        first = _corner(side.p, before, side, width)
        last = _corner(side.q, side, after, width)
        ring = (side.p, first, last, side.q)
        # a curve tighter than the strip is wide would turn it inside out
        if _area(ring) > 0 and shapely.is_valid(shapely.polygons(ring)):
            made.append(Strip(side.panel, ring, _carried(side)))
    return tuple(_clear(made, taken))


def _free_sides(slab: Slab, facets: Sequence[TopFacet]) -> list[_Side]:
    free = [_line(edge) for edge in slab.outline.edges if edge.kind == "free"]
    if not free:
        return []
    edges = shapely.union_all([shapely.linestrings(line) for line in free])
    tops: dict[str, list[TopFacet]] = {}
    for facet in facets:
        tops.setdefault(facet.panel, []).append(facet)
    sides: list[_Side] = []
    for panel in slab.joint_plan.panels:
        own = tops.get(panel.name, [])
        if not own:
            continue
        ring = panel.ring
        pairs = [(p, q) for p, q in zip(ring, ring[1:] + ring[:1], strict=True) if math.dist(p, q) > SHORT]
        middles = shapely.points([((p[0] + q[0]) / 2, (p[1] + q[1]) / 2) for p, q in pairs])
        for (p, q), near in zip(pairs, shapely.distance(middles, edges) < ON_EDGE, strict=True):
            if near:
                top = _nearest(own, ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2))
                sides.append(_Side(panel.name, p, q, top.height(*p), top.height(*q)))
    return sides


def _line(edge: Edge) -> list[XY]:
    """Return an edge as points [m], an arc flattened finely."""
    if edge.centre is None or edge.radius is None or edge.bulge == 0.0:
        return [edge.p, edge.q]
    cx, cy = edge.centre
    start = math.atan2(edge.p[1] - cy, edge.p[0] - cx)
    turn = 4.0 * math.atan(edge.bulge)
    inner = [
        (
            cx + edge.radius * math.cos(start + turn * k / ARC_STEPS),
            cy + edge.radius * math.sin(start + turn * k / ARC_STEPS),
        )
        for k in range(1, ARC_STEPS)
    ]
    return [edge.p, *inner, edge.q]


def _nearest(facets: Sequence[TopFacet], at: XY) -> TopFacet:
    if len(facets) == 1:
        return facets[0]
    away = shapely.distance([shapely.polygons(f.ring) for f in facets], shapely.points(at))
    return facets[int(np.argmin(away))]


def _key(xy: XY) -> tuple[int, int]:
    return round(xy[0] * 1e6), round(xy[1] * 1e6)


def _corner(at: XY, before: _Side | None, after: _Side | None, width: float) -> XY:
    """Return the strip's outer corner beside a corner of the slab: mitred, or square at an end."""
    side = after or before
    assert side is not None
    if before is None or after is None:
        nx, ny = side.out
        return at[0] + width * nx, at[1] + width * ny
    (ax, ay), (bx, by) = before.out, after.out
    stretch = 1.0 + ax * bx + ay * by
    if stretch < 2.0 / MITRE**2:  # the mitre is sqrt(2 / stretch) widths long
        stretch = 2.0 / MITRE**2
    return at[0] + width * (ax + bx) / stretch, at[1] + width * (ay + by) / stretch


def _carried(side: _Side) -> Plane:
    """Return the plane that follows the side and is level square to it."""
    (x0, y0), (x1, y1) = side.p, side.q
    dx, dy = x1 - x0, y1 - y0
    rise = (side.zq - side.zp) / (dx * dx + dy * dy)
    a, b = rise * dx, rise * dy
    return a, b, side.zp - a * x0 - b * y0


def _area(ring: Sequence[XY]) -> float:
    return sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(ring, [*ring[1:], ring[0]], strict=True)) / 2.0


def _clear(strips: Sequence[Strip], taken: Sequence[Sequence[XY]]) -> list[Strip]:
    """Return the strips without what lies on ground that is not dug."""
    shapes = [shapely.polygons(ring) for ring in taken if len(ring) > 2]
    if not shapes or not strips:
        return list(strips)
    solid = shapely.union_all([shapely.make_valid(shape) for shape in shapes])
    made: list[Strip] = []
    for strip in strips:
        shape = shapely.polygons(strip.ring)
        if not shapely.intersects(shape, solid):
            made.append(strip)
            continue
        left = shapely.difference(shape, solid)
        for part in shapely.get_parts(shapely.constrained_delaunay_triangles(left)):
            ring = tuple((float(x), float(y)) for x, y in shapely.get_coordinates(part)[:3])
            made.append(Strip(strip.panel, ring, strip.plane))
    return made
