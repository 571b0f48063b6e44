"""Standing water on the finished surface: its level, depth and volume, exactly.

A pool rises until it finds the lowest way to an open rim. On pieces that are plane that way runs along
their sides, so the level is found on the net of corners, and the volume is a sum of exact prisms.
"""

from __future__ import annotations

import heapq
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from slabwright.ground.model import Floats
from slabwright.ground.untyped import shapely
from slabwright.ground.volume import split_prisms
from slabwright.slab.drainage.mesh import Sheet
from slabwright.slab.model import XY

SHALLOW = 1e-6  # [m] a pool that is not even this deep is the last digit of a height


@dataclass(frozen=True, slots=True)
class Pool:
    """Standing water: deepest place, level and greatest depth [m], volume [m3], area [m2], outline."""

    at: XY
    level: float
    depth: float
    volume: float
    area: float
    ring: tuple[XY, ...]
    piece: int  # one that lies under it


def pools(sheet: Sheet, outlets: Collection[int]) -> tuple[Pool, ...]:
    """Return the pools that stand on the sheet when it can be left at `outlets`, deepest first.

    :param sheet: the finished surface.
    :param outlets: ids of corners by which water leaves: open rims, drains and inlets.
    """
    level = levels(sheet, outlets)
    z = sheet.corners[:, 2]
    wet = {v for v in range(len(z)) if np.isfinite(level[v]) and level[v] - z[v] > SHALLOW}
    groups = _joined(sheet, wet, level)
    found = [_pool(sheet, group, float(level[group[0]])) for group in groups]
    return tuple(sorted((p for p in found if p is not None), key=lambda p: -p.depth))


def levels(sheet: Sheet, outlets: Collection[int]) -> Floats:
    """Return for each corner the level at which water on it would run off [m]; infinity if it never can."""
    z = sheet.corners[:, 2]
    beside: dict[int, set[int]] = {v: set() for v in range(len(z))}
    for k in range(len(sheet.pieces)):
        for p, q in sheet.sides(k):
            beside[p].add(q)
            beside[q].add(p)
    for p, q in sheet.steps:
        beside[p].add(q)
        beside[q].add(p)
    out = np.full(len(z), np.inf)
    heap = [(float(z[v]), v) for v in outlets]
    heapq.heapify(heap)
    while heap:
        height, v = heapq.heappop(heap)
        if height >= out[v]:
            continue
        out[v] = height
        for w in beside[v]:
            if out[w] == np.inf:
                heapq.heappush(heap, (max(height, float(z[w])), w))
    return out


def _joined(sheet: Sheet, wet: set[int], level: Floats) -> list[list[int]]:
    """Return the wet corners grouped by the pool they lie under."""
    top = {v: v for v in wet}

    def head(v: int) -> int:
        while top[v] != v:
            top[v] = top[top[v]]
            v = top[v]
        return v

    sides = [side for k in range(len(sheet.pieces)) for side in sheet.sides(k)]
    for p, q in (*sides, *sheet.steps):
        if p in wet and q in wet and level[p] == level[q]:
            top[head(p)] = head(q)
    groups: dict[int, list[int]] = {}
    for v in sorted(wet):
        groups.setdefault(head(v), []).append(v)
    return list(groups.values())


def _pool(sheet: Sheet, group: list[int], level: float) -> Pool | None:
    """Return the pool over a group of corners."""
    deepest = min(group, key=lambda v: float(sheet.corners[v, 2]))
    inside = set(group)
    volume, parts, under = 0.0, [], []
    for k, piece in enumerate(sheet.pieces):
        if inside.isdisjoint(piece.corners):
            continue
        ring = sheet.corners[list(piece.corners), :2]
        depth = level - (ring @ piece.plane[:2] + piece.plane[2])
        fan = np.arange(1, len(ring) - 1)
        u, v = ring[fan] - ring[0], ring[fan + 1] - ring[0]
        area = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2.0
        corners = np.column_stack([np.full(len(fan), depth[0]), depth[fan], depth[fan + 1]])
        volume += float(split_prisms(area, corners)[0])
        below = _below(ring, depth)
        if len(below) > 2:
            parts.append(shapely.polygons(below))
            under.append(k)
    if not parts:
        return None
    whole = shapely.union_all(shapely.buffer(parts, 1e-6))
    if whole.geom_type != "Polygon":
        whole = max(shapely.get_parts(whole), key=shapely.area)
    ring = shapely.get_coordinates(shapely.simplify(shapely.orient_polygons(whole).exterior, 1e-4))[:-1]
    x, y, z = sheet.corners[deepest].tolist()
    area = float(sum(shapely.area(parts)))
    return Pool((x, y), level, level - z, volume, area, tuple(map(tuple, ring.tolist())), under[0])


def _below(ring: Floats, depth: Floats) -> list[list[float]]:
    """Return the part of a convex ring where a depth that is linear on it is above zero."""
    out: list[list[float]] = []
    for k in range(len(ring)):
        after = (k + 1) % len(ring)
        if depth[k] > 0:
            out.append(ring[k].tolist())
        if (depth[k] > 0) != (depth[after] > 0):
            share = depth[k] / (depth[k] - depth[after])
            out.append((ring[k] + share * (ring[after] - ring[k])).tolist())
    return out
