"""Heights of the existing ground anywhere, from the triangles between its shots.

Beyond the outline of the shots nothing was measured. The ground is carried on level from the nearest
point of that outline: a strip square to each side keeps the side's own heights, a wedge at each corner
keeps the corner's. That extension is itself made of planes, so that volumes over it stay exact; how far
it was used is asked with `beyond`.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from slabwright.ground.model import XY, Floats, Surface

Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

ON_HULL = 0.001  # [m] a point this close to the outline of the shots is not beyond it
BLOCK = 200_000  # pairs of point and triangle looked at in one go
FEW = 400  # triangles up to which a raster is filled one triangle at a time


def ground_height(surface: Surface, xy: Floats | Sequence[XY]) -> Floats:
    """Return the ground's height at places, linear on each triangle and carried on level beyond them.

    :param surface: the ground.
    :param xy: places (k, 2) [m].
    :return: heights (k,) [m].
    """
    places = np.asarray(xy, dtype=np.float64).reshape(-1, 2)
    if not len(places):
        return np.empty(0)
    inside = len(surface.hull) > 2 and not outside_hull(surface, places).any()
    points, triangles = surface.points, surface.triangles
    if not inside:
        points, triangles = skirted(surface, places.min(axis=0), places.max(axis=0))
    owner = _locate(points, triangles, places)
    a, b, c = planes(points, triangles).T
    out: Floats = a[owner] * places[:, 0] + b[owner] * places[:, 1] + c[owner]
    return out


def grid_heights(surface: Surface, xs: Floats, ys: Floats) -> Floats:
    """Return the ground's heights (len(ys), len(xs)) [m] on a raster, as `ground_height` would.

    :param xs: x of the columns (nx,) [m], rising.
    :param ys: y of the rows (ny,) [m], rising.
    """
    if len(surface.triangles) > FEW:
        return ground_height(surface, np.stack(np.meshgrid(xs, ys), axis=-1)).reshape(len(ys), len(xs))
    points, triangles = skirted(surface, np.array([xs[0], ys[0]]), np.array([xs[-1], ys[-1]]))
    out = np.full((len(ys), len(xs)), np.nan)
    for corners, plane in zip(points[triangles], planes(points, triangles), strict=True):
        paint(out, xs, ys, corners[:, :2], plane)
    holes = np.argwhere(np.isnan(out))
    if len(holes):  # cells that fell between two triangles by the last digit
        out[holes[:, 0], holes[:, 1]] = ground_height(
            surface, np.column_stack([xs[holes[:, 1]], ys[holes[:, 0]]])
        )
    return out


def paint(out: Floats, xs: Floats, ys: Floats, corners: Floats, plane: Floats) -> None:
    """Write a plane's heights into the cells of a raster whose centres a convex polygon covers.

    :param out: heights (ny, nx) [m], changed in place.
    :param corners: corners (n, 2) [m], counter-clockwise.
    :param plane: (a, b, c), height = a x + b y + c.
    """
    rows, columns, inside = covered(xs, ys, corners)
    lay(out, xs, ys, (rows, columns, inside), plane)


def lay(out: Floats, xs: Floats, ys: Floats, cells: tuple[slice, slice, Bools], plane: Floats) -> None:
    """Write a plane's heights into cells that `covered` found, in place."""
    rows, columns, inside = cells
    a, b, c = plane
    np.copyto(out[rows, columns], a * xs[columns] + (b * ys[rows, None] + c), where=inside)


def covered(xs: Floats, ys: Floats, corners: Floats) -> tuple[slice, slice, Bools]:
    """Return the cells of a raster whose centres a convex polygon covers: rows, columns, and which of them.

    :param corners: corners (n, 2) [m], counter-clockwise.
    """
    ring = corners.tolist()
    low, high = (tuple(f(p[k] for p in ring) for k in (0, 1)) for f in (min, max))
    columns = slice(*xs.searchsorted((low[0] - ON_HULL, high[0] + ON_HULL)).tolist())
    rows = slice(*ys.searchsorted((low[1] - ON_HULL, high[1] + ON_HULL)).tolist())
    x, y = xs[columns], ys[rows, None]
    inside = np.ones((len(y), len(x)), dtype=np.bool_)
    for (px, py), (qx, qy) in zip(ring, ring[1:] + ring[:1], strict=True):
        dx, dy = qx - px, qy - py
        inside &= dx * (y - py) >= dy * (x - px) - 1e-9
    return rows, columns, inside


