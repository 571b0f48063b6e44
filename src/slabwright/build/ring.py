"""Sides of an outline: which way they run, where a place lies on them, what its corners are called."""

from __future__ import annotations

import math
from collections.abc import Sequence

from slabwright.build.model import XY
from slabwright.build.top import top_facets
from slabwright.ground.untyped import shapely
from slabwright.slab.model import Edge, Node, Slab

SAME = 0.02  # [m] two marks this near are one; a grade node this near a side lies on it


def arc_of(p: XY, q: XY, bulge: float) -> tuple[XY, float, float]:
    """Return an arc's centre [m], radius [m] and the angle [rad] from its centre to p."""
    chord = math.dist(p, q)
    turned = 4.0 * math.atan(bulge)
    radius = chord / (2.0 * math.sin(abs(turned) / 2.0))
    to_centre = chord / 2.0 / math.tan(turned / 2.0)  # left of the chord for a left turn
    ux, uy = (q[0] - p[0]) / chord, (q[1] - p[1]) / chord
    centre = ((p[0] + q[0]) / 2 - uy * to_centre, (p[1] + q[1]) / 2 + ux * to_centre)
    return centre, radius, math.atan2(p[1] - centre[1], p[0] - centre[0])


def direction(edge: Edge, *, at_end: bool) -> float:
    """Return the way a side runs [rad] where it begins or ends."""
    half = 2.0 * math.atan(edge.bulge)
    chord = math.atan2(edge.q[1] - edge.p[1], edge.q[0] - edge.p[0])
    return chord + half if at_end else chord - half


def turn(before: Edge, after: Edge) -> float:
    """Return the turn [rad] from one side to the next, positive to the left: an outer corner."""
    return math.remainder(direction(after, at_end=False) - direction(before, at_end=True), 2 * math.pi)


def project(edge: Edge, at: XY) -> tuple[float, float]:
    """Return how far along a side [m] the place on it nearest to `at` lies, and how far off it `at` is."""
    (x0, y0), (x1, y1) = edge.p, edge.q
    if edge.bulge == 0.0:
        chord = math.dist(edge.p, edge.q)
        ux, uy = (x1 - x0) / chord, (y1 - y0) / chord
        along = min(chord, max(0.0, (at[0] - x0) * ux + (at[1] - y0) * uy))
        return along, math.hypot(at[0] - x0 - along * ux, at[1] - y0 - along * uy)
    centre, radius, start = arc_of(edge.p, edge.q, edge.bulge)
    whole = 4.0 * math.atan(abs(edge.bulge))
    angle = math.atan2(at[1] - centre[1], at[0] - centre[0]) - start
    turned = (angle if edge.bulge > 0 else -angle) % (2.0 * math.pi)
    if turned <= whole:
        return radius * turned, abs(math.dist(at, centre) - radius)
    first, last = math.dist(at, edge.p), math.dist(at, edge.q)
    return (0.0, first) if first <= last else (radius * whole, last)


def on_ring(edges: Sequence[Edge], at: XY) -> tuple[int, float] | None:
    """Return the side that a place lies on and how far along it [m]; None off the ring."""
    best: tuple[float, int, float] | None = None
    for i, edge in enumerate(edges):
        along, off = project(edge, at)
        if best is None or off < best[0] - 1e-9:
            best = (off, i, along)
    return None if best is None or best[0] > SAME else (best[1], best[2])


def node_at(nodes: Sequence[Node], at: XY) -> Node | None:
    """Return the grade node at a place, None when there is none."""
    node = min(nodes, key=lambda n: math.dist((n.x, n.y), at), default=None)
    return node if node is not None and math.dist((node.x, node.y), at) < SAME else None


def label_at(slab: Slab, at: XY) -> str:
    """Return what a place is called: its grade node's label, else its point's name, else nothing."""
    node = node_at(slab.height_plan.nodes, at)
    if node is not None:
        return node.label
    for edge in slab.outline.edges:
        for point, name in zip((edge.p, edge.q), edge.names, strict=True):
            if name and math.dist(point, at) < SAME:
                return name
    return ""


def corners(slab: Slab, least_turn: float) -> list[tuple[int, str, XY]]:
    """Return a slab's corners and the ends of its arcs: side that begins there, label, place.

    least_turn [rad]: straights that turn less pass on as one.
    """
    edges = slab.outline.edges
    return [
        (i, label_at(slab, edge.p) or f"corner {i + 1}", edge.p)
        for i, edge in enumerate(edges)
        if edges[i - 1].bulge or edge.bulge or abs(turn(edges[i - 1], edge)) > least_turn
    ]


def centroid(ring: Sequence[XY]) -> XY:
    """Return the middle of a ring's corners [m], which for a round opening is its centre."""
    return math.fsum(x for x, _ in ring) / len(ring), math.fsum(y for _, y in ring) / len(ring)


def height_inside(slab: Slab, at: XY) -> float | None:
    """Return the finished height [m] at a place inside a slab, over an opening as if it were not there.

    From the nearest plane of the top; None while the slab has no heights.
    """
    facets = top_facets(slab)
    if not facets:
        return None
    place = shapely.Point(at)
    nearest = min(facets, key=lambda facet: (shapely.Polygon(facet.ring).distance(place), facet.panel))
    return nearest.height(*at)


def height_on(slab: Slab, side: int, along: float, at: XY) -> float | None:
    """Return the finished height [m] at a place on a side: its node's, or between that side's nodes.

    A straight with no nodes of its own on it (its corners were merged away) gives None.
    """
    nodes = slab.height_plan.nodes
    near = node_at(nodes, at)
    if near is not None:
        return near.z
    edge = slab.outline.edges[side]
    on = sorted((s, n.z) for n in nodes for s, off in [project(edge, (n.x, n.y))] if off < SAME)
    if not on:
        return None
    below = max((one for one in on if one[0] <= along), default=on[0])
    above = min((one for one in on if one[0] >= along), default=on[-1])
    if above[0] - below[0] < SAME:
        return below[1]
    return below[1] + (above[1] - below[1]) * (along - below[0]) / (above[0] - below[0])
