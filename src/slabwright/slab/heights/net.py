"""Grade nodes and pieces of surface of one slab: where heights live, and where the surface may fold.

A piece is a panel. Its masters are its true corners; heights of all other points on its ring follow
from them, so that forms are straight between grade nodes and the surface folds at joints only. A
piece is ruled (four masters: a straight board riding both sides makes it) or plane.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from slabwright.slab.heights.limits import ARC_STEP, ON_EDGE, SAME_POINT, STRAIGHT, value
from slabwright.slab.model import XY, JointPlan, Outline

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Weights = tuple[tuple[int, ...], tuple[float, ...]]  # node ids and what each counts
SIDES_AT_ONCE = 500  # bounds the memory of the search on a lot of thousands of panels


@dataclass(frozen=True, slots=True)
class Piece:
    """One panel: its ring of node ids (ccw), its masters by place in the ring, ruled or plane.

    `base` are three masters that carry a plane piece (for a ruled one, the first three).
    """

    panel: str
    ring: tuple[int, ...]
    at: tuple[int, ...]
    ruled: bool
    base: tuple[int, int, int]
    area: float
    centroid: XY
    curved: int = -1  # which of its pairs of facing sides follow arcs: 0 or 1, -1 for none

    @property
    def masters(self) -> tuple[int, ...]:
        """Return the node ids of its true corners (ccw)."""
        return tuple(self.ring[k] for k in self.at)


@dataclass(frozen=True, slots=True)
class Net:
    """Nodes of one slab: `xy` (n, 2) [m], pieces, names, and the order in which one walks the edge.

    `follows` maps a node that is no master of any piece to its masters and weights. `ties` are
    weights that must sum to zero height: a corner of one panel on the straight side of another.
    `shape_only` are nodes that nobody needs to stake: steps of an arc between grade points, rims of
    round openings.
    """

    xy: Floats
    pieces: tuple[Piece, ...]
    names: dict[int, str]
    walk: tuple[int, ...]  # nodes on the outline, in ring order
    follows: dict[int, Weights]
    ties: tuple[Weights, ...]
    shape_only: frozenset[int] = frozenset()


def plane_weights(xy: Floats, base: tuple[int, int, int], x: float, y: float) -> Weights:
    """Return the three nodes of `base` with the weights that give a plane's height at (x, y) [m]."""
    (ax, ay), (bx, by), (cx, cy) = xy[base[0]], xy[base[1]], xy[base[2]]
    twice = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    u = ((x - ax) * (cy - ay) - (cx - ax) * (y - ay)) / twice
    v = ((bx - ax) * (y - ay) - (x - ax) * (by - ay)) / twice
    return base, (float(1 - u - v), float(u), float(v))


def ruled_weights(xy: Floats, masters: tuple[int, ...], x: float, y: float) -> Weights:
    """Return four masters with the weights of the ruled surface over their quadrilateral at (x, y)."""
    a, b, c, d = (xy[k] for k in masters)
    u = v = 0.5
    for _ in range(12):  # Newton on the bilinear map; a parallelogram needs one step
        px = (1 - u) * (1 - v) * a + u * (1 - v) * b + u * v * c + (1 - u) * v * d
        ru, rv = (1 - v) * (b - a) + v * (c - d), (1 - u) * (d - a) + u * (c - b)
        det = ru[0] * rv[1] - ru[1] * rv[0]
        ex, ey = x - px[0], y - px[1]
        du, dv = (ex * rv[1] - ey * rv[0]) / det, (ru[0] * ey - ru[1] * ex) / det
        u, v = u + du, v + dv
        if abs(du) + abs(dv) < 1e-13:
            break
    w = ((1 - u) * (1 - v), u * (1 - v), u * v, (1 - u) * v)
    return masters, tuple(float(k) for k in w)


def weights_at(net: Net, piece: Piece, x: float, y: float) -> Weights:
    """Return the masters of `piece` and the weights that give its height at (x, y) [m]."""
    if piece.ruled:
        return ruled_weights(net.xy, piece.masters, x, y)
    return plane_weights(net.xy, piece.base, x, y)


def _cross(o: XY, p: XY, q: XY) -> float:
    return (p[0] - o[0]) * (q[1] - o[1]) - (p[1] - o[1]) * (q[0] - o[0])