def outside_hull(surface: Surface, xy: Floats | Sequence[XY]) -> Bools:
    """Return for places (k, 2) [m] whether each lies beyond the outline of the shots, (k,)."""
    return distance_to_hull(surface, xy) > ON_HULL


def distance_to_hull(surface: Surface, xy: Floats | Sequence[XY]) -> Floats:
    """Return for places (k, 2) [m] how far each lies beyond the outline of the shots, (k,) [m]."""
    places = np.asarray(xy, dtype=np.float64).reshape(-1, 2)
    hull = np.array(surface.hull)
    some = max(1, BLOCK // max(1, len(hull)))
    parts = [_off(hull, places[k : k + some]) for k in range(0, len(places), some)]
    return parts[0] if len(parts) == 1 else np.concatenate(parts) if parts else np.empty(0)


def _off(hull: Floats, places: Floats) -> Floats:
    """Return how far places (k, 2) lie beyond a convex ring (h, 2), (k,) [m]; a ring of two is a line."""
    d = np.concatenate([hull[1:], hull[:1]]) - hull
    rel = places[:, None] - hull
    out = np.zeros(len(places))
    far: Bools = np.ones(len(places), dtype=np.bool_)
    if len(hull) > 2:
        np.any(d[:, 0] * rel[..., 1] < d[:, 1] * rel[..., 0], axis=1, out=far)
    if far.any():
        rel, run = rel[far], (d * d).sum(axis=1)
        t = np.clip((rel * d).sum(axis=2) / np.where(run > 0, run, 1.0), 0.0, 1.0)
        out[far] = np.hypot(*np.moveaxis(rel - t[..., None] * d, -1, 0)).min(axis=1)
    return out


def beyond(surface: Surface, ring: Sequence[XY]) -> float:
    """Return how far a ring reaches beyond the outline of the shots [m]; 0.0 when it lies within.

    The outline is convex, so the farthest point of a straight-sided ring is one of its corners.
    """
    return float(distance_to_hull(surface, ring).max(initial=0.0))


def planes(points: Floats, triangles: Ints) -> Floats:
    """Return each triangle's plane (m, 3): height = a x + b y + c, with c at the origin."""
    p, q, r = (points[triangles[:, k]] for k in range(3))
    u, v = q - p, r - p
    doubled = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    a = (u[:, 2] * v[:, 1] - v[:, 2] * u[:, 1]) / doubled
    b = (u[:, 0] * v[:, 2] - v[:, 0] * u[:, 2]) / doubled
    return np.column_stack([a, b, p[:, 2] - a * p[:, 0] - b * p[:, 1]])


def skirted(surface: Surface, low: Floats, high: Floats) -> tuple[Floats, Ints]:
    """Return the surface's points (n, 3) and triangles (m, 3), carried on level to cover a box.

    :param low: (x, y) [m], the box's lower left corner.
    :param high: (x, y) [m], its upper right corner.
    """
    xyz = surface.points
    inner_low, inner_high = xyz[:, :2].min(axis=0), xyz[:, :2].max(axis=0)
    reach = float(np.hypot(*(np.maximum(high, inner_high) - np.minimum(low, inner_low)))) + 1.0
    extra: list[Floats] = []
    made: list[tuple[int, int, int]] = []

    def add(v: int, step: Floats) -> int:
        extra.append(np.array([xyz[v, 0] + step[0], xyz[v, 1] + step[1], xyz[v, 2]]))
        return len(xyz) + len(extra) - 1

    after = outline(surface.triangles)
    normal = {v: _out(xyz[v, :2], xyz[w, :2]) for v, w in after.items()}
    for v, w in after.items():
        far_v, far_w = add(v, reach * normal[v]), add(w, reach * normal[v])
        made += [(v, far_v, far_w), (v, far_w, w)]
        for step, following in _fan(normal[v], normal[w], reach):
            made.append((w, add(w, step), add(w, following)))
    return (
        np.vstack([xyz, *extra]) if extra else xyz,
        np.vstack([surface.triangles, np.array(made, dtype=np.int64).reshape(-1, 3)]),
    )


def outline(triangles: Ints) -> dict[int, int]:
    """Return the edges that have a triangle on one side only, as point -> next point (ccw)."""
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    size = int(edges.max()) + 1
    forth, back = edges[:, 0] * size + edges[:, 1], edges[:, 1] * size + edges[:, 0]
    free = edges[~np.isin(forth, back)]
    return dict(zip(free[:, 0].tolist(), free[:, 1].tolist(), strict=True))


def _out(p: Floats, q: Floats) -> Floats:
    """Return the unit vector square to p-q on its right hand."""
    d = q - p
    out: Floats = np.array([d[1], -d[0]]) / np.hypot(*d)
    return out


def _fan(n1: Floats, n2: Floats, reach: float) -> list[tuple[Floats, Floats]]:
    """Return pairs of steps that fill the wedge between two outward directions, none if there is none."""
    start = float(np.arctan2(n1[1], n1[0]))
    turn = float(np.arctan2(n1[0] * n2[1] - n1[1] * n2[0], n1 @ n2))
    if turn <= 1e-12:
        return []
    parts = int(np.ceil(turn / (np.pi / 3)))
    far = reach / np.cos(turn / parts / 2)
    angles = start + turn * np.arange(parts + 1) / parts
    steps = far * np.column_stack([np.cos(angles), np.sin(angles)])
    return list(pairwise(steps))


def _locate(points: Floats, triangles: Ints, places: Floats) -> Ints:
    """Return for each place the triangle that holds it (or that it misses by least), (k,)."""
    corners = points[triangles][:, :, :2]
    if len(places) * len(triangles) <= BLOCK:
        every = np.arange(len(triangles))
        inward = _inward(corners[None, every], places[:, None])
        best: Ints = inward.argmax(axis=1)
        return best
    return _locate_many(corners, places)


def _locate_many(corners: Floats, places: Floats) -> Ints:
    """Locate through a raster of buckets, each listing the triangles whose boxes touch it."""
    low, high = places.min(axis=0), places.max(axis=0)
    side = int(np.clip(np.sqrt(2 * len(corners)), 16, 512))
    step = np.maximum((high - low) / side, 1e-9)

    def bucket(xy: Floats) -> Ints:
        out: Ints = np.clip(((xy - low) / step).astype(np.int64), 0, side - 1)
        return out

    box_low, box_high = corners.min(axis=1), corners.max(axis=1)
    touched = np.flatnonzero(((box_high >= low - 1e-6) & (box_low <= high + 1e-6)).all(axis=1))
    first, last = bucket(box_low[touched] - 1e-6), bucket(box_high[touched] + 1e-6)
    wide = last - first + 1
    owner, rank = expand(wide.prod(axis=1))
    cell = (first[owner, 1] + rank // wide[owner, 0]) * side + first[owner, 0] + rank % wide[owner, 0]
    order = np.argsort(cell, kind="stable")
    listed = touched[owner[order]]
    starts = np.searchsorted(cell[order], np.arange(side * side + 1))
    at = bucket(places)
    at = at[:, 1] * side + at[:, 0]
    out = np.empty(len(places), dtype=np.int64)
    for k in range(0, len(places), BLOCK // 4):
        some = slice(k, k + BLOCK // 4)
        counts = starts[at[some] + 1] - starts[at[some]]
        who, rank = expand(counts)
        candidates = listed[starts[at[some]][who] + rank]
        inward = _inward(corners[candidates], places[some][who])
        heads = np.concatenate([[0], np.cumsum(counts)[:-1]])
        best = np.maximum.reduceat(inward, heads)
        winners = np.flatnonzero(inward == best[who])
        chosen = np.empty(len(counts), dtype=np.int64)
        chosen[who[winners[::-1]]] = candidates[winners[::-1]]
        out[some] = chosen
    return out


def expand(counts: Ints) -> tuple[Ints, Ints]:
    """Return for counts (2, 0, 3) the owners (0, 0, 2, 2, 2) and ranks (0, 1, 0, 1, 2)."""
    owner = np.repeat(np.arange(len(counts)), counts)
    rank = np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts)
    return owner, rank


def _inward(corners: Floats, places: Floats) -> Floats:
    """Return the least of the three area shares of places in triangles: negative when outside."""
    p, q, r = corners[..., 0, :], corners[..., 1, :], corners[..., 2, :]
    x, y = places[..., 0], places[..., 1]

    def doubled(a: Floats, b: Floats) -> Floats:
        out: Floats = (b[..., 0] - a[..., 0]) * (y - a[..., 1]) - (b[..., 1] - a[..., 1]) * (x - a[..., 0])
        return out

    one, two, three = doubled(p, q), doubled(q, r), doubled(r, p)
    out: Floats = np.minimum(np.minimum(one, two), three) / (one + two + three)
    return out
