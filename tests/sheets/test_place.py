from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.sheets.boxes import Box, Grid, cross, inside_length, meet
from slabwright.sheets.candidates import Ask, readable, spots
from slabwright.sheets.place import Barrier, place

angles = st.one_of(st.just(0.0), st.floats(-180.0, 180.0))
boxes = st.builds(Box, st.floats(0, 60), st.floats(0, 60), st.floats(0.5, 20), st.floats(0.5, 8), angles)
places = st.tuples(st.floats(-10, 70), st.floats(-10, 70))


def shape(box: Box) -> shapely.Polygon:
    return shapely.Polygon(box.corners())


@given(boxes, boxes)
@settings(max_examples=200, deadline=None)
def test_boxes_meet_where_their_shapes_do(a: Box, b: Box) -> None:
    apart = shapely.distance(shape(a), shape(b))
    if apart > 1e-6:
        assert not meet(a, b)
    deep = shape(Box(a.x, a.y, a.half_w - 0.05, a.half_h - 0.05, a.angle))
    if a.half_w > 0.1 and a.half_h > 0.1 and shapely.intersects(deep, shape(b)):
        assert meet(a, b)
    assert meet(a, b) == meet(b, a)


@given(boxes)
@settings(max_examples=60, deadline=None)
def test_bounds_hold_the_corners(box: Box) -> None:
    left, top, right, bottom = box.bounds()
    assert shape(box).bounds == pytest.approx((left, top, right, bottom), abs=1e-9)
    assert shape(box).area == pytest.approx(4.0 * box.half_w * box.half_h, rel=1e-9)


@given(boxes, places, places)
@settings(max_examples=200, deadline=None)
def test_the_length_of_a_line_in_a_box(box: Box, a: tuple[float, float], b: tuple[float, float]) -> None:
    # A line along the very edge may count or not: the truth lies between a hair less and a hair more box.
    line, found = shapely.LineString([a, b]), inside_length(box, a, b)
    hair = 1e-7
    less = Box(box.x, box.y, box.half_w - hair, box.half_h - hair, box.angle)
    more = Box(box.x, box.y, box.half_w + hair, box.half_h + hair, box.angle)
    assert shapely.length(shapely.intersection(shape(less), line)) - 1e-4 <= found
    assert found <= shapely.length(shapely.intersection(shape(more), line)) + 1e-4


def test_lines_cross_between_their_ends_only() -> None:
    assert cross((0, 0), (2, 2), (0, 2), (2, 0))
    assert not cross((0, 0), (2, 2), (0, 3), (3, 4))
    assert not cross((0, 0), (1, 1), (2, 0), (0.0, 3.0))


@given(st.lists(boxes, max_size=25), boxes)
@settings(max_examples=60, deadline=None)
def test_the_grid_forgets_nothing_that_is_near(listed: list[Box], probe: Box) -> None:
    grid = Grid()
    for n, box in enumerate(listed):
        grid.add(n, box.bounds())
    near = grid.near(probe.bounds())
    assert {n for n, box in enumerate(listed) if meet(box, probe)} <= near
    for n, box in enumerate(listed):
        grid.drop(n, box.bounds())
    assert not grid.near((-100.0, -100.0, 200.0, 200.0))


@given(st.floats(-720.0, 720.0))
@settings(max_examples=200, deadline=None)
def test_letters_read_from_the_bottom_or_the_right(angle: float) -> None:
    turned = readable(angle)
    assert -90.0 < turned <= 90.5
    assert math.isclose((turned - angle) % 180.0, 0.0, abs_tol=1e-9) or math.isclose(
        (turned - angle) % 180.0, 180.0, abs_tol=1e-9
    )


@pytest.mark.parametrize(
    ("angle", "shown"), [(0, 0), (90, 90), (-90, 90), (180, 0), (135, -45), (-45, -45), (45, 45)]
)
def test_readable_angles(angle: float, shown: float) -> None:
    assert readable(angle) == shown


WIDE, HIGH = 240.0, 170.0
asks = st.builds(
    Ask,
    st.tuples(st.floats(5, WIDE - 5), st.floats(5, HIGH - 5)),
    st.floats(2.0, 12.0),
    st.sampled_from([1.9, 4.2]),
    st.sampled_from(["beside", "inside", "along"]),
    st.sampled_from([0.0, 0.0, 45.0, 90.0, -30.0]),
    st.floats(0.4, 2.0),
    st.floats(0.0, 30.0),
    st.floats(0.0, 10.0),
    st.integers(1, 5),
    st.one_of(st.none(), st.floats(-3.1, 3.1)),
)
barriers = st.lists(st.builds(Barrier, places, places, st.floats(0, 9), st.floats(0, 1)), max_size=12)


