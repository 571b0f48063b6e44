"""Access: shortest ways against other methods, gates, placing order, chute, pump, and what is said."""

from __future__ import annotations

import heapq
import itertools
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.build.access import plan_access
from slabwright.build.access.net import Net, corners
from slabwright.build.model_yard import AccessPlan
from slabwright.build.tables import rule
from slabwright.ground.model import XY, TreeAt
from slabwright.measure import System
from slabwright.notes.models import Notes
from slabwright.slab.model import Panel, Slab

FT = 0.3048


def written(access: dict[str, Any] | None = None, **extra: Any) -> Notes:
    return Notes.model_validate(
        {
            "title": "yard",
            "slabs": [{"name": "walk", "use": "walk"}],
            "access": {"truck-stops-at": "K", **(access or {})},
            **extra,
        }
    )


def paved(make: Any, *rings: list[XY], name: str = "walk") -> Slab:
    """A slab of these panels, its outline their union."""
    whole = shapely.union_all([shapely.Polygon(r) for r in rings])
    outline = list(shapely.get_coordinates(shapely.orient_polygons(whole).exterior)[:-1])
    slab = make.slab([(float(x), float(y)) for x, y in outline], name=name)
    panels = tuple(
        Panel(str(k), tuple(r), float(shapely.Polygon(r).area), 1.0, 1.0) for k, r in enumerate(rings, 1)
    )
    return replace(slab, joint_plan=replace(slab.joint_plan, panels=panels))


def box(x0: float, y0: float, x1: float, y1: float) -> list[XY]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def row(make: Any, count: int = 4, *, x0: float = 5.0, step: float = 1.5, name: str = "walk") -> Slab:
    """A walk along x of square panels, the first nearest to the truck at the origin."""
    return paved(
        make, *(box(x0 + k * step, -0.75, x0 + (k + 1) * step, 0.75) for k in range(count)), name=name
    )


def planned(make: Any, *slabs: Slab, notes: Notes | None = None, **more: Any) -> AccessPlan:
    points = more.pop("points", {"K": (0.0, 0.0)})
    return plan_access(make.job(*slabs), make.ground(**more), notes or written({"by": "barrow"}), points)


def codes(plan: AccessPlan) -> list[str]:
    return [finding.code for finding in plan.findings]


def fenced(*gate: XY) -> tuple[dict[str, Any], dict[str, XY]]:
    """A fence along x = 3 m all round a yard, open between the two points of the gate (if any)."""
    points: dict[str, XY] = {"F1": (3.0, -10.0), "F2": (20.0, -10.0), "F3": (20.0, 10.0), "F4": (3.0, 10.0)}
    points["K"] = (0.0, 0.0)
    if not gate:
        return {"fences": [{"name": "fence", "along": ["F1", "F2", "F3", "F4", "F1"]}]}, points
    points |= {"G1": gate[0], "G2": gate[1]}
    return {"fences": [{"name": "fence", "along": ["G1", "F1", "F2", "F3", "F4", "G2"]}]}, points


# --- shortest ways ------------------------------------------------------------------------------------------


def test_round_one_box_exactly() -> None:
    """From (0, 0) to (10, 0) round a box 2 m to either side: twice the slant and its side."""
    fixed = shapely.box(4, -2, 6, 2)
    net = Net((0.0, 0.0), [(10.0, 0.0), *corners(fixed)], fixed, [])
    away, before = net.ways(())
    assert away[1] == pytest.approx(2 * math.hypot(4, 2) + 2, abs=0.03)
    assert len(net.way_to(1, before)) == 4


def test_no_way_out_of_a_closed_ring() -> None:
    ring = shapely.box(-2, -2, 2, 2).difference(shapely.box(-1, -1, 1, 1))
    net = Net((0.0, 0.0), [(5.0, 0.0), *corners(ring)], ring, [])
    away, before = net.ways(())
    assert math.isinf(away[1])
    assert net.way_to(1, before) == ()


def test_no_way_between_two_that_touch_at_a_corner() -> None:
    fixed = shapely.union_all([shapely.box(1, 0, 2, 2), shapely.box(2, -2, 3, 0)])
    net = Net((0.0, 0.0), [(4.0, 0.0), *corners(fixed)], fixed, [])
    assert net.ways(())[0][1] > 4.8


