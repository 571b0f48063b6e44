"""Take away what a wall, an existing slab or an opening covers, and keep the arcs true.

The cutting itself is done on finely flattened rings; each side of what is left is then traced back
to the straight run or arc that it lies on, so that forms still get a radius and not a string of chords.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import atan2, hypot, pi, tan
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slabwright.ground.untyped import ops, shapely
from slabwright.slab.model import XY, Edge
from slabwright.slab.outline import curves

FINE = 0.00002  # chord error while cutting: a corner on an arc moves by less than this when set back
ON = 0.0001  # a side this close to a source's chord lies on that source
SHORT = 0.003  # sides shorter than this are noise of the cutting, not sides
JOIN_MOST = 6.0  # [rad] no arc is made nearly a whole circle
OVERLAP = 0.0005  # [m2] an overlap smaller than a palm is a touch, not an overlap

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Cut:
    """What is left: its chain, openings right through it (cutter, chain), area taken off [m2].

    `pieces`: how many separate pieces were left; only the largest is kept.
    """

    edges: list[Edge]
    holes: list[tuple[int, list[Edge]]]
    taken: float
    pieces: int


def fine_polygon(edges: Sequence[Edge]) -> Any:
    """Return the flattened polygon of a closed chain, true to 0.02 mm."""
    return shapely.Polygon([xy for e in edges for xy in curves.flatten(e, FINE)])


def cut(edges: list[Edge], cutters: Sequence[Sequence[Edge]]) -> Cut:
    """Return the chain (counter-clockwise) less what the cutters (closed chains) cover."""
    body: Any = fine_polygon(edges)
    whole = body.area
    used = [k for k, c in enumerate(cutters) if body.intersection(fine_polygon(c)).area > OVERLAP]
    if not used:
        return Cut(edges, [], 0.0, 1)
    for k in used:
        body = body.difference(fine_polygon(cutters[k]))
    pieces = [g for g in getattr(body, "geoms", [body]) if g.area > OVERLAP]
    if not pieces:
        return Cut([], [], whole, 0)
    kept = max(pieces, key=lambda g: g.area)
    sources = [*edges, *(e for k in used for e in cutters[k])]
    owner = [-1] * len(edges) + [k for k in used for _ in cutters[k]]
    ring = retrace(list(kept.exterior.coords)[:-1], sources, ccw=True)
    holes = []
    for inner in kept.interiors:
        if shapely.Polygon(inner).area <= OVERLAP:
            continue
        back = retrace(list(inner.coords)[:-1], sources, ccw=False)
        at = _source_of(np.array(inner.coords)[:2], _pieces(sources))[0]
        holes.append((owner[at] if at >= 0 else used[0], back))
    return Cut(ring, holes, whole - kept.area, len(pieces))


def cut_by_line(edges: list[Edge], line: Sequence[XY], *, keep_right: bool = True) -> Cut:
    """Return the chain cut by an open line of walls, the yard (right-hand) side kept."""
    body = fine_polygon(edges)
    wall = shapely.LineString(line)
    if not wall.crosses(body):
        return Cut(edges, [], 0.0, 1)
    parts = [g for g in ops.split(body, wall).geoms if g.area > OVERLAP]
    yard = [g for g in parts if (_side(line, g.representative_point().coords[0]) < 0) == keep_right]
    if len(parts) < 2 or not yard:
        return Cut(edges, [], 0.0, 1)
    kept = max(yard, key=lambda g: g.area)
    sources = [*edges, *(curves.edge(a, b) for a, b in pairwise(line))]
    ring = retrace(list(kept.exterior.coords)[:-1], sources, ccw=True)
    return Cut(ring, [], body.area - kept.area, len(yard))


def _side(line: Sequence[XY], xy: XY) -> float:
    """Return above zero left of the nearest run of the line, below zero right of it."""
    best, side = float("inf"), 0.0
    for (ax, ay), (bx, by) in pairwise(line):
        dx, dy = bx - ax, by - ay
        run = dx * dx + dy * dy
        if run == 0.0:
            continue
        t = min(1.0, max(0.0, ((xy[0] - ax) * dx + (xy[1] - ay) * dy) / run))
        off = hypot(ax + t * dx - xy[0], ay + t * dy - xy[1])
        if off < best:
            best, side = off, dx * (xy[1] - ay) - dy * (xy[0] - ax)
    return side


def _pieces(sources: Sequence[Edge]) -> tuple[Floats, NDArray[np.int64]]:
    """Return every chord of the finely flattened sources, shape (n, 4), and its source, shape (n,)."""
    rows, ids = [], []
    for k, e in enumerate(sources):
        points = [*curves.flatten(e, FINE), e.q]
        rows += [(*a, *b) for a, b in pairwise(points)]
        ids += [k] * (len(points) - 1)
    return np.array(rows), np.array(ids)


def _source_of(ring: Floats, chords: tuple[Floats, NDArray[np.int64]]) -> list[int]:
    """Return for each side of an open polyline (n, 2) the source that it lies on, -1 for none."""
    rows, ids = chords
    a, d = rows[:, :2], rows[:, 2:] - rows[:, :2]
    run = np.maximum((d * d).sum(1), 1e-18)
    found = []
    for p, q in pairwise(ring):
        worst = np.zeros(len(rows))
        for share in (0.25, 0.75):
            m = p + share * (q - p)
            t = np.clip(((m - a) * d).sum(1) / run, 0, 1)
            worst = np.maximum(worst, np.hypot(*(a + t[:, None] * d - m).T))
        best = int(worst.argmin())
        found.append(int(ids[best]) if worst[best] < ON else -1)
    return found


def retrace(ring: Sequence[XY], sources: Sequence[Edge], *, ccw: bool) -> list[Edge]:
    """Return a flattened ring as edges on its sources, counter-clockwise or clockwise."""
    points = [xy for k, xy in enumerate(ring) if curves.dist(xy, ring[k - 1]) > curves.SAME_PLACE]
    if (_shoelace(points) > 0) != ccw:
        points.reverse()
    of = _source_of(np.array([*points, points[0]]), _pieces(sources))
    starts = [k for k in range(len(points)) if of[k] != of[k - 1] or _corner(points, k, of[k], sources)]
    if len(starts) < 2:  # one whole circle
        starts = sorted({*(starts or [0]), ((starts or [0])[0] + len(points) // 2) % len(points)})
    corners = [_settled(points[k], of[k], of[k - 1], sources) for k in starts]
    edges = []
    for n, k in enumerate(starts):
        after = starts[(n + 1) % len(starts)]
        count = (after - k) % len(points) or len(points)
        # the middle of a chord, for a piece may be one chord only
        a, b = points[(k + (count - 1) // 2) % len(points)], points[(k + (count + 1) // 2) % len(points)]
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        edges.append(_on_source(corners[n], middle, corners[(n + 1) % len(starts)], of[k], sources))
    return _joined(_without_noise(edges))


def _joined(edges: list[Edge]) -> list[Edge]:
    """Return the sides with neighbours on one circle made one arc, as long as no named corner parts them."""
    out: list[Edge] = []
    for e in edges:
        last = out[-1] if out else None
        same = (
            last is not None
            and last.centre is not None
            and e.centre is not None
            and curves.dist(last.centre, e.centre) < ON
            and last.bulge * e.bulge > 0
            and e.names[0] is None
            and abs(curves.turn(last) + curves.turn(e)) < JOIN_MOST
        )
        if same and last is not None:
            bulge = tan((curves.turn(last) + curves.turn(e)) / 4)
            out[-1] = replace(last, q=e.q, bulge=bulge, names=(last.names[0], e.names[1]))
        else:
            out.append(e)
    return out


def _shoelace(points: Sequence[XY]) -> float:
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True)) / 2


def _corner(points: list[XY], k: int, source: int, sources: Sequence[Edge]) -> bool:
    """Say whether the ring turns at point k although both sides lie on the same source."""
    a, b, c = points[k - 1], points[k], points[(k + 1) % len(points)]
    swing = atan2(
        (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]),
        (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]),
    )
    arc = source >= 0 and sources[source].radius is not None
    return abs(swing) > (0.3 if arc else 1e-4)


def _settled(xy: XY, one: int, other: int, sources: Sequence[Edge]) -> XY:
    """Return a corner set back from the chord onto its true arc, or onto a named end."""
    for k in (one, other):
        if k >= 0:
            for end in (sources[k].p, sources[k].q):
                if curves.dist(end, xy) < ON:
                    return end
    for k in (one, other):
        if k >= 0:
            c, r = sources[k].centre, sources[k].radius
            if c is not None and r is not None:
                off = curves.dist(c, xy)
                return (c[0] + (xy[0] - c[0]) * r / off, c[1] + (xy[1] - c[1]) * r / off)
    return (float(xy[0]), float(xy[1]))


def _on_source(p: XY, middle: XY, q: XY, source: int, sources: Sequence[Edge]) -> Edge:
    """Return the edge from p to q on its source: straight, or on the very same circle."""
    if source < 0:
        return curves.edge(p, q)
    e = sources[source]
    names = tuple(
        next((n for n, end in zip(e.names, (e.p, e.q), strict=True) if n and curves.dist(end, xy) < ON), None)
        for xy in (p, q)
    )
    base = curves.edge(p, q, kind=e.kind, against=e.against, names=(names[0], names[1]))
    if e.centre is None or curves.dist(p, q) < curves.SAME_PLACE:
        return base
    angles = [atan2(xy[1] - e.centre[1], xy[0] - e.centre[0]) for xy in (p, middle, q)]
    sweep, half = (angles[2] - angles[0]) % (2 * pi), (angles[1] - angles[0]) % (2 * pi)
    if half > sweep:
        sweep -= 2 * pi
    return replace(base, bulge=tan(sweep / 4), centre=e.centre, radius=e.radius)


def _without_noise(edges: list[Edge]) -> list[Edge]:
    """Drop sides of a few millimetres: the next side starts where they start."""
    kept = list(edges)
    k = 0
    while k < len(kept) and len(kept) > 3:
        e = kept[k]
        if curves.length(e) >= SHORT:
            k += 1
            continue
        after = kept[(k + 1) % len(kept)]
        # moving one end by under 3 mm: a straight side takes it, an arc is redrawn through its middle
        middle = curves.point_at(after, 0.5)
        bulge = 0.0 if after.radius is None else curves.bulge_through(e.p, middle, after.q)
        fresh = curves.edge(e.p, after.q, bulge, kind=after.kind, against=after.against)
        kept[(k + 1) % len(kept)] = replace(fresh, names=(e.names[0] or after.names[0], after.names[1]))
        kept.pop(k)
    return kept
