"""Outlines: areas in closed form, ribbons, cut-outs, contacts, and shapes that are mended or refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon
from tests.slab import shape_cases as c
from tests.slab.shape_cases import Meets, Opening, Vertex

from slabwright.slab.outline import OutlineError, meet_slabs, outline

RECT = {"A": (0.0, 0.0), "B": (10.0, 0.0), "C": (10.0, 6.0), "D": (0.0, 6.0)}
CHORD = 0.001


def made(spec, points, ground=None):
    return outline(spec, points, ground or c.ground())


def codes(findings):
    return [f.code for f in findings]


def closed(o):
    """Sides join end to end, arcs lie on their circles, and the flattened ring is a simple one."""
    for e, after in zip(o.edges, [*o.edges[1:], o.edges[0]], strict=True):
        assert math.dist(e.q, after.p) < 1e-9
        if e.radius is not None:
            assert math.dist(e.centre, e.p) == pytest.approx(e.radius, abs=1e-6)
            assert math.dist(e.centre, e.q) == pytest.approx(e.radius, abs=1e-6)
        else:
            assert e.bulge == 0.0
    body = Polygon(o.ring)
    assert body.is_valid
    assert c.polygon_area(o.ring) > 0
    return body


@pytest.mark.parametrize("name", c.RINGS)
@pytest.mark.parametrize("angle", [0.0, 0.7])
def test_a_polygon_has_its_shoelace_area_wherever_it_lies(name, angle):
    names, points = c.ring(c.RINGS[name])
    points = c.turned(points, angle, 4000.0, -900.0)
    o, found = made(c.spec(names), points)
    assert found == ()
    assert o.area == pytest.approx(abs(c.polygon_area(list(points.values()))), abs=1e-6)
    assert closed(o).area == pytest.approx(o.area, abs=1e-6)
    assert {e.names[0] for e in o.edges} == set(names)
    assert o.axis == ()


def test_corners_written_clockwise_give_the_same_slab():
    one, _ = made(c.spec("ABCD"), RECT)
    other, _ = made(c.spec("ADCB"), RECT)
    assert set(one.ring) == set(other.ring)
    assert c.polygon_area(other.ring) > 0
    assert {e.names for e in one.edges} == {e.names for e in other.edges}


def test_half_circle_end_counts_its_true_area():
    points = {**RECT, "M": (13.0, 3.0)}
    o, _ = made(c.spec(("A", "B", Vertex(point="C", arc_through="M"), "D")), points)
    assert o.area == pytest.approx(60 + math.pi * 9 / 2, abs=1e-9)
    assert o.perimeter == pytest.approx(26 + 3 * math.pi, abs=1e-9)
    body = closed(o)
    assert 0 < o.area - body.area < 3 * math.pi * CHORD
    arc = next(e for e in o.edges if e.radius)
    assert arc.radius == pytest.approx(3.0)
    # no chord leaves the arc by a millimetre
    for p, q in zip(o.ring, [*o.ring[1:], o.ring[0]], strict=True):
        mid = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
        if mid[0] > 10.0:
            assert abs(math.dist(mid, arc.centre) - 3.0) < CHORD


@pytest.mark.parametrize(("turn", "sign"), [("left", 1), ("right", -1)])
def test_an_arc_by_radius_bows_to_its_side(turn, sign):
    vertex = Vertex(point="C", arc_radius="5 m", arc_turn=turn)
    o, _ = made(c.spec(("A", "B", vertex, "D")), RECT)
    half = math.asin(3 / 5)
    assert o.area == pytest.approx(60 + sign * (25 * half - 3 * 4), abs=1e-9)
    closed(o)


def test_rounded_corners_lose_the_spandrel():
    corners = [Vertex(point=n, round="1 m") for n in "ABCD"]
    o, found = made(c.spec(corners), RECT)
    assert found == ()
    assert o.area == pytest.approx(60 - 4 * (1 - math.pi / 4), abs=1e-9)
    assert sum(e.radius is not None for e in o.edges) == 4
    closed(o)


def test_a_round_between_an_arc_and_a_side_is_tangent_to_both():
    points = {**RECT, "M": (11.0, 3.0)}
    o, found = made(c.spec(("A", "B", Vertex(point="C", arc_through="M", round="0.5 m"), "D")), points)
    assert found == ()
    closed(o)
    k = next(i for i, e in enumerate(o.edges) if e.radius == 0.5)
    from slabwright.slab.outline import curves

    for a, b in ((o.edges[k - 1], o.edges[k]), (o.edges[k], o.edges[(k + 1) % len(o.edges)])):
        (ax, ay), (bx, by) = curves.heading(a, 1.0), curves.heading(b, 0.0)
        assert ax * by - ay * bx == pytest.approx(0, abs=1e-9)
        assert ax * bx + ay * by == pytest.approx(1)


def test_a_round_too_large_for_its_sides_is_named():
    o, found = made(c.spec((Vertex(point="A", round="7 m"), "B", "C", "D")), RECT)
    assert codes(found) == ["round-does-not-fit"]
    assert found[0].values["corner"] == "A"
    assert o.area == pytest.approx(60)


def test_openings_come_off_the_area():
    points = {**RECT, "T": (5.0, 3.0), "a": (1, 1), "b": (2, 1), "c": (2, 2), "d": (1, 2)}
    holes = (
        Opening(name="post", kind="post", at="T", across="0.4 m"),
        Opening(name="box", kind="box", corners=("a", "b", "c", "d")),
    )
    o, found = made(c.spec("ABCD", openings=holes), points)
    assert found == ()
    assert o.area == pytest.approx(60 - math.pi * 0.04 - 1, abs=1e-9)
    post, box = o.holes
    assert (post.radius, post.kind) == (0.2, "post")
    assert box.radius is None
    for h in o.holes:
        assert c.polygon_area(h.ring) < 0


def test_an_opening_over_the_edge_is_a_notch_and_one_outside_is_left_out():
    points = {**RECT, "T": (10.0, 3.0), "O": (20.0, 3.0)}
    notch = Opening(name="post", kind="post", at="T", across="0.4 m")
    away = Opening(name="far post", kind="post", at="O", across="0.4 m")
    o, found = made(c.spec("ABCD", openings=(notch, away)), points)
    assert o.area == pytest.approx(60 - math.pi * 0.04 / 2, abs=1e-4)
    assert "opening-outside" in codes(found)
    assert any(e.radius == pytest.approx(0.2) for e in o.edges)
    closed(o)


# --- ribbons --------------------------------------------------------------------------------------


@pytest.mark.parametrize("side", ["centre", "left", "right"])
def test_a_straight_ribbon_is_its_length_times_its_width(side):
    o, _ = made(c.spec(along="AB", width=0.9, side=side), RECT)
    assert o.area == pytest.approx(9.0)
    assert o.axis == ((0.0, 0.0), (10.0, 0.0))
    ys = [y for _, y in o.ring]
    assert (min(ys), max(ys)) == pytest.approx(
        {"centre": (-0.45, 0.45), "left": (0, 0.9), "right": (-0.9, 0)}[side]
    )
    closed(o)


def test_a_bent_ribbon_is_mitred_and_keeps_the_area_of_its_centre_line():
    o, _ = made(c.spec(along="ABC", width=1.0), RECT)
    assert o.area == pytest.approx(16.0)  # the mitre gives outside what it takes inside
    assert (10.5, -0.5) in o.ring
    assert (9.5, 0.5) in o.ring
    closed(o)


def test_a_curved_ribbon_keeps_its_width_and_true_radii():
    o, _ = made(c.spec(along=("A", Vertex(point="B", round="2 m"), "C"), width=1.0), RECT)
    assert sorted(e.radius for e in o.edges if e.radius) == pytest.approx([1.5, 2.5])
    assert o.area == pytest.approx((8 + 4 + math.pi) * 1.0)
    body = closed(o)
    axis = o.axis
    for x, y in axis[1:-1]:
        assert min(math.dist((x, y), p) for p in o.ring) > 0.4
    assert body.hausdorff_distance(Polygon(o.ring)) == 0.0
    assert o.axis_edges[1].radius == pytest.approx(2.0)


@settings(max_examples=60, deadline=None)
@given(
    turn=st.floats(-2.0, 2.0),
    first=st.floats(4.0, 20.0),
    second=st.floats(4.0, 20.0),
    width=st.floats(0.6, 1.5),
    angle=st.floats(-3.2, 3.2),
)
def test_any_bend_keeps_the_width_on_both_legs(turn, first, second, width, angle):
    b = (first * math.cos(angle), first * math.sin(angle))
    d = (b[0] + second * math.cos(angle + turn), b[1] + second * math.sin(angle + turn))
    o, _ = made(c.spec(along="PQR", width=width), {"P": (0.0, 0.0), "Q": b, "R": d})
    assert o.area == pytest.approx((first + second) * width, rel=1e-9)
    assert closed(o).area == pytest.approx(o.area, rel=1e-9)


def test_a_curve_tighter_than_the_width_is_refused_by_name():
    with pytest.raises(OutlineError, match=r"slab: the curve .* too tight"):
        made(c.spec(along=("A", Vertex(point="B", round="0.3 m"), "C"), width=1.0), RECT)


@pytest.mark.parametrize("width", [None, 0.0, -1.0])
def test_a_ribbon_without_width_is_refused(width):
    with pytest.raises(OutlineError, match="needs a width"):
        made(c.spec(along="AB", width=width), RECT)


def test_a_ribbon_that_runs_over_itself_is_refused():
    points = {"P": (0.0, 0.0), "Q": (6.0, 0.0), "R": (6.0, 4.0), "S": (3.0, 4.0), "T": (3.0, -4.0)}
    with pytest.raises(OutlineError, match="runs over itself"):
        made(c.spec(along="PQRST", width=1.0), points)


def test_a_leg_too_short_for_its_bends_is_refused():
    points = {"P": (0.0, 0.0), "Q": (6.0, 0.0), "R": (6.0, 0.4), "S": (0.0, 0.4)}
    with pytest.raises(OutlineError, match=r"too short|runs over itself|no length"):
        made(c.spec(along="PQRS", width=1.0), points)


# --- what is already there ------------------------------------------------------------------------

SLANTED = c.existing("old patio", ring=((8.0, -2.0), (14.0, -2.0), (14.0, 2.0), (9.0, 2.0)))


@pytest.mark.parametrize("end", [8.5, 9.2])
def test_a_walk_into_a_slanted_edge_ends_on_that_edge(end):
    points = {"A": (0.0, 0.0), "B": (end, 0.0)}
    o, _ = made(c.spec(along="AB", width=1.0), points, c.ground(existing=[SLANTED]))
    last = next(e for e in o.edges if e.kind == "existing")
    for x, y in (last.p, last.q):
        assert x == pytest.approx(8.5 + y / 4)
    assert last.against == "old patio"
    assert o.area == pytest.approx(8.5)
    assert o.axis[-1] == pytest.approx((8.5, 0.0))


def test_an_end_short_of_the_slab_it_meets_is_run_on_to_it():
    points = {"A": (0.0, 0.0), "B": (8.38, 0.0)}
    met = c.spec(along="AB", width=1.0, meets=(Meets(existing="old patio"),))
    o, found = made(met, points, c.ground(existing=[SLANTED]))
    assert found == ()
    assert o.area == pytest.approx(8.5)
    # not asked to meet it: it is left as measured
    o, _ = made(c.spec(along="AB", width=1.0), points, c.ground(existing=[SLANTED]))
    assert o.area == pytest.approx(8.38)


def test_a_slab_that_was_to_be_met_and_is_not_is_said_with_the_gap():
    points = {"A": (0.0, 0.0), "B": (7.0, 0.0)}
    met = c.spec(along="AB", width=1.0, meets=(Meets(existing="old patio"),))
    _, found = made(met, points, c.ground(existing=[SLANTED]))
    assert codes(found) == ["does-not-meet"]
    gap = Polygon([(0, -0.5), (7, -0.5), (7, 0.5), (0, 0.5)]).distance(Polygon(SLANTED.ring))
    assert found[0].values["gap"].si == pytest.approx(gap)
    assert "old patio" in found[0].text().what
    assert "old patio" in found[0].text(lang="es").what


def test_an_end_along_an_edge_at_a_flat_slant_is_said():
    flat = c.existing("kerb", edge=((4.0, -1.0), (16.0, 0.8)))
    points = {"A": (0.0, 0.0), "B": (10.0, 0.0)}
    met = c.spec(along="AB", width=1.0, meets=(Meets(existing="kerb"),))
    _, found = made(met, points, c.ground(existing=[flat]))
    assert codes(found) == ["meets-at-a-point"]
    assert "kerb" in found[0].text(lang="es").what


def test_what_a_slab_covers_is_cut_away_and_the_arc_stays_an_arc():
    points = {**RECT, "M": (13.0, 3.0)}
    old = c.existing("pad", ring=((9.0, 4.0), (14.0, 4.0), (14.0, 8.0), (9.0, 8.0)))
    o, found = made(
        c.spec(("A", "B", Vertex(point="C", arc_through="M"), "D")), points, c.ground(existing=[old])
    )
    assert codes(found) == ["cut-away"]
    body = closed(o)
    assert body.intersection(Polygon(old.ring)).area < 1e-3
    arc = next(e for e in o.edges if e.radius)
    assert (arc.radius, arc.centre) == (pytest.approx(3.0), pytest.approx((10.0, 3.0)))
    assert arc.q == pytest.approx((10 + math.sqrt(8), 4.0), abs=1e-4)
    assert {e.against for e in o.edges if e.kind == "existing"} == {"pad"}
    # closed form: rectangle and half disc, less the part of the pad that covered them
    cap = 9 * math.acos(1 / 3) / 2 - math.sqrt(8) / 2
    assert o.area == pytest.approx(60 + math.pi * 4.5 - 2 - cap, abs=1e-4)


def test_an_old_pad_inside_becomes_an_opening():
    old = c.existing("well cover", ring=((2.0, 2.0), (3.0, 2.0), (3.0, 3.0), (2.0, 3.0)))
    o, _ = made(c.spec("ABCD"), RECT, c.ground(existing=[old]))
    assert [(h.name, h.kind) for h in o.holes] == [("well cover", "existing")]
    assert o.area == pytest.approx(59.0)


def test_a_slab_cut_in_two_keeps_the_larger_piece_and_says_so():
    old = c.existing("path", ring=((6.0, -1.0), (7.0, -1.0), (7.0, 7.0), (6.0, 7.0)))
    o, found = made(c.spec("ABCD"), RECT, c.ground(existing=[old]))
    assert o.area == pytest.approx(36.0)
    assert "cut-in-pieces" in codes(found)


def test_a_slab_wholly_on_an_old_one_is_refused():
    old = c.existing("path", ring=((-1.0, -1.0), (11.0, -1.0), (11.0, 7.0), (-1.0, 7.0)))
    with pytest.raises(OutlineError, match="wholly on what is already there"):
        made(c.spec("ABCD"), RECT, c.ground(existing=[old]))


def test_sides_within_an_inch_of_a_wall_are_against_it_and_split_where_it_ends():
    there = c.ground(walls=[c.wall("A-B", (-3.0, 6.02), (7.0, 6.02))])
    o, _ = made(c.spec("ABCD"), RECT, there)
    top = [e for e in o.edges if e.p[1] == e.q[1] == 6.0]
    assert [(e.kind, e.against) for e in top] == [("free", None), ("wall", "A-B")]
    assert top[0].q[0] == pytest.approx(7.0)
    assert o.area == pytest.approx(60.0)
    far = c.ground(walls=[c.wall("A-B", (-3.0, 6.03), (7.0, 6.03))])
    o, _ = made(c.spec("ABCD"), RECT, far)
    assert {e.kind for e in o.edges} == {"free"}


def test_the_house_is_cut_out_and_its_wall_named():
    house = ((-5.0, 5.5), (20.0, 5.5), (20.0, 15.0), (-5.0, 15.0))
    there = c.ground(walls=[c.wall("A-B", (-5.0, 5.5), (20.0, 5.5))], house=house)
    o, found = made(c.spec("ABCD"), RECT, there)
    assert o.area == pytest.approx(55.0)
    assert codes(found) == ["cut-away"]
    assert [e.against for e in o.edges if e.kind == "wall"] == ["A-B"]


def test_much_that_is_cut_away_is_a_caution():
    house = ((-5.0, 5.0), (20.0, 5.0), (20.0, 15.0), (-5.0, 15.0))
    there = c.ground(walls=[c.wall("A-B", (-5.0, 5.0), (20.0, 5.0))], house=house)
    o, found = made(c.spec("ABCD"), RECT, there)
    assert o.area == pytest.approx(50.0)
    assert codes(found) == ["cut-away-much"]
    assert "16.7 %" in found[0].text().what  # 10 of 60 m2
    assert "16.7 %" in found[0].text(lang="es").what


def test_an_open_line_of_walls_cuts_too_and_the_yard_side_stays():
    there = c.ground(walls=[c.wall("A-B", (-5.0, 5.5), (20.0, 5.5))])
    o, _ = made(c.spec("ABCD"), RECT, there)
    assert o.area == pytest.approx(55.0)
    assert max(y for _, y in o.ring) == pytest.approx(5.5)


def test_a_curved_side_along_a_wall_that_it_only_kisses_stays_free():
    points = {**RECT, "M": (5.0, 8.0)}
    there = c.ground(walls=[c.wall("A-B", (0.0, 8.0), (10.0, 8.0))])
    o, _ = made(c.spec(("A", "B", "C", Vertex(point="D", arc_through="M"))), points, there)
    assert sum(e.radius is not None for e in o.edges) >= 1
    total = sum(math.dist(e.p, e.q) for e in o.edges if e.kind == "wall")
    assert total < 2.0


def test_new_slabs_side_by_side_know_each_other():
    points = {**RECT, "E": (14.0, 0.0), "F": (14.0, 3.0), "G": (10.0, 3.0)}
    one, _ = made(c.spec("ABCD", name="one"), points)
    two, _ = made(c.spec("BEFG", name="two"), points)
    one, two = meet_slabs([one, two])
    shared = [e for e in one.edges if e.kind == "slab"]
    assert [e.against for e in shared] == ["two"]
    assert math.dist(shared[0].p, shared[0].q) == pytest.approx(3.0)
    assert [e.against for e in two.edges if e.kind == "slab"] == ["one"]
    assert one.area == pytest.approx(60.0)


# --- mended or refused ----------------------------------------------------------------------------


def test_swapped_corners_are_put_in_order_and_stop():
    o, found = made(c.spec("ACBD"), RECT)
    assert o.area == pytest.approx(60.0)
    assert codes(found) == ["self-crossing"]
    assert found[0].level == "stop"
    text = found[0].text()
    assert "A to C" in text.what
    assert "B to D" in text.what


def test_crossing_arcs_are_refused_by_name():
    points = {**RECT, "M": (5.0, 7.0)}
    with pytest.raises(OutlineError, match=r"crosses"):
        made(c.spec(("A", Vertex(point="B", arc_through="M"), "C", "D")), points)


def test_a_doubled_corner_is_dropped_with_a_note():
    points = {**RECT, "B2": (10.003, 0.0)}
    o, found = made(c.spec(("A", "B", "B2", "C", "D")), points)
    assert codes(found) == ["doubled-corner"]
    assert (found[0].values["first"], found[0].values["second"]) == ("B", "B2")
    assert o.area == pytest.approx(60.0)


def test_repeating_the_first_corner_to_close_the_ring_is_no_slip():
    o, found = made(c.spec("ABCDA"), RECT)
    assert found == ()
    assert len(o.edges) == 4


@pytest.mark.parametrize("corners", ["AB", "AAB"])
def test_too_few_corners_are_refused(corners):
    with pytest.raises(OutlineError, match="fewer than 3"):
        made(c.spec(corners), RECT)


def test_corners_on_one_line_are_refused():
    points = {"A": (0.0, 0.0), "B": (5.0, 0.0), "C": (9.0, 0.0)}
    with pytest.raises(OutlineError):
        made(c.spec("ABC"), points)


def test_slivers_and_sharp_corners_stop():
    points = {"A": (0.0, 0.0), "B": (5.0, 0.0), "C": (5.0, 0.05), "D": (0.0, 0.05)}
    _, found = made(c.spec("ABCD"), points)
    assert "sliver" in codes(found)
    points = {"A": (0.0, 0.0), "B": (8.0, 0.0), "C": (8.0, 1.5)}
    _, found = made(c.spec("ABC"), points)
    assert codes(found) == ["sharp-corner"]
    assert found[0].values["corner"] == "A"


def test_a_point_never_placed_is_named():
    with pytest.raises(OutlineError, match="Z has no place"):
        made(c.spec("ABZ"), RECT)


@pytest.mark.parametrize(("radius", "word"), [("2 m", "at least half")])
def test_an_arc_that_cannot_reach_says_how_much_it_needs(radius, word):
    with pytest.raises(OutlineError, match=word):
        made(c.spec(("A", "B", Vertex(point="C", arc_radius=radius), "D")), RECT)


def test_an_arc_through_its_own_end_is_refused():
    with pytest.raises(OutlineError, match="one of its ends"):
        made(c.spec(("A", "B", Vertex(point="C", arc_through="B"), "D")), RECT)


@settings(max_examples=40, deadline=None)
@given(
    radii=st.lists(st.floats(3.0, 9.0), min_size=4, max_size=12),
    bow=st.floats(-0.25, 0.25),
    x=st.floats(-500, 500),
)
def test_star_rings_with_one_arc_have_the_area_of_a_fine_polygon(radii, bow, x):
    n = len(radii)
    points = {
        f"R{k}": (x + r * math.cos(2 * math.pi * k / n), r * math.sin(2 * math.pi * k / n))
        for k, r in enumerate(radii)
    }
    p, q = points["R0"], points["R1"]
    # the arc bows by `bow` of its chord: outwards when positive
    mid = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
    points["M"] = (mid[0] + bow * (q[1] - p[1]), mid[1] - bow * (q[0] - p[0]))
    corners = [Vertex(point="R1", arc_through="M") if k == 1 else f"R{k}" for k in range(n)]
    try:
        o, _ = made(c.spec(corners), points)
    except OutlineError:
        return  # an inward bow may cross a near side
    body = closed(o)
    assert o.area == pytest.approx(body.area, abs=o.perimeter * CHORD)


def test_of_openings_that_overlap_the_larger_stays():
    points = {**RECT, "T": (5.0, 3.0), "S": (5.1, 3.0)}
    posts = (
        Opening(name="post T", kind="post", at="T", across="0.2 m"),
        Opening(name="post S", kind="post", at="S", across="0.3 m"),
    )
    o, found = made(c.spec("ABCD", openings=posts), points)
    assert codes(found) == ["openings-overlap"]
    assert (found[0].values["one"], found[0].values["other"]) == ("post S", "post T")
    assert [h.name for h in o.holes] == ["post S"]
    assert o.area == pytest.approx(60 - math.pi * 0.0225)
    assert Polygon(o.ring, [o.holes[0].ring]).is_valid
