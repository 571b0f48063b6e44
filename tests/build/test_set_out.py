"""Set-out: the best two anchors, what blocks a tape, heights at stakes, checks, walking order."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.build.forms import plan_forms
from slabwright.build.model import SetOut, Stake
from slabwright.build.set_out import anchor_names, set_out
from slabwright.build.ties import Obstacles, along_wall, best_ties, in_sight, tie_sd
from slabwright.ground.model import ExistingSlab, TreeAt
from slabwright.notes.models import Kit
from slabwright.slab.model import Facet, Hole, Joint
from slabwright.survey.instruments import Instrument, instruments
from slabwright.survey.result import HeightOf, Point

IN, FT = 0.0254, 0.3048
TAPE = instruments()["steel tape"]


def point(name: str, x: float, y: float, sd: float = 0.0) -> Point:
    return Point(name, x, y, sd, sd, 0.0, sd == 0.0)


def named(*points: Point) -> dict[str, Point]:
    return {p.name: p for p in points}


def plan(make: Any, job: Any, ground: Any, points: dict[str, Point], **more: Any) -> SetOut:
    return set_out(job, plan_forms(job, ground, Kit()), ground, points, **more)


def at(found: SetOut, label: str, slab: str = "walk") -> Stake:
    return next(stake for stake in found.stakes if stake.label == label and stake.slab == slab)


HOUSE = named(point("A", 0.0, 2.0), point("B", 12.0, 2.0))
WALL = [("A-B", (0.0, 2.0), (12.0, 2.0))]


@settings(max_examples=60, deadline=None)
@given(
    anchors=st.lists(
        st.tuples(st.floats(-15, 15), st.floats(-15, 15), st.floats(0, 0.02)),
        min_size=2,
        max_size=6,
        unique_by=lambda a: (round(a[0], 1), round(a[1], 1)),
    ),
    place=st.tuples(st.floats(-10, 10), st.floats(-10, 10)),
)
def test_no_other_pair_is_surer(
    anchors: list[tuple[float, float, float]], place: tuple[float, float]
) -> None:
    points = [point(f"K{i}", x, y, sd) for i, (x, y, sd) in enumerate(anchors)]
    (tie,) = best_ties([place], points, Obstacles((), ()), tape=TAPE, reach=30.0, keep=1.0)
    best = math.inf
    for a, b in combinations(points, 2):
        da, db = math.dist(place, (a.x, a.y)), math.dist(place, (b.x, b.y))
        if min(da, db) < FT or max(da, db) > 30:
            continue
        angle = math.atan2(a.y - place[1], a.x - place[0]) - math.atan2(b.y - place[1], b.x - place[0])
        if abs(math.sin(angle)) < math.sin(math.radians(5)):
            continue
        best = min(best, tie_sd(angle, math.hypot(TAPE.sd(da), a.sx), math.hypot(TAPE.sd(db), b.sx)))
    if tie is None:
        assert best == math.inf
    else:
        assert tie.sd == pytest.approx(best, rel=1e-6)
        for name, distance in (tie.a, tie.b):
            anchor = points[int(name[1:])]
            assert math.dist(place, (anchor.x, anchor.y)) == pytest.approx(distance)


def test_predicted_error_is_what_a_thousand_pulls_give() -> None:
    """Simulated pulls with the stated errors scatter as predicted."""
    import numpy as np

    rng = np.random.default_rng(20)
    a, b = Point("A", 0.0, 0.0, 0.004, 0.002, 0.000003, False), point("B", 10.0, 1.0, 0.003)
    place = (4.0, 6.0)
    tape = Instrument(0.003)
    (tie,) = best_ties([place], [a, b], Obstacles((), ()), tape=tape, reach=30, keep=1.0)
    assert tie is not None
    n = 40_000
    at_a = rng.multivariate_normal([a.x, a.y], [[a.sx**2, a.sxy], [a.sxy, a.sy**2]], n)
    at_b = rng.multivariate_normal([b.x, b.y], [[b.sx**2, 0], [0, b.sy**2]], n)
    da = math.dist(place, (a.x, a.y)) + rng.normal(0, 0.003, n)
    db = math.dist(place, (b.x, b.y)) + rng.normal(0, 0.003, n)
    gap = at_b - at_a
    c = np.hypot(gap[:, 0], gap[:, 1])
    x = (da**2 - db**2 + c**2) / (2 * c)
    y = np.sqrt(da**2 - x**2)
    e = gap / c[:, None]
    hit = at_a + x[:, None] * e + y[:, None] * np.stack([-e[:, 1], e[:, 0]], axis=1)
    spread = math.sqrt(float(((hit - place) ** 2).sum(axis=1).mean()))
    assert tie.sd == pytest.approx(spread, rel=0.02)


@pytest.mark.parametrize(
    ("place", "clear"),
    [
        ((5.0, -1.0), True),  # in front of the wall
        ((5.0, 3.0), False),  # behind it
        ((-1.0, 3.0), True),  # past its end
        ((5.0, 0.0), True),  # on its face
    ],
)
def test_walls_block_a_tape(place: tuple[float, float], clear: bool) -> None:
    wall = Obstacles((((0.0, 0.0), (10.0, 0.0)),), ())
    points = [point("K1", 1.0, -4.0), point("K2", -3.0, -2.0)]
    (tie,) = best_ties([place], points, wall, tape=TAPE, reach=30, keep=1.0)
    assert (tie is not None) == clear


def test_a_tape_may_be_hooked_on_the_wall_s_own_corner() -> None:
    wall = Obstacles((((0.0, 0.0), (10.0, 0.0)),), ())
    corners = [point("A", 0.0, 0.0), point("B", 10.0, 0.0)]
    (tie,) = best_ties([(4.0, -3.0)], corners, wall, tape=TAPE, reach=30, keep=1.0)
    assert tie is not None


def test_a_trunk_blocks_a_tape() -> None:
    points = [point("A", 0.0, 0.0), point("B", 10.0, 0.0)]
    for off, clear in ((0.0, False), (0.4, True)):
        trunk = Obstacles((), (((2.0 + off, 2.0 - off), 0.2),))
        (tie,) = best_ties([(4.0, 4.0)], points, trunk, tape=TAPE, reach=30, keep=1.0)
        assert (tie is not None) == clear


def test_reach_of_the_tape() -> None:
    points = [point("A", 0.0, 0.0), point("B", 10.0, 0.0)]
    near, far = best_ties(
        [(5.0, 29.0), (5.0, 31.0)], points, Obstacles((), ()), tape=TAPE, reach=30.48, keep=1.0
    )
    assert near is not None
    assert far is None


def test_two_anchors_in_line_with_the_stake_are_no_tie() -> None:
    points = [point("A", 0.0, 0.0), point("B", 10.0, 0.0)]
    (tie,) = best_ties([(5.0, 0.0)], points, Obstacles((), ()), tape=TAPE, reach=30, keep=1.0)
    assert tie is None


def test_a_stake_on_an_anchor_is_tied_from_two_others() -> None:
    points = [point("A", 0.0, 0.0), point("B", 10.0, 0.0), point("C", 0.0, 5.0)]
    (tie,) = best_ties([(0.0, 0.0001)], points, Obstacles((), ()), tape=TAPE, reach=30, keep=1.0)
    assert tie is not None
    assert {tie.a[0], tie.b[0]} == {"B", "C"}


def test_tapes_stay_hooked_while_it_costs_little() -> None:
    points = [point(f"K{i}", x, 0.0) for i, x in enumerate((0.0, 4.0, 8.0, 12.0))]
    places = [(0.5 * i, -4.0) for i in range(25)]

    def changes(keep: float) -> int:
        ties = best_ties(places, points, Obstacles((), ()), tape=TAPE, reach=30, keep=keep)
        pairs = [(t.a[0], t.b[0]) for t in ties if t is not None]
        assert len(pairs) == len(places)
        return sum(a != b for a, b in pairwise(pairs))

    assert changes(1.1) < changes(1.0)


def test_marks_of_a_walk(make: Any) -> None:
    joint = Joint("contraction", ((5.0, 0.0), (5.0, 0.9)), 0.02, "tooled", "spacing")
    walk = make.walk(10.0, 0.9, joints=[joint], height=lambda x, y: 0.01 * x + 0.02 * y)
    job, ground = make.job(walk), make.ground(walls=WALL, height=-0.1)
    found = plan(
        make,
        job,
        ground,
        HOUSE,
        set_ups={"S1": HeightOf("S1", 1.5, 0.003, False)},
        heights={"A": HeightOf("A", 0.25, 0.0, True)},
    )
    kinds = [stake.kind for stake in found.stakes]
    assert kinds.count("corner") == 4
    assert kinds.count("joint end") == 2
    corner = at(found, "2")
    assert (corner.x, corner.y) == (10.0, 0.0)
    assert corner.top == pytest.approx(0.1)
    assert corner.rod == ("S1", pytest.approx(1.4))
    assert corner.down == ("A", pytest.approx(0.15))
    # The slab lies above the ground here, and the sod comes out all the same.
    assert corner.dig == pytest.approx(0.1)
    assert corner.tie_a == ("A", pytest.approx(math.hypot(10, 2)))
    assert corner.tie_b == ("B", pytest.approx(math.hypot(2, 2)))
    # A joint end and a stake take their height from the straight between the corners.
    assert at(found, "J1").top == pytest.approx(0.05)
    for stake in found.stakes:
        assert stake.top == pytest.approx(0.01 * stake.x + 0.02 * stake.y)
        assert stake.tie_sd is not None
        assert stake.ground == pytest.approx(-0.1)
    assert found.findings == () or {f.code for f in found.findings} == {"set-out-weak"}


def test_an_opening_is_set_out_by_its_middle(make: Any) -> None:
    hole = Hole("post", "post", ((4.9, 0.4), (4.9, 0.6), (5.1, 0.6), (5.1, 0.4)), None)
    walk = make.walk(10.0, 0.9, holes=[hole], height=lambda x, y: 0.01 * x + 0.02 * y)
    walk = replace(walk, height_plan=replace(walk.height_plan, facets=(Facet((0, 1, 2, 3), "1"),)))
    found = plan(make, make.job(walk), make.ground(walls=WALL), HOUSE)
    post = at(found, "post")
    assert (post.x, post.y, post.kind) == (pytest.approx(5.0), pytest.approx(0.5), "opening")
    assert post.top == pytest.approx(0.05 + 0.01)
    assert post.tie_a is not None


def test_strings_are_held_from_outside_the_dig(make: Any) -> None:
    pad = make.slab([(0, 0), (4, 0), (4, 3), (0, 3)], height=lambda x, y: 0.01 * x + 0.02 * y)
    found = plan(make, make.job(pad), make.ground(), HOUSE)
    assert len(found.nails) == 8
    by = {nail.label: nail for nail in found.nails}
    past = by["1-2 past 2"]
    assert (past.x, past.y) == (pytest.approx(4 + 3 * FT), pytest.approx(0.0))
    assert past.top == pytest.approx(0.01 * (4 + 3 * FT))
    assert (by["1-2 past 1"].x, by["2-3 past 3"].y) == (pytest.approx(-3 * FT), pytest.approx(3 + 3 * FT))
    assert all(nail.kind == "nail" for nail in found.nails)


def test_a_side_on_a_wall_needs_no_nail_there(make: Any) -> None:
    walls = [("A-B", (-5.0, 3.0), (9.0, 3.0))]
    pad = make.slab(
        [(0, 0), (4, 0), (4, 3), (0, 3)],
        kinds=["free", "free", "wall", "free"],
        against=[None, None, "A-B", None],
    )
    labels = {nail.label for nail in plan(make, make.job(pad), make.ground(walls=walls), HOUSE).nails}
    assert labels == {"1-2 past 1", "1-2 past 2", "2-3 past 2", "4-1 past 1"}


def test_no_nail_behind_a_wall(make: Any) -> None:
    walls = [("C-D", (4.5, -2.0), (4.5, 2.0))]
    pad = make.slab([(0, 0), (4, 0), (4, 3), (0, 3)])
    labels = {nail.label for nail in plan(make, make.job(pad), make.ground(walls=walls), HOUSE).nails}
    assert "1-2 past 2" not in labels
    assert "3-4 past 3" in labels


def test_walking_order_goes_round_the_slab(make: Any) -> None:
    walk = make.walk(10.0, 0.9)
    found = plan(make, make.job(walk), make.ground(), HOUSE)
    ring = [(0, 0), (10, 0), (10, 0.9), (0, 0.9), (0, 0)]

    def round_the_ring(stake: Stake) -> float:
        gone = 0.0
        for p, q in pairwise(ring):
            side = math.dist(p, q)
            along = ((stake.x - p[0]) * (q[0] - p[0]) + (stake.y - p[1]) * (q[1] - p[1])) / side
            if (
                math.dist(
                    (p[0] + along / side * (q[0] - p[0]), p[1] + along / side * (q[1] - p[1])),
                    (stake.x, stake.y),
                )
                < 1e-9
                and -1e-9 <= along < side - 1e-9
            ):
                return gone + along
            gone += side
        raise AssertionError(stake)

    walked = [round_the_ring(stake) for stake in found.stakes]
    assert walked == sorted(walked)
    labels = [(stake.slab, stake.label) for stake in found.stakes]
    assert len(set(labels)) == len(labels)


def test_curve_points_lie_on_the_curve_in_order(make: Any) -> None:
    bulge = math.tan(math.radians(120) / 4)
    slab = make.slab([(0, 0), (4, 0), (4, 3), (0, 3)], bulges=[0, bulge, 0, 0])
    found = plan(make, make.job(slab), make.ground(), HOUSE)
    radius = 3 / 2 / math.sin(math.radians(60))
    centre = (4 - radius * math.cos(math.radians(60)), 1.5)
    on = [s for s in found.stakes if s.label.startswith("2-3.")]
    assert len(on) >= 3
    assert all(math.dist((s.x, s.y), centre) == pytest.approx(radius) for s in on)
    turned = [math.atan2(s.y - centre[1], s.x - centre[0]) for s in on]
    assert turned == sorted(turned)


def bowed(make: Any) -> tuple[Any, tuple[float, float], float]:
    """A slab with one bowed side, the bow's centre and radius."""
    slab = make.slab([(0, 0), (4, 0), (4, 3), (0, 3)], bulges=[0, math.tan(math.radians(120) / 4), 0, 0])
    radius = 3 / 2 / math.sin(math.radians(60))
    return slab, (4 - radius * math.cos(math.radians(60)), 1.5), radius


