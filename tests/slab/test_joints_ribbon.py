"""Joints of ribbons: spacing, shape, bends, the crew's own rule, and the plan against all others."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.slab import shape_cases as c
from tests.slab.shape_cases import FT, INCH, Meets, Opening, Vertex

from slabwright.slab.joints import plan_joints
from slabwright.slab.joints.body import Body
from slabwright.slab.joints.ribbon import TOO_SHORT, _penalty, best_joints
from slabwright.slab.joints.stops import allowed_spans, asked_for, even_divisions
from slabwright.slab.joints.track import Track
from slabwright.slab.outline import outline

POINTS = c.feet({"A": (0, 0), "B": (36, 0), "C": (36, 20), "D": (50, 34), "E": (60, 0), "F": (36, 30)})


def planned(spec, points=POINTS, ground=None, neighbours=()):
    ground = ground or c.ground()
    o, _ = outline(spec, points, ground)
    return o, plan_joints(o, spec, ground, neighbours)


def inner(plan):
    return [j for j in plan.joints if j.kind == "contraction"]


def codes(plan):
    return [f.code for f in plan.findings]


def whole(o, plan):
    """Panels tile the slab, within what flattening leaves out along arcs and round openings."""
    slack = 0.001 * (o.perimeter + sum(2 * math.pi * (h.radius or 0.0) for h in o.holes))
    assert sum(p.area for p in plan.panels) == pytest.approx(o.area, abs=slack + 1e-9)
    assert [p.name for p in plan.panels] == [str(k + 1) for k in range(len(plan.panels))]


def test_a_walk_takes_the_fewest_even_panels_of_the_published_shape():
    o, plan = planned(c.spec(along="AB", width=3 * FT))
    assert len(plan.panels) == 8  # 36 ft in parts of at most 4 1/2 ft
    for p in plan.panels:
        assert p.long == pytest.approx(4.5 * FT)
        assert p.short == pytest.approx(3 * FT)
    assert plan.proved
    assert plan.cost == plan.bound
    assert plan.findings == ()
    assert {j.why for j in inner(plan)} == {"aspect"}
    whole(o, plan)


def test_the_crews_rule_is_kept_and_its_shape_pointed_out():
    """Joints every 6 ft on a 3 ft walk: panels of 2 to 1, beyond the published 1.5."""
    o, plan = planned(c.spec(along="AB", width=3 * FT, joints=c.joints(every=6 * FT)))
    assert [p.long for p in plan.panels] == pytest.approx([6 * FT] * 6)
    assert {j.why for j in inner(plan)} == {"crew-rule"}
    assert codes(plan) == ["crew-spacing-thin"]
    finding = plan.findings[0]
    assert finding.values["ratio"].si == pytest.approx(2.0)
    assert finding.values["most"].si == 1.5
    words = finding.text()
    assert "6'-0\"" in words.what
    assert "3'-0\"" in words.what
    assert finding.level == "caution"
    whole(o, plan)


def test_the_crews_rule_beyond_the_published_spacing_is_pointed_out():
    _, plan = planned(c.spec(along="AB", width=12 * FT, joints=c.joints(every=12 * FT)))
    assert "crew-spacing-long" in codes(plan)
    _, plan = planned(c.spec(along="AB", width=8 * FT, joints=c.joints(every=9 * FT)))
    assert codes(plan) == []


def test_joints_are_square_to_the_line():
    for along in ("AB", ("A", Vertex(point="B", round="6 ft"), "C", "D")):
        o, plan = planned(c.spec(along=along, width=4 * FT))
        track = Track(o, "centre", Body(o))
        for j in inner(plan):
            if j.why == "bend":
                continue
            mid = ((j.line[0][0] + j.line[1][0]) / 2, (j.line[0][1] + j.line[1][1]) / 2)
            leg, t, off = track.nearest(mid)
            (ax, ay), (bx, by) = track.section(leg, t)
            dx, dy = j.line[1][0] - j.line[0][0], j.line[1][1] - j.line[0][1]
            assert off < 0.001
            assert abs(dx * (by - ay) - dy * (bx - ax)) < 0.01 * (4 * FT) ** 2


@pytest.mark.parametrize(("end", "mitres"), [("D", True), ("C", False)])
def test_a_bend_is_met_on_its_mitre_when_gentle_and_square_when_sharp(end, mitres):
    points = {**POINTS, "D": (POINTS["B"][0] + 20 * FT, 10 * FT)}
    o, plan = planned(c.spec(along=("A", "B", end), width=4 * FT), points)
    corner = Body(o).inside_corners[0].at
    bends = [j for j in inner(plan) if j.why == "bend"]
    assert bends
    assert any(math.dist(corner, xy) < 1e-6 for j in bends for xy in (j.line[0], j.line[-1]))
    legs = [
        (1.0, 0.0),
        (math.cos(math.atan2(10, 20)), math.sin(math.atan2(10, 20))) if mitres else (0.0, 1.0),
    ]
    for j in bends:
        dx, dy = j.line[1][0] - j.line[0][0], j.line[1][1] - j.line[0][1]
        angles = [math.acos(abs(dx * u + dy * v) / math.hypot(dx, dy)) for u, v in legs]
        assert max(angles) > math.radians(59.9)
        if not mitres:
            assert max(angles) == pytest.approx(math.pi / 2)
    assert "corner-unmet" not in codes(plan)
    whole(o, plan)


def test_a_wide_drive_gets_lanes():
    o, plan = planned(c.spec(along="AB", width=16 * FT))
    assert len(plan.panels) == 8
    for p in plan.panels:
        assert (p.long, p.short) == (pytest.approx(9 * FT), pytest.approx(8 * FT))
    assert plan.panels[0].ring != plan.panels[1].ring
    whole(o, plan)


def test_twelve_foot_drive_as_worked_in_the_handbook():
    """12 ft wide, 4 in thick: one lengthwise joint (6 ft strips), crosswise every 6 to 9 ft."""
    o, plan = planned(c.spec(along="AB", width=12 * FT))
    for p in plan.panels:
        assert p.short == pytest.approx(6 * FT)
        assert 6 * FT - 1e-6 <= p.long <= 9 * FT + 1e-6
    whole(o, plan)


def test_ends_against_slabs_and_posts_are_isolated_full_depth():
    old = c.existing("old patio", ring=[(10.0, -3.0), (14.0, -3.0), (14.0, 3.0), (10.0, 3.0)])
    points = {"A": (0.0, 0.0), "B": (10.0, 0.0), "T": (4.0, 0.0)}
    spec = c.spec(
        along="AB", width=1.2, meets=(Meets(existing="old patio"),),
        openings=(Opening(name="rail post", kind="post", at="T", across="0.1 m"),),
    )  # fmt: skip
    o, plan = planned(spec, points, c.ground(existing=[old]))
    filler = [j for j in plan.joints if j.kind == "isolation"]
    assert {(j.why, j.against) for j in filler} == {("meets", "old patio"), ("post", "rail post")}
    for j in filler:
        assert j.depth == spec.thickness
        assert j.made == "filler"
    # the post is met on both sides by one joint across
    at_post = [j for j in inner(plan) if any(abs(math.dist(xy, (4.0, 0.0)) - 0.05) < 0.001 for xy in j.line)]
    assert len(at_post) == 2
    assert {j.why for j in at_post} == {"post"}
    whole(o, plan)


def test_depth_and_tool_come_from_the_notes_and_a_shallow_one_is_said():
    rule = c.joints(depth=0.75 * INCH, made="sawn")
    _, plan = planned(c.spec(along="AB", width=3 * FT, joints=rule))
    assert {(j.depth, j.made) for j in inner(plan)} == {(0.75 * INCH, "sawn")}
    assert codes(plan) == ["joint-shallow", "saw-when"]
    assert {j.saw_between for j in inner(plan)} == {(4 * 3600.0, 12 * 3600.0)}
    assert plan.findings[0].values["least"].si == pytest.approx(INCH)


def test_a_spacing_over_the_table_is_said():
    _, plan = planned(c.spec(along="AB", width=12 * FT, joints=c.joints(most=12 * FT)))
    assert "spacing-over-table" in codes(plan)


def test_a_joint_next_door_is_carried_on():
    side = 1.5 * FT
    old = c.existing(
        "drive", ring=[(0.0, -6.0), (11.0, -6.0), (11.0, -side), (0.0, -side)],
        joints=[((4.1, -6.0), (4.1, -side))],
    )  # fmt: skip
    o, plan = planned(c.spec(along="AB", width=3 * FT), ground=c.ground(existing=[old]))
    on = [j for j in inner(plan) if j.why == "line-up"]
    assert len(on) == 1
    assert on[0].against == "drive"
    assert {round(x, 6) for x, _ in on[0].line} == {4.1}
    whole(o, plan)
    # and so from the plan of a new slab next door
    _, beside = planned(c.spec(along="AB", width=3 * FT))
    assert not [j for j in inner(beside) if j.why == "line-up"]


def test_panels_are_named_from_the_first_point_on():
    _, plan = planned(c.spec(along="ABC", width=4 * FT))
    firsts = [min(math.dist(xy, POINTS["A"]) for xy in p.ring) for p in plan.panels]
    assert firsts == sorted(firsts)


# --- against every other choice -------------------------------------------------------------------


def choices(track, spec):
    """The stops offered, and the weight of any set of them, worked out without the search."""
    asked, groups = asked_for(track, [])
    ends = (track.end_stations(False), track.end_stations(True))
    lane = track.width
    thin = spec.joints.aspect_most
    limit = min(spec.joints.most, thin * lane)
    marks = [ends[0][0], ends[1][1], *(s.station for s in asked)]
    stops = sorted(
        [*asked, *even_divisions(track, marks, limit, "aspect", allowed_spans(track))],
        key=lambda s: s.station,
    )

    known = {}

    def weight(picked):
        total = sum(stops[k - 1].cost for k in picked)
        path = [0, *picked, len(stops) + 1]
        for i, j in pairwise(path):
            if (i, j) not in known:
                known[i, j] = _penalty(track, stops, i, j, ends, spec.joints.most, lane, thin)
            total += known[i, j]
        met = set().union(*(stops[k - 1].groups for k in picked)) if picked else set()
        return total + sum(w for g, w in enumerate(groups) if g not in met)

    return stops, weight


@pytest.mark.parametrize(
    ("along", "width", "most"),
    [("AB", 12.0, 10.0), ("AE", 20.0, 20.0), (("A", "B", "F"), 10.0, 10.0), (("C", "F"), 4.0, 10.0)],
)
def test_the_path_is_the_best_of_all_sets_of_stops(along, width, most):
    spec = c.spec(along=along, width=width * FT, joints=c.joints(most=most * FT * 1.3))
    o, _ = outline(spec, POINTS, c.ground())
    track = Track(o, spec.side, Body(o))
    stops, weight = choices(track, spec)
    assert 1 <= len(stops) <= 18
    best = min(
        weight(picked)
        for n in range(min(6, len(stops)) + 1)
        for picked in combinations(range(1, len(stops) + 1), n)
    )
    made = best_joints(track, spec, [])
    assert made.cost == pytest.approx(best, abs=1e-9)
    assert best < TOO_SHORT


@settings(max_examples=40, deadline=None)
@given(length=st.floats(2.0, 40.0), width=st.floats(0.6, 2.9))
def test_a_straight_ribbon_has_the_fewest_panels_that_hold_the_rules(length, width):
    """Closed form: n even parts, n least with length/n within the spacing and the shape."""
    points = {"A": (0.0, 0.0), "B": (length, 0.0)}
    spec = c.spec(along="AB", width=width)
    o, plan = planned(spec, points)
    limit = min(spec.joints.most, 1.5 * width)
    fewest = max(1, math.ceil(length / (limit + 0.003)))
    if length / fewest >= width / 1.5:
        assert len(plan.panels) == fewest
        assert plan.cost == pytest.approx((fewest - 1) * (width + 1.0))
        longs = [max(p.long, p.short) for p in plan.panels]
        assert max(longs) - min(longs) < 1e-6
        assert plan.findings == ()
    whole(o, plan)


@settings(max_examples=40, deadline=None)
@given(
    turns=st.lists(st.floats(-1.2, 1.2), min_size=1, max_size=3),
    legs=st.lists(st.floats(3.0, 12.0), min_size=4, max_size=4),
    width=st.floats(0.7, 1.6),
    round_=st.booleans(),
)
def test_any_bent_or_curved_walk_holds_the_rules(turns, legs, width, round_):
    points, at, angle = {"P0": (0.0, 0.0)}, (0.0, 0.0), 0.3
    for k, leg in enumerate(legs[: len(turns) + 1]):
        at = (at[0] + leg * math.cos(angle), at[1] + leg * math.sin(angle))
        points[f"P{k + 1}"] = at
        angle += turns[k] if k < len(turns) else 0.0
    names = list(points)
    line = [Vertex(point=n, round="1.5 m") if round_ and n not in (names[0], names[-1]) else n for n in names]
    spec = c.spec(along=line, width=width)
    try:
        o, found = outline(spec, points, c.ground())
    except ValueError:
        return
    if found:
        return
    plan = plan_joints(o, spec, c.ground())
    whole(o, plan)
    assert "corner-unmet" not in [f.code for f in plan.findings]
    for p in plan.panels:
        assert p.long <= spec.joints.most + 0.003
    for j in plan.joints:
        for xy in j.line:
            assert Body(o).polygon.buffer(0.002).contains_properly(_point(xy))


def _point(xy):
    from shapely import Point

    return Point(xy)
