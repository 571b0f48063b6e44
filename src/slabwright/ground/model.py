"""What is there: walls, doors, existing slabs, trees, buried lines, and the ground surface.

Plane coordinates in m: A of the house (or baseline) at the origin, x along the first wall to the
right as one faces it from the yard, y into the house; the yard lies at negative y. Heights in m
above the job's datum.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from slabwright.findings import Finding

Floats = NDArray[np.float64]
XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Wall:
    """A wall between two named corners; the yard is on its right hand from p to q."""

    name: str  # 'A-B'
    p: XY
    q: XY


@dataclass(frozen=True, slots=True)
class DoorAt:
    """A door: its two jambs on the wall's line and its sill's height [m], None when not shot."""

    name: str
    wall: str
    p: XY
    q: XY
    sill: float | None
    sill_name: str | None


@dataclass(frozen=True, slots=True)
class ExistingSlab:
    """A slab that is there. `ring` (n, 2) or empty, `edge` polyline; `corner_heights` by vertex.

    `plane` (a, b, c): height = a x + b y + c, fitted to its shot corners; None when not enough shots.
    """

    name: str
    ring: tuple[XY, ...]
    edge: tuple[XY, ...]  # open polyline; for a ring, its closed outline
    names: tuple[str, ...]  # point names along `edge`
    heights: tuple[float | None, ...]  # along `edge`
    plane: tuple[float, float, float] | None
    keeps_height: bool
    thickness: float | None
    joints: tuple[tuple[XY, XY], ...]

    def height_on_edge(self, x: float, y: float) -> float | None:
        """Return the height [m] at the point of the edge nearest to (x, y), linear between shots."""
        best: tuple[float, float] | None = None
        for (p, hp), (q, hq) in zip(
            zip(self.edge, self.heights, strict=True),
            zip(self.edge[1:], self.heights[1:], strict=True),
            strict=False,
        ):
            if hp is None or hq is None:
                continue
            dx, dy = q[0] - p[0], q[1] - p[1]
            run = dx * dx + dy * dy
            t = 0.0 if run == 0 else min(1.0, max(0.0, ((x - p[0]) * dx + (y - p[1]) * dy) / run))
            off = (p[0] + t * dx - x) ** 2 + (p[1] + t * dy - y) ** 2
            if best is None or off < best[0]:
                best = (off, hp + t * (hq - hp))
        return None if best is None else best[1]


@dataclass(frozen=True, slots=True)
class TreeAt:
    """A tree: trunk centre, trunk diameter [m] and critical root zone radius [m]."""

    name: str
    at: XY
    trunk: float
    root_zone: float


@dataclass(frozen=True, slots=True)
class BuriedLine:
    """A buried line: kind, polyline, depth [m] or None."""

    name: str
    kind: str
    line: tuple[XY, ...]
    depth: float | None


@dataclass(frozen=True, slots=True)
class Surface:
    """The existing ground as triangles: `points` (n, 3) [m], `triangles` (m, 3) indices.

    `hull` is the outline of the shots; beyond it the surface is extended (see `at`).
    """

    points: Floats
    triangles: NDArray[np.int64]
    hull: tuple[XY, ...]
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Ground:
    """Everything that is there before the work."""

    walls: tuple[Wall, ...]
    house_ring: tuple[XY, ...]  # closed houses only, else empty
    doors: tuple[DoorAt, ...]
    existing: tuple[ExistingSlab, ...]
    trees: tuple[TreeAt, ...]
    buried: tuple[BuriedLine, ...]
    heads: tuple[tuple[str, XY, float], ...]  # sprinkler heads: name, place, throw [m]
    surface: Surface | None  # None when no ground was shot
    organic: float  # sod and topsoil to strip [m]
    soil: Literal["sand", "loam", "clay", "rock"]
    siding: str
    siding_bottom: float | None  # height [m]
    findings: tuple[Finding, ...]
    baseline: tuple[str, ...] = ()  # the two nails of a job without a house
