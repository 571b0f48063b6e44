"""Straight runs and true arcs: length, flattening, splitting, offsets, fillets.

An `Edge` of the model is the one record of a curve here: p, q and a bulge, which is the tangent of a
quarter of the turned angle (left positive). All lengths in m, angles in rad; plane geometry only.
"""

from __future__ import annotations

from dataclasses import replace
from math import acos, asin, atan, atan2, ceil, cos, hypot, pi, sin, sqrt, tan
from typing import Literal

from slabwright.slab.model import XY, Edge

Kind = Literal["free", "wall", "existing", "slab"]

CHORD_ERROR = 0.0005  # a flattened arc leaves the true one by at most half a millimetre
SAME_PLACE = 1e-6  # two computed points this close are one point
STRAIGHT = 1e-9  # a bulge below this is a straight run


def edge(
    p: XY,
    q: XY,
    bulge: float = 0.0,
    *,
    kind: Kind = "free",
    against: str | None = None,
    names: tuple[str | None, str | None] = (None, None),
) -> Edge:
    """Return the edge from p to q [m] with its centre and radius [m] worked out from the bulge [-]."""
    if abs(bulge) < STRAIGHT:
        return Edge(p, q, kind, against, 0.0, None, None, names)
    chord = hypot(q[0] - p[0], q[1] - p[1])
    radius = chord * (1 + bulge * bulge) / (4 * abs(bulge))
    # the centre lies on the chord's bisector, on the left for a left turn of less than half a circle
    off = chord * (1 - bulge * bulge) / (4 * bulge)
    nx, ny = -(q[1] - p[1]) / chord, (q[0] - p[0]) / chord
    centre = ((p[0] + q[0]) / 2 + nx * off, (p[1] + q[1]) / 2 + ny * off)
    return Edge(p, q, kind, against, bulge, centre, radius, names)


def dist(a: XY, b: XY) -> float:
    """Return the distance [m] between two points [m]."""
    return hypot(b[0] - a[0], b[1] - a[1])


def turn(e: Edge) -> float:
    """Return the angle [rad] through which the edge turns, left positive."""
    return 4 * atan(e.bulge)


def length(e: Edge) -> float:
    """Return the true length [m] of the edge."""
    return dist(e.p, e.q) if e.radius is None else e.radius * abs(turn(e))


def point_at(e: Edge, t: float) -> XY:
    """Return the point [m] at the share t [-] of the edge's length."""
    if t <= 0.0:
        return e.p
    if t >= 1.0:
        return e.q
    if e.centre is None:
        return (e.p[0] + t * (e.q[0] - e.p[0]), e.p[1] + t * (e.q[1] - e.p[1]))
    c, a = e.centre, turn(e) * t
    x, y = e.p[0] - c[0], e.p[1] - c[1]
    return (c[0] + x * cos(a) - y * sin(a), c[1] + x * sin(a) + y * cos(a))


def heading(e: Edge, t: float) -> XY:
    """Return the unit direction [-] in which the edge runs at the share t [-] of its length."""
    run = dist(e.p, e.q)
    ux, uy = (e.q[0] - e.p[0]) / run, (e.q[1] - e.p[1]) / run
    a = turn(e) * (t - 0.5)  # at its middle an arc runs along its chord
    return (ux * cos(a) - uy * sin(a), ux * sin(a) + uy * cos(a))


def flatten(e: Edge, error: float = CHORD_ERROR) -> list[XY]:
    """Return points [m] along the edge from p up to but without q, chords within `error` [m]."""
    if e.radius is None:
        return [e.p]
    step = 2 * acos(max(0.0, 1 - min(error, e.radius) / e.radius))
    n = max(1, ceil(abs(turn(e)) / step - 1e-9))
    return [point_at(e, k / n) for k in range(n)]


def flatten_all(edges: list[Edge] | tuple[Edge, ...], error: float = CHORD_ERROR) -> list[XY]:
    """Return the points [m] of a closed chain of edges, without repeating the first."""
    return [xy for e in edges for xy in flatten(e, error)]


