"""Small jobs made by hand, for the tests of this room."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from slabwright.ground.model import Ground, Surface, Wall
from slabwright.notes.spec import FallSpec, JointSpec, SlabSpec, SteelSpec
from slabwright.slab.model import (
    XY,
    Edge,
    HeightPlan,
    Hole,
    Joint,
    JointPlan,
    Node,
    Outline,
    Panel,
    Shaped,
    Slab,
    SteelPlan,
)

IN = 0.0254
FT = 0.3048
PSI = 6894.757293168361


def make_spec(name: str = "walk", **changes: Any) -> SlabSpec:
    spec = SlabSpec(
        name=name,
        use="walk",
        line=None,
        corners=(),
        along=(),
        width=None,
        side="centre",
        thickness=3.5 * IN,
        base=4 * IN,
        meets=(),
        heights=(),
        fall=FallSpec(1 / 48, 0.01, 1 / 48, 0.05, 0.02, None, False, False),
        joints=JointSpec(None, 6 * FT, 1.5, "tooled", 1 * IN),
        steel=SteelSpec("bars", "4", 18 * IN, False, 3 * IN),
        openings=(),
        finish="broom",
        aggregate=0.75 * IN,
        slump=4 * IN,
        strength=4000 * PSI,
        taken=(),
    )
    return replace(spec, **changes)


def make_slab(
    corners: Sequence[XY],
    *,
    name: str = "walk",
    kinds: Sequence[str] | None = None,
    against: Sequence[str | None] | None = None,
    bulges: Sequence[float] | None = None,
    height: Callable[[float, float], float] = lambda x, y: 0.0,
    nodes: Sequence[tuple[str, float, float, float]] | None = None,
    joints: Sequence[Joint] = (),
    holes: Sequence[Hole] = (),
    axis: Sequence[XY] = (),
    width: float | None = None,
    steel: SteelPlan | None = None,
    **changes: Any,
) -> Slab:
    """A slab with these corners (counter-clockwise), its grade nodes at the corners unless given."""
    n = len(corners)
    edges = []
    for i in range(n):
        bulge = bulges[i] if bulges else 0.0
        p, q = corners[i], corners[(i + 1) % n]
        radius = math.dist(p, q) / 2 / math.sin(2 * math.atan(abs(bulge))) if bulge else None
        edges.append(
            Edge(
                p,
                q,
                kinds[i] if kinds else "free",  # type: ignore[arg-type]
                against[i] if against else None,
                bulge,
                None,
                radius,
            )
        )
    area = sum(e.p[0] * e.q[1] - e.q[0] * e.p[1] for e in edges) / 2
    outline = Outline(
        name,
        tuple(corners),
        tuple(edges),
        tuple(holes),
        tuple(axis),
        width,
        area,
        sum(math.dist(e.p, e.q) for e in edges),
    )
    made = (
        tuple(Node(label, x, y, z, None) for label, x, y, z in nodes)
        if nodes is not None
        else tuple(Node(str(i + 1), x, y, height(x, y), None) for i, (x, y) in enumerate(corners))
    )
    plan = HeightPlan(made, (), (0.02, 0.02), (0.0, 0.0), (0.02, 0.02), True, {}, ())
    panel = Panel("1", tuple(corners), area, 0.0, 0.0)
    empty = SteelPlan("none", "", (), 0.0, 0.0, 0.0, 0.0, 0.0, 0, 0, ())
    return Slab(
        make_spec(name, **changes),
        outline,
        JointPlan(tuple(joints), (panel,), 0.0, 0.0, True, ()),
        plan,
        steel or empty,
    )


def make_ground(
    *,
    height: float | None = 0.0,
    soil: str = "loam",
    walls: Sequence[tuple[str, XY, XY]] = (),
    **changes: Any,
) -> Ground:
    """Level ground at a height [m] (None: no shots), with these walls."""
    surface = None
    if height is not None:
        points = np.array([[x, y, height] for x, y in ((-50, -50), (50, -50), (50, 50), (-50, 50))], float)
        surface = Surface(
            points,
            np.array([[0, 1, 2], [0, 2, 3]]),
            tuple((float(x), float(y)) for x, y, _ in points),
            ("a", "b", "c", "d"),
        )
    ground = Ground(
        walls=tuple(Wall(name, p, q) for name, p, q in walls),
        house_ring=(),
        doors=(),
        existing=(),
        trees=(),
        buried=(),
        heads=(),
        surface=surface,
        organic=0.1,
        soil=soil,  # type: ignore[arg-type]
        siding="none",
        siding_bottom=None,
        findings=(),
    )
    return replace(ground, **changes)


def make_job(*slabs: Slab) -> Shaped:
    return Shaped(tuple(slabs), ())


class Make:
    """What tests build with: spec, slab, ground, job."""

    spec = staticmethod(make_spec)
    slab = staticmethod(make_slab)
    ground = staticmethod(make_ground)
    job = staticmethod(make_job)

    @staticmethod
    def walk(length: float = 34 * FT, width: float = 3 * FT, **changes: Any) -> Slab:
        """A straight walk along x, its near edge on y = 0."""
        return make_slab([(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)], **changes)


@pytest.fixture
def make() -> type[Make]:
    return Make
