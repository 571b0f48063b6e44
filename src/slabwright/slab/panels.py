"""Panels: the pieces of concrete between joints.

The outline and the joints become one net of straight pieces that share their end points exactly, so
that neighbouring panels share corners and no sliver is left between them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import floor, hypot
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slabwright.ground.untyped import shapely
from slabwright.slab.model import XY

SAME = 1e-5  # points this close are one point; far below a tape's reading, far above rounding
ON_EDGE = 0.002  # a joint's end this near the edge of the slab ends on it

AS_SMALL = 1.001  # [-] rectangles this nearly as small as the smallest are as small
FULL = 0.999  # [-] a panel that fills its rectangle so far is one
GRID = 1e-6  # [m] points of a trial are set on this grid
SPECK = 1e-6  # [m2] no panel is this small: what rounding leaves between lines that nearly coincide

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Piece:
    """One panel before it is named: its ring (counter-clockwise), area [m2], sides [m].

    `long` and `short` are the sides of the smallest rectangle round it, at any angle. `holes` are the
    rings (clockwise) of openings that lie wholly inside it; the area leaves them out.
    """

    ring: tuple[XY, ...]
    area: float
    long: float
    short: float
    middle: XY
    holes: tuple[tuple[XY, ...], ...] = ()


class _Net:
    """Points merged within SAME, and the straight pieces between them."""

    def __init__(self) -> None:
        self.cells: dict[tuple[int, int], list[int]] = {}
        self.points: list[XY] = []

    def node(self, xy: XY) -> int:
        """Return the number of the point at xy, made when there is none."""
        i, j = floor(xy[0] / (2 * SAME)), floor(xy[1] / (2 * SAME))
        for a in (i - 1, i, i + 1):
            for b in (j - 1, j, j + 1):
                for k in self.cells.get((a, b), ()):
                    if hypot(self.points[k][0] - xy[0], self.points[k][1] - xy[1]) <= SAME:
                        return k
        self.points.append((float(xy[0]), float(xy[1])))
        self.cells.setdefault((i, j), []).append(len(self.points) - 1)
        return len(self.points) - 1


def subdivide(
    ring: Sequence[XY], holes: Sequence[Sequence[XY]], lines: Iterable[Sequence[XY]]
) -> list[Piece]:
    """Return the pieces into which polylines cut a polygon with openings.

    ring, holes: points [m], not closed. lines: polylines [m] whose ends lie on the boundary or on one
    another. Ends within 2 mm of the boundary are set onto it. Dangling ends cut nothing.
    """
    net = _Net()
    rings = [list(r) for r in (ring, *holes)]
    drawn = [list(line) for line in lines]
    _end_on_boundary(rings, drawn)
    segments = [(a, b) for r in rings for a, b in pairwise([*r, r[0]])]
    borders = len(segments)
    segments += [(a, b) for line in drawn for a, b in pairwise(line)]
    pieces = _noded(np.array(segments, dtype=np.float64).reshape(-1, 4), net, borders)
    coords = np.array(net.points)
    pairs = np.array(sorted(pieces))
    faces = shapely.get_parts(shapely.polygonize(shapely.linestrings(coords[pairs])))
    faces = faces[shapely.area(faces) > SPECK]
    if len(faces) == 0:
        return []
    body = shapely.Polygon(ring, list(holes))
    inside = shapely.contains(body, shapely.point_on_surface(faces)) if len(faces) > 1 else np.array([True])
    return measured(faces[inside])


def _end_on_boundary(rings: list[list[XY]], lines: list[list[XY]]) -> None:
    """Put each joint's end into the ring as a corner (both changed in place)."""
    spots: list[list[list[tuple[float, XY]]]] = [[[] for _ in r] for r in rings]
    flat = [(k, i, *r[i], *r[(i + 1) % len(r)]) for k, r in enumerate(rings) for i in range(len(r))]
    where = np.array([f[:2] for f in flat])
    seg = np.array([f[2:] for f in flat], dtype=np.float64)
    a, d = seg[:, :2], seg[:, 2:] - seg[:, :2]
    run = np.maximum((d * d).sum(1), 1e-18)
    for line in lines:
        for end in (0, -1):
            p = np.array(line[end])
            t = np.clip(((p - a) * d).sum(1) / run, 0.0, 1.0)
            foot = a + t[:, None] * d
            off = np.hypot(foot[:, 0] - p[0], foot[:, 1] - p[1])
            best = int(off.argmin())
            if off[best] > ON_EDGE:
                continue
            xy = (float(foot[best, 0]), float(foot[best, 1]))
            line[end] = xy
            k, i = where[best]
            if 0.0 < t[best] < 1.0:
                spots[k][i].append((float(t[best]), xy))
    for r, by_side in zip(rings, spots, strict=True):
        fresh: list[XY] = []
        for corner, extra in zip(r, by_side, strict=True):
            fresh.append(corner)
            fresh += [xy for _, xy in sorted(extra)]
        r[:] = fresh