def test_a_curve_is_swung_from_its_centre_where_a_tape_reaches(make: Any) -> None:
    slab, centre, radius = bowed(make)
    far = named(point("A", -2.0, -3.0), point("B", 9.0, -3.0))
    (swing,) = plan(make, make.job(slab), make.ground(), far, anchors=["A", "B"]).swings
    assert (swing.a, swing.b, swing.centre) == ("2", "3", "C1")
    assert swing.radius == pytest.approx(radius)
    assert swing.at == pytest.approx(centre)
    for name, length in (swing.tie_a, swing.tie_b):
        assert math.dist((far[name].x, far[name].y), swing.at) == pytest.approx(length)


def test_a_centre_behind_a_tree_or_without_two_tapes_is_not_offered(make: Any) -> None:
    slab, centre, radius = bowed(make)
    far = named(point("A", -2.0, -3.0), point("B", 9.0, -3.0))
    between = TreeAt("oak", (centre[0] + radius / 2, centre[1]), 0.3, 2.0)
    ground = replace(make.ground(), trees=(between,))
    assert plan(make, make.job(slab), ground, far, anchors=["A", "B"]).swings == ()
    assert (
        plan(make, make.job(slab), make.ground(), named(point("A", -2.0, -3.0)), anchors=["A"]).swings == ()
    )


