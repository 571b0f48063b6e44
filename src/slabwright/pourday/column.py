"""The column under one square metre of slab: concrete, base and soil cut into nodes.

Vertex-centred finite volumes: a node owns half of each cell beside it, so the surface node is half a cell
and a node on an interface holds both materials. Concrete cells grow downward from the surface, soil
cells downward from the base. No heat passes the bottom.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from slabwright.pourday.model import Floats
from slabwright.pourday.tables import rule

STRETCH = 1.35
CELLS = (8, 4, 8)  # concrete, base, soil


@dataclass(frozen=True, slots=True)
class Column:
    """Nodes from the surface down. Arrays (n,) but `conductance` (n - 1,).

    `depth` [m]; `capacity` [J/(m2 K)]; `conductance` [W/(m2 K)] to the next node; `concrete` [m] of
    concrete that a node owns, 0.0 below it; `top` (n,) weights of the mean over the top inch; `mean` (n,)
    weights of the mean over the concrete; `live` how many nodes own concrete.
    """

    depth: Floats
    capacity: Floats
    conductance: Floats
    concrete: Floats
    top: Floats
    mean: Floats
    live: int

    @property
    def nodes(self) -> int:
        """Return how many nodes there are."""
        return int(self.depth.size)


def _cells(depth: float, count: int, stretch: float) -> Floats:
    sizes = stretch ** np.arange(count)
    return np.asarray(depth * sizes / sizes.sum())


def _soil_stretch(depth: float, count: int, first: float) -> float:
    """Return the growth of `count` cells that begin at `first` [m] and fill `depth` [m]."""
    low, high = 1.0, 4.0
    for _ in range(60):
        mid = 0.5 * (low + high)
        total = first * count if mid == 1.0 else first * (mid**count - 1.0) / (mid - 1.0)
        low, high = (mid, high) if total < depth else (low, mid)
    return high


@cache
def column(
    thickness: float, base: float, cells: tuple[int, int, int] = CELLS, stretch: float = STRETCH
) -> Column:
    """Return the column of a slab `thickness` on a `base` [m]; no concrete at all with thickness 0.0.

    `cells` counts the cells of concrete, base and soil. ValueError for a slab that is no slab.
    """
    if not (0.0 <= thickness <= 0.5 and 0.0 <= base <= 1.0):
        raise ValueError(f"a column of {thickness} m on {base} m of base is not flatwork")
    layers = []
    if thickness > 0.0:
        layers.append((_cells(thickness, cells[0], stretch), rule("concrete_k"), rule("concrete_c")))
    if base > 0.0:
        layers.append((np.full(cells[1], base / cells[1]), rule("base_k"), rule("base_c")))
    first = base / cells[1] if base > 0.0 else 0.025
    growth = _soil_stretch(rule("soil_depth"), cells[2], first)
    layers.append((_cells(rule("soil_depth"), cells[2], growth), rule("soil_k"), rule("soil_c")))
    size = np.concatenate([layer[0] for layer in layers])
    k = np.concatenate([np.full(layer[0].size, layer[1]) for layer in layers])
    c = np.concatenate([np.full(layer[0].size, layer[2]) for layer in layers])
    half = 0.5 * c * size
    capacity = np.append(half, 0.0) + np.append(0.0, half)
    poured = np.zeros(size.size)
    if thickness > 0.0:
        poured[: cells[0]] = size[: cells[0]]
    owned = 0.5 * (np.append(poured, 0.0) + np.append(0.0, poured))
    depth = np.append(0.0, np.cumsum(size))
    live = cells[0] + 1 if thickness > 0.0 else 0
    top = _mean_weights(depth, min(rule("top_inch"), thickness)) if live else np.zeros(depth.size)
    mean = owned / thickness if live else np.zeros(depth.size)
    return Column(depth, capacity, k / size, owned, top, mean, live)


def _mean_weights(depth: Floats, to: float) -> Floats:
    """Return weights of the mean from 0 to `to` [m] of what is linear between nodes."""
    weights = np.zeros(depth.size)
    for i in range(depth.size - 1):
        a, b = depth[i], min(depth[i + 1], to)
        if b <= a:
            break
        size = depth[i + 1] - a
        far = 0.5 * (b - a) ** 2 / size
        weights[i] += (b - a) - far
        weights[i + 1] += far
    return weights / to
