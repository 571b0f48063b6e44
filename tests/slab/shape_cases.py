"""Slabs and surroundings for the tests of outlines and joints: a zoo of shapes, and makers of more."""

from __future__ import annotations

import math
from collections.abc import Sequence

from slabwright.ground.model import DoorAt, ExistingSlab, Ground, Wall
from slabwright.notes.models import Meets, Opening, Vertex
from slabwright.notes.spec import FallSpec, JointSpec, SlabSpec, SteelSpec
from slabwright.slab.model import XY

FT, INCH = 0.3048, 0.0254


def joints(every: float | None = None, most: float = 10 * FT, **other) -> JointSpec:
    base = {"every": every, "most": most, "aspect_most": 1.5, "made": "tooled", "depth": 1.02 * INCH}
    return JointSpec(**{**base, **other})


def spec(corners=(), along=(), **other) -> SlabSpec:
    """A 4 in slab through named corners, or a ribbon along them (names or vertices)."""
    base = {
        "name": "slab", "use": "patio", "line": None, "corners": vertices(corners), "along": vertices(along),
        "width": None, "side": "centre", "thickness": 4 * INCH, "base": 0.1, "meets": (), "heights": (),
        "fall": FallSpec(0.02, 0.01, 1 / 48, 0.05, 0.02, None, False, False), "joints": joints(),
        "steel": SteelSpec("none", "3", 0.45, False, 0.05), "openings": (), "finish": "broom",
        "aggregate": 0.75 * INCH, "slump": 4 * INCH, "strength": 28e6, "taken": (),
    }  # fmt: skip
    return SlabSpec(**{**base, **other})


def vertices(corners: Sequence[str | Vertex]) -> tuple[Vertex, ...]:
    return tuple(Vertex(point=c) if isinstance(c, str) else c for c in corners)


def ground(walls=(), existing=(), house=(), doors=()) -> Ground:
    return Ground(
        walls=tuple(walls), house_ring=tuple(house), doors=tuple(doors), existing=tuple(existing), trees=(),
        buried=(), heads=(), surface=None, organic=0.1, soil="loam", siding="none", siding_bottom=None,
        findings=(),
    )  # fmt: skip


def existing(name: str, ring: Sequence[XY] = (), edge: Sequence[XY] = (), joints=()) -> ExistingSlab:
    line = tuple(edge) or (*ring, ring[0])
    return ExistingSlab(
        name, tuple(ring), line, tuple("?" for _ in line), tuple(None for _ in line), None, True, None,
        tuple(joints),
    )  # fmt: skip


def wall(name: str, p: XY, q: XY) -> Wall:
    return Wall(name, p, q)


def door(name: str, p: XY, q: XY, on: str = "A-B") -> DoorAt:
    return DoorAt(name, on, p, q, None, None)


def feet(points: dict[str, XY]) -> dict[str, XY]:
    """Points given in ft, in m."""
    return {k: (x * FT, y * FT) for k, (x, y) in points.items()}


def ring(points: Sequence[XY], unit: float = FT) -> tuple[tuple[str, ...], dict[str, XY]]:
    """Corner names C0, C1, ... and their places [m] for a ring given in ft."""
    names = tuple(f"C{k}" for k in range(len(points)))
    return names, {n: (x * unit, y * unit) for n, (x, y) in zip(names, points, strict=True)}


def turned(points: dict[str, XY], angle: float, dx: float = 0.0, dy: float = 0.0) -> dict[str, XY]:
    c, s = math.cos(angle), math.sin(angle)
    return {k: (c * x - s * y + dx, s * x + c * y + dy) for k, (x, y) in points.items()}


def polygon_area(points: Sequence[XY]) -> float:
    pairs = zip(points, [*points[1:], points[0]], strict=True)
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs) / 2


RINGS: dict[str, list[XY]] = {
    "square": [(0, 0), (20, 0), (20, 20), (0, 20)],
    "long": [(0, 0), (61, 0), (61, 3), (0, 3)],
    "L": [(0, 0), (30, 0), (30, 12), (14, 12), (14, 26), (0, 26)],
    "T": [(0, 0), (36, 0), (36, 10), (23, 10), (23, 24), (13, 24), (13, 10), (0, 10)],
    "U": [(0, 0), (40, 0), (40, 25), (28, 25), (28, 10), (12, 10), (12, 25), (0, 25)],
    "plus": [(10, 0), (20, 0), (20, 10), (30, 10), (30, 20), (20, 20), (20, 30), (10, 30), (10, 20), (0, 20),
             (0, 10), (10, 10)],
    "bay": [(0, 0), (24, 0), (24, 12), (18, 18), (6, 18), (0, 12)],
    "hexagon": [(12 * math.cos(k * math.pi / 3), 12 * math.sin(k * math.pi / 3)) for k in range(6)],
    "trapezoid": [(0, 0), (30, 0), (24, 20), (0, 14)],
    "triangle": [(0, 0), (24, 0), (0, 18)],
    "skew L": [(0, 0), (28, -4), (30, 10), (16, 12), (17, 24), (3, 26)],
    "jog": [(0, 0), (24, 0), (24, 16), (12, 16), (12, 14), (0, 14)],
    "small": [(0, 0), (4, 0), (4, 3), (0, 3)],
}  # fmt: skip

__all__ = ["Meets", "Opening", "Vertex"]
