"""Where slopes are held and earth is weighed: probes, creases and samples of one slab.

A probe is a corner of a panel with the gradient there as weights on three nodes; on a ruled panel
the gradient is steepest at a corner, so holding the corners holds the panel (exact on
parallelograms, where the gradient is linear along each side).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.slab.heights.net import Net, Piece, plane_weights

INSET = 0.01  # a probe stands this share of the way to the panel's middle, so that it is on its own side
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Probes:
    """Gradients as weights: dz/dx = sum(gx * z[nodes]), in [-] for z in m.

    Corner probes: `nodes` (n, 3), `gx`, `gy` (n, 3) [1/m], `at` (n, 2) [m] (a little inside the
    panel), `owner` (n,) its piece, `corner` (n,) its node. Per piece: gradient at the middle over
    `centre_nodes` (m, 4), area [m2]. Per piece with twist: `twist` (m, 4) weights of how far [m] one
    corner is off the plane of the others over `ruled_nodes`, and `twist_area` [m2] (0 where plane).
    """

    nodes: Ints
    gx: Floats
    gy: Floats
    at: Floats
    owner: Ints
    corner: Ints
    centre_nodes: Ints
    centre_gx: Floats
    centre_gy: Floats
    area: Floats
    ruled_nodes: Ints
    twist: Floats
    twist_area: Floats


@dataclass(frozen=True, slots=True)
class Creases:
    """Joints between panels: probe `a` on one side and `b` on the other, `normal` (n, 2), length [m]."""

    a: Ints
    b: Ints
    normal: Floats
    length: Floats


@dataclass(frozen=True, slots=True)
class Samples:
    """Points under the slab: `xy` (k, 2) [m], heights there as `weights` (k, 4) on `nodes`, area [m2]."""

    xy: Floats
    nodes: Ints
    weights: Floats
    area: Floats
    owner: Ints


def _triangle_gradient(xy: Floats, nodes: Ints) -> tuple[Floats, Floats]:
    """Return weights (n, 3) of dz/dx and dz/dy on triangles of nodes (n, 3)."""
    a, b, c = xy[nodes[:, 0]], xy[nodes[:, 1]], xy[nodes[:, 2]]
    twice = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (c[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    gx = np.column_stack([b[:, 1] - c[:, 1], c[:, 1] - a[:, 1], a[:, 1] - b[:, 1]]) / twice[:, None]
    gy = np.column_stack([c[:, 0] - b[:, 0], a[:, 0] - c[:, 0], b[:, 0] - a[:, 0]]) / twice[:, None]
    return gx, gy


def probes(net: Net) -> Probes:
    """Return the probes of a slab: four at the corners of a ruled panel, one in a plane one."""
    nodes: list[tuple[int, int, int]] = []
    owner: list[int] = []
    corner: list[int] = []
    quads: list[tuple[int, ...]] = []
    for k, piece in enumerate(net.pieces):
        m = piece.masters
        if piece.ruled:
            nodes += [(m[i - 1], m[i], m[(i + 1) % 4]) for i in range(4)]
            owner += [k] * 4
            corner += m
            quads.append(m)
        else:
            nodes.append(piece.base)
            owner.append(k)
            corner.append(piece.base[0])
            quads.append((*piece.base, piece.base[0]))
    idx, own = np.array(nodes), np.array(owner)
    gx, gy = _triangle_gradient(net.xy, idx)
    middle = np.array([p.centroid for p in net.pieces])
    at = net.xy[np.array(corner)] * (1 - INSET) + middle[own] * INSET
    is_plane = np.array([not p.ruled for p in net.pieces])
    at[is_plane[own]] = middle[own][is_plane[own]]
    quad = np.array(quads)
    cgx, cgy, twist, spread = _centres(net, quad, is_plane)
    area = np.array([p.area for p in net.pieces])
    return Probes(idx, gx, gy, at, own, np.array(corner), quad, cgx, cgy, area, quad, twist, spread)


def _centres(net: Net, quad: Ints, is_plane: NDArray[np.bool_]) -> tuple[Floats, Floats, Floats, Floats]:
    """Return the gradient at the middle of each piece, its twist weights and the area twist is spread on."""
    a, b, c, d = (net.xy[quad[:, k]] for k in range(4))
    p, q = c - a, d - b
    det = p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]
    det = np.where(is_plane, 1.0, det)
    # gradient g with g.p = zc - za and g.q = zd - zb
    gx = np.column_stack([-q[:, 1], p[:, 1], q[:, 1], -p[:, 1]]) / det[:, None]
    gy = np.column_stack([q[:, 0], -p[:, 0], -q[:, 0], p[:, 0]]) / det[:, None]
    tx, ty = _triangle_gradient(net.xy, quad[:, :3])
    gx[is_plane] = np.column_stack([tx, np.zeros(len(tx))])[is_plane]
    gy[is_plane] = np.column_stack([ty, np.zeros(len(ty))])[is_plane]
    # off-plane weights: z_d minus the plane of a, b, c there, spread evenly over the four corners
    wa = (b[:, 0] - d[:, 0]) * (c[:, 1] - d[:, 1]) - (c[:, 0] - d[:, 0]) * (b[:, 1] - d[:, 1])
    wb = (c[:, 0] - d[:, 0]) * (a[:, 1] - d[:, 1]) - (a[:, 0] - d[:, 0]) * (c[:, 1] - d[:, 1])
    wc = (a[:, 0] - d[:, 0]) * (b[:, 1] - d[:, 1]) - (b[:, 0] - d[:, 0]) * (a[:, 1] - d[:, 1])
    wd = -(wa + wb + wc)
    raw = np.column_stack([wa, wb, wc, wd])
    most = np.where(is_plane, 1.0, np.abs(raw).max(axis=1))
    twist = np.where(is_plane[:, None], 0.0, raw / most[:, None])
    spread = np.where(is_plane, 0.0, np.abs(det) / 2)
    return gx, gy, twist, spread


def creases(net: Net, found: Probes) -> Creases:
    """Return the joints between panels as pairs of probes, each pair once, with the joint's length."""
    sides: dict[tuple[int, int], int] = {}
    for k, piece in enumerate(net.pieces):
        for u, v in zip(piece.ring, piece.ring[1:] + piece.ring[:1], strict=True):
            sides[u, v] = k
    corners = zip(found.owner.tolist(), found.corner.tolist(), strict=True)
    own: dict[tuple[int, int], int] = {corner: n for n, corner in enumerate(corners)}
    first: list[int] = np.searchsorted(found.owner, np.arange(len(net.pieces))).tolist()
    at = net.xy.tolist()
    pairs: dict[tuple[int, int], list[float]] = {}
    for (u, v), k in sides.items():
        other = sides.get((v, u))
        if other is None or other <= k:
            continue
        (ux, uy), (vx, vy) = at[u], at[v]
        run = math.hypot(vx - ux, vy - uy)
        for end in (u, v):
            pair = _probe(net, own, first, k, end), _probe(net, own, first, other, end)
            entry = pairs.setdefault(pair, [0.0, 0.0, 0.0])
            entry[0] += (vy - uy) / 2
            entry[1] -= (vx - ux) / 2
            entry[2] += run / 2
    if not pairs:
        none = np.zeros(0, dtype=np.int64)
        return Creases(none, none, np.zeros((0, 2)), np.zeros(0))
    rows = np.array(list(pairs.values()))
    normal = rows[:, :2] / np.hypot(rows[:, 0], rows[:, 1])[:, None]
    ends = np.array(list(pairs))
    return Creases(ends[:, 0], ends[:, 1], normal, rows[:, 2])


