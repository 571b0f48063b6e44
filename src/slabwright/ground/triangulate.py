"""Triangles over scattered points, with edges that must be kept (a bank's top, a kerb's foot).

Delaunay triangles come from GEOS. A break line is then forced in by walking the triangles that it
crosses and filling the two holes on either side of it again (Anglada 1997; the same step as in every
constrained Delaunay text).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from slabwright.ground.model import Floats
from slabwright.ground.untyped import shapely

Triangles = NDArray[np.int64]
Chain = list[int]

SAME_POINT = 0.005  # [m] two shots closer than this are one place
ON_LINE = 1e-6  # [m] a point this close to a break line lies on it


def triangulate(xy: Floats, edges: Sequence[tuple[int, int]] = ()) -> tuple[Triangles, list[tuple[int, int]]]:
    """Return counter-clockwise triangles over `xy`, and the edges that could not be kept.

    :param xy: places (n, 2) [m], no two the same.
    :param edges: pairs of indices that must be edges of the triangles.
    :return: triangles (m, 3) of indices, empty when all points lie in one line; and those of `edges`
        that cross an earlier one away from a common point (the later one is left out).
    """
    triangles = _delaunay(xy)
    if not len(triangles) or not edges:
        return triangles, []
    mesh = _Mesh(xy, triangles)
    left_out = [edge for edge in edges if not mesh.keep(*edge)]
    return mesh.array(), left_out


def _delaunay(xy: Floats) -> Triangles:
    """Return Delaunay triangles (m, 3), counter-clockwise; empty for points in one line."""
    hull = shapely.convex_hull(shapely.multipoints(xy))
    if len(xy) < 3 or hull.area <= ON_LINE * hull.length:
        return np.empty((0, 3), dtype=np.int64)
    made = shapely.get_parts(shapely.delaunay_triangles(shapely.multipoints(xy)))
    corners = shapely.get_coordinates(made).reshape(-1, 4, 2)[:, :3]
    triangles = _indices(xy, corners)
    if abs(doubled_areas(xy, triangles).sum() / 2.0 - hull.area) > 1e-9 * hull.area:
        # slivers along the outline are missing: take the other maker, which keeps them
        from scipy.spatial import Delaunay

        triangles = np.asarray(Delaunay(xy).simplices, dtype=np.int64)
    doubled = doubled_areas(xy, triangles)
    triangles[doubled < 0] = triangles[doubled < 0][:, ::-1]
    kept: Triangles = triangles[np.abs(doubled) > 1e-14 * hull.area]
    return kept


def _indices(xy: Floats, corners: Floats) -> Triangles:
    """Return the row of `xy` (n, 2) that each of `corners` (m, 3, 2) is."""
    keys = np.ascontiguousarray(xy).view(np.complex128).ravel()
    order = np.argsort(keys)
    wanted = np.ascontiguousarray(corners.reshape(-1, 2)).view(np.complex128).ravel()
    found: Triangles = order[np.searchsorted(keys[order], wanted)].astype(np.int64)
    return found.reshape(-1, 3)


def doubled_areas(xy: Floats, triangles: Triangles) -> Floats:
    """Return twice the signed area [m2] of each triangle, positive when counter-clockwise."""
    a, b, c = (xy[triangles[:, k]] for k in range(3))
    u, v = b - a, c - a
    out: Floats = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    return out


class _Mesh:
    """Triangles by their directed edges, while edges are forced in."""

    def __init__(self, xy: Floats, triangles: Triangles) -> None:
        self.xy = xy
        self.opposite: dict[tuple[int, int], int] = {}  # directed edge -> third corner on its left
        self.kept: set[tuple[int, int]] = set()
        for a, b, c in triangles.tolist():
            self._add(a, b, c)

    def array(self) -> Triangles:
        rows = [(a, b, c) for (a, b), c in self.opposite.items() if a < b and a < c]
        return np.array(sorted(rows), dtype=np.int64).reshape(-1, 3)

    def _add(self, a: int, b: int, c: int) -> None:
        self.opposite[a, b], self.opposite[b, c], self.opposite[c, a] = c, a, b

    def _drop(self, a: int, b: int) -> None:
        c = self.opposite.pop((a, b))
        del self.opposite[b, c], self.opposite[c, a]

    def _side(self, a: int, b: int, c: int) -> float:
        """Return how far c lies to the left of the line from a to b [m]."""
        p, q, r = self.xy[a], self.xy[b], self.xy[c]
        d = q - p
        return float((d[0] * (r[1] - p[1]) - d[1] * (r[0] - p[0])) / np.hypot(*d))

    def keep(self, a: int, b: int) -> bool:
        """Force the edge a-b in, in pieces where it runs through other points; False if it crosses one."""
        if a == b:
            return True
        pieces = self._pieces(a, b)
        return sum(self._keep_piece(p, q) for p, q in pairwise(pieces)) == len(pieces) - 1

    def _pieces(self, a: int, b: int) -> Chain:
        """Return a, the points that lie on the way, and b, in order."""
        p, d = self.xy[a], self.xy[b] - self.xy[a]
        run = float(np.hypot(*d))
        rel = self.xy - p
        along = rel @ d / run
        off = np.abs(rel[:, 0] * d[1] - rel[:, 1] * d[0]) / run
        on = np.flatnonzero((off < ON_LINE) & (along > ON_LINE) & (along < run - ON_LINE))
        return [a, *on[np.argsort(along[on])].tolist(), b]

    def _keep_piece(self, a: int, b: int) -> bool:
        if (a, b) not in self.opposite and (b, a) not in self.opposite:
            left, right, crossed = self._walk(a, b)
            if any((p, q) in self.kept for p, q in crossed):
                return False
            for p, q in crossed:
                for edge in ((p, q), (q, p)):
                    if edge in self.opposite:
                        self._drop(*edge)
            self._fill(a, b, left)
            self._fill(b, a, right[::-1])
        self.kept |= {(a, b), (b, a)}
        return True

    def _walk(self, a: int, b: int) -> tuple[Chain, Chain, list[tuple[int, int]]]:
        """Return the points left and right of a-b along the triangles it crosses, and the edges crossed."""
        right, left = next(
            (p, q)
            for (p, q), third in self.opposite.items()
            if third == a and self._side(a, b, p) < 0 < self._side(a, b, q)
        )
        lefts, rights, crossed = [left], [right], [(right, left)]
        while True:
            # the triangle beyond the edge right-left has that edge the other way round
            third = self.opposite[left, right]
            if third == b:
                return lefts, rights, crossed
            if self._side(a, b, third) > 0:
                left = third
                lefts.append(third)
            else:
                right = third
                rights.append(third)
            crossed.append((right, left))

    def _fill(self, a: int, b: int, chain: Chain) -> None:
        """Fill the hole left of a-b, bounded by `chain` from a to b, with Delaunay triangles."""
        todo = [(a, b, chain)]
        while todo:
            a, b, chain = todo.pop()
            if not chain:
                continue
            best = 0
            for k in range(1, len(chain)):
                if self._in_circle(a, b, chain[best], chain[k]):
                    best = k
            best = self._which(a, chain, best)
            self._add(a, b, chain[best])
            todo.append((a, chain[best], chain[:best]))
            todo.append((chain[best], b, chain[best + 1 :]))

    def _which(self, a: int, chain: Chain, best: int) -> int:
        """Return which visit of the chosen point to take: an edge may hang into the hole from it."""
        last = len(chain) - 1 - chain[::-1].index(chain[best])
        if last > best and self._side(a, chain[best], chain[best + 1]) > 0:
            return last
        return best

    def _in_circle(self, a: int, b: int, c: int, d: int) -> bool:
        """Tell whether d lies inside the circle through a, b, c (counter-clockwise)."""
        m = self.xy[[a, b, c]] - self.xy[d]
        full = np.column_stack([m, (m**2).sum(axis=1)])
        return bool(np.linalg.det(full) > 0)