def on_a_grid(fixed: Any, start: XY, goal: XY, step: float = 0.25) -> float:
    """The way by Dijkstra on a grid with sixteen neighbours: never shorter than the true one."""
    moves = [(dx, dy) for dx in range(-2, 3) for dy in range(-2, 3) if math.gcd(dx, dy) == 1]
    shapely.prepare(fixed)
    best, heap = {(0, 0): 0.0}, [(0.0, (0, 0))]
    end = (round((goal[0] - start[0]) / step), round((goal[1] - start[1]) / step))
    while heap:
        cost, at = heapq.heappop(heap)
        if at == end:
            return cost
        if cost > best[at]:
            continue
        p = (start[0] + at[0] * step, start[1] + at[1] * step)
        for dx, dy in moves:
            to = (at[0] + dx, at[1] + dy)
            if max(abs(to[0]), abs(to[1])) > 80:
                continue
            new = cost + step * math.hypot(dx, dy)
            if new < best.get(to, math.inf) - 1e-12:
                q = (start[0] + to[0] * step, start[1] + to[1] * step)
                if not fixed.intersects(shapely.LineString([p, q])):
                    best[to] = new
                    heapq.heappush(heap, (new, to))
    return math.inf


@given(
    boxes=st.lists(
        st.tuples(st.integers(1, 8), st.integers(-4, 3), st.integers(1, 3), st.integers(1, 4)), max_size=4
    )
)
@settings(max_examples=12, deadline=None)
def test_beside_a_search_on_a_grid(boxes: list[tuple[int, int, int, int]]) -> None:
    start, goal = (0.0, 0.0), (12.0, 0.0)
    # off the grid's own lines, so that both see the same gaps
    made = [shapely.box(x + 0.1, y + 0.1, x + w + 0.1, y + h + 0.1) for x, y, w, h in boxes]
    fixed = shapely.union_all(made) if made else shapely.Polygon()
    net = Net(start, [goal, *corners(fixed)], fixed, [])
    exact, coarse = float(net.ways(())[0][1]), on_a_grid(fixed, start, goal)
    assert math.dist(start, goal) - 1e-9 <= exact <= coarse + 0.05
    assert coarse <= exact * 1.05 + 0.6


def test_a_way_closes_when_concrete_is_fresh() -> None:
    fresh = shapely.box(4, -2, 6, 2)
    net = Net((0.0, 0.0), [(10.0, 0.0), *corners(fresh)], shapely.Polygon(), [fresh])
    assert net.ways(())[0][1] == pytest.approx(10.0)
    assert net.ways({0})[0][1] > 10.5


# --- gates and obstacles ------------------------------------------------------------------------------------


def test_no_way_in_for_a_barrow(make: Any) -> None:
    access, points = fenced()
    plan = planned(make, row(make), notes=written({"by": "barrow", **access}), points=points)
    assert plan.no_way == ("walk",)
    assert {haul.way for haul in plan.hauls} == {"none"}
    assert "access-no-way" in codes(plan)
    assert "access-trips" not in codes(plan)
    assert len(plan.hauls) == 4


@pytest.mark.parametrize(("gap", "passes"), [(30.0, False), (33.0, True), (48.0, True)])
def test_a_gate_as_wide_as_the_barrow(make: Any, gap: float, passes: bool) -> None:
    """30 in of way between two fence ends, each as thick as a fence is."""
    half = gap * 0.0254 / 2
    access, points = fenced((3.0, -half), (3.0, half))
    plan = planned(make, row(make), notes=written({"by": "barrow", **access}), points=points)
    assert (plan.no_way == ()) is passes


def test_a_narrower_barrow_gets_through(make: Any) -> None:
    half = 30 * 0.0254 / 2
    access, points = fenced((3.0, -half), (3.0, half))
    notes = written({"by": "barrow", "barrow-width": "26", **access})
    assert planned(make, row(make), notes=notes, points=points).no_way == ()


def test_round_the_house_and_a_tree(make: Any) -> None:
    house = (("A-B", (2.0, 6.0), (2.0, -6.0)),)
    open_yard = planned(make, row(make))
    behind = planned(make, row(make), walls=house)
    assert behind.hauls[0].run > open_yard.hauls[0].run + 1.0
    wall = shapely.LineString([(2.0, 6.0), (2.0, -6.0)])
    for haul in behind.hauls:
        way = shapely.LineString(haul.path)
        assert way.distance(wall) >= rule("yard", "barrow_way") / 2 - 0.01
        assert haul.run == pytest.approx(way.length)
    tree = TreeAt("plum", (3.0, 0.0), 0.3, 3.0)
    past = planned(make, row(make), trees=(tree,))
    assert min(shapely.LineString(h.path).distance(shapely.Point(3, 0)) for h in past.hauls) >= 0.5


def test_keep_off_ground(make: Any) -> None:
    points: dict[str, XY] = {"K": (0, 0), "R1": (2, -3), "R2": (4, -3), "R3": (4, 3), "R4": (2, 3)}
    bed = {"keep-off": [{"name": "bed", "corners": ["R1", "R2", "R3", "R4"]}]}
    plan = planned(make, row(make), notes=written({"by": "barrow", **bed}), points=points)
    assert all(not shapely.box(2, -3, 4, 3).intersects(shapely.LineString(h.path)) for h in plan.hauls)


