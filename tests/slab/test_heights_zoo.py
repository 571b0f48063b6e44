"""Outlines of every sort through the whole room: surfaces have no gap, no fold off a joint, and drain."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.slab import heights_cases as c

from slabwright import slab
from slabwright.notes.models import Opening, Vertex

SQUARE = {"a": (0, 0), "b": (6, 0), "c": (6, 4), "d": (0, 4)}


def ring(points: str, **more):
    return tuple(Vertex(point=k, **more.get(k, {})) for k in points)


ZOO = {
    "L": (
        {"a": (0, 0), "b": (6, 0), "c": (6, 3), "d": (3, 3), "e": (3, 6), "f": (0, 6)},
        {"corners": ring("abcdef")},
    ),
    "U": (
        {
            "a": (0, 0), "b": (9, 0), "c": (9, 6), "d": (6, 6),
            "e": (6, 2.5), "f": (3, 2.5), "g": (3, 6), "h": (0, 6),
        },
        {"corners": ring("abcdefgh")},
    ),
    "skew": ({"a": (0, 0), "b": (7, 1), "c": (6, 5), "d": (-1, 3.5)}, {"corners": ring("abcd")}),
    "six sides": (
        {k: (4 * math.cos(i * math.pi / 3), 4 * math.sin(i * math.pi / 3)) for i, k in enumerate("abcdef")},
        {"corners": ring("abcdef")},
    ),
    "bent walk": ({"a": (0, 0), "b": (6, 0), "c": (9, 3)}, {"along": ring("abc"), "width": 1.0}),
    "zigzag": ({"a": (0, 0), "b": (5, 0), "c": (5, 5), "d": (10, 5)}, {"along": ring("abcd"), "width": 1.2}),
    "curved walk": (
        {"a": (0, 0), "b": (4, 0), "c": (8, 4), "m": (6.8284, 1.1716)},
        {"along": ring("abc", c={"arc_through": "m"}), "width": 1.0},
    ),
    "bow front": ({**SQUARE, "m": (3, 5)}, {"corners": ring("abcd", d={"arc_through": "m"})}),
    "rounded": (SQUARE, {"corners": ring("abcd", **{k: {"round": "2 ft"} for k in "abcd"})}),
    "round": (
        {"a": (-4, 0), "b": (4, 0), "m": (0, -4), "n": (0, 4)},
        {"corners": (Vertex(point="a", arc_through="n"), Vertex(point="b", arc_through="m"))},
    ),
    "post": (
        {**SQUARE, "o": (2, 1.5)},
        {"corners": ring("abcd"), "openings": (Opening(name="post", at="o", across="12 in", kind="post"),)},
    ),
}  # fmt: skip


def made(name: str):
    points, asked = ZOO[name]
    use = "walk" if "along" in asked else "patio"
    spec = c.spec(name, use=use, joints=c.JointSpec(None, 3.0, 1.5, "tooled", 0.025), **asked)
    ground = c.ground(surface=c.plane_surface(0.01, -0.015, 0.0))
    shaped = slab.shape([spec], {k: (float(x), float(y)) for k, (x, y) in points.items()}, {}, ground)
    return shaped.slabs[0]


@pytest.mark.parametrize("name", ZOO)
def test_surfaces_have_no_gap_and_fold_at_joints_only(name):
    one = made(name)
    plan = one.height_plan
    assert plan.feasible
    assert {f.panel for f in plan.facets} == {p.name for p in one.joint_plan.panels}
    at = np.array([(n.x, n.y, n.z) for n in plan.nodes])
    assert np.isfinite(at).all()
    covered = sum(c.area([(x, y) for x, y, _ in at[list(f.nodes)]]) for f in plan.facets)
    assert covered == pytest.approx(sum(p.area for p in one.joint_plan.panels), rel=1e-6)
    flat: dict[str, list] = {}
    for facet in plan.facets:
        flat.setdefault(facet.panel, []).append(at[list(facet.nodes)])
    for rings in flat.values():
        if (
            len(rings) == 1 and len(rings[0]) != 4
        ):  # a panel of one facet is a plane unless it has four corners
            ground = np.column_stack([rings[0][:, :2], np.ones(len(rings[0]))])
            coef, *_ = np.linalg.lstsq(ground, rings[0][:, 2], rcond=None)
            assert ground @ coef == pytest.approx(rings[0][:, 2], abs=1e-7)
    labels = [n.label for n in plan.nodes if not n.shape_only]
    assert len(labels) == len(set(labels))
    assert "" not in labels


@pytest.mark.parametrize("name", ZOO)
def test_every_panel_drains_and_keeps_its_limits(name):
    one = made(name)
    plan, fall = one.height_plan, one.spec.fall
    assert plan.across[1] <= fall.across_most + 1e-6
    assert plan.across[0] >= fall.across_least - 1e-6
    assert max(map(abs, plan.along)) <= fall.along_most + 1e-6
    assert plan.total[0] >= fall.across_least - 1e-6


@pytest.mark.parametrize("name", ["L", "curved walk", "post"])
def test_shaping_is_the_same_every_time(name):
    assert made(name).height_plan == made(name).height_plan