def _probe(net: Net, own: dict[tuple[int, int], int], first: list[int], k: int, node: int) -> int:
    """Return the probe of piece k at a node, or at its corner nearest to the node."""
    piece = net.pieces[k]
    if not piece.ruled:
        return first[k]
    if (k, node) in own:
        return own[k, node]
    near = min(piece.masters, key=lambda m: float(math.dist(net.xy[m], net.xy[node])))
    return own[k, near]


def _plane_samples(net: Net, piece: Piece) -> list[tuple[float, float]]:
    cx, cy = piece.centroid
    return [((net.xy[m, 0] + cx) / 2, (net.xy[m, 1] + cy) / 2) for m in piece.masters]


QUARTERS = ((0.25, 0.25), (0.75, 0.25), (0.75, 0.75), (0.25, 0.75))


def samples(net: Net) -> Samples:
    """Return the points at which earth is weighed: the middles of each panel's quarters."""
    blend = np.array([[(1 - u) * (1 - v), u * (1 - v), u * v, (1 - u) * v] for u, v in QUARTERS])
    xy: list[Floats] = []
    nodes: list[Ints] = []
    weights: list[Floats] = []
    area: list[Floats] = []
    owner: list[Ints] = []
    ruled = [k for k, p in enumerate(net.pieces) if p.ruled]
    if ruled:
        quad = np.array([net.pieces[k].masters for k in ruled])
        corners = net.xy[quad]  # (m, 4, 2)
        xy.append(np.einsum("ks,msd->mkd", blend, corners).reshape(-1, 2))
        nodes.append(np.repeat(quad, 4, axis=0))
        weights.append(np.tile(blend, (len(ruled), 1)))
        area.append(np.repeat([net.pieces[k].area / 4 for k in ruled], 4))
        owner.append(np.repeat(ruled, 4))
    for k, piece in enumerate(net.pieces):
        if piece.ruled:
            continue
        spots = _plane_samples(net, piece)
        base = (*piece.base, piece.base[0])
        xy.append(np.array(spots))
        nodes.append(np.tile(base, (len(spots), 1)))
        weights.append(np.array([(*plane_weights(net.xy, piece.base, x, y)[1], 0.0) for x, y in spots]))
        area.append(np.full(len(spots), piece.area / len(spots)))
        owner.append(np.full(len(spots), k))
    join = np.concatenate
    return Samples(join(xy), join(nodes), join(weights), join(area), join(owner))