@given(st.lists(asks, max_size=45), barriers)
@settings(max_examples=60, deadline=None)
def test_no_label_overlaps_another_or_leaves_the_frame(listed: list[Ask], walls: list[Barrier]) -> None:
    found = place(listed, barriers=walls, width=WIDE, height=HIGH)
    assert len(found) == len(listed)
    put = [(ask, spot) for ask, spot in zip(listed, found, strict=True) if spot is not None]
    for (_, one), (_, other) in itertools.permutations(put, 2):
        assert not shapely.intersects(shape(one.box), shape(other.box))
        if one.leader is not None:
            assert not shapely.intersects(shapely.LineString(one.leader), shape(other.box))
    for ask, spot in put:
        assert (spot.box.half_w, spot.box.half_h) == (ask.half_w, ask.half_h)
        left, top, right, bottom = spot.box.bounds()
        assert left >= 0.0
        assert top >= 0.0
        assert right <= WIDE
        assert bottom <= HIGH


apart = st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7)), max_size=24, unique=True)


@given(apart, st.lists(asks, min_size=24, max_size=24))
@settings(max_examples=40, deadline=None)
def test_labels_whose_anchors_stand_apart_all_find_a_place(
    cells: list[tuple[int, int]], shapes: list[Ask]
) -> None:
    listed = [
        replace(shape, at=(20.0 + 28.0 * column, 15.0 + 20.0 * row))
        for (column, row), shape in zip(cells, shapes, strict=False)
    ]
    assert all(spot is not None for spot in place(listed, width=WIDE, height=HIGH))


@given(st.lists(asks, max_size=30), barriers)
@settings(max_examples=20, deadline=None)
def test_same_in_same_out(listed: list[Ask], walls: list[Barrier]) -> None:
    once = place(listed, barriers=walls, width=WIDE, height=HIGH)
    assert place(listed, barriers=walls, width=WIDE, height=HIGH) == once


@given(asks)
@settings(max_examples=80, deadline=None)
def test_places_come_in_order_of_liking(ask: Ask) -> None:
    costs = [spot.cost for spot in spots(ask)]
    assert costs == sorted(costs)
    assert all(spot.leader is None for spot in spots(ask) if spot.cost < 2.5)


def test_a_label_keeps_off_a_heavy_line() -> None:
    ask = Ask((50.0, 50.0), 6.0, 2.0, "beside")
    wall = Barrier((50.0, 49.0), (90.0, 46.0), 9.0, 1.2)
    (free,) = place([ask], width=100.0, height=100.0)
    (kept,) = place([ask], barriers=[wall], width=100.0, height=100.0)
    assert free is not None
    assert kept is not None
    assert inside_length(free.box, wall.a, wall.b) > 0.0
    assert inside_length(kept.box, wall.a, wall.b) == 0.0


def test_a_label_stands_on_the_side_that_is_wished() -> None:
    for towards, (dx, dy) in (
        (0.0, (1, 0)),
        (math.pi / 2, (0, -1)),
        (math.pi, (-1, 0)),
        (-math.pi / 2, (0, 1)),
    ):
        (spot,) = place([Ask((50.0, 50.0), 6.0, 2.0, "beside", towards=towards)], width=100.0, height=100.0)
        assert spot is not None
        assert (spot.box.x - 50.0) * dx + (spot.box.y - 50.0) * dy > 0.0
        assert spot.leader is None


def test_repair_moves_a_neighbour_who_can_stand_elsewhere() -> None:
    # The first takes the spot that the second cannot do without: the frame leaves it no other.
    first = Ask((50.0, 50.0), 8.0, 2.0, "beside", rank=1)
    second = Ask((50.0, 46.0), 8.0, 2.0, "inside", clear=0.1, rank=2)
    found = place([first, second], width=200.0, height=100.0)
    assert all(spot is not None and spot.leader is None for spot in found)


def test_what_cannot_be_placed_is_handed_back() -> None:
    crowd = [Ask((10.0, 10.0), 9.0, 9.0, "inside") for _ in range(3)]
    found = place(crowd, width=20.0, height=20.0)
    assert sum(spot is not None for spot in found) == 1


def test_no_letters_on_the_leader_of_another() -> None:
    around = [
        Barrier((40.0 + 2.0 * n, 44.0), (40.0 + 2.0 * n, 56.0), 9.0, 1.2) for n in range(11)
    ]  # a thicket that no label wants to stand in
    first = Ask((50.0, 50.0), 6.0, 2.0, "beside", rank=1)
    (alone,) = place([first], barriers=around, width=100.0, height=100.0)
    assert alone is not None
    assert alone.leader is not None
    (ax, ay), (bx, by) = alone.leader
    second = Ask(((ax + bx) / 2.0, (ay + by) / 2.0), 1.0, 0.6, "inside", rank=2)
    one, two = place([first, second], barriers=around, width=100.0, height=100.0)
    assert one is not None
    assert two is not None
    assert one.leader is not None
    assert not shapely.intersects(shapely.LineString(one.leader), shape(two.box))
