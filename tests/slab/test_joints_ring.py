"""Joints of slabs of any shape: the zoo, made-up outlines, openings, neighbours, and every other choice."""

from __future__ import annotations

import math
from itertools import chain, combinations

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon
from tests.slab import shape_cases as c
from tests.slab.shape_cases import FT, Opening, Vertex

from slabwright.slab.joints import plan_joints
from slabwright.slab.joints.body import Body
from slabwright.slab.joints.lines import Lines, asked_lines, frame_of
from slabwright.slab.joints.ring import Task
from slabwright.slab.joints.sweep import Sweep, divide
from slabwright.slab.outline import outline

SPACING, SHAPE = 0.003, 0.005  # what a form board and a tape can hold: 1/8 in, and so for the ratio


def planned(spec, points, ground=None, neighbours=()):
    ground = ground or c.ground()
    o, _ = outline(spec, points, ground)
    return o, plan_joints(o, spec, ground, neighbours)


def inner(plan):
    return [j for j in plan.joints if j.kind == "contraction"]


def codes(plan):
    return [f.code for f in plan.findings]


def sound(o, plan, spec):
    """What every plan must hold, whatever the shape."""
    body = Polygon(o.ring, [h.ring for h in o.holes])
    panels = [Polygon(p.ring) for p in plan.panels]
    for p, polygon in zip(plan.panels, panels, strict=True):
        assert polygon.is_valid
        assert c.polygon_area(p.ring) > 0
        assert p.area == pytest.approx(polygon.area)
        assert p.long >= p.short > 0
    # panels tile the flattened slab: they leave nothing over and do not overlap
    assert sum(p.area for p in plan.panels) == pytest.approx(body.area, abs=1e-6)
    for a, b in combinations(panels, 2):
        assert a.intersection(b).area < 1e-7
    assert [p.name for p in plan.panels] == [str(k + 1) for k in range(len(plan.panels))]
    for j in inner(plan):
        line = LineString(j.line)
        assert body.buffer(0.002).covers(line)
        # no end is left dead: it stands on the edge of the slab or on another joint
        for xy in (j.line[0], j.line[-1]):
            others = [LineString(k.line) for k in inner(plan) if k is not j]
            assert (
                min(body.boundary.distance(Point(xy)), *(k.distance(Point(xy)) for k in others), 1.0) < 0.002
            )
    for corner in Body(o).inside_corners:
        met = any(math.dist(xy, corner.at) < 0.005 for j in inner(plan) for xy in (j.line[0], j.line[-1]))
        assert met or "corner-unmet" in codes(plan)
    assert plan.bound <= plan.cost + 1e-6
    said = {"panel-too-long", "panel-too-thin", "joints-not-proved"} & set(codes(plan))
    if plan.proved:
        assert plan.cost == pytest.approx(plan.bound, abs=1e-5)
        for p in plan.panels:
            assert p.long <= spec.joints.most + SPACING + 1e-9
            assert p.long <= (spec.joints.aspect_most + SHAPE) * p.short + 1e-9
        assert not said
    else:
        assert {"panel-too-long", "panel-too-thin", "joints-not-proved", "joints-rules-clash"} & set(
            codes(plan)
        )


@pytest.mark.parametrize("name", c.RINGS)
def test_the_zoo(name):
    names, points = c.ring(c.RINGS[name])
    spec = c.spec(names)
    o, plan = planned(spec, points)
    sound(o, plan, spec)
    if name not in ("trapezoid",):  # slanted on two sides: its last panel stays a little long
        assert plan.proved
    assert "corner-unmet" not in codes(plan)


@pytest.mark.parametrize("name", ["square", "L", "U", "jog", "bay"])
def test_a_plan_does_not_depend_on_where_the_slab_lies(name):
    names, points = c.ring(c.RINGS[name])
    _, here = planned(c.spec(names), points)
    _, there = planned(c.spec(names), c.turned(points, 0.7, 3000.0, -800.0))
    assert there.cost == pytest.approx(here.cost, abs=1e-5)
    assert sorted(p.area for p in there.panels) == pytest.approx(
        sorted(p.area for p in here.panels), abs=0.02
    )


def test_the_same_slab_gives_the_same_plan():
    names, points = c.ring(c.RINGS["U"])
    assert planned(c.spec(names), points) == planned(c.spec(names), points)


