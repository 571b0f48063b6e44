"""New slabs that touch: one height along the shared edge, or a step, and no sharp change of fall."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from slabwright.slab.heights.fixed import Hold, Part, on_walk
from slabwright.slab.heights.limits import value
from slabwright.slab.heights.net import Net, Weights
from slabwright.slab.heights.probes import Probes
from slabwright.slab.heights.rows import Family
from slabwright.slab.model import XY


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked between two slabs: (height of the first) - (height of the second) in [low, high] [m]."""

    low: float
    high: float
    step: float  # how far the first is to be above (+) or below (-) the second [m], 0 for none
    line: int | None


def asked_between(a: Part, b: Part) -> Asked:
    """Return what the job asks between two new slabs that touch: level where it says nothing."""
    asked = Asked(0.0, 0.0, 0.0, a.spec.line)
    for own, other, sign in ((a, b, 1.0), (b, a, -1.0)):
        for m in own.spec.meets:
            if m.slab == other.spec.name:
                step, lip = -sign * (m.step or m.down or 0.0), m.lip or 0.0
                asked = Asked(step - lip, step + lip, step, own.spec.line)
    return asked


def hold_touching(parts: tuple[Part, ...]) -> list[tuple[int, int, Hold]]:
    """Return, for every two new slabs that share a run of edge, the holds that keep them at one height.

    A `meets: {slab: ...}` with `lip` allows so much difference, with `step` asks for a step down.
    """
    found = []
    for i, a in enumerate(parts):
        for j in range(i + 1, len(parts)):
            b = parts[j]
            shared = _shared(a, b, 1.0) + _shared(b, a, -1.0)
            spots = [p for p, _ in shared]
            if len(spots) < 2 or max(math.dist(p, spots[0]) for p in spots) < 4 * value("contact"):
                continue
            asked = asked_between(a, b)
            family = Family("slab", a.spec.name, b.spec.name, "m", asked.high, asked.line)
            found += [(i, j, Hold(w, asked.low, asked.high, family, ())) for _, w in shared]
    return found


def _shared(a: Part, b: Part, sign: float) -> list[tuple[XY, Weights]]:
    """Return the nodes of a's edge on b's edge, each with weights of (height on a - height on b) * sign."""
    reach = 2 * value("contact")
    low, high = b.net.xy.min(axis=0) - reach, b.net.xy.max(axis=0) + reach
    rows = []
    for k in a.net.walk:
        p = (float(a.net.xy[k, 0]), float(a.net.xy[k, 1]))
        if not (low[0] <= p[0] <= high[0] and low[1] <= p[1] <= high[1]):
            continue
        off, (ids, w) = on_walk(b.net, p)
        if off <= value("contact"):
            there = tuple(n + b.first for n in ids)
            rows.append((p, ((k + a.first, *there), (sign, *(-sign * v for v in w)))))
    return rows


@dataclass(frozen=True, slots=True)
class Fold:
    """A place on the edge that two slabs share: a probe on each side, and the edge's unit normal."""

    a: int
    b: int
    normal: XY


def folds_between(a: tuple[Net, Probes], b: tuple[Net, Probes]) -> list[Fold]:
    """Return the places where the fall may change from one slab to the other, at both ends of each run."""
    found: dict[tuple[int, int], XY] = {}
    near = _sides(b[0], a[0])
    for u, v, ka in _sides(a[0], b[0]):
        p, q = a[0].xy[u], a[0].xy[v]
        run = math.dist(p, q)
        e = (q - p) / run
        for s, t, kb in near:
            ends = [(b[0].xy[k] - p) for k in (s, t)]
            off = max(abs(float(d[0] * e[1] - d[1] * e[0])) for d in ends)
            along = sorted(min(run, max(0.0, float(d @ e))) for d in ends)
            if off > value("contact") or along[1] - along[0] < 4 * value("contact"):
                continue
            for x in along:
                pair = _nearest(a, ka, p + x * e), _nearest(b, kb, p + x * e)
                found[pair] = (float(e[1]), float(-e[0]))
    return [Fold(i, j, normal) for (i, j), normal in sorted(found.items())]


def _sides(net: Net, other: Net) -> list[tuple[int, int, int]]:
    """Return the outer sides of a slab that come near another: two nodes and the panel inside."""
    reach = value("contact")
    low, high = other.xy.min(axis=0) - reach, other.xy.max(axis=0) + reach
    inside = np.all((net.xy >= low) & (net.xy <= high), axis=1).tolist()
    ends = {
        (u, v) for u, v in zip(net.walk, net.walk[1:] + net.walk[:1], strict=True) if inside[u] or inside[v]
    }
    if not ends:
        return []
    return [
        (u, v, k)
        for k, piece in enumerate(net.pieces)
        for u, v in zip(piece.ring, piece.ring[1:] + piece.ring[:1], strict=True)
        if (u, v) in ends
    ]


def _nearest(side: tuple[Net, Probes], k: int, p: np.ndarray) -> int:
    """Return the probe of panel k nearest to p [m]."""
    net, probes = side
    own = np.flatnonzero(probes.owner == k)
    return int(own[int(np.argmin(np.hypot(*(net.xy[probes.corner[own]] - p).T)))])