def _area_centroid(points: list[XY]) -> tuple[float, XY]:
    area = cx = cy = 0.0
    ox, oy = points[0]
    for (px, py), (qx, qy) in zip(points, points[1:] + points[:1], strict=True):
        k = (px - ox) * (qy - oy) - (qx - ox) * (py - oy)
        area += k / 2
        cx += (px + qx - 2 * ox) * k / 6
        cy += (py + qy - 2 * oy) * k / 6
    if abs(area) < 1e-12:
        return 0.0, points[0]
    return area, (ox + cx / area, oy + cy / area)


class _Merge:
    """Gives one id to points nearer than SAME_POINT, in order of first sight."""

    def __init__(self) -> None:
        self.cells: dict[tuple[int, int], int] = {}
        self.points: list[XY] = []

    def __call__(self, p: XY) -> int:
        i, j = round(p[0] / SAME_POINT), round(p[1] / SAME_POINT)
        found = self.cells.get((i, j))
        if found is not None:
            return found
        for di in (-1, 0, 1):
            for dj in (-1, 0, 1):
                near = self.cells.get((i + di, j + dj))
                if near is not None and math.dist(self.points[near], p) < SAME_POINT:
                    return near
        self.cells[i, j] = len(self.points)
        self.points.append((float(p[0]), float(p[1])))
        return len(self.points) - 1


def _with_hanging(rings: list[list[int]], points: list[XY]) -> list[list[int]]:
    """Put a corner that lies on another panel's side into that panel's ring."""
    seen = {(u, v) for ring in rings for u, v in zip(ring, ring[1:] + ring[:1], strict=True)}
    loose = sorted((u, v) for u, v in seen if (v, u) not in seen)
    if not loose:
        return rings
    # a corner can hang only on a side without a twin, and only the end of such a side can hang
    ends = np.array(sorted({k for side in loose for k in side}))
    at = np.array(points)
    sides = np.array(loose)
    p, step = at[sides[:, 0]], at[sides[:, 1]] - at[sides[:, 0]]
    run = np.hypot(step[:, 0], step[:, 1])
    found: dict[tuple[int, int], list[int]] = {}
    for block in range(0, len(loose), SIDES_AT_ONCE):
        cut = slice(block, block + SIDES_AT_ONCE)
        to = at[ends][None, :, :] - p[cut, None, :]
        u = step[cut] / run[cut, None]
        along = to[:, :, 0] * u[:, :1] + to[:, :, 1] * u[:, 1:]
        off = np.abs(to[:, :, 0] * u[:, 1:] - to[:, :, 1] * u[:, :1])
        on = (off < ON_EDGE) & (along > SAME_POINT) & (along < run[cut, None] - SAME_POINT)
        for k in np.flatnonzero(on.any(axis=1)).tolist():
            hit = np.flatnonzero(on[k])
            found[loose[block + k]] = ends[hit[np.argsort(along[k, hit], kind="stable")]].tolist()
    whole = []
    for ring in rings:
        new: list[int] = []
        for u, v in zip(ring, ring[1:] + ring[:1], strict=True):
            new += [u, *(k for k in found.get((u, v), ()) if k not in ring)]
        whole.append(new)
    return whole