def part(e: Edge, t0: float, t1: float) -> Edge:
    """Return the piece of the edge between the shares t0 < t1 [-] of its length."""
    names = (e.names[0] if t0 <= 0.0 else None, e.names[1] if t1 >= 1.0 else None)
    bulge = tan(turn(e) * (t1 - t0) / 4) if e.bulge else 0.0
    piece = edge(point_at(e, t0), point_at(e, t1), bulge, kind=e.kind, against=e.against, names=names)
    # the piece keeps the very same circle, so that forms of the two halves share one radius
    return replace(piece, centre=e.centre, radius=e.radius)


def back(e: Edge) -> Edge:
    """Return the edge run the other way."""
    return replace(e, p=e.q, q=e.p, bulge=0.0 - e.bulge, names=(e.names[1], e.names[0]))


def share_at(e: Edge, xy: XY) -> float:
    """Return the share [-] of the edge's length at its point nearest to xy [m] (may lie outside 0..1)."""
    if e.centre is None:
        dx, dy = e.q[0] - e.p[0], e.q[1] - e.p[1]
        return ((xy[0] - e.p[0]) * dx + (xy[1] - e.p[1]) * dy) / (dx * dx + dy * dy)
    c, sweep = e.centre, turn(e)
    a = atan2(xy[1] - c[1], xy[0] - c[0]) - atan2(e.p[1] - c[1], e.p[0] - c[0])
    # measured from the middle of the sweep, so that both ends are equally far from the seam
    a = (a - sweep / 2 + pi) % (2 * pi) - pi + sweep / 2
    return a / sweep


def bulge_through(p: XY, m: XY, q: XY) -> float:
    """Return the bulge [-] of the arc from p through m to q [m]; 0 when they lie on a line.

    The angle at m over the chord is half of what is left of the circle (inscribed angle).
    """
    ax, ay, bx, by = p[0] - m[0], p[1] - m[1], q[0] - m[0], q[1] - m[1]
    cross, dot = ax * by - ay * bx, ax * bx + ay * by
    angle = atan2(abs(cross), dot)
    if pi - angle < STRAIGHT:
        return 0.0
    size = tan((pi - angle) / 2)
    return size if cross < 0 else -size  # the point of a left turn lies right of its chord


def bulge_radius(p: XY, q: XY, radius: float, left: bool) -> float:
    """Return the bulge [-] of the shorter arc of this radius [m] from p to q [m].

    Raises ValueError when the radius is under half the distance.
    """
    half = dist(p, q) / 2
    if radius < half * (1 - 1e-9):
        raise ValueError("radius is less than half the distance")
    size = tan(asin(min(1.0, half / radius)) / 2)
    return size if left else -size


def offset(e: Edge, d: float) -> Edge | None:
    """Return the parallel at d [m] to the left (right when negative); None when an arc has no room."""
    if e.centre is None or e.radius is None:
        dx, dy = heading(e, 0.5)
        move = (-dy * d, dx * d)
        return edge((e.p[0] + move[0], e.p[1] + move[1]), (e.q[0] + move[0], e.q[1] + move[1]))
    radius = e.radius - d if e.bulge > 0 else e.radius + d
    if radius <= SAME_PLACE:
        return None
    k, c = radius / e.radius, e.centre
    p = (c[0] + (e.p[0] - c[0]) * k, c[1] + (e.p[1] - c[1]) * k)
    q = (c[0] + (e.q[0] - c[0]) * k, c[1] + (e.q[1] - c[1]) * k)
    return replace(edge(p, q, e.bulge), centre=c, radius=radius)


def crossings(a: Edge, b: Edge) -> list[XY]:
    """Return where the endless line or full circle of `a` meets that of `b` [m]."""
    if a.centre is None and b.centre is None:
        return _line_line(a, b)
    if a.centre is None:
        return _line_circle(a, b)
    if b.centre is None:
        return _line_circle(b, a)
    return _circle_circle(a, b)