# --- against every other choice -------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@example(u=3.0, v=15.25)  # five panels of 3.05 m are within 1/8 in of ten feet
@given(u=st.floats(1.0, 16.0), v=st.floats(1.0, 16.0))
def test_a_rectangle_against_every_grid(u, v):
    """Of all m by n grids that keep spacing and shape, the plan weighs what the lightest does."""
    names, points = c.ring([(0, 0), (u, 0), (u, v), (0, v)], unit=1.0)
    spec = c.spec(names)
    o, plan = planned(spec, points)
    sound(o, plan, spec)
    most, thin = spec.joints.most, spec.joints.aspect_most
    fits = [
        (m - 1) * (v + 1.0) + (n - 1) * (u + 1.0)
        for m in range(1, 40)
        for n in range(1, 40)
        if max(u / m, v / n) <= most + SPACING and max(u / m, v / n) <= (thin + SHAPE) * min(u / m, v / n)
    ]
    assert plan.proved
    assert plan.cost == pytest.approx(min(fits), abs=1e-5)


SMALL = {
    "square": [(0, 0), (18, 0), (18, 18), (0, 18)],
    "L": [(0, 0), (16, 0), (16, 8), (8, 8), (8, 16), (0, 16)],
    "jog": [(0, 0), (20, 0), (20, 9), (11, 9), (11, 7), (0, 7)],
    "T": [(0, 0), (24, 0), (24, 8), (16, 8), (16, 15), (8, 15), (8, 8), (0, 8)],
}


@pytest.mark.parametrize("name", SMALL)
def test_small_plans_against_full_enumeration(name):
    """Every set of the lines offered, lightest first: the first that keeps all rules weighs as the plan."""
    names, points = c.ring(SMALL[name])
    spec = c.spec(names)
    o, plan = planned(spec, points)
    body = Body(o)
    frame = frame_of(o)
    lines = Lines(body, frame)
    must, _ = asked_lines(lines, [((d.p, d.q), d.name) for d in c.ground().doors], [])
    task = Task(body, lines, Sweep(body, frame), spec.joints.most, spec.joints.aspect_most)
    divide(lines, task.sweep, task.most, task.thin)
    offered = list(lines.found)
    assert 2 <= len(offered) <= 30

    def keeps(numbers):
        if not all(set(numbers) & set(group) for group in must):
            return False
        picked = [offered[k] for k in numbers]
        for pieces in (task.cut(picked), task.even_cut(picked)[1]):
            if all(
                p.long <= task.most + SPACING and p.long <= (task.thin + SHAPE) * p.short and p.short > 0.3
                for p in pieces
            ):
                return True
        return False

    fewest = chain.from_iterable(combinations(range(len(offered)), n) for n in range(6))
    ordered = sorted(fewest, key=lambda numbers: sum(offered[k].cost for k in numbers))
    best = next(sum(offered[k].cost for k in numbers) for numbers in ordered if keeps(numbers))
    assert plan.proved
    assert plan.cost == pytest.approx(best, abs=1e-6)


# --- made-up outlines -----------------------------------------------------------------------------


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    steps=st.lists(st.tuples(st.integers(4, 14), st.integers(2, 9)), min_size=1, max_size=4),
    angle=st.sampled_from([0.0, 0.5]),
)
def test_any_stepped_patio(steps, angle):
    """Stairs of whole feet: square corners, some turning in."""
    x = sum(w for w, _ in steps)
    y = 5
    top = [(x, y)]
    for w, rise in steps[::-1]:
        x -= w
        top += [(x, y)]
        if x > 0:
            y += rise
            top += [(x, y)]
    names, points = c.ring([(0, 0), (top[0][0], 0), *top])
    spec = c.spec(names)
    o, plan = planned(spec, c.turned(points, angle))
    sound(o, plan, spec)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    radii=st.lists(st.floats(2.0, 4.5), min_size=3, max_size=7),
    squash=st.floats(0.6, 1.0),
)
def test_any_round_about_patio(radii, squash):
    n = len(radii)
    ring = [
        (r * math.cos(2 * math.pi * k / n), squash * r * math.sin(2 * math.pi * k / n))
        for k, r in enumerate(radii)
    ]
    names, points = c.ring(ring, unit=1.0)
    spec = c.spec(names)
    o, plan = planned(spec, points)
    sound(o, plan, spec)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    u=st.floats(4.0, 9.0),
    v=st.floats(3.0, 7.0),
    posts=st.lists(st.tuples(st.floats(0.15, 0.85), st.floats(0.15, 0.85)), min_size=1, max_size=2),
    across=st.floats(0.1, 0.8),
)
def test_any_patio_with_posts(u, v, posts, across):
    names, points = c.ring([(0, 0), (u, 0), (u, v), (0, v)], unit=1.0)
    holes = []
    for k, (a, b) in enumerate(posts):
        points[f"T{k}"] = (a * u, b * v)
        if all(math.dist(points[f"T{k}"], points[f"T{j}"]) > across + 0.3 for j in range(k)):
            holes.append(Opening(name=f"post {k}", kind="post", at=f"T{k}", across=f"{across:.3f} m"))
    spec = c.spec(names, openings=tuple(holes))
    o, plan = planned(spec, points)
    sound(o, plan, spec)


