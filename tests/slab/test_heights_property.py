"""On random layouts: limits are kept or named, surfaces fold at joints only, forms are straight."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.slab import heights_cases as c

from slabwright.findings import Level
from slabwright.ground.model import Surface, Wall
from slabwright.measure import System
from slabwright.slab.heights.plan import plan_heights
from slabwright.slab.model import HeightPlan, JointPlan

CLOSE = 1e-6


@st.composite
def grounds(draw) -> Surface:
    """Nine shots 12 m apart, each up to 0.3 m off a tilted plane."""
    tilt = draw(st.tuples(st.floats(-0.06, 0.06), st.floats(-0.06, 0.06)))
    rough = draw(st.lists(st.floats(-0.3, 0.3), min_size=9, max_size=9))
    xy = np.array([(x, y) for x in (-12.0, 3.0, 18.0) for y in (-12.0, 0.0, 12.0)])
    tris = [t for k in (0, 1, 3, 4) for t in ((k, k + 3, k + 4), (k, k + 4, k + 1))]
    hull = ((-12.0, -12.0), (18.0, -12.0), (18.0, 12.0), (-12.0, 12.0))
    return Surface(np.column_stack([xy, xy @ tilt + rough]), np.array(tris), hull, ())


@st.composite
def walks(draw):
    """A straight walk, turned anyhow, over rough ground, its ends fixed or not."""
    length, width = draw(st.floats(3, 15)), draw(st.floats(0.8, 1.8))
    turn = draw(st.floats(-math.pi, math.pi))
    o, j = c.ribbon(length, width, draw(st.integers(1, 9)), turn=turn)
    heights = draw(st.lists(st.floats(-0.4, 0.4), min_size=0, max_size=2))
    ends = {"P": (0.0, 0.0), "Q": (length * math.cos(turn), length * math.sin(turn))}
    fixes = tuple(c.Fix(at=k, above="bench", by=f"{h:.6f} m") for k, h in zip("PQ", heights, strict=False))
    fall = c.fall(toward=draw(st.sampled_from(["left", "right", None])), across_given=draw(st.booleans()))
    return c.spec(width=width, heights=fixes, fall=fall), o, j, ends, draw(grounds())


@st.composite
def brick_pads(draw):
    """A rectangle in courses whose joints do not line up: joints end on the sides of other panels."""
    width, depth = draw(st.floats(2, 9)), draw(st.floats(2, 6))
    courses = draw(st.integers(1, 3))
    rings = []
    for k in range(courses):
        low, high = k * depth / courses, (k + 1) * depth / courses
        cuts = sorted(draw(st.sets(st.integers(1, 7), max_size=3)))
        xs = [0.0, *(width * n / 8 for n in cuts), width]
        rings += [[(a, low), (b, low), (b, high), (a, high)] for a, b in pairwise(xs)]
    o, _ = c.pad(width, depth, 1, 1)
    plan = JointPlan((), tuple(c.panel(str(n + 1), r) for n, r in enumerate(rings)), 0, 0, True, ())
    return o, plan, draw(grounds())


def surface_rings(plan: HeightPlan):
    return [
        (f.panel, np.array([[plan.nodes[k].x, plan.nodes[k].y, plan.nodes[k].z] for k in f.nodes]))
        for f in plan.facets
    ]


def height_in(ring: np.ndarray, p: np.ndarray) -> float:
    """Height at p on a facet: its plane, or the ruled surface over its four corners."""
    if len(ring) == 4:
        a, b, cc, d = ring[:, :2]
        u = v = 0.5
        for _ in range(30):
            at = (1 - u) * (1 - v) * a + u * (1 - v) * b + u * v * cc + (1 - u) * v * d
            m = np.column_stack([(1 - v) * (b - a) + v * (cc - d), (1 - u) * (d - a) + u * (cc - b)])
            u, v = np.array([u, v]) + np.linalg.solve(m, p - at)
        return float(np.array([(1 - u) * (1 - v), u * (1 - v), u * v, (1 - u) * v]) @ ring[:, 2])
    coef, *_ = np.linalg.lstsq(np.column_stack([ring[:, :2], np.ones(len(ring))]), ring[:, 2], rcond=None)
    return float(coef @ [*p, 1.0])


def said_at_least(plan: HeightPlan) -> None:
    """An infeasible plan says so with a stop, names what conflicts, what is bent and a way."""
    codes = [f.code for f in plan.findings]
    assert "heights-conflict" in codes
    assert sum(code.startswith("conflict-") for code in codes) >= 2
    assert any(f.code.startswith("over-") and f.level is Level.STOP for f in plan.findings)
    assert any(code.startswith("way-") for code in codes)


def can_be_read(plan: HeightPlan) -> None:
    for f in plan.findings:
        for lang in ("en", "es"):
            for system in System:
                text = f.text(lang=lang, system=system)
                assert "{" not in text.what + text.why + text.do


@settings(max_examples=60, deadline=None)
@given(walks())
def test_walks_keep_every_limit_or_name_the_one_they_break(job):
    spec, o, j, points, surface = job
    plan = plan_heights([(spec, o, j)], points, {"bench": 0.0}, c.ground(surface=surface))[0]
    can_be_read(plan)
    ends = {k: v for k, v in points.items() if any(f.at == k for f in spec.heights)}
    if not plan.feasible:
        assert len(ends) == 2  # one fixed height alone can always be met
        said_at_least(plan)
        return
    f = spec.fall
    assert plan.across[1] <= f.across_most + CLOSE
    give = max(0.001, c.INCH / 8 / spec.width)  # a crew's own fall is written in whole marks
    assert plan.across[0] >= (f.across - give if f.across_given else f.across_least) - CLOSE
    assert max(abs(plan.along[0]), abs(plan.along[1])) <= f.along_most + CLOSE
    for fix in spec.heights:
        x, y = points[fix.at]
        two = sorted(plan.nodes, key=lambda n: math.hypot(n.x - x, n.y - y))[:2]
        assert (two[0].z + two[1].z) / 2 == np.float64(fix.by).round(9) or abs(
            (two[0].z + two[1].z) / 2 - fix.by
        ) < 1e-6


@settings(max_examples=50, deadline=None)
@given(brick_pads())
def test_no_fold_off_a_joint_and_no_gap_at_one(job):
    o, j, surface = job
    spec = c.spec(
        "patio", use="patio", fall=c.fall(across_least=0.0, across_most=0.08, along_most=0.08, across=0.02)
    )
    plan = plan_heights([(spec, o, j)], {}, {}, c.ground(surface=surface))[0]
    can_be_read(plan)
    assert plan.feasible  # nothing fixes it: some plane always will do
    rings = surface_rings(plan)
    assert len(rings) == len(j.panels)  # one facet a panel: nothing folds inside one
    for node in plan.nodes:  # every node lies on every panel that it touches: no gap, forms straight
        p = np.array([node.x, node.y])
        for _, ring in rings:
            low, high = ring[:, :2].min(axis=0), ring[:, :2].max(axis=0)
            if np.all(p >= low - 1e-9) and np.all(p <= high + 1e-9):
                assert abs(height_in(ring, p) - node.z) < 1e-7
    for ring in (r for _, r in rings):  # slopes at the corners of every panel
        for k in range(len(ring)):
            a, b, d = ring[k - 1], ring[k], ring[(k + 1) % len(ring)]
            g = np.linalg.solve(np.array([a[:2] - b[:2], d[:2] - b[:2]]), [a[2] - b[2], d[2] - b[2]])
            assert np.hypot(*g) <= 0.08 + CLOSE


@settings(max_examples=40, deadline=None)
@given(
    st.floats(3, 9), st.floats(2, 4), st.integers(1, 4), st.integers(1, 3), st.floats(-0.4, 0.1), grounds()
)
def test_a_patio_at_a_house_falls_away_or_says_why_not(width, depth, nx, ny, outer, surface):
    o, j = c.pad(
        width,
        depth,
        nx,
        ny,
        at=(0, -depth),
        kinds=(("free", None), ("free", None), ("wall", "A-B"), ("free", None)),
    )
    g = c.ground(walls=[Wall("A-B", (-1, 0), (width + 1, 0))], surface=surface)
    fixes = (c.Fix(at="W", above="bench"), c.Fix(at="O", above="bench", by=f"{outer:.6f} m"))
    points = {"W": (width / 2, 0.0), "O": (width / 2, -depth)}
    spec = c.spec(
        "patio", use="patio", fall=c.fall(toward=None, across=0.02, across_most=0.03), heights=fixes
    )
    plan = plan_heights([(spec, o, j)], points, {"bench": 0.0}, g)[0]
    can_be_read(plan)
    fits = -0.03 * depth <= outer <= -0.02 * depth
    if fits:  # the plane through both is one way
        assert plan.feasible
    if plan.feasible:
        assert plan.across[0] >= 0.02 - CLOSE
        assert not any(f.code.startswith("house-fall") for f in plan.findings)
    else:
        said_at_least(plan)


@settings(max_examples=25, deadline=None)
@given(walks())
def test_the_same_notes_give_the_same_heights(job):
    spec, o, j, points, surface = job
    g = c.ground(surface=surface)
    first, second = (plan_heights([(spec, o, j)], points, {"bench": 0.0}, g)[0] for _ in range(2))
    assert first == second
