"""The part of the site that a drawing shows: the work with a margin, not the whole house."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from slabwright.ground.untyped import shapely

XY = tuple[float, float]

MARGIN_LEAST = 0.75  # m round the work, so that what it joins can be recognised
MARGIN_SHARE = 0.05  # of the work's longer side
ARC_STEPS = 96


@dataclass(frozen=True, slots=True)
class Window:
    """A rectangle on site [m]."""

    left: float
    low: float
    right: float
    high: float

    def holds(self, at: XY) -> bool:
        """Return whether a point lies in the window."""
        return self.left <= at[0] <= self.right and self.low <= at[1] <= self.high

    def ring(self, ring: Iterable[XY]) -> Iterator[tuple[XY, ...]]:
        """Yield what the window shows of the area inside a ring, as rings."""
        shape = shapely.make_valid(shapely.Polygon(tuple(ring))).intersection(self._box())
        for part in getattr(shape, "geoms", (shape,)):
            if part.geom_type == "Polygon" and part.area > 0:
                yield tuple((x, y) for x, y in part.exterior.coords[:-1])

    def line(self, line: Iterable[XY]) -> Iterator[tuple[XY, ...]]:
        """Yield what the window shows of an open line, as lines."""
        shape = shapely.LineString(tuple(line)).intersection(self._box())
        for part in getattr(shape, "geoms", (shape,)):
            if part.geom_type == "LineString" and part.length > 0:
                yield tuple((x, y) for x, y in part.coords)

    def circle(self, centre: XY, radius: float) -> Iterator[tuple[XY, ...]]:
        """Yield what the window shows of a circle, as lines."""
        turns = [2 * math.pi * k / ARC_STEPS for k in range(ARC_STEPS + 1)]
        yield from self.line(
            (centre[0] + radius * math.cos(t), centre[1] + radius * math.sin(t)) for t in turns
        )

    def _box(self) -> object:
        return shapely.box(self.left, self.low, self.right, self.high)


def window_round(points: Iterable[XY], *, least: float = MARGIN_LEAST) -> Window:
    """Return the window round points with a margin of at least so much [m]; ValueError without points."""
    listed = list(points)
    if not listed:
        raise ValueError("a window needs at least one point")
    xs, ys = [p[0] for p in listed], [p[1] for p in listed]
    margin = max(least, MARGIN_SHARE * max(max(xs) - min(xs), max(ys) - min(ys)))
    return Window(min(xs) - margin, min(ys) - margin, max(xs) + margin, max(ys) + margin)
