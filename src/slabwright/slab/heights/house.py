"""Where a slab must fall away from a wall: in all of each panel that lies within 10 ft in front of it.

A wall's strip is as long as the wall and 10 ft wide. Where it covers a whole panel the fall is asked at
the panel's corners; where it covers a part, at the corners of that part. On a panel of parallel sides
the fall changes evenly from place to place, so that what holds at the corners holds between them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.ground.model import Wall
from slabwright.slab.heights.limits import ON_EDGE, value
from slabwright.slab.heights.net import Net, Piece
from slabwright.slab.heights.probes import Probes
from slabwright.slab.model import XY

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class HouseFalls:
    """Places (h,) where the fall from a wall is asked, with the gradient there as weights.

    dz/dx = sum(gx * z[nodes]) over `nodes` (h, 4), in [-] for z in m; `normal` (h, 2) points from the
    wall into the yard; `owner` (h,) is the panel, `probe` (h,) its corner nearest to the place; `wall`
    and `number` (h,) name the wall.
    """

    nodes: Ints
    gx: Floats
    gy: Floats
    normal: Floats
    owner: Ints
    probe: Ints
    walls: tuple[str, ...]
    number: Ints

    def falls(self, z: Floats) -> Floats:
        """Return the falls away from the walls [-] at node heights z (n,) [m]."""
        at = z[self.nodes]
        gx, gy = (self.gx * at).sum(axis=1), (self.gy * at).sum(axis=1)
        return np.asarray(-(gx * self.normal[:, 0] + gy * self.normal[:, 1]))


def house_falls(net: Net, probes: Probes, walls: Sequence[Wall]) -> HouseFalls:
    """Return where the fall away from each of the walls is asked of a slab (source: irc-r401.3)."""
    reach = value("house-reach")
    rings = [piece.masters if piece.ruled else piece.ring for piece in net.pieces]
    first = np.searchsorted(probes.owner, np.arange(len(net.pieces) + 1)).tolist()
    begin = np.concatenate([[0], np.cumsum([len(r) for r in rings])])[:-1]
    at = net.xy[np.concatenate([np.array(r) for r in rings])]
    rows: list[tuple[tuple[int, ...], Floats, Floats, int, int]] = []
    normals: list[XY] = []
    number: list[int] = []
    for w, wall in enumerate(walls):
        run = math.dist(wall.p, wall.q)
        e = np.array([(wall.q[0] - wall.p[0]) / run, (wall.q[1] - wall.p[1]) / run])
        n = np.array([e[1], -e[0]])
        local = np.column_stack([(at - wall.p) @ e, (at - wall.p) @ n])
        low, high = np.minimum.reduceat(local, begin), np.maximum.reduceat(local, begin)
        end = np.array([run, reach])
        meets = np.all((high > ON_EDGE) & (low < end - ON_EDGE), axis=1)
        whole = np.all((low >= -ON_EDGE) & (high <= end + ON_EDGE), axis=1)
        for k in np.flatnonzero(meets).tolist():
            own = range(first[k], first[k + 1])
            piece = net.pieces[k]
            if not whole[k]:
                part = _within(local[begin[k] : begin[k] + len(rings[k])].tolist(), run, reach)
                if len(part) < 3:
                    continue
                if piece.ruled:
                    places = wall.p + np.array(part) @ np.array([e, n])
                    rows += _gradients(net, own, piece, k, places)
            if whole[k] or not piece.ruled:
                rows += [_corner(probes, i, k) for i in own]
            normals += [(float(n[0]), float(n[1]))] * (len(rows) - len(normals))
            number += [w] * (len(rows) - len(number))
    return HouseFalls(
        nodes=np.array([r[0] for r in rows], dtype=np.int64).reshape(-1, 4),
        gx=np.array([r[1] for r in rows]).reshape(-1, 4),
        gy=np.array([r[2] for r in rows]).reshape(-1, 4),
        normal=np.array(normals).reshape(-1, 2),
        owner=np.array([r[3] for r in rows], dtype=np.int64),
        probe=np.array([r[4] for r in rows], dtype=np.int64),
        walls=tuple(w.name for w in walls),
        number=np.array(number, dtype=np.int64),
    )


def _corner(probes: Probes, i: int, k: int) -> tuple[tuple[int, ...], Floats, Floats, int, int]:
    """Return the gradient of probe i of piece k over four nodes, the fourth of no weight."""
    nodes = (*(int(v) for v in probes.nodes[i]), int(probes.nodes[i, 0]))
    return nodes, np.append(probes.gx[i], 0.0), np.append(probes.gy[i], 0.0), k, i


def _gradients(
    net: Net, own: range, piece: Piece, k: int, at: Floats
) -> list[tuple[tuple[int, ...], Floats, Floats, int, int]]:
    """Return the gradients of a ruled panel at places (m, 2) [m] as weights on its four corners."""
    corners = net.xy[list(piece.masters)]
    uv = np.full((len(at), 2), 0.5)
    for _ in range(12):  # Newton on the bilinear map; a parallelogram needs one step
        u, v = uv[:, :1], uv[:, 1:]
        du, dv = np.hstack([v - 1, 1 - v, v, -v]), np.hstack([u - 1, -u, u, 1 - u])
        pu, pv = du @ corners, dv @ corners
        det = pu[:, 0] * pv[:, 1] - pu[:, 1] * pv[:, 0]
        off = at - np.hstack([(1 - u) * (1 - v), u * (1 - v), u * v, (1 - u) * v]) @ corners
        step = np.column_stack(
            [off[:, 0] * pv[:, 1] - off[:, 1] * pv[:, 0], pu[:, 0] * off[:, 1] - pu[:, 1] * off[:, 0]]
        )
        if np.abs(step).max() < 1e-12 * np.abs(det).max():
            break
        uv = uv + step / det[:, None]
    gx = (pv[:, 1:] * du - pu[:, 1:] * dv) / det[:, None]
    gy = (pu[:, :1] * dv - pv[:, :1] * du) / det[:, None]
    # a ruled panel's probes are its corners
    near = ((corners[None] - at[:, None]) ** 2).sum(axis=2).argmin(axis=1).tolist()
    return [(piece.masters, x, y, k, own[i]) for x, y, i in zip(gx, gy, near, strict=True)]


def _within(ring: list[list[float]], run: float, reach: float) -> list[tuple[float, float]]:
    """Return the part of a ring inside the strip 0 to `run` along and 0 to `reach` out [m]."""
    part = [(x, y) for x, y in ring]
    for axis, bound, sign in ((0, 0.0, 1.0), (0, run, -1.0), (1, 0.0, 1.0), (1, reach, -1.0)):
        kept: list[tuple[float, float]] = []
        for a, b in zip(part, part[1:] + part[:1], strict=True):
            da, db = sign * (a[axis] - bound), sign * (b[axis] - bound)
            if da >= 0:
                kept.append(a)
            if (da > 0) != (db > 0) and da != 0 and db != 0:
                t = da / (da - db)
                kept.append((a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))
        part = kept
    if len(part) < 3:
        return []
    size = [max(p[k] for p in part) - min(p[k] for p in part) for k in (0, 1)]
    return part if min(size) > ON_EDGE else []
