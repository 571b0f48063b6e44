"""Short joints, round layouts, stops of a day's pour, panels round openings, slabs that overlap."""

from __future__ import annotations

import math
import random

import pytest
from shapely import LineString, Polygon
from tests.slab import shape_cases as c
from tests.slab.shape_cases import FT, Opening, Vertex
from tests.slab.test_joints_ring import codes, inner, planned, sound

from slabwright.slab.joints.body import Body
from slabwright.slab.joints.mend import stops_inside
from slabwright.slab.outline import outline
from slabwright.slab.outline.check import overlapping
from slabwright.slab.panels import Trial, subdivide

TEN = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]


def stepped(rng):
    """Stairs of whole feet, as a spec and its points."""
    steps = [(rng.randint(4, 14), rng.randint(2, 9)) for _ in range(rng.randint(1, 4))]
    x, y = sum(w for w, _ in steps), 5
    top = [(x, y)]
    for w, rise in steps[::-1]:
        x -= w
        top += [(x, y)]
        if x > 0:
            y += rise
            top += [(x, y)]
    names, points = c.ring([(0, 0), (top[0][0], 0), *top])
    return c.spec(names), c.turned(points, rng.choice([0.0, 0.5]))


def star(rng):
    n, squash = rng.randint(3, 7), rng.uniform(0.6, 1.0)
    turns = [2 * math.pi * k / n for k in range(n)]
    radii = [rng.uniform(2.0, 4.5) for _ in turns]
    ring = [(r * math.cos(t), squash * r * math.sin(t)) for r, t in zip(radii, turns, strict=True)]
    names, points = c.ring(ring, unit=1.0)
    return c.spec(names), points


def drive(rng):
    """A bent drive too wide for one lane."""
    x = y = heading = 0.0
    points = {}
    for k in range(rng.randint(3, 4)):
        points[f"P{k}"] = (x, y)
        far = rng.uniform(5.0, 12.0)
        x, y = x + far * math.cos(heading), y + far * math.sin(heading)
        heading += rng.uniform(-1.0, 1.0)
    return c.spec(along=tuple(points), width=rng.uniform(3.2, 5.5)), points


def bean(size):
    """A half circle with round ends and a hollow front, `size` times 28 ft long."""
    at = {"A": (-14, 0), "B": (14, 0), "T": (0, 14), "C": (5, 0), "D": (-5, 0), "H": (0, 5),
          "e": (9.5, -4.5), "f": (-9.5, -4.5)}  # fmt: skip
    points = c.feet({k: (x * size, y * size) for k, (x, y) in at.items()})
    arcs = [("D", "f"), ("C", "H"), ("B", "e"), ("A", "T")]
    return c.spec(["A", *(Vertex(point=p, arc_through=m) for p, m in arcs)]), points


def disc(radius):
    """A round pad of a radius in ft."""
    points = c.feet({"A": (-radius, 0), "B": (radius, 0), "M": (0, radius), "N": (0, -radius)})
    return c.spec(("A", Vertex(point="B", arc_through="N"), Vertex(point="A", arc_through="M"))), points


# --- made-up outlines, always the same ones -------------------------------------------------------


@pytest.mark.parametrize(("make", "proved_least"), [(stepped, 15), (star, 13)])
def test_made_up_outlines_are_proved(make, proved_least):
    """Sixteen of each, from fixed seeds: all are sound, nearly all proved."""
    proved = 0
    for seed in range(16):
        spec, points = make(random.Random(seed))
        o, plan = planned(spec, points)
        sound(o, plan, spec)
        proved += plan.proved
    assert proved >= proved_least


@pytest.mark.parametrize("seed", range(5))
def test_a_bent_drive_wider_than_one_lane_has_a_usable_plan(seed):
    spec, points = drive(random.Random(seed))
    o, plan = planned(spec, points)
    sound(o, plan, spec)
    assert len(plan.panels) > 2


def test_lanes_of_a_gently_bent_drive_follow_the_bend():
    points = {"A": (0.0, 0.0), "B": (9.0, 0.0), "C": (18.0, 3.0)}
    spec = c.spec(along=tuple(points), width=5.0)
    o, plan = planned(spec, points)
    sound(o, plan, spec)
    lanes = [j for j in inner(plan) if len(j.line) > 2]
    assert len(lanes) == 1
    assert plan.proved
    assert "panel-sharp" not in codes(plan)


# --- short joints ---------------------------------------------------------------------------------


