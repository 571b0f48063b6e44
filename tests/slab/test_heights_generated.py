"""Buildable on any outline: no gap, no fold off a joint, forms straight between stakes or even along arcs."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from tests.slab import test_heights_zoo as zoo
from tests.slab.generated import made

from slabwright.slab.heights.net import Net, build_net
from slabwright.slab.heights.plan import GRADE, plan_heights
from slabwright.slab.model import HeightPlan, Outline

CLOSE = 1e-6  # [m]
SEEDS = 500
BLOCK = 50


def flat(at: np.ndarray) -> float:
    """How far points (n, 3) are off their best plane [m]."""
    ground = np.column_stack([at[:, :2] - at[:, :2].mean(axis=0), np.ones(len(at))])
    coef, *_ = np.linalg.lstsq(ground, at[:, 2], rcond=None)
    return float(np.abs(ground @ coef - at[:, 2]).max())


def area(at: np.ndarray) -> float:
    x, y = at[:, 0] - at[0, 0], at[:, 1] - at[0, 1]
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)


def heights_by_node(net: Net, plan: HeightPlan) -> np.ndarray:
    known = {(round(n.x, 9), round(n.y, 9)): n.z for n in plan.nodes}
    return np.array([known.get((round(float(x), 9), round(float(y), 9)), np.nan) for x, y in net.xy])


def folds_at_joints_only(net: Net, plan: HeightPlan, panels: int) -> None:
    at = np.array([(n.x, n.y, n.z) for n in plan.nodes])
    rings: dict[str, list[np.ndarray]] = {}
    for facet in plan.facets:
        rings.setdefault(facet.panel, []).append(at[list(facet.nodes)])
    assert len(rings) == panels
    ruled = {p.panel for p in net.pieces if p.ruled}
    for name, own in rings.items():
        for ring in own:
            assert area(ring) > 0
            if name not in ruled or len(ring) == 3:
                assert flat(ring) < CLOSE
        if name not in ruled:  # all of a plane panel is one plane
            assert flat(np.vstack(own)) < CLOSE
        elif len(own) == 1:
            assert len(own[0]) == 4  # a straight board rides both forms


def no_gap_at_a_joint(net: Net, z: np.ndarray) -> None:
    """Every corner that lies on another panel's straight side is at that side's height."""
    for piece in net.pieces:
        count = len(piece.ring)
        for here, there in zip(piece.at, [*piece.at[1:], piece.at[0] + count], strict=True):
            side = [piece.ring[k % count] for k in range(here, there + 1)]
            p, q = net.xy[side[0]], net.xy[side[-1]]
            run = math.dist(p, q)
            for k in side[1:-1]:
                t = float((net.xy[k] - p) @ (q - p)) / run**2
                off = math.dist(net.xy[k], p + t * (q - p))
                if off < 1e-6 * run:
                    assert z[k] == pytest.approx(z[side[0]] + t * (z[side[-1]] - z[side[0]]), abs=2 * CLOSE)


def forms_are_straight_or_even_along_their_arc(net: Net, z: np.ndarray, o: Outline) -> None:
    """Between stakes a form is straight in plan, or an arc along which a ribbon's height climbs evenly."""
    walk = list(net.walk)
    stops = [i for i, k in enumerate(walk) if k not in net.shape_only] or [0]
    for i, j in zip(stops, [*stops[1:], stops[0] + len(walk)], strict=True):
        path = [walk[n % len(walk)] for n in range(i, j + 1)]
        if len(path) == 2:
            continue
        centres = [
            e for e in o.edges if e.centre is not None and e.radius is not None
            and all(abs(math.dist(net.xy[k], e.centre) - e.radius) < 3e-3 for k in path[1:-1])
        ]  # fmt: skip
        assert centres, "a point that is not staked lies on no arc"
        owner = next(p for p in net.pieces if path[1] in p.ring)
        if o.axis and owner.ruled:
            along = np.cumsum([0.0, *(math.dist(net.xy[a], net.xy[b]) for a, b in pairwise(path))])
            even = z[path[0]] + (z[path[-1]] - z[path[0]]) * along / along[-1]
            assert np.abs(z[path] - even).max() < CLOSE


@pytest.mark.parametrize("name", zoo.ZOO)
def test_the_zoo_can_be_built(name):
    one = zoo.made(name)
    net = build_net(one.outline, one.joint_plan)
    z = heights_by_node(net, one.height_plan)
    folds_at_joints_only(net, one.height_plan, len(one.joint_plan.panels))
    no_gap_at_a_joint(net, z)
    forms_are_straight_or_even_along_their_arc(net, z, one.outline)


@pytest.mark.parametrize("block", range(SEEDS // BLOCK))
def test_generated_outlines_can_be_built(block):
    marked = staked = 0
    for seed in range(block * BLOCK, (block + 1) * BLOCK):
        spec, o, j, g = made(seed)
        (plan,) = plan_heights([(spec, o, j)], {}, {}, g)
        net = build_net(o, j)
        z = heights_by_node(net, plan)
        used = sorted({k for p in net.pieces for k in p.ring})
        assert np.isfinite(z[used]).all(), seed
        folds_at_joints_only(net, plan, len(j.panels))
        no_gap_at_a_joint(net, z)
        forms_are_straight_or_even_along_their_arc(net, z, o)
        at = np.array([(n.x, n.y, n.z) for n in plan.nodes])
        covered = sum(area(at[list(f.nodes)]) for f in plan.facets)
        assert covered == pytest.approx(sum(p.area for p in j.panels), rel=1e-3), seed
        fall = spec.fall
        if plan.feasible:
            assert plan.across[0] >= fall.across_least - CLOSE
            assert plan.across[1] <= fall.across_most + CLOSE
            assert max(map(abs, plan.along)) <= fall.along_most + CLOSE
        else:
            assert any(f.code.startswith("over-") for f in plan.findings)
        steps = np.array([n.z / GRADE for n in plan.nodes if not n.shape_only])
        marked += int((np.abs(steps - np.round(steps)) < 1e-4).sum())
        staked += len(steps)
    assert marked > 0.2 * staked