# --- order --------------------------------------------------------------------------------------------------


def test_far_end_first_whichever_way_the_panels_are_numbered(make: Any) -> None:
    near_first = planned(make, row(make))
    assert [h.panel for h in near_first.hauls] == ["4", "3", "2", "1"]
    slab = row(make)
    turned = replace(slab.joint_plan, panels=slab.joint_plan.panels[::-1])
    assert [h.panel for h in planned(make, replace(slab, joint_plan=turned)).hauls] == ["4", "3", "2", "1"]


def test_no_way_crosses_fresh_concrete(make: Any) -> None:
    """A patio of nine panels shut in on three sides, the truck before its open side."""
    panels = [box(4 + 2 * i, -3 + 2 * j, 6 + 2 * i, -1 + 2 * j) for j in range(3) for i in range(3)]
    slab = paved(make, *panels)
    walls = (
        ("A-B", (3.0, 3.1), (10.1, 3.1)),
        ("B-C", (10.1, 3.1), (10.1, -3.1)),
        ("C-D", (10.1, -3.1), (3.0, -3.1)),
    )
    plan = planned(make, slab, walls=walls)
    assert plan.no_way == ()
    assert "access-trapped" not in codes(plan)
    rings = {p.name: shapely.Polygon(p.ring) for p in slab.joint_plan.panels}
    fresh: list[Any] = []
    for haul in plan.hauls:
        way = shapely.LineString(haul.path)
        assert all(way.distance(ring) > rule("yard", "off_fresh") for ring in fresh)
        fresh.append(rings[haul.panel])
    assert sorted(h.panel for h in plan.hauls) == sorted(rings)


def test_two_slabs_in_a_passage_the_far_one_first(make: Any) -> None:
    walls = (("A-B", (3.0, 1.2), (30.0, 1.2)), ("C-D", (30.0, -1.2), (3.0, -1.2)))
    near, far = row(make, 2, x0=5.0, name="near"), row(make, 2, x0=12.0, name="far")
    plan = planned(make, near, far, walls=walls)
    assert [h.slab for h in plan.hauls] == ["far", "far", "near", "near"]
    assert plan.no_way == ()


def test_a_panel_that_any_order_shuts_in(make: Any) -> None:
    """Two strips side by side in a passage, each too narrow to stand beside the other when it is fresh."""
    walls = (("A-B", (3.0, 0.55), (12.0, 0.55)), ("C-D", (12.0, -0.55), (3.0, -0.55)))
    slab = paved(make, box(5, -0.45, 9, 0.0), box(5, 0.0, 9, 0.45))
    plan = planned(make, slab, walls=(*walls, ("B-D", (12.0, 0.55), (12.0, -0.55))))
    said = [f for f in plan.findings if f.code == "access-trapped"]
    assert [f.where for f in said] == ["walk"]
    assert [h.way for h in plan.hauls] == ["barrow", "none"]
    assert plan.no_way == ()


# --- chute, pump, trips -------------------------------------------------------------------------------------


@pytest.mark.parametrize(("reach", "chuted"), [("5.74 m", 0), ("5.75 m", 1), ("7.3 m", 2), ("30 m", 4)])
def test_the_chute_reaches_the_middle_of_a_panel(make: Any, reach: str, chuted: int) -> None:
    """The first panel's middle stands 5.75 m from the truck, the next 1.5 m on."""
    plan = planned(make, row(make), notes=written({"chute": reach}))
    assert sum(h.way == "chute" for h in plan.hauls) == chuted
    assert ("access-chute" in codes(plan)) is (chuted > 0)


def test_the_chute_does_not_go_through_a_wall(make: Any) -> None:
    plan = planned(
        make, row(make), notes=written({"chute": "30 m"}), walls=(("A-B", (2.0, 6.0), (2.0, -6.0)),)
    )
    assert {h.way for h in plan.hauls} == {"barrow"}


def test_a_short_chute_is_said_and_the_rest_barrowed(make: Any) -> None:
    plan = planned(make, row(make), notes=written({"by": "chute", "chute": "6 m"}))
    assert [h.way for h in plan.hauls] == ["barrow", "barrow", "barrow", "chute"]
    assert "access-chute-short" in codes(plan)


def test_the_pump_goes_over_the_fence(make: Any) -> None:
    access, points = fenced()
    plan = planned(make, row(make), notes=written({"by": "pump", **access}), points=points)
    assert {h.way for h in plan.hauls} == {"pump"}
    assert plan.hose == pytest.approx(5 + 3.5 * 1.5)
    assert plan.hose_volume == pytest.approx(math.pi / 4 * (2.5 * 0.0254) ** 2 * plan.hose)
    assert "access-pump" in codes(plan)
    assert plan.trips == 0


