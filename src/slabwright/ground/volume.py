"""Cut and fill between a surface of planes and the triangulated ground, in or out of a ring."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from slabwright.ground.model import XY, Surface
from slabwright.ground.prisms import SLIVER, Plane, convex, overlay, shared, split_prisms

__all__ = ["Plane", "Volumes", "convex", "split_prisms", "volumes_between"]


class Volumes(NamedTuple):
    """Cut (ground above) and fill (ground below) [m3], least and most height of the ground above [m]."""

    cut: float
    fill: float
    depth_min: float
    depth_max: float


def volumes_between(
    ring: Sequence[XY] | None, upper: Sequence[tuple[Sequence[XY], Plane]], surface: Surface, offset: float
) -> Volumes:
    """Return what must be dug and filled to bring the ground to `offset` below planes.

    :param ring: only inside this ring (n, 2) [m]; None: everywhere that `upper` covers.
    :param upper: facets, each a ring [m] and its plane (a, b, c), height = a x + b y + c. They must not
        overlap. Rings may turn either way and need not be convex.
    :param surface: the ground; beyond its shots it is carried on level, as `ground_height` does.
    :param offset: how far below the facets the subgrade lies [m].
    :return: cut and fill [m3], and the least and most depth of cut [m] (below zero where it is fill);
        zeros when nothing lies inside the ring.
    """
    if ring is not None:
        upper = _inside(ring, upper)
    cells = overlay([(0, piece, plane) for piece, plane in upper], surface)
    if not len(cells.owner):
        return Volumes(0.0, 0.0, 0.0, 0.0)
    below = np.array([offset])
    cut, fill = cells.volumes(1, below)
    low, high = cells.spread(1)
    return Volumes(float(cut[0]), float(fill[0]), float(low[0]) + offset, float(high[0]) + offset)


def _inside(
    ring: Sequence[XY], upper: Sequence[tuple[Sequence[XY], Plane]]
) -> list[tuple[Sequence[XY], Plane]]:
    """Return what of the facets lies in a ring, as triangles with their planes."""
    pieces, owner = convex(facet[0] for facet in upper)
    if not len(owner):
        return []
    cells, who, _ = shared(pieces, convex([ring])[0])
    sides = cells[:, 1:] - cells[:, :1]
    area = np.abs(sides[:, 0, 0] * sides[:, 1, 1] - sides[:, 0, 1] * sides[:, 1, 0]) / 2.0
    return [(cells[k].tolist(), upper[owner[who[k]]][1]) for k in np.flatnonzero(area > SLIVER)]