def _on_arcs(outline: Outline, plan: JointPlan) -> list[tuple[XY, float]]:
    """Return centres and radii of the arcs that an outline or a curved joint follows."""
    arcs = [(e.centre, e.radius) for e in outline.edges if e.centre is not None and e.radius is not None]
    for hole in outline.holes:
        if hole.radius is not None:
            count = len(hole.ring)
            centre = (sum(p[0] for p in hole.ring) / count, sum(p[1] for p in hole.ring) / count)
            arcs.append((centre, hole.radius))
    for joint in plan.joints:
        if len(joint.line) > 2:
            a, b, c = joint.line[0], joint.line[len(joint.line) // 2], joint.line[-1]
            d = 2 * _cross(a, b, c)
            if abs(d) > 1e-9:
                bb, cc = math.dist(a, b) ** 2, math.dist(a, c) ** 2
                ux = ((c[1] - a[1]) * bb - (b[1] - a[1]) * cc) / d
                uy = ((b[0] - a[0]) * cc - (c[0] - a[0]) * bb) / d
                arcs.append(((a[0] + ux, a[1] + uy), math.hypot(ux, uy)))
    return arcs


def _on_arc(p: XY, arcs: list[tuple[XY, float]]) -> bool:
    return any(abs(math.dist(p, centre) - radius) < ON_EDGE for centre, radius in arcs)


def _corners(ring: list[int], points: list[XY], arcs: list[tuple[XY, float]]) -> list[int]:
    """Return the places in `ring` of true corners: bends that are neither straight nor a step of an arc."""
    found = []
    count = len(ring)
    for k in range(count):
        o, p, q = points[ring[k - 1]], points[ring[k]], points[ring[(k + 1) % count]]
        turn = math.atan2(
            (p[0] - o[0]) * (q[1] - p[1]) - (p[1] - o[1]) * (q[0] - p[0]),
            (p[0] - o[0]) * (q[0] - p[0]) + (p[1] - o[1]) * (q[1] - p[1]),
        )
        if abs(turn) < STRAIGHT:
            continue
        if abs(turn) < ARC_STEP and _on_arc(p, arcs):
            continue
        found.append(k)
    return found


def _base(ring: list[int], at: list[int], points: list[XY]) -> tuple[int, int, int]:
    """Return three nodes that span the largest triangle among the corners (or the ring, if round)."""
    ids = [ring[k] for k in at] if len(at) >= 3 else ring
    a = ids[0]
    b = max(ids, key=lambda k: math.dist(points[a], points[k]))
    c = max(ids, key=lambda k: abs(_cross(points[a], points[b], points[k])))
    return (a, b, c) if _cross(points[a], points[b], points[c]) > 0 else (a, c, b)


def _curved_sides(ring: list[int], at: list[int], points: list[XY]) -> list[bool]:
    """Return which sides, from corner to corner, follow an arc."""
    count = len(ring)
    found = []
    for here, there in zip(at, [*at[1:], at[0] + count] if at else [], strict=True):
        p, q = points[ring[here]], points[ring[there % count]]
        off = [abs(_cross(p, q, points[ring[k % count]])) for k in range(here + 1, there)]
        found.append(bool(off) and max(off) > ON_EDGE * math.dist(p, q))
    return found


def _piece(
    name: str, ring: list[int], points: list[XY], arcs: list[tuple[XY, float]], ribbon: bool
) -> Piece | None:
    xy = [points[k] for k in ring]
    area, centroid = _area_centroid(xy)
    if len(ring) < 3 or area <= 0:
        return None
    at = _corners(ring, points, arcs)
    masters = [points[ring[k]] for k in at]
    convex = len(at) == 4 and all(_cross(masters[k - 2], masters[k - 1], masters[k]) > 0 for k in range(4))
    base = _base(ring, at, points)
    curved = -1
    ruled = convex
    if convex:
        sides = _curved_sides(ring, at, points)
        pairs = sides[0] or sides[2], sides[1] or sides[3]
        curved = -1 if not any(pairs) else int(pairs[1])
        # a board rides two forms that face each other, both of them even; on no other curved shape
        ruled = curved < 0 or (ribbon and not all(pairs))
    if not ruled and len(at) < 3:  # a round piece: three points of its edge carry the plane
        at = sorted(ring.index(k) for k in base)
    return Piece(name, tuple(ring), tuple(at), ruled, base, area, centroid, curved)


def side_weights(net_xy: Floats, piece: Piece, place: int) -> Weights:
    """Return masters and weights of the ring's point at `place`: along its side, or in the plane."""
    if place in piece.at:
        return (piece.ring[place],), (1.0,)
    if not piece.ruled:
        x, y = net_xy[piece.ring[place]]
        return plane_weights(net_xy, piece.base, float(x), float(y))
    count = len(piece.ring)
    after = next((k for k in piece.at if k > place), piece.at[0] + count)
    before = max((k for k in piece.at if k < place), default=piece.at[-1] - count)
    path = [net_xy[piece.ring[k % count]] for k in range(before, after + 1)]
    steps = [float(math.dist(p, q)) for p, q in pairwise(path)]
    t = sum(steps[: place - before]) / sum(steps)
    return (piece.ring[before % count], piece.ring[after % count]), (1 - t, t)


def _follow(xy: Floats, pieces: list[Piece]) -> tuple[dict[int, Weights], list[Weights]]:
    """Return what each non-master follows, and the ties between panels that see a point differently."""
    master = {k for piece in pieces for k in piece.masters}
    follows: dict[int, Weights] = {}
    ties: list[Weights] = []
    for piece in pieces:
        if not piece.ruled:
            spare = [k for k in piece.masters if k not in piece.base]
            for k in spare:
                ids, w = plane_weights(xy, piece.base, float(xy[k, 0]), float(xy[k, 1]))
                ties.append(((k, *ids), (1.0, *(-v for v in w))))
        for place, k in enumerate(piece.ring):
            if place in piece.at:
                continue
            ids, w = side_weights(xy, piece, place)
            if k in master:
                ties.append(((k, *ids), (1.0, *(-v for v in w))))
            elif k not in follows:
                follows[k] = ids, w
            elif set(follows[k][0]) != set(ids):
                ties.append(((*follows[k][0], *ids), (*follows[k][1], *(-v for v in w))))
    return follows, ties


def build_net(outline: Outline, plan: JointPlan) -> Net:
    """Return the grade nodes and pieces of one slab.

    Nodes stand at panel corners, joint ends, joint crossings and arc points; coordinates in m.
    Panels of no area are left out. ValueError when no panel is left.
    """
    merge = _Merge()
    named = [(merge(p), n) for e in outline.edges for p, n in ((e.p, e.names[0]), (e.q, e.names[1])) if n]
    rings = []
    for panel in plan.panels:
        ids = [merge(p) for p in panel.ring]
        rings.append([k for i, k in enumerate(ids) if k != ids[i - 1]])
    arcs = _on_arcs(outline, plan)
    rings = _with_hanging(rings, merge.points)
    made = [
        _piece(panel.name, ring, merge.points, arcs, bool(outline.axis))
        for panel, ring in zip(plan.panels, rings, strict=True)
    ]
    pieces = [piece for piece in made if piece is not None]
    if not pieces:
        raise ValueError(f"slab {outline.name!r} has no panel of any size; an example: a ring of 4 corners")
    xy = np.array(merge.points, dtype=np.float64)
    follows, ties = _follow(xy, pieces)
    names: dict[int, str] = {}
    for k, name in named:
        names.setdefault(k, name)
    walk = _walk(outline, pieces, merge)
    ends = {merge(e.p) for e in outline.edges}  # where a straight form meets an arc, or an arc another
    bent = frozenset(
        k for k in follows if k not in names and k not in ends and _on_arc(merge.points[k], arcs)
    )
    shape_only = bent - _grade_points(walk, bent, merge.points)
    return Net(xy, tuple(pieces), names, walk, follows, tuple(ties), shape_only)


def _grade_points(walk: tuple[int, ...], bent: frozenset[int], points: list[XY]) -> frozenset[int]:
    """Return the steps of arcs that forms are graded at: so many on each arc that a stake is in reach."""
    stops = [i for i, k in enumerate(walk) if k not in bent] or [0]
    kept: set[int] = set()
    for i, j in zip(stops, [*stops[1:], stops[0] + len(walk)], strict=True):
        path = [walk[n % len(walk)] for n in range(i, j + 1)]
        along = [0.0]
        for u, v in pairwise(path):
            along.append(along[-1] + math.dist(points[u], points[v]))
        count = math.ceil(along[-1] / value("arc-grade") - SAME_POINT)
        for n in range(1, count):
            want = along[-1] * n / count
            kept.add(path[min(range(len(path)), key=lambda m: abs(along[m] - want))])
    return frozenset(kept)


def _walk(outline: Outline, pieces: list[Piece], merge: _Merge) -> tuple[int, ...]:
    """Return the nodes on the outer edge in ring order, from the outline's first corner."""
    sides = {(u, v) for p in pieces for u, v in zip(p.ring, p.ring[1:] + p.ring[:1], strict=True)}
    after = {u: v for u, v in sorted(sides) if (v, u) not in sides}
    first = merge(outline.edges[0].p) if outline.edges else next(iter(after), 0)
    if first not in after:
        first = min(after, default=0)
    path = [first]
    while (step := after.get(path[-1])) is not None and step != first and len(path) <= len(after):
        path.append(step)
    return tuple(path)