def test_every_named_height_on_the_edge_is_set_out(make: Any) -> None:
    slab, centre, radius = bowed(make)
    nodes = slab.height_plan.nodes
    top = (centre[0] + radius, centre[1])
    extra = (replace(nodes[0], label="9", x=top[0], y=top[1]), replace(nodes[0], label="", x=2.0, y=0.0))
    slab = replace(slab, height_plan=replace(slab.height_plan, nodes=(*nodes, *extra)))
    found = plan(make, make.job(slab), make.ground(), HOUSE)
    (mark,) = (s for s in found.stakes if s.kind == "grade")
    assert (mark.label, mark.x, mark.y) == ("9", pytest.approx(top[0]), pytest.approx(top[1]))
    assert mark.top == nodes[0].z
    assert {n.label for n in slab.height_plan.nodes if n.label} <= {s.label for s in found.stakes}


def test_check_diagonals(make: Any) -> None:
    pad = make.slab([(0, 0), (36 * FT, 0), (36 * FT, 24 * FT), (0, 24 * FT)])
    found = plan(make, make.job(pad), make.ground(), HOUSE)
    assert [(a, b) for _, a, b, _ in found.diagonals] == [("1", "3"), ("2", "4")]
    assert all(length / FT == pytest.approx(43.2666, abs=5e-5) for *_, length in found.diagonals)


