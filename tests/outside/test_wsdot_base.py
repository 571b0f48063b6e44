"""WSDOT Design Manual, chapter 620, unit weights of crushed surfacing base course (read in a stored copy).

As printed: loose in the truck 2,950 lb/yd3 = 1.48 t, compacted 3,700 lb/yd3 = 1.85 t (short tons). The
worked strip below follows from those and the 25 % swell of loam by plain arithmetic, with the printed
tons (1.48 and 1.85), not the pounds.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from slabwright.build.dig import plan_dig
from slabwright.build.earth import loads, loose_base, soil_factor
from slabwright.build.tables import rule
from slabwright.ground.model import Ground, Surface
from slabwright.notes import Notes
from slabwright.notes.defaults import specify
from slabwright.slab.model import (
    Edge,
    Facet,
    HeightPlan,
    JointPlan,
    Node,
    Outline,
    Panel,
    Shaped,
    Slab,
    SteelPlan,
)

FT, IN = 0.3048, 0.0254
YD3, LB = 0.9144**3, 0.45359237
TON = 2000 * LB


def test_unit_weights() -> None:
    assert rule("earth", "base_loose_density") / (LB / YD3) == pytest.approx(2950)
    assert rule("earth", "base_density") / (LB / YD3) == pytest.approx(3700)
    assert rule("earth", "base_density") / rule("earth", "base_loose_density") == pytest.approx(
        1.254, abs=0.0005
    )
    assert rule("earth", "base_loose_density") == pytest.approx(1750, abs=0.5)
    assert rule("earth", "base_density") == pytest.approx(2195, abs=0.5)


def strip() -> tuple[Shaped, Ground]:
    """20 x 40 ft, 4 in of concrete on 4 in of base against walls, ground level with the top."""
    ring = ((0.0, 0.0), (40 * FT, 0.0), (40 * FT, 20 * FT), (0.0, 20 * FT))
    edges = tuple(Edge(p, q, "wall", "A-B") for p, q in zip(ring, (*ring[1:], ring[0]), strict=True))
    area = 800 * FT**2
    slab = {"name": "pad", "use": "pad", "corners": ["A", "B", "C"], "thickness": "4 in", "base": "4 in"}
    (spec,) = specify(Notes.model_validate({"title": "strip", "slabs": [slab]}))
    nodes = tuple(Node(str(k), x, y, 0.0, None) for k, (x, y) in enumerate(ring))
    flat = (0.0, 0.0)
    made = Slab(
        spec,
        Outline("pad", ring, edges, (), (), None, area, 120 * FT),
        JointPlan((), (Panel("1", ring, area, 40 * FT, 20 * FT),), 0.0, 0.0, True, ()),
        HeightPlan(nodes, (Facet((0, 1, 2, 3), "1"),), flat, flat, flat, True, {}, ()),
        SteelPlan("none", "", (), 0.0, 0.0, 0.0, 0.0, 0.0, 0, 0, ()),
    )
    points = np.array([[-9.0, -9.0, 0.0], [30.0, -9.0, 0.0], [30.0, 20.0, 0.0], [-9.0, 20.0, 0.0]])
    hull = tuple((float(x), float(y)) for x, y, _ in points)
    surface = Surface(points, np.array([[0, 1, 2], [0, 2, 3]]), hull, ("",) * 4)
    ground = Ground((), (), (), (), (), (), (), surface, 8 * IN, "loam", "none", None, ())
    return Shaped((made,), ()), ground


def test_worked_strip() -> None:
    """Strip 8 in: 19.75 bank yd3, 24.69 loose, 5 loads of 5 yd3; base 4 in: 9.88 yd3 compacted."""
    shaped, ground = strip()
    dig = plan_dig(shaped, ground)
    assert dig is not None
    assert dig.over_dig == 0.0
    assert dig.cut / YD3 == pytest.approx(19.75, abs=0.005)
    assert dig.spoil_loose / YD3 == pytest.approx(24.69, abs=0.005)
    assert loads(dig.spoil_loose, 5 * YD3) == 5
    assert dig.spoil_loads == 5
    assert dig.base_volume / YD3 == pytest.approx(9.88, abs=0.005)
    assert dig.cut * soil_factor("loam", "bank_loose") == pytest.approx(dig.spoil_loose)


def test_worked_strip_base_to_buy() -> None:
    """9.88 yd3 compacted x 1.85 t = 18.27 t; at 1.48 t a yd3 that is 12.35 yd3 loose."""
    shaped, ground = strip()
    dig = plan_dig(shaped, ground)
    assert dig is not None
    loose, mass = loose_base(dig.base_volume, loose_density=1.48 * TON / YD3, density=1.85 * TON / YD3)
    assert mass / TON == pytest.approx(18.27, abs=0.005)
    assert loose / YD3 == pytest.approx(12.35, abs=0.005)
    # with the pounds that the manual prints beside its rounded tons
    assert dig.base_mass / TON == pytest.approx(18.27, abs=0.005)
    assert dig.base_loose / YD3 == pytest.approx(12.35, abs=0.05)


def test_paver_rule_is_near() -> None:
    """The rule of 110 lb/yd2 per inch is 146.7 lb/ft3; 3,700 lb/yd3 is 137.0."""
    assert rule("earth", "base_density") / (LB / FT**3) == pytest.approx(137.0, abs=0.05)


def test_concrete_of_the_strip() -> None:
    """Concrete 4 in: 9.88 yd3 net."""
    shaped, _ = strip()
    slab = replace(shaped.slabs[0])
    assert slab.outline.area * slab.spec.thickness / YD3 == pytest.approx(9.88, abs=0.005)