# --- curves, openings, neighbours -----------------------------------------------------------------


def test_a_round_patio_has_square_enough_corners():
    points = c.feet({"A": (-13, 0), "B": (13, 0), "M": (0, 13), "N": (0, -13)})
    spec = c.spec(("A", Vertex(point="B", arc_through="N"), Vertex(point="A", arc_through="M")))
    o, plan = planned(spec, points)
    sound(o, plan, spec)
    assert o.area == pytest.approx(math.pi * (13 * FT) ** 2)
    assert plan.proved
    assert codes(plan) == []


def test_a_kidney_patio_is_planned_and_what_it_breaks_is_said():
    points = c.feet(
        {"A": (0, 0), "B": (14, 2), "C": (26, 0), "D": (13, 16), "m1": (7, 3), "m2": (20, -2), "m3": (24, 12),
         "m4": (1, 9)}
    )  # fmt: skip
    arcs = [("B", "m1"), ("C", "m2"), ("D", "m3"), ("A", "m4")]
    spec = c.spec(["A", *(Vertex(point=p, arc_through=m) for p, m in arcs)])
    o, plan = planned(spec, points)
    sound(o, plan, spec)
    assert "corner-unmet" not in codes(plan)


def test_a_post_and_a_box_are_met_by_joints():
    names, points = c.ring([(0, 0), (28, 0), (28, 18), (0, 18)])
    points |= c.feet({"T": (9, 9), "a": (18, 8), "b": (20, 8), "d": (20, 10), "e": (18, 10)})
    holes = (
        Opening(name="post", kind="post", at="T", across="6 in"),
        Opening(name="drain", kind="box", corners=("a", "b", "d", "e")),
    )
    spec = c.spec(names, openings=holes)
    o, plan = planned(spec, points)
    sound(o, plan, spec)
    assert "corner-unmet" not in codes(plan)
    post = o.holes[0]
    ends = [xy for j in inner(plan) for xy in (j.line[0], j.line[-1])]
    assert sum(abs(math.dist(xy, points["T"]) - post.radius) < 0.002 for xy in ends) >= 2
    assert {j.against for j in plan.joints if j.kind == "isolation"} == {"post", "drain"}


def test_a_tree_ring_is_open_ground_without_filler():
    names, points = c.ring([(0, 0), (28, 0), (28, 18), (0, 18)])
    points |= c.feet({"T": (10, 9)})
    spec = c.spec(names, openings=(Opening(name="elm", kind="tree", at="T", across="4 ft"),))
    _, plan = planned(spec, points)
    assert not [j for j in plan.joints if j.kind == "isolation"]
    assert any(j.why == "opening" for j in plan.joints)


def test_walls_and_old_slabs_get_filler_and_panels_start_at_the_wall():
    names, points = c.ring([(0, 0), (24, 0), (24, 16), (0, 16)])
    old = c.existing(
        "walk", ring=[(24 * FT, 2 * FT), (30 * FT, 2 * FT), (30 * FT, 6 * FT), (24 * FT, 6 * FT)]
    )
    there = c.ground(walls=[c.wall("A-B", (-1.0, 16 * FT), (40 * FT, 16 * FT))], existing=[old])
    spec = c.spec(names)
    o, plan = planned(spec, points, there)
    sound(o, plan, spec)
    filler = {(j.why, j.against): j for j in plan.joints if j.kind == "isolation"}
    assert set(filler) == {("wall", "A-B"), ("meets", "walk")}
    wall = filler["wall", "A-B"].line
    assert math.dist(wall[0], wall[-1]) == pytest.approx(24 * FT)
    side = filler["meets", "walk"].line
    assert math.dist(side[0], side[-1]) == pytest.approx(4 * FT)
    first = Polygon(plan.panels[0].ring)
    assert first.distance(LineString(wall)) < 0.01


