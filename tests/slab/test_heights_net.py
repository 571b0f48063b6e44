"""Grade nodes: joint ends, crossings, T-joints, curved walks, round pads; and where a surface may fold."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.slab import heights_cases as c

from slabwright.slab.heights.fixed import locate
from slabwright.slab.heights.net import build_net, plane_weights, ruled_weights, weights_at
from slabwright.slab.model import Edge, Hole, JointPlan, Outline


def outline_of(ring, *, names=(), edges=None, axis=(), width=None, name="s") -> Outline:
    ring = tuple(ring)
    if edges is None:
        edges = tuple(
            Edge(p, q, "free", None, names=(n, None))
            for p, q, n in zip(ring, ring[1:] + ring[:1], names or (None,) * len(ring), strict=True)
        )
    return Outline(name, ring, edges, (), axis, width, c.area(ring), 0.0)


def plan_of(*rings) -> JointPlan:
    return JointPlan((), tuple(c.panel(str(k + 1), r) for k, r in enumerate(rings)), 0, 0, True, ())


BRICKS = (  # a long panel below two short ones: their joint ends on the long one's straight side
    [(0, 0), (4, 0), (4, 2), (0, 2)],
    [(0, 2), (1.5, 2), (1.5, 4), (0, 4)],
    [(1.5, 2), (4, 2), (4, 4), (1.5, 4)],
)


def test_nodes_of_a_grid_stand_at_corners_joint_ends_and_crossings():
    o, j = c.pad(4, 3, 2, 3)
    net = build_net(o, j)
    used = {k for p in net.pieces for k in p.ring}
    assert len(used) == 3 * 4
    assert len(net.walk) == 10
    assert all(p.ruled for p in net.pieces)
    assert net.ties == ()
    walked = net.xy[list(net.walk)]
    assert tuple(walked[0]) == (0.0, 0.0)
    assert c.area([tuple(p) for p in walked]) == pytest.approx(12.0)


def test_a_joint_that_ends_on_a_straight_side_is_tied_to_it():
    net = build_net(outline_of([(0, 0), (4, 0), (4, 4), (0, 4)]), plan_of(*BRICKS))
    assert len(net.ties) == 1
    ids, w = net.ties[0]
    assert net.xy[ids[0]].tolist() == [1.5, 2.0]
    assert np.array(w) @ net.xy[list(ids)] == pytest.approx([0, 0], abs=1e-12)
    assert sum(w) == pytest.approx(0.0)


def test_a_form_stays_straight_past_a_joint_that_ends_on_it():
    slab = c.spec("pad", use="pad", fall=c.fall(across_least=0, across_most=0.1, along_most=0.1))
    o = outline_of([(0, 0), (4, 0), (4, 4), (0, 4)], name="pad")
    hills = np.array([[-1, -1, 0.0], [5, -1, 0.1], [5, 5, -0.2], [-1, 5, 0.15], [1.5, 2.0, 0.4]])
    surface = c.plane_surface(0, 0, 0)
    surface = type(surface)(hills, np.array([[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]]), surface.hull, ())
    plan = c.plan_exactly([(slab, o, plan_of(*BRICKS))], {}, {}, c.ground(surface=surface))[0]
    z = {(n.x, n.y): n.z for n in plan.nodes}
    assert z[1.5, 2.0] == pytest.approx((2.5 * z[0, 2] + 1.5 * z[4, 2]) / 4, abs=1e-9)
    assert abs(z[0, 2] - z[4, 2]) > 1e-6


def test_a_panel_of_five_corners_is_a_plane():
    ring = [(0, 0), (4, 0), (4, 2), (2, 4), (0, 4)]
    hills = np.array([[-1, -1, 0.0], [6, -1, 0.1], [6, 6, -0.2], [-1, 6, 0.15], [2, 2, 0.3]])
    base = c.plane_surface(0, 0, 0)
    surface = type(base)(hills, np.array([[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]]), base.hull, ())
    job = [(c.spec("pad", use="pad"), outline_of(ring, name="pad"), plan_of(ring))]
    plan = c.plan_exactly(job, {}, {}, c.ground(surface=surface))[0]
    a = np.array([[n.x, n.y, 1.0] for n in plan.nodes])
    z = np.array([n.z for n in plan.nodes])
    _, rest, *_ = np.linalg.lstsq(a, z, rcond=None)
    assert float(rest[0]) < 1e-16
    assert plan.facets[0].nodes == tuple(range(5))


def arc(centre, radius, a, b, steps):
    return [
        (centre[0] + radius * math.cos(t), centre[1] + radius * math.sin(t))
        for t in np.linspace(a, b, steps + 1)
    ]


def curved_walk(steps: int = 12, panels: int = 3, inner: float = 3.0, outer: float = 4.0):
    """A quarter of a ring: the walk turns left round the origin; joints stand square to its line."""
    turns = np.linspace(0, math.pi / 2, panels + 1)
    rings = []
    for a, b in pairwise(turns):
        rings.append(arc((0, 0), outer, a, b, steps) + arc((0, 0), inner, b, a, steps))
    low, high = (
        arc((0, 0), outer, 0, math.pi / 2, steps * panels),
        arc((0, 0), inner, math.pi / 2, 0, steps * panels),
    )
    edges = (
        Edge(low[0], low[-1], "free", None, bulge=math.tan(math.pi / 8), centre=(0, 0), radius=outer),
        Edge(low[-1], high[0], "free", None),
        Edge(high[0], high[-1], "free", None, bulge=-math.tan(math.pi / 8), centre=(0, 0), radius=inner),
        Edge(high[-1], low[0], "free", None),
    )
    axis = tuple(arc((0, 0), (inner + outer) / 2, 0, math.pi / 2, 60))
    return outline_of(low + high, edges=edges, axis=axis, width=outer - inner, name="walk"), plan_of(*rings)


def test_a_curved_walk_is_ruled_square_to_its_line():
    o, j = curved_walk()
    net = build_net(o, j)
    assert len(net.pieces) == 3
    for piece in net.pieces:
        assert piece.ruled
        assert piece.curved >= 0
        assert len(piece.masters) == 4
        radii = sorted(round(math.hypot(*net.xy[k]), 6) for k in piece.masters)
        assert radii == [3.0, 3.0, 4.0, 4.0]


def test_forms_of_a_curved_walk_climb_evenly_along_their_arc():
    o, j = curved_walk()
    spec = c.spec(heights=(c.Fix(at="P", above="bench"),), fall=c.fall(toward="right", along_most=0.08))
    g = c.ground(surface=c.plane_surface(0.03, 0.0, 0.0))
    plan = c.plan_exactly([(spec, o, j)], {"P": (4.0, 0.0)}, {"bench": 0.1}, g)[0]
    assert plan.feasible
    for radius in (3.0, 4.0):
        on = sorted(
            (math.atan2(n.y, n.x), n.z)
            for n in plan.nodes
            if math.hypot(n.x, n.y) == pytest.approx(radius, abs=1e-6)
        )
        assert len(on) == 37
        steps = np.diff([z for _, z in on]).reshape(3, 12)
        assert steps == pytest.approx(np.repeat(steps[:, :1], 12, axis=1), abs=1e-9)
    quads = [f for f in plan.facets if f.panel == "1"]
    assert len(quads) == 12
    assert all(len(f.nodes) == 4 for f in quads)


def test_facets_of_a_curved_walk_cover_it():
    o, j = curved_walk(steps=9)
    plan = c.plan_exactly([(c.spec(), o, j)], {}, {}, c.ground(surface=c.plane_surface(0.01, 0, 0)))[0]
    total = sum(c.area([(plan.nodes[k].x, plan.nodes[k].y) for k in f.nodes]) for f in plan.facets)
    assert total == pytest.approx(sum(p.area for p in j.panels), rel=1e-12)


def test_a_round_pad_without_joints_is_one_plane():
    ring = arc((0, 0), 1.5, 0, 2 * math.pi, 48)[:-1]
    half = [ring[0], ring[24]]
    edges = tuple(
        Edge(half[k], half[1 - k], "free", None, bulge=1.0, centre=(0.0, 0.0), radius=1.5) for k in (0, 1)
    )
    o = outline_of(ring, edges=edges, name="pad")
    spec = c.spec("pad", use="pad", fall=c.fall(across=0.015, toward="right"))
    plan = c.plan_exactly([(spec, o, plan_of(ring))], {}, {}, c.ground(surface=c.plane_surface(0, 0, 0)))[0]
    assert plan.feasible
    assert plan.total == pytest.approx((0.015, 0.015), abs=1e-9)
    centre = np.mean([n.z for n in plan.nodes])
    for n in plan.nodes:
        assert n.z == pytest.approx(centre - 0.015 * n.x, abs=1e-9)


def test_named_points_keep_their_names_and_others_are_numbered_in_walking_order():
    o = outline_of([(0, 0), (4, 0), (4, 3), (0, 3)], names=("P1", None, "P3", None), name="pad")
    _, j = c.pad(4, 3, 2, 1)
    plan = c.plan_exactly(
        [(c.spec("pad", use="pad"), o, j)], {}, {}, c.ground(surface=c.plane_surface(0, 0, 0))
    )[0]
    assert [n.label for n in plan.nodes] == ["P1", "1", "2", "P3", "3", "4"]
    assert [(n.x, n.y) for n in plan.nodes][:3] == [(0, 0), (2, 0), (4, 0)]


def test_corners_a_hair_apart_are_one():
    o, j = c.pad(4, 3, 2, 1)
    off = [c.panel(p.name, [(x + 2e-4 * (p.name == "2"), y) for x, y in p.ring]) for p in j.panels]
    net = build_net(o, JointPlan((), tuple(off), 0, 0, True, ()))
    assert len({k for p in net.pieces for k in p.ring}) == 6


def test_a_panel_of_no_size_is_left_out_and_a_slab_of_none_is_refused():
    o, j = c.pad(4, 3, 1, 1)
    sliver = c.panel("2", [(0, 0), (4, 0), (2, 0)])
    assert len(build_net(o, JointPlan((), (*j.panels, sliver), 0, 0, True, ())).pieces) == 1
    with pytest.raises(ValueError, match="'patio' has no panel"):
        build_net(o, JointPlan((), (sliver,), 0, 0, True, ()))


POINT = st.tuples(st.floats(-5, 5), st.floats(-5, 5))


@settings(max_examples=60, deadline=None)
@given(st.floats(0.3, 3), st.floats(0.3, 3), st.floats(-0.4, 0.4), st.floats(0, 1), st.floats(0, 1), POINT)
def test_weights_give_back_any_plane_and_straight_sides(w, h, lean, u, v, at):
    xy = np.array([(0, 0), (w, 0), (w + lean, h), (lean / 2, h * 1.1)]) + at
    p = (1 - u) * (1 - v) * xy[0] + u * (1 - v) * xy[1] + u * v * xy[2] + (1 - u) * v * xy[3]
    ids, weights = ruled_weights(xy, (0, 1, 2, 3), *p)
    z = 0.3 * xy[:, 0] - 0.7 * xy[:, 1] + 2
    assert sum(weights) == pytest.approx(1)
    assert np.array(weights) @ z[list(ids)] == pytest.approx(0.3 * p[0] - 0.7 * p[1] + 2, abs=1e-9)
    assert weights == pytest.approx(((1 - u) * (1 - v), u * (1 - v), u * v, (1 - u) * v), abs=1e-6)
    ids, weights = plane_weights(xy, (0, 1, 2), *p)
    assert np.array(weights) @ z[list(ids)] == pytest.approx(0.3 * p[0] - 0.7 * p[1] + 2, abs=1e-9)


@pytest.mark.parametrize(
    ("p", "inside"),
    [((1.0, 1.0), True), ((0.0, 0.0), True), ((2.0, 1.5), True), ((4.02, 1), True), ((4.1, 1), False)],
)
def test_a_place_is_found_on_the_slab_or_within_an_inch_of_it(p, inside):
    net = build_net(*c.pad(4, 3, 2, 1))
    found = locate(net, p)
    assert (found is not None) == inside
    if found:
        ids, w = found
        near = np.array(w) @ net.xy[list(ids)]
        assert math.dist(near, p) < 0.0254


def test_weights_inside_a_piece_are_those_of_its_kind():
    net = build_net(outline_of([(0, 0), (4, 0), (4, 4), (0, 4)]), plan_of(*BRICKS))
    z = 0.1 * net.xy[:, 0] + 0.2 * net.xy[:, 1]
    for piece in net.pieces:
        ids, w = weights_at(net, piece, *piece.centroid)
        assert np.array(w) @ z[list(ids)] == pytest.approx(0.1 * piece.centroid[0] + 0.2 * piece.centroid[1])


def test_an_arc_is_graded_every_three_feet_and_the_rest_of_it_only_bends():
    o, j = curved_walk()
    plan = c.plan_exactly([(c.spec(), o, j)], {}, {}, c.ground(surface=c.plane_surface(0.01, 0, 0)))[0]
    assert {n.label == "" for n in plan.nodes if n.shape_only} == {True}
    labels = [n.label for n in plan.nodes if not n.shape_only]
    assert sorted(map(int, labels)) == list(range(1, len(labels) + 1))
    outer = sorted(
        math.atan2(n.y, n.x)
        for n in plan.nodes
        if not n.shape_only and math.hypot(n.x, n.y) == pytest.approx(4.0, abs=1e-6)
    )
    gaps = np.diff(outer) * 4.0
    assert len(gaps) == 9  # three panels of 2.09 m, each in three
    assert gaps.max() <= 3 * c.FT + 1e-9


def test_the_rim_of_a_round_opening_only_bends():
    rim = arc((2.0, 1.5), 0.2, 0, 2 * math.pi, 24)[:-1]
    ring = [(0, 0), (4, 0), (4, 3), (0, 3)]
    hole = Hole("post", "post", tuple(reversed(rim)), 0.2)
    o = outline_of(ring, name="pad")
    o = Outline(o.name, o.ring, o.edges, (hole,), (), None, 12 - c.area(rim), 0.0)
    # two panels on either side of a joint through the post
    left = [
        (0, 0),
        (2, 0),
        *arc((2.0, 1.5), 0.2, -math.pi / 2, -3 * math.pi / 2, 12),
        (2, 3),
        (0, 3),
    ]
    right = [(2, 0), (4, 0), (4, 3), (2, 3), *arc((2.0, 1.5), 0.2, math.pi / 2, -math.pi / 2, 12)]
    plan = c.plan_exactly(
        [(c.spec("pad", use="pad"), o, plan_of(left, right))],
        {},
        {},
        c.ground(surface=c.plane_surface(0.02, 0, 0)),
    )[0]
    assert plan.feasible
    for n in plan.nodes:
        on_rim = math.hypot(n.x - 2, n.y - 1.5) < 0.21
        at_joint = on_rim and abs(n.x - 2) < 1e-9
        assert n.shape_only == (on_rim and not at_joint)