def test_a_long_slab_s_diagonal_stays_within_the_tape(make: Any) -> None:
    road = make.walk(50.0, 3.0)
    found = plan(make, make.job(road), make.ground(), HOUSE)
    assert found.diagonals == ()


def test_square_corners_get_three_pulls(make: Any) -> None:
    pad = make.slab([(0, 0), (13 * FT, 0), (13 * FT, 10 * FT), (0, 10 * FT)])
    found = plan(make, make.job(pad), make.ground(), HOUSE)
    assert len(found.squares) == 4
    _, _, a, b, c = found.squares[0]
    assert (a / FT, b / FT, c / FT) == pytest.approx((9, 12, 15))
    skewed = make.slab([(0, 0), (4, 0), (4.4, 3), (0, 3)])
    assert [label for _, label, *_ in plan(make, make.job(skewed), make.ground(), HOUSE).squares] == [
        "1",
        "4",
    ]


def test_rod_is_read_from_the_set_up_that_sees_most(make: Any) -> None:
    walk = make.walk(10.0, 0.9, height=lambda x, y: 0.5 * x)
    ups = {
        "high": HeightOf("high", 6.2, 0.004, False),
        "low": HeightOf("low", 1.5, 0.002, False),
    }
    found = plan(make, make.job(walk), make.ground(height=None), HOUSE, set_ups=ups)
    first, last = at(found, "1"), at(found, "2")
    # From 'low' half of the tops stand above the line of sight; from 'high' one in five is past the rod.
    assert last.rod == ("high", pytest.approx(1.2))
    assert first.rod == ("low", pytest.approx(1.5))
    assert first.ground is None
    assert first.dig is None