def _line_line(a: Edge, b: Edge) -> list[XY]:
    ux, uy = heading(a, 0.5)
    vx, vy = heading(b, 0.5)
    cross = ux * vy - uy * vx
    if abs(cross) < 1e-9:
        return []
    t = ((b.p[0] - a.p[0]) * vy - (b.p[1] - a.p[1]) * vx) / cross
    return [(a.p[0] + t * ux, a.p[1] + t * uy)]


def _line_circle(a: Edge, b: Edge) -> list[XY]:
    assert b.centre is not None
    assert b.radius is not None
    ux, uy = heading(a, 0.5)
    cx, cy = b.centre[0] - a.p[0], b.centre[1] - a.p[1]
    foot, off = cx * ux + cy * uy, cx * uy - cy * ux
    room = b.radius * b.radius - off * off
    if room < -2 * b.radius * SAME_PLACE:
        return []
    half = sqrt(max(0.0, room))
    return [(a.p[0] + t * ux, a.p[1] + t * uy) for t in (foot - half, foot + half)]


def _circle_circle(a: Edge, b: Edge) -> list[XY]:
    assert a.centre is not None
    assert b.centre is not None
    assert a.radius is not None
    assert b.radius is not None
    d = dist(a.centre, b.centre)
    if d < SAME_PLACE:
        return []
    along = (d * d + a.radius**2 - b.radius**2) / (2 * d)
    room = a.radius**2 - along**2
    if room < -2 * a.radius * SAME_PLACE:
        return []
    half = sqrt(max(0.0, room))
    ux, uy = (b.centre[0] - a.centre[0]) / d, (b.centre[1] - a.centre[1]) / d
    x, y = a.centre[0] + along * ux, a.centre[1] + along * uy
    return [(x - uy * half, y + ux * half), (x + uy * half, y - ux * half)]


def nearest(points: list[XY], xy: XY) -> XY | None:
    """Return the point [m] nearest to xy [m], or None of none."""
    return min(points, key=lambda c: dist(c, xy), default=None)


def fillet(a: Edge, b: Edge, radius: float) -> tuple[Edge, Edge, Edge] | None:
    """Round the corner where `a` ends and `b` begins to `radius` [m]: (shorter a, arc, shorter b).

    None when the arc's ends would not lie on both edges.
    """
    h0, h1 = heading(a, 1.0), heading(b, 0.0)
    cross = h0[0] * h1[1] - h0[1] * h1[0]
    if abs(cross) < 1e-6:
        return None
    side = radius if cross > 0 else -radius
    pa, pb = offset(a, side), offset(b, side)
    if pa is None or pb is None:
        return None
    centre = nearest(crossings(pa, pb), a.q)
    if centre is None:
        return None
    ta, tb = share_at(a, centre), share_at(b, centre)
    if not (SAME_PLACE < ta < 1.0 and 0.0 < tb < 1.0 - SAME_PLACE):
        return None
    first, last = part(a, 0.0, ta), part(b, tb, 1.0)
    k0, k1 = heading(a, ta), heading(b, tb)
    swing = atan2(k0[0] * k1[1] - k0[1] * k1[0], k0[0] * k1[0] + k0[1] * k1[1])
    arc = replace(edge(first.q, last.p, tan(swing / 4)), centre=centre, radius=radius)
    return first, arc, last


def ring_area(edges: list[Edge] | tuple[Edge, ...]) -> float:
    """Return the signed area [m2] within a closed chain, arcs counted true; ccw is positive.

    Shoelace over the chords, and r^2/2 (a - sin a) for the piece between each arc and its chord.
    """
    if not edges:
        return 0.0
    x0, y0 = edges[0].p  # sums about a corner lose no digits far from the origin
    total = 0.0
    for e in edges:
        total += ((e.p[0] - x0) * (e.q[1] - y0) - (e.q[0] - x0) * (e.p[1] - y0)) / 2
        if e.radius is not None:
            a = turn(e)
            total += e.radius * e.radius * (a - sin(a)) / 2
    return total
