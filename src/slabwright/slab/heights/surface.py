"""From a solution to finished heights: nodes with labels, facets, and the falls that were found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slabwright.slab.heights.fixed import Part
from slabwright.slab.heights.net import Net, Piece
from slabwright.slab.heights.problem import Problem, Shape
from slabwright.slab.heights.rows import Floats
from slabwright.slab.model import Facet, Node


@dataclass(frozen=True, slots=True)
class Falls:
    """Slopes found at each probe of a slab [-]: down the wanted way, along, in total, away from walls."""

    across: Floats
    along: Floats
    total: Floats
    house: Floats  # one for each place of Shape.house


def node_heights(part: Part, problem: Problem, x: Floats) -> Floats:
    """Return heights (n,) [m] of all nodes of a slab; NaN for points that no panel uses."""
    z = np.full(len(part.net.xy), np.nan)
    own = problem.column[part.first : part.first + len(z)]
    z[own >= 0] = x[own[own >= 0]]
    for node, (ids, weights) in part.net.follows.items():
        z[node] = sum(w * z[k] for k, w in zip(ids, weights, strict=True))
    return z


def falls(shape: Shape, z: Floats) -> Falls:
    """Return the slopes at the probes of a slab with node heights z (n,) [m]."""
    p, a = shape.probes, shape.aim
    at = z[p.nodes]
    gx, gy = (p.gx * at).sum(axis=1), (p.gy * at).sum(axis=1)
    return Falls(
        across=-(a.down[:, 0] * gx + a.down[:, 1] * gy),
        along=-(a.long[:, 0] * gx + a.long[:, 1] * gy),
        total=np.hypot(gx, gy),
        house=shape.house.falls(z),
    )


def ordered(net: Net) -> list[int]:
    """Return the nodes in walking order round the edge, then inside from panel to panel."""
    order = dict.fromkeys(net.walk)
    for piece in net.pieces:
        order.update(dict.fromkeys(piece.ring))
    return list(order)


def nodes_of(
    net: Net, z: Floats, order: list[int], fixed: dict[int, str], taken: set[str], number: int
) -> tuple[tuple[Node, ...], int]:
    """Return a slab's grade nodes in `order`, and the next free number.

    Named points keep their names (the first slab that uses one; `taken` holds those used up), others
    are numbered on from `number`; shape-only nodes get no label. `fixed` says by node what fixes it.
    """
    made = []
    for k in order:
        shape_only = k in net.shape_only
        label = "" if shape_only else net.names.get(k)
        if label is None or label in taken:
            number += 1
            label = str(number)
        if label:
            taken.add(label)
        x, y = float(net.xy[k, 0]), float(net.xy[k, 1])
        made.append(Node(label, x, y, float(z[k]), fixed.get(k), shape_only))
    return tuple(made), number


def facets_of(net: Net, order: list[int]) -> tuple[Facet, ...]:
    """Return facets over nodes in `order`: a plane panel whole, a ruled one as one or more quads."""
    at = {k: i for i, k in enumerate(order)}
    made: list[Facet] = []
    for piece in net.pieces:
        for ring in _strips(piece) if piece.ruled else (piece.ring,):
            made += [Facet(tuple(at[k] for k in ring), piece.panel)]
    return tuple(made)


def _strips(piece: Piece) -> list[tuple[int, ...]]:
    """Cut a ruled panel between its two sides that follow arcs: quads, and triangles where counts differ."""
    count = len(piece.ring)
    sides = []
    for i, j in zip(piece.at, [*piece.at[1:], piece.at[0] + count], strict=True):
        sides.append([piece.ring[k % count] for k in range(i, j + 1)])
    if piece.curved < 0:
        return [piece.masters]
    low, high = sides[piece.curved], list(reversed(sides[piece.curved + 2]))
    cut: list[tuple[int, ...]] = []
    i = j = 0
    while i < len(low) - 1 or j < len(high) - 1:
        up = (i + 1) / (len(low) - 1) if i < len(low) - 1 else 2.0
        over = (j + 1) / (len(high) - 1) if j < len(high) - 1 else 2.0
        step_i, step_j = up <= over + 1e-9, over <= up + 1e-9
        ring = [low[i]]
        if step_i:
            ring.append(low[i + 1])
        if step_j:
            ring.append(high[j + 1])
        ring.append(high[j])
        cut.append(tuple(ring))
        i, j = i + step_i, j + step_j
    return cut