def test_anchors_are_what_stays(make: Any) -> None:
    old = ExistingSlab(
        "old patio", (), ((0.0, -3.0), (2.0, -3.0)), ("Q1", "Q2"), (None, None), None, True, None, ()
    )
    ground = make.ground(walls=WALL, existing=(old,))
    points = HOUSE | named(point("Q1", 0.0, -3.0), point("Q2", 2.0, -3.0), point("P1", 1.0, 0.0))
    assert anchor_names(ground, points) == ["A", "B", "Q1", "Q2"]
    going = make.ground(walls=WALL, existing=(replace(old, keeps_height=False),))
    assert anchor_names(going, points) == ["A", "B"]


def test_the_dig_at_a_mark_is_to_the_base_or_through_the_sod(make: Any) -> None:
    walk = make.walk(10.0, 0.9)
    deep = replace(make.ground(), organic=0.0)
    found = plan(make, make.job(walk), deep, HOUSE)
    first = at(found, "1")
    assert first.ground is not None
    under = first.top - walk.spec.thickness - walk.spec.base
    assert first.dig == pytest.approx(max(0.0, first.ground - under))
    thick = replace(deep, organic=first.ground - under + 0.05)
    assert at(plan(make, make.job(walk), thick, HOUSE), "1").dig == pytest.approx(thick.organic)


def test_nails_of_a_baseline_are_anchors_unless_the_dig_takes_them(make: Any) -> None:
    walk = make.walk(10.0, 0.9)
    ground = replace(make.ground(), baseline=("K1", "K2", "K3"))
    points = named(
        point("K1", -1.0, 3.0), point("K2", 11.0, 3.0), point("K3", 5.0, 0.1), point("N1", 5.0, 4.0)
    )
    found = plan(make, make.job(walk), ground, points)
    pulled = {tie[0] for stake in found.stakes for tie in (stake.tie_a, stake.tie_b) if tie}
    assert pulled == {"K1", "K2"}
    assert not any(f.code == "set-out-no-anchors" for f in found.findings)
    first = at(found, "1")
    assert first.tie_a == ("K1", pytest.approx(math.dist((first.x, first.y), (-1.0, 3.0))))


