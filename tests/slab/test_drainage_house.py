"""What is taken for house behind walls that were not measured all round."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from tests.slab import heights_cases as c
from tests.slab.drained import plane, slab

from slabwright.ground.model import Surface, Wall
from slabwright.slab.drainage.house import behind
from slabwright.slab.drainage.mesh import sheet_of
from slabwright.slab.drainage.yard import ponds, run, yard_of

LOW, HIGH = (-20.0, -20.0), (30.0, 25.0)


def chain(*corners):
    return tuple(Wall(f"{k}-{k + 1}", p, q) for k, (p, q) in enumerate(pairwise(corners)))


def inside(walls, at):
    return bool(behind(walls, LOW, HIGH).covers(shapely.Point(at)))


def test_one_wall_has_everything_behind_it_on_its_left_hand():
    one = chain((0, 0), (10, 0))
    assert inside(one, (5, 0.5))
    assert inside(one, (0.1, 24))
    assert not inside(one, (5, -0.1))
    assert not inside(one, (-0.1, 3))  # past its end the yard goes on
    assert not inside(one, (10.1, 3))


def test_an_outside_corner_is_closed_to_a_house_as_large_as_its_walls():
    corner = chain((0, 0), (10, 0), (10, 8))
    assert inside(corner, (9.9, 7.9))
    assert inside(corner, (0.1, 0.1))
    assert behind(corner, LOW, HIGH).area == pytest.approx(80, rel=1e-3)


def test_an_inside_corner_has_the_whole_corner_behind_it():
    corner = chain((0, 0), (10, 0), (10, -8))
    assert inside(corner, (15, 5))
    assert inside(corner, (11, -7))
    assert inside(corner, (1, 1))
    assert not inside(corner, (9, -1))


def test_three_walls_round_a_house_do_not_reach_past_it():
    around = chain((0, 0), (10, 0), (10, 8), (0, 8))
    assert inside(around, (1, 4))
    assert not inside(around, (5, 9))  # in front of the third wall
    assert not inside(around, (-1, 4))
    assert behind(around, LOW, HIGH).area == pytest.approx(80, rel=1e-3)


def test_two_walls_apart_each_have_their_own_behind():
    two = (Wall("A-B", (0.0, 0.0), (4.0, 0.0)), Wall("C-D", (10.0, 0.0), (14.0, 0.0)))
    assert inside(two, (2, 3))
    assert inside(two, (12, 3))
    assert not inside(two, (7, 3))


def test_no_wall_has_nothing_behind_it():
    assert behind((), LOW, HIGH).is_empty


def test_no_rain_stands_in_the_house():
    """A hollow of the ground behind the walls is no pond: nobody can stand in it."""
    walls = chain((0.0, 0.0), (6.0, 0.0), (6.0, 5.0))
    xy = np.array([(-8, -8), (14, -8), (14, 12), (-8, 12), (3, 2.5)], dtype=float)
    z = np.array([0.0, 0.0, 0.0, 0.0, -1.0])
    tri = np.array([[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]])
    surface = Surface(
        np.column_stack([xy, z]), tri, tuple(map(tuple, xy[:4].tolist())), ("a", "b", "c", "d", "e")
    )
    patio = slab([plane([(1, -3), (4, -3), (4, -1), (1, -1)], 0, 0.02)])
    found = {}
    for own in ((), walls):
        ground = c.ground(walls=own, surface=surface)
        yard = yard_of(sheet_of([patio]), ground, 0.2)
        water = run(yard, yard.before, "loam", new=False)
        found[bool(own)] = (
            yard,
            ponds(yard, yard.before, water, ["patio"], [w.name for w in own], new=False),
        )
    assert any(0 < p.at[0] < 6 and 0 < p.at[1] < 5 for p in found[False][1])  # the hollow is there
    yard, pools = found[True]
    assert not any(0 < p.at[0] < 6 and 0 < p.at[1] < 5 for p in pools)
    assert yard.house[yard.house.shape[0] // 2].any()
    assert np.isnan(yard.before[yard.house]).all()