def test_trips_and_time_of_a_panel(make: Any) -> None:
    """3 people, 2 of them at the form: one barrow of 2 ft3 at 200 ft a minute, 1.5 min each time."""
    notes = written({"by": "barrow"}, crew={"people": 3}, kit={"barrows": 4})
    plan = planned(make, row(make, 1), notes=notes)
    (haul,) = plan.hauls
    assert plan.pushers == 1
    assert haul.volume == pytest.approx(1.5 * 1.5 * 3.5 * 0.0254)
    assert haul.trips == math.ceil(haul.volume / (2 * FT**3))
    assert haul.time == pytest.approx(haul.trips * (90 + 2 * haul.run / (200 * FT / 60)))
    more = planned(
        make, row(make, 1), notes=written({"by": "barrow"}, crew={"people": 6}, kit={"barrows": 2})
    )
    assert more.pushers == 2
    assert more.hauls[0].time == pytest.approx(haul.time / 2)


def test_volume_is_all_there(make: Any) -> None:
    slab = row(make)
    plan = planned(make, slab)
    assert sum(h.volume for h in plan.hauls) == pytest.approx(slab.outline.area * slab.spec.thickness)


def test_a_buggy_takes_fewer_trips(make: Any) -> None:
    barrow = planned(make, row(make))
    buggy = planned(make, row(make), notes=written({"by": "buggy"}))
    assert buggy.trips < barrow.trips
    assert {h.way for h in buggy.hauls} == {"buggy"}


@pytest.mark.parametrize(("x0", "said"), [(40.0, False), (70.0, True)])
def test_a_long_way_is_said(make: Any, x0: float, said: bool) -> None:
    assert ("access-far" in codes(planned(make, row(make, 1, x0=x0)))) is said


@pytest.mark.parametrize(
    ("slope", "code"), [(0.05, None), (0.10, "access-steep"), (0.15, "access-too-steep")]
)
def test_a_steep_way(make: Any, slope: float, code: str | None) -> None:
    ground = make.ground()
    points = ground.surface.points.copy()
    points[:, 2] = slope * points[:, 0]
    surface = replace(ground.surface, points=points)
    plan = planned(make, row(make), surface=surface)
    assert max(h.steepest for h in plan.hauls) == pytest.approx(slope, rel=0.01)
    steep = [c for c in codes(plan) if c.endswith("steep")]
    assert steep == ([code] if code else [])
    level = planned(make, row(make))
    assert (plan.time > level.time + 1) is (code is not None)


def test_the_better_of_two_stands(make: Any) -> None:
    notes = written({"by": "barrow", "or-stops-at": ["K2"]})
    plan = planned(make, row(make), notes=notes, points={"K": (-30.0, 0.0), "K2": (2.0, 0.0)})
    assert plan.stand_name == "K2"


def test_nothing_says_where_the_truck_stops(make: Any) -> None:
    plan = planned(make, row(make), points={})
    assert plan.stand is None
    assert codes(plan) == ["access-no-stand"]
    assert len(plan.hauls) == 4


def test_a_truck_close_to_the_house(make: Any) -> None:
    wall = (("A-B", (-20.0, 2.0), (20.0, 2.0)),)
    assert "access-by-wall" in codes(planned(make, row(make), walls=wall))
    off = (("A-B", (-20.0, 2.6), (20.0, 2.6)),)
    assert "access-by-wall" not in codes(planned(make, row(make), walls=off))


def test_a_job_without_slabs(make: Any) -> None:
    plan = planned(make)
    assert (plan.hauls, plan.trips, plan.findings) == ((), 0, ())


def test_findings_read_in_both_languages_and_systems(make: Any) -> None:
    access, points = fenced()
    plans = [
        planned(make, row(make, x0=70.0)),
        planned(make, row(make), notes=written({"by": "barrow", **access}), points=points),
        planned(make, row(make), notes=written({"by": "pump"})),
        planned(make, row(make), notes=written({"by": "chute", "chute": "6 m"})),
    ]
    for finding in (f for plan in plans for f in plan.findings):
        for lang, system in itertools.product(("en", "es"), System):
            text = finding.text(lang=lang, system=system)
            assert "{" not in text.what + text.why + text.do


def test_many_panels_stay_quick(make: Any) -> None:
    """Sixty panels in six rows: every one gets its own way, in an order that crosses none."""
    panels = [box(4 + 2 * i, -6 + 2 * j, 6 + 2 * i, -4 + 2 * j) for j in range(6) for i in range(10)]
    plan = planned(make, paved(make, *panels))
    assert all(h.way == "barrow" for h in plan.hauls)
    assert np.isfinite(plan.time)