def _noded(seg: Floats, net: _Net, borders: int) -> set[tuple[int, int]]:
    """Return the pieces (node, node) after every crossing has been made a shared node."""
    cuts: list[list[tuple[float, XY]]] = [[] for _ in range(len(seg))]
    boxes = shapely.STRtree(shapely.linestrings(seg.reshape(-1, 2, 2)))
    around = shapely.bounds(boxes.geometries[borders:]) + np.array([-SAME, -SAME, SAME, SAME])
    first, second = boxes.query(shapely.box(*around.T))
    first = first + borders
    keep = (second < borders) | (second < first)
    for i, j in zip(first[keep], second[keep], strict=True):
        for share_i, share_j, xy in _crossing(seg[i], seg[j]):
            cuts[i].append((share_i, xy))
            cuts[j].append((share_j, xy))
    pieces: set[tuple[int, int]] = set()
    for (ax, ay, bx, by), extra in zip(seg, cuts, strict=True):
        stops = [net.node((ax, ay)), *(net.node(xy) for _, xy in sorted(extra)), net.node((bx, by))]
        pieces |= {(min(p, q), max(p, q)) for p, q in pairwise(stops) if p != q}
    return pieces


def _crossing(s: Floats, o: Floats) -> list[tuple[float, float, XY]]:
    """Return where two segments meet: share of each and the point; touching ends included."""
    ux, uy, vx, vy = s[2] - s[0], s[3] - s[1], o[2] - o[0], o[3] - o[1]
    wx, wy = o[0] - s[0], o[1] - s[1]
    us, vs = hypot(ux, uy), hypot(vx, vy)
    if us < SAME or vs < SAME:
        return []
    cross = ux * vy - uy * vx
    if abs(cross) > 1e-7 * us * vs:
        t, r = (wx * vy - wy * vx) / cross, (wx * uy - wy * ux) / cross
        if -SAME / us <= t <= 1 + SAME / us and -SAME / vs <= r <= 1 + SAME / vs:
            return [(t, r, (s[0] + t * ux, s[1] + t * uy))]
        return []
    if abs(wx * uy - wy * ux) / us > SAME:
        return []
    found = []  # on one line: each one's ends that lie on the other
    for x, y in ((o[0], o[1]), (o[2], o[3])):
        t = ((x - s[0]) * ux + (y - s[1]) * uy) / (us * us)
        if 0.0 <= t <= 1.0:
            found.append((t, 0.0 if (x, y) == (o[0], o[1]) else 1.0, (float(x), float(y))))
    for x, y in ((s[0], s[1]), (s[2], s[3])):
        r = ((x - o[0]) * vx + (y - o[1]) * vy) / (vs * vs)
        if 0.0 <= r <= 1.0:
            found.append((0.0 if (x, y) == (s[0], s[1]) else 1.0, r, (float(x), float(y))))
    return found


class Trial:
    """Cuts one slab many times for weighing plans: quick, but neighbours may differ in the last digits."""

    def __init__(self, ring: Sequence[XY], holes: Sequence[Sequence[XY]]) -> None:
        """Prepare the rings [m]."""
        self.body = shapely.Polygon(ring, list(holes))
        self.border = shapely.boundary(self.body)
        shapely.prepare(self.body)

    def cut(self, lines: Iterable[Sequence[XY]]) -> list[Piece]:
        """Return the pieces that polylines [m] make; ends within 1 um of an edge are on it."""
        drawn = [shapely.LineString(line) for line in lines]
        net = shapely.union_all([self.border, *drawn], grid_size=GRID)  # ends this near an edge are on it
        faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(net)))
        faces = faces[shapely.area(faces) > SPECK]
        if len(faces) > 1:
            inside = shapely.contains(self.body, shapely.point_on_surface(faces))
            faces = faces[inside]
        return measured(faces)


def measured(faces: NDArray[np.object_]) -> list[Piece]:
    """Return polygons as pieces, with the sides of the smallest rectangle round each."""
    faces = shapely.orient_polygons(faces, exterior_cw=False)
    area = shapely.area(faces)
    boxes = shapely.oriented_envelope(faces)
    middle = shapely.get_coordinates(shapely.centroid(faces))
    out = []
    hulls = shapely.simplify(shapely.convex_hull(faces), SAME)
    for face, box, hull, a, (mx, my) in zip(faces, boxes, hulls, area, middle, strict=True):
        c = shapely.get_coordinates(box)
        one, two = hypot(*(c[1] - c[0])), hypot(*(c[2] - c[1]))
        if a < FULL * one * two:
            one, two = _squarest(shapely.get_coordinates(hull))
        ring = _points(shapely.get_exterior_ring(face))
        holes = tuple(_points(h) for h in face.interiors)
        out.append(Piece(ring, float(a), max(one, two), min(one, two), (float(mx), float(my)), holes))
    return out


def _squarest(hull: Floats) -> tuple[float, float]:
    """Return the sides [m] of the squarest of the smallest rectangles round a convex ring (closed).

    Round a triangle the rectangles along its sides are all of one area, and so are two or more round any
    even shape; rounding must not choose among them.
    """
    d = np.diff(hull, axis=0)
    d = d / np.hypot(d[:, 0], d[:, 1])[:, None]
    one = np.ptp(hull @ d.T, axis=0)
    two = np.ptp(hull @ np.stack([-d[:, 1], d[:, 0]]), axis=0)
    area = one * two
    ratio = np.maximum(one, two) / np.minimum(one, two)
    k = int(np.where(area <= area.min() * AS_SMALL, ratio, np.inf).argmin())
    return float(one[k]), float(two[k])


def _points(ring: Any) -> tuple[XY, ...]:
    return tuple((float(x), float(y)) for x, y in shapely.get_coordinates(ring)[:-1])