def test_a_jog_is_kept_in_shape_by_a_joint_that_stops_at_another():
    """Full joints alone need a grid far finer; one short joint keeps the strip beside the jog in shape."""
    names, points = c.ring([(0, 0), (15, 0), (15, 5), (11, 5), (11, 7), (7, 7), (7, 9), (0, 9)])
    spec = c.spec(names)
    o, plan = planned(spec, points)
    sound(o, plan, spec)
    assert plan.proved
    body = Body(o)
    short = [j for j in inner(plan) if any(stops_inside(body, xy) for xy in (j.line[0], j.line[-1]))]
    said = [f for f in plan.findings if f.code == "joints-stop"]
    assert len(short) == 1
    assert [f.values["count"] for f in said] == [1]


def test_a_joint_that_ends_on_another_cuts_the_panel():
    pieces = subdivide(TEN, [], [[(4.0, 0.0), (4.0, 10.0)], [(4.0, 5.0), (10.0, 5.0)]])
    assert sorted(p.area for p in pieces) == pytest.approx([30.0, 30.0, 40.0])
    # one that stops short of it, hanging in the air, cuts nothing
    pieces = subdivide(TEN, [], [[(4.0, 0.0), (4.0, 10.0)], [(4.1, 5.0), (10.0, 5.0)]])
    assert sorted(p.area for p in pieces) == pytest.approx([40.0, 60.0])


def test_the_quick_cut_agrees_with_the_exact_one():
    """On slanted outlines turned at odd angles, joints through corners and all."""
    for seed in range(6):
        spec, points = star(random.Random(100 + seed))
        o, plan = planned(spec, c.turned(points, 0.1 + seed))
        lines = [j.line for j in inner(plan)]
        quick = Trial(o.ring, []).cut(lines)
        exact = subdivide(o.ring, [], lines)
        assert sorted(p.area for p in quick) == pytest.approx(sorted(p.area for p in exact), abs=1e-4)
        assert sorted(p.long for p in quick) == pytest.approx(sorted(p.long for p in exact), abs=1e-4)


def test_the_sides_of_a_triangle_do_not_hang_on_how_it_lies():
    """The rectangles along its three sides are of one area; the squarest counts, however it is turned."""
    _, points = c.ring([(0, 0), (5, 0), (2, 3)], unit=1.0)
    sides = set()
    for k in range(12):
        (piece,) = subdivide(list(c.turned(points, 0.3 * k).values()), [], [])
        sides.add((round(piece.long, 6), round(piece.short, 6)))
    # twice its area is 15 m2; along its sides of 5, sqrt(18) and sqrt(13) m, the last is the squarest
    assert sides == {(round(15 / math.sqrt(13), 6), round(math.sqrt(13), 6))}


# --- round shapes ---------------------------------------------------------------------------------


@pytest.mark.parametrize("radius", [6, 9, 11, 13, 15, 18, 20])
def test_round_pads_keep_spacing_shape_and_corners(radius):
    spec, points = disc(radius)
    o, plan = planned(spec, points)
    sound(o, plan, spec)
    assert plan.proved
    assert plan.findings == ()


@pytest.mark.parametrize("size", [0.8, 1.0, 1.4])
def test_kidneys_keep_spacing_shape_and_corners(size):
    spec, points = bean(size)
    o, plan = planned(spec, points)
    sound(o, plan, spec)
    assert not {"panel-too-long", "panel-too-thin", "panel-sharp", "panel-narrow"} & set(codes(plan))


def test_joints_of_a_kidney_run_from_the_middle_of_its_hollow_side():
    spec, points = bean(1.0)
    _, plan = planned(spec, points)
    straight = [j.line for j in inner(plan) if len(j.line) == 2]
    assert len(straight) >= 4
    for p, q in straight:
        far = math.dist(p, q)
        assert abs(p[0] * q[1] - p[1] * q[0]) / far < 0.002  # its line passes through the centre


def test_a_ring_joint_is_drawn_where_the_spacing_asks_for_it():
    spec, points = bean(1.4)
    o, plan = planned(spec, points)
    (curved,) = [j.line for j in inner(plan) if len(j.line) > 2]
    radii = [math.hypot(*xy) for xy in curved]
    assert max(radii) - min(radii) < 0.002
    assert Polygon(o.ring).buffer(0.002).covers(LineString(curved))


# --- panels round openings ------------------------------------------------------------------------