def test_too_few_anchors_are_said_and_the_marks_still_made(make: Any) -> None:
    walk = make.walk(10.0, 0.9)
    found = plan(make, make.job(walk), make.ground(), named(point("A", 0.0, 2.0)), anchors=["A", "nowhere"])
    assert {f.code for f in found.findings} == {"set-out-no-anchors"}
    assert len(found.stakes) > 4
    assert all(stake.tie_a is None and stake.tie_sd is None for stake in found.stakes)


def test_marks_out_of_reach_and_weak_ties_are_said(make: Any) -> None:
    walk = make.walk(40.0, 0.9)
    found = plan(make, make.job(walk), make.ground(), HOUSE, anchors=["A", "B"])
    codes = {f.code for f in found.findings}
    assert {"set-out-no-tie", "set-out-weak"} <= codes
    for f in found.findings:
        assert "{" not in f.text().what + f.text(lang="es").what


def test_a_slab_without_heights_is_staked_without_them(make: Any) -> None:
    walk = make.walk(10.0, 0.9, nodes=[])
    found = plan(make, make.job(walk), make.ground(), HOUSE, set_ups={"S1": HeightOf("S1", 1.5, 0.1, False)})
    assert "set-out-no-heights" in {f.code for f in found.findings}
    assert all(stake.rod is None and stake.dig is None for stake in found.stakes)


def test_a_tree_between(make: Any) -> None:
    tree = TreeAt("oak", (6.0, 1.0), 0.6, 7.0)
    walk = make.walk(10.0, 0.9)
    free = plan(make, make.job(walk), make.ground(walls=WALL), HOUSE)
    treed = plan(make, make.job(walk), make.ground(walls=WALL, trees=(tree,)), HOUSE)
    missing = {s.label for s in treed.stakes if s.tie_a is None}
    assert missing
    assert all(s.tie_a is not None for s in free.stakes)


def test_a_tape_does_not_run_through_a_closed_house() -> None:
    # The mark stands on the near wall and the anchor on the far corner: no wall is crossed, the house is.
    house = ((0.0, 0.0), (10.0, 0.0), (10.0, 6.0), (0.0, 6.0))
    walls = tuple(zip(house, (*house[1:], house[0]), strict=True))
    places, far, near = np.array([(5.0, 0.0)]), np.array([(10.0, 6.0)]), np.array([(10.0, 0.0)])
    assert not in_sight(places, far, Obstacles(walls, (), house)).any()
    assert in_sight(places, near, Obstacles(walls, (), house)).all()
    assert in_sight(np.array([(5.0, -3.0)]), near, Obstacles(walls, (), house)).all()


@pytest.mark.parametrize(("y", "found"), [(0.0, True), (0.003, True), (0.02, False), (-0.2, False)])
def test_a_mark_on_a_wall_is_taped_along_it(y: float, found: bool) -> None:
    walls = (((0.0, 0.0), (10.0, 0.0)),)
    ends = [Point("A", 0.0, 0.0, 0.0, 0.0, 0.0, True), Point("B", 10.0, 0.0, 0.002, 0.0, 0.0, False)]
    tie = along_wall((3.0, y), ends, walls, tape=TAPE, reach=30.0)
    assert (tie is not None) is found
    if tie is not None:
        assert (tie.a[0], tie.b[0]) == ("A", "B")
        assert (tie.a[1], tie.b[1]) == pytest.approx((3.0, 7.0), abs=1e-5)
        assert tie.sd == pytest.approx(TAPE.sd(3.0), rel=1e-4)
    assert along_wall((3.0, y), ends, walls, tape=TAPE, reach=5.0) is None


def test_a_mark_at_an_anchor_needs_no_tape(make: Any) -> None:
    walk = make.walk(10.0, 0.9)
    there = named(point("G2", 0.02, 0.0), point("A", -3.0, 4.0), point("B", 8.0, 4.0))
    found = plan(make, make.job(walk), make.ground(), there, anchors=["A", "B", "G2"])
    first = next(s for s in found.stakes if math.dist((s.x, s.y), (0.0, 0.0)) < 1e-6)
    assert first.tie_a == ("G2", pytest.approx(0.02))
    assert first.tie_b is None
    other = next(s for s in found.stakes if math.dist((s.x, s.y), (10.0, 0.0)) < 1e-6)
    assert other.tie_b is not None
