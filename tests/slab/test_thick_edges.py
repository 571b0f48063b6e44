"""Thickened edges: closed forms of their volume, where they lie, what is said."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from tests.build.conftest import make_slab

from slabwright.notes.spec import ThickSpec
from slabwright.slab.model import Edge, Hole, Outline
from slabwright.slab.thick_edges import concrete_of, edge_depth, thick_region, thicken

IN = 0.0254


def thickened(slab, depth=10 * IN, width=12 * IN, edges="free"):
    spec = replace(slab.spec, thickened=ThickSpec(depth, width, edges))
    thick, found = thicken(slab.outline, spec)
    return replace(slab, spec=spec, thick=thick), [f.code for f in found]


def pad(**more):
    return make_slab([(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0)], thickness=4 * IN, **more)


def test_all_round_a_pad():
    slab, codes = thickened(pad())
    reach = 12 * IN + 3 * IN  # the bottom, and half of the 45 degree slope
    area = 6 * 4 - (6 - 2 * reach) * (4 - 2 * reach)
    assert codes == ["thick-edge"]
    assert slab.thick.area == pytest.approx(area)
    assert slab.thick.volume == pytest.approx(area * 6 * IN)
    assert concrete_of(slab) == pytest.approx(24 * 4 * IN + area * 6 * IN)
    assert edge_depth(slab) == pytest.approx(10 * IN)
    assert len(slab.thick.rings) == 2
    assert thick_region(slab).area == pytest.approx(area)


def test_only_free_edges_and_square_at_a_wall():
    kinds = ("free", "wall", "wall", "wall")
    slab, _ = thickened(pad(kinds=kinds))
    assert slab.thick.area == pytest.approx(6 * 15 * IN)
    every, _ = thickened(pad(kinds=kinds), edges="all")
    assert every.thick.area > slab.thick.area
    none, codes = thickened(pad(kinds=("wall",) * 4))
    assert none.thick is None
    assert codes == ["thick-edge-nowhere"]
    assert concrete_of(none) == pytest.approx(24 * 4 * IN)


def test_along_an_arc_the_volume_follows_the_curve():
    """A half disc of 2 m: its round side thickened is half a ring."""
    turned = [k * math.pi / 200 for k in range(201)]
    ring = tuple((2 * math.cos(t), 2 * math.sin(t)) for t in turned)
    straight = Edge(ring[-1], ring[0], "wall", "A-B")
    arc = Edge(ring[0], ring[-1], "free", None, 1.0, (0.0, 0.0), 2.0)
    half = Outline("pad", ring, (straight, arc), (), (), None, 2 * math.pi, 4 + 2 * math.pi)
    slab, _ = thickened(replace(pad(), outline=half))
    reach = 15 * IN
    # the flat ends of the band leave nothing out on this side of the wall
    assert slab.thick.area == pytest.approx(math.pi / 2 * (4 - (2 - reach) ** 2), rel=1e-3)


def test_openings_are_left_out():
    ring = ((1.0, 0.1), (1.0, 0.2), (1.1, 0.2), (1.1, 0.1))
    whole, _ = thickened(pad())
    holed, _ = thickened(pad(holes=(Hole("post", "post", ring, None),)))
    assert whole.thick.area - holed.thick.area == pytest.approx(0.01)


@pytest.mark.parametrize("depth", [4 * IN, 3 * IN])
def test_no_deeper_than_the_slab_is_said(depth):
    slab, codes = thickened(pad(), depth=depth)
    assert slab.thick is None
    assert codes == ["thick-edge-thin"]


def test_wider_than_the_slab_is_all_of_it():
    slab, _ = thickened(pad(), width=5.0)
    assert slab.thick.area == pytest.approx(24.0)
    assert shapely.equals(thick_region(slab).normalize(), shapely.Polygon(pad().outline.ring).normalize())
    assert math.isfinite(concrete_of(slab))