def test_a_panel_knows_the_opening_inside_it():
    names, points = c.ring([(0, 0), (9, 0), (9, 9), (0, 9)])
    points |= c.feet({"a": (3, 3), "b": (6, 3), "d": (6, 6), "e": (3, 6)})
    spec = c.spec(
        names,
        openings=(Opening(name="drain", kind="box", corners=("a", "b", "d", "e")),),
        joints=c.joints(most=9 * FT),
    )
    o, _ = outline(spec, points, c.ground())
    (piece,) = subdivide(o.ring, [h.ring for h in o.holes], [])
    assert piece.area == pytest.approx(72 * FT**2)
    assert c.polygon_area(piece.ring) == pytest.approx(81 * FT**2)
    assert [c.polygon_area(h) for h in piece.holes] == pytest.approx([-9 * FT**2])
    _, plan = planned(spec, points)
    assert sum(p.area for p in plan.panels) == pytest.approx(o.area)


def test_areas_of_panels_sum_to_the_outline():
    """Within what flattening leaves between arc and chord: half a millimetre along the curves."""
    for spec, points in (disc(13), bean(1.0)):
        o, plan = planned(spec, points)
        assert sum(p.area for p in plan.panels) == pytest.approx(o.area, abs=0.0005 * o.perimeter)


# --- where a pour stops ---------------------------------------------------------------------------


@pytest.mark.parametrize("most", [1, 2, 3, 5])
def test_no_day_takes_more_panels_than_asked_for(most):
    names, points = c.ring(c.RINGS["L"])
    spec = c.spec(names, joints=c.joints(stop_after=most))
    o, plan = planned(spec, points)
    free = planned(c.spec(names), points)[1]
    assert len(plan.panels) == len(free.panels)
    bulkheads = [j for j in plan.joints if j.kind == "construction"]
    assert bulkheads
    for j in bulkheads:
        assert (j.made, j.depth, j.doweled, j.against) == ("formed", spec.thickness, True, None)
    # without its bulkheads the slab falls apart into days of so many panels
    body = Polygon(o.ring)
    for j in bulkheads:
        body = body.difference(LineString(j.line).buffer(1e-4))
    counts = [
        sum(part.contains(Polygon(p.ring).representative_point()) for p in plan.panels) for part in body.geoms
    ]
    assert sum(counts) == len(plan.panels)
    assert max(counts) <= most
    assert "day-too-long" not in codes(plan)
    assert [p.name for p in plan.panels] == [str(k + 1) for k in range(len(plan.panels))]


def test_a_walk_stops_after_so_many_panels():
    spec = c.spec(along="AB", width=3 * FT, joints=c.joints(stop_after=4))
    _, plan = planned(spec, {"A": (0.0, 0.0), "B": (40 * FT, 0.0)})
    stops = sorted(j.line[0][0] for j in plan.joints if j.kind == "construction")
    ends = sorted(j.line[0][0] for j in plan.joints)
    assert stops == ends[3::4]


def test_a_slab_poured_in_one_day_has_no_stop():
    names, points = c.ring(c.RINGS["square"])
    _, plan = planned(c.spec(names, joints=c.joints(stop_after=4)), points)
    assert not [j for j in plan.joints if j.kind == "construction"]


# --- slabs beside each other ----------------------------------------------------------------------


def test_slabs_that_overlap_are_named():
    one, p1 = c.ring(TEN, unit=1.0)
    two, p2 = c.ring([(9.0, 2.0), (15.0, 2.0), (15.0, 8.0), (9.0, 8.0)], unit=1.0)
    specs = [c.spec(one, name="patio"), c.spec(two, name="walk")]
    outlines = [outline(s, p, c.ground())[0] for s, p in zip(specs, (p1, p2), strict=True)]
    (said,) = overlapping(specs, outlines)
    assert (said.code, said.values["one"], said.values["other"]) == ("slabs-overlap", "patio", "walk")
    assert said.values["area"].si == pytest.approx(6.0)
    for lang in ("en", "es"):
        assert "{" not in said.text(lang=lang).what


@pytest.mark.parametrize(("start", "count"), [(10.0, 0), (9.99, 0), (9.95, 1)])
def test_slabs_that_share_an_edge_within_an_inch_do_not_overlap(start, count):
    one, p1 = c.ring(TEN, unit=1.0)
    two, p2 = c.ring([(start, 2.0), (15.0, 2.0), (15.0, 8.0), (start, 8.0)], unit=1.0)
    specs = [c.spec(one, name="patio"), c.spec(two, name="walk")]
    outlines = [outline(s, p, c.ground())[0] for s, p in zip(specs, (p1, p2), strict=True)]
    assert len(overlapping(specs, outlines)) == count
