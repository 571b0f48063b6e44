"""Shortest ways on foot: a net of all straight lines between corners that clear what is in the way.

A shortest way round obstacles with straight sides bends only at their corners (geometry), so the net of
corners that see each other holds it exactly. Round things are turned into polygons first.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slabwright.ground.model import XY
from slabwright.ground.untyped import shapely

Floats = NDArray[np.float64]
OUT = 0.005  # [m] a way round a corner clears it by this


def corners(polygon: Any) -> list[XY]:
    """Return the corners that a way round a polygon (or several) can bend at, just clear of it."""
    found: dict[XY, None] = {}
    for part in shapely.get_parts(shapely.buffer(polygon, OUT, join_style="mitre")):
        if shapely.is_empty(part):
            continue
        for ring in (part.exterior, *part.interiors):
            for x, y in shapely.get_coordinates(ring)[:-1]:
                found[(float(x), float(y))] = None
    return list(found)


class Net:
    """Straight lines between places that clear `fixed`; each also knows which of `fresh` it would cross."""

    def __init__(self, start: XY, places: Sequence[XY], fixed: Any, fresh: Sequence[Any]) -> None:
        """Make the net. start, places: (x, y) [m]; fixed: polygon; fresh: polygons that may close later."""
        self.places = [start, *places]
        spots = np.array(self.places, dtype=np.float64)
        count = len(spots)
        self._a, self._b = np.triu_indices(count, 1)
        ends = np.stack((spots[self._a], spots[self._b]), axis=1)
        lines = shapely.linestrings(ends) if len(ends) else np.empty(0, dtype=object)
        free = ~_crosses(fixed, lines)
        self._a, self._b = self._a[free], self._b[free]
        kept = lines[free]
        length = np.hypot(*(spots[self._a] - spots[self._b]).T) if len(kept) else np.empty(0)
        # a length of nothing would be taken for no line at all
        self._length = np.maximum(length, 1e-9)
        self._found: dict[frozenset[int], tuple[Floats, NDArray[np.int32]]] = {}
        self._closed = np.zeros((len(fresh), len(kept)), dtype=np.bool_)
        for k, polygon in enumerate(fresh):
            self._closed[k] = _crosses(polygon, kept)

    def ways(self, placed: Collection[int]) -> tuple[Floats, NDArray[np.int32]]:
        """Return the way's length from the start to every place [m], inf where there is none, and the place
        before each on its way. `placed`: which of `fresh` are closed.
        """
        key = frozenset(placed)
        if key not in self._found:  # the order is tried first, and walked again with the same panels placed
            self._found[key] = self._search(key)
        return self._found[key]

    def _search(self, placed: frozenset[int]) -> tuple[Floats, NDArray[np.int32]]:
        from scipy.sparse import csr_array
        from scipy.sparse.csgraph import dijkstra

        count = len(self.places)
        open_ = ~self._closed[sorted(placed)].any(axis=0) if placed else np.ones(len(self._a), dtype=np.bool_)
        a, b = self._a[open_], self._b[open_]  # by a, so the rows can be handed over as they stand
        start = np.searchsorted(a, np.arange(count + 1)).astype(np.int32)
        net = csr_array((self._length[open_], b.astype(np.int32), start), shape=(count, count))
        away, before = dijkstra(net, directed=False, indices=[0], return_predecessors=True)
        return np.asarray(away[0], dtype=np.float64), np.asarray(before[0], dtype=np.int32)

    def way_to(self, place: int, before: NDArray[np.int32]) -> tuple[XY, ...]:
        """Return the way from the start to a place as (x, y), from what `ways` found."""
        at, back = place, [self.places[place]]
        while at != 0:
            at = int(before[at])
            if at < 0:
                return ()
            back.append(self.places[at])
        return tuple(reversed(back))


def _crosses(polygon: Any, lines: Any) -> NDArray[np.bool_]:
    """Tell which lines meet a polygon. Corners stand just clear of it, so a line along an edge does not;
    one through the point where two obstacles touch does.
    """
    if shapely.is_empty(polygon) or len(lines) == 0:
        return np.zeros(len(lines), dtype=np.bool_)
    shapely.prepare(polygon)
    return np.asarray(shapely.intersects(polygon, lines), dtype=np.bool_)
