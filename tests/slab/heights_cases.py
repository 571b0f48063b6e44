"""Slabs with simple joint plans, made by hand, for the tests of finished heights."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial

import numpy as np

from slabwright.ground.model import DoorAt, ExistingSlab, Ground, Surface, Wall
from slabwright.notes.models import Fix, Meets
from slabwright.notes.spec import FallSpec, JointSpec, SlabSpec, SteelSpec, Taken
from slabwright.slab.heights.plan import plan_heights
from slabwright.slab.model import XY, Edge, JointPlan, Outline, Panel

FT = 0.3048
INCH = 0.0254


def fall(**other) -> FallSpec:
    base = {
        "across": 1 / 48, "across_least": 0.01, "across_most": 1 / 48, "along_most": 0.05,
        "from_house": 0.02, "toward": "right", "crown": False, "across_given": False,
    }  # fmt: skip
    return FallSpec(**{**base, **other})


def spec(name: str = "walk", **other) -> SlabSpec:
    base = {
        "name": name, "use": "walk", "line": None, "corners": (), "along": (), "width": None,
        "side": "centre",
        "thickness": 0.1, "base": 0.1, "meets": (), "heights": (), "fall": fall(),
        "joints": JointSpec(None, 1.5, 1.5, "tooled", 0.025),
        "steel": SteelSpec("none", "3", 0.45, False, 0.05), "openings": (), "finish": "broom",
        "aggregate": 0.019, "slump": 0.1, "strength": 28e6, "taken": (),
    }  # fmt: skip
    return SlabSpec(**{**base, **other})


def area(ring: Sequence[XY]) -> float:
    return sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(ring, [*ring[1:], ring[0]], strict=True)) / 2


def panel(name: str, ring: Sequence[XY]) -> Panel:
    a, b = math.dist(ring[0], ring[1]), math.dist(ring[1], ring[2])
    return Panel(name, tuple(ring), area(ring), max(a, b), min(a, b))


def ribbon(
    length: float, width: float, panels: int, *, name: str = "walk", at: XY = (0.0, 0.0), turn: float = 0.0,
    ends: tuple[str | None, str | None] = (None, None), kinds: Sequence[str] | None = None,
) -> tuple[Outline, JointPlan]:  # fmt: skip
    """A straight walk from `at`, `turn` [rad] from the x axis; `ends` are existing slabs at its ends."""
    c, s = math.cos(turn), math.sin(turn)

    def put(u: float, v: float) -> XY:
        return (at[0] + c * u - s * v, at[1] + s * u + c * v)

    h = width / 2
    ring = (put(0, -h), put(length, -h), put(length, h), put(0, h))
    against = (None, ends[1], None, ends[0])
    edges = tuple(
        Edge(ring[k], ring[(k + 1) % 4], "existing" if against[k] else "free", against[k]) for k in range(4)
    )
    outline = Outline(
        name, ring, edges, (), (put(0, 0), put(length, 0)), width, length * width, 2 * (length + width)
    )
    step = length / panels
    made = tuple(
        panel(
            str(k + 1), [put(k * step, -h), put((k + 1) * step, -h), put((k + 1) * step, h), put(k * step, h)]
        )
        for k in range(panels)
    )
    return outline, JointPlan((), made, 0.0, 0.0, True, ())


def pad(
    width: float, depth: float, nx: int, ny: int, *, name: str = "patio", at: XY = (0.0, 0.0),
    kinds: Sequence[tuple[str, str | None]] = (("free", None),) * 4,
) -> tuple[Outline, JointPlan]:  # fmt: skip
    """A rectangle with its lower left corner at `at`; edge kinds from the bottom, counter-clockwise."""
    x, y = at
    ring = ((x, y), (x + width, y), (x + width, y + depth), (x, y + depth))
    edges = tuple(Edge(ring[k], ring[(k + 1) % 4], *kinds[k]) for k in range(4))
    outline = Outline(name, ring, edges, (), (), None, width * depth, 2 * (width + depth))
    dx, dy = width / nx, depth / ny
    made = tuple(
        panel(
            f"{j * nx + i + 1}",
            [
                (x + i * dx, y + j * dy), (x + (i + 1) * dx, y + j * dy),
                (x + (i + 1) * dx, y + (j + 1) * dy), (x + i * dx, y + (j + 1) * dy),
            ],
        )
        for j in range(ny)
        for i in range(nx)
    )  # fmt: skip
    return outline, JointPlan((), made, 0.0, 0.0, True, ())


def existing(name: str, p: XY, q: XY, hp: float, hq: float) -> ExistingSlab:
    return ExistingSlab(name, (), (p, q), (f"{name} 1", f"{name} 2"), (hp, hq), None, True, None, ())


def plane_surface(a: float, b: float, c: float, reach: float = 100.0) -> Surface:
    xy = np.array([(-reach, -reach), (reach, -reach), (reach, reach), (-reach, reach)])
    z = a * xy[:, 0] + b * xy[:, 1] + c
    return Surface(
        np.column_stack([xy, z]),
        np.array([[0, 1, 2], [0, 2, 3]]),
        tuple(map(tuple, xy.tolist())),
        ("a", "b", "c", "d"),
    )


def ground(
    *,
    walls: Sequence[Wall] = (),
    doors: Sequence[DoorAt] = (),
    slabs: Sequence[ExistingSlab] = (),
    surface: Surface | None = None,
    organic: float = 0.0,
    siding: str = "none",
    siding_bottom: float | None = None,
) -> Ground:
    return Ground(
        tuple(walls),
        (),
        tuple(doors),
        tuple(slabs),
        (),
        (),
        (),
        surface,
        organic,
        "loam",
        siding,
        siding_bottom,
        (),
    )


plan_exactly = partial(plan_heights, grade=0.0)  # not moved onto marks: for closed forms


__all__ = [
    "FT", "INCH", "Fix", "Meets", "Taken", "area", "existing", "fall", "ground", "pad", "panel",
    "plan_exactly", "plane_surface", "ribbon", "spec",
]  # fmt: skip
