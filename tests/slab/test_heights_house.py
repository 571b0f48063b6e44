"""The fall away from a wall holds in all of a panel that lies in front of it, not only at its corners."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.slab import heights_cases as c

from slabwright.ground.model import Wall
from slabwright.slab.heights.house import house_falls
from slabwright.slab.heights.net import build_net
from slabwright.slab.heights.plan import problems_of
from slabwright.slab.heights.probes import probes
from slabwright.slab.heights.solver import solve
from slabwright.solving import Status

REACH = 120 * c.INCH


def asked_of(outline, plan, *walls):
    net = build_net(outline, plan)
    return net, house_falls(net, probes(net), walls)


def test_a_wall_shorter_than_the_panel_asks_though_no_corner_is_in_front_of_it():
    o, j = c.pad(6, 2, 1, 1, at=(0, -2))
    net, asked = asked_of(o, j, Wall("bay", (2, 0), (4, 0)))
    assert len(asked.number) == 4
    fall = c.fall(across=0.01, across_least=0.0, across_most=0.05, along_most=0.05, toward=None)
    g = c.ground(walls=[Wall("bay", (2, 0), (4, 0))], surface=c.plane_surface(0, 0.01, 0))
    plan = c.plan_exactly([(c.spec("patio", use="patio", fall=fall), o, j)], {}, {}, g)[0]
    z = {(n.x, n.y): n.z for n in plan.nodes}
    # half-way along both sides of the panel: in front of the wall
    back, front = (z[0, 0] + z[6, 0]) / 2, (z[0, -2] + z[6, -2]) / 2
    assert back - front >= 0.02 * 2 - 1e-9
    assert asked.falls(np.array([plan.nodes[0].z] * len(net.xy))) == pytest.approx([0.0] * 4)


@pytest.mark.parametrize(
    ("near", "count"), [(REACH - 1, 4), (REACH - 0.001, 0), (REACH + 0.5, 0), (0, 4), (-2.5, 0), (-1, 4)]
)  # fmt: skip
def test_what_is_within_ten_feet_is_asked_and_what_is_beyond_or_behind_is_not(near, count):
    o, j = c.pad(2, 2, 1, 1, at=(0, -near - 2))
    _, asked = asked_of(o, j, Wall("A-B", (-1, 0), (5, 0)))
    assert len(asked.number) == count


def test_each_wall_has_its_own_way():
    o, j = c.pad(2, 2, 1, 1, at=(0.0, -2.0))
    walls = Wall("south", (-1, 0), (5, 0)), Wall("west", (0, -5), (0, 0))
    net, asked = asked_of(o, j, *walls)
    z = 0.02 * net.xy[:, 1] - 0.03 * net.xy[:, 0]
    by_wall = {asked.walls[w]: f for w, f in zip(asked.number, asked.falls(z), strict=True)}
    assert by_wall == pytest.approx({"south": 0.02, "west": 0.03})


@settings(max_examples=60, deadline=None)
@given(
    st.tuples(st.floats(-2, 2), st.floats(-2, 2)), st.floats(1, 5), st.floats(1, 5),
    st.lists(st.floats(-0.2, 0.2), min_size=4, max_size=4), st.floats(0.5, 4), st.floats(-0.6, 0.6),
)  # fmt: skip
def test_the_least_fall_in_front_of_a_wall_is_at_one_of_the_places(at, width, depth, heights, long, turn):
    """Against the gradient at many points of a warped panel before a wall that stands anyhow."""
    o, j = c.pad(width, depth, 1, 1, at=(at[0], at[1] - depth))
    e = np.array([np.cos(turn), np.sin(turn)])
    wall = Wall("w", (0.0, 0.0), (float(long * e[0]), float(long * e[1])))
    net, asked = asked_of(o, j, wall)
    z = np.array(heights)
    order = [int(np.argmin(np.hypot(*(net.xy - p).T))) for p in o.ring]
    za, zb, zc, zd = z[order]
    u, v = np.meshgrid(np.linspace(0, 1, 41), np.linspace(0, 1, 41))
    gx = ((1 - v) * (zb - za) + v * (zc - zd)) / width
    gy = ((1 - u) * (zd - za) + u * (zc - zb)) / depth
    x, y = at[0] + u * width, at[1] - depth + v * depth
    n = np.array([e[1], -e[0]])
    out, along = x * n[0] + y * n[1], x * e[0] + y * e[1]
    within = (out >= 0.01) & (out <= REACH - 0.01) & (along >= 0.01) & (along <= long - 0.01)
    if not within.any():
        return
    least = (-(gx * n[0] + gy * n[1]))[within].min()
    assert len(asked.number) >= 3
    assert asked.falls(z).min() <= least + 1e-9


def test_no_fall_asked_from_a_wall_that_stands_askew():
    """With nothing asked the rows of a wall have no ends; earthwork and its prices stay plain numbers."""
    o, j = c.pad(3, 3, 2, 2)
    fix = (c.Fix(at="P", above="bench"),)
    fall = c.fall(from_house=0.0, toward=None)
    spec = c.spec("patio", use="patio", fall=fall, heights=fix)
    g = c.ground(walls=[Wall("A-B", (5, 4), (-1, 2.6))], surface=c.plane_surface(0.01, 0.02, -0.1))
    (problem,), _ = problems_of([(spec, o, j)], {"P": (0.0, 0.0)}, {"bench": 0.0}, g)
    assert np.isinf(
        problem.program.lo[problem.program.limits] - problem.program.hi[problem.program.limits]
    ).any()
    solved = solve(problem.program)
    assert solved.status is Status.OPTIMAL
    assert np.isfinite(solved.earth_dual).all()
    (plan,) = c.plan_heights([(spec, o, j)], {"P": (0.0, 0.0)}, {"bench": 0.0}, g)
    assert plan.feasible