def test_a_joint_next_door_is_carried_on_when_it_serves():
    names, points = c.ring([(0, 0), (24, 0), (24, 16), (0, 16)])
    at = 9 * FT
    old = c.existing(
        "drive", ring=[(24 * FT, 0.0), (40 * FT, 0.0), (40 * FT, 16 * FT), (24 * FT, 16 * FT)],
        joints=[((40 * FT, at), (24 * FT, at))],
    )  # fmt: skip
    spec = c.spec(names)
    o, plan = planned(spec, points, c.ground(existing=[old]))
    sound(o, plan, spec)
    on = [j for j in inner(plan) if j.why == "line-up"]
    assert [j.against for j in on] == ["drive"]
    assert {round(y, 6) for _, y in on[0].line} == {round(at, 6)}


def test_a_joint_next_door_that_would_cost_too_much_is_left_with_a_note():
    names, points = c.ring([(0, 0), (40, 0), (40, 16), (0, 16)])
    at = 1.2 * FT
    old = c.existing(
        "drive", ring=[(40 * FT, 0.0), (50 * FT, 0.0), (50 * FT, 16 * FT), (40 * FT, 16 * FT)],
        joints=[((50 * FT, at), (40 * FT, at))],
    )  # fmt: skip
    _, plan = planned(c.spec(names), points, c.ground(existing=[old]))
    assert codes(plan) == ["joint-not-carried-on"]
    assert plan.findings[0].values["of"] == "drive"
    assert plan.proved
    assert plan.cost == pytest.approx(plan.bound, abs=1e-6)


def test_joints_of_the_new_slab_beside_are_carried_on():
    from slabwright.slab.outline import meet_slabs

    one, p1 = c.ring([(0, 0), (14, 0), (14, 16), (0, 16)])
    two, p2 = c.ring([(14, 0), (34, 0), (34, 18), (14, 18)])
    s1, s2 = c.spec(one, name="one"), c.spec(two, name="two")
    o1, o2 = meet_slabs([outline(s1, p1, c.ground())[0], outline(s2, p2, c.ground())[0]])
    first = plan_joints(o1, s1, c.ground())
    second = plan_joints(o2, s2, c.ground(), [first])
    edge = 14 * FT
    ends = {round(y, 6) for j in inner(first) for x, y in j.line if abs(x - edge) < 1e-6}
    starts = {round(y, 6) for j in inner(second) for x, y in j.line if abs(x - edge) < 1e-6}
    assert ends
    assert ends <= starts
    assert [(j.made, j.doweled) for j in second.joints if j.kind == "construction"] == [("formed", True)]
    ties = next(f for f in second.findings if f.code == "joint-ties")
    assert (ties.values["of"], ties.values["count"]) == ("one", 8)


def test_a_door_jamb_takes_a_joint_where_it_costs_nothing():
    names, points = c.ring([(0, 0), (18, 0), (18, 9), (0, 9)])
    jamb = 9.6 * FT
    there = c.ground(
        walls=[c.wall("A-B", (-1.0, 9 * FT), (30 * FT, 9 * FT))],
        doors=[c.door("back door", (jamb - 3 * FT, 9 * FT), (jamb, 9 * FT))],
    )
    _, plan = planned(c.spec(names), points, there)
    on = [j for j in inner(plan) if j.why == "line-up"]
    assert [j.against for j in on] == ["back door"]
    assert {round(x, 6) for x, _ in on[0].line} == {round(jamb, 6)}


def test_the_crews_rule_holds_both_ways():
    names, points = c.ring([(0, 0), (24, 0), (24, 18), (0, 18)])
    _, plan = planned(c.spec(names, joints=c.joints(every=6 * FT)), points)
    assert len(plan.panels) == 12
    assert {j.why for j in inner(plan)} == {"crew-rule"}
    for p in plan.panels:
        assert p.long == pytest.approx(6 * FT)
    assert plan.findings == ()
    _, plan = planned(c.spec(names, joints=c.joints(every=12 * FT)), points)
    assert "crew-spacing-long" in codes(plan)


def test_every_finding_can_be_read_in_both_languages():
    names, points = c.ring(c.RINGS["triangle"])
    _, plan = planned(c.spec(names, joints=c.joints(most=14 * FT, depth=0.01)), points)
    assert {"spacing-over-table", "joint-shallow", "panel-sharp"} <= set(codes(plan))
    for f in plan.findings:
        for lang in ("en", "es"):
            text = f.text(lang=lang)
            assert "{" not in text.what + text.why + text.do
            assert text.source
