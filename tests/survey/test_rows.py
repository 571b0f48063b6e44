"""Derivatives of every kind of reading against differences, and the handedness of square-offs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.survey.net import Known, Net, Pull, RightAngle, SquareOff, Straight
from slabwright.survey.rows import plane_rows, predict

NET = Net(
    pulls=(Pull("A", "P", 5.0),),
    square_offs=(SquareOff("P", "A", "B", 2.0, 3.0),),
    right_angles=(RightAngle("P", "A", "B"),),
    straights=(Straight(("A", "P", "Q", "B")),),
    knowns=(Known("Q", 1.0, 2.0, sd=0.01),),
)
NAMES = ("A", "B", "P", "Q")

place = st.floats(-20, 20)


@given(st.lists(place, min_size=8, max_size=8))
@settings(max_examples=60, deadline=None)
def test_derivatives(values):
    xy = np.array(values).reshape(4, 2)
    far = np.linalg.norm(xy[:, None] - xy[None], axis=2) + 9 * np.eye(4)
    if far.min() < 0.5:
        return
    rows = plane_rows(NET, NAMES)
    _, coef = predict(rows, xy)
    step = 1e-6
    for row in range(len(rows.value)):
        for slot in range(3):
            point = rows.trio[row, slot]
            for axis in range(2):
                if point < 0:
                    assert coef[row, 2 * slot + axis] == 0.0
                    continue
                up, down = xy.copy(), xy.copy()
                up[point, axis] += step
                down[point, axis] -= step
                slope = (predict(rows, up)[0][row] - predict(rows, down)[0][row]) / (2 * step)
                assert coef[row, 2 * slot + axis] == pytest.approx(slope, abs=1e-5)


def test_out_is_to_the_right_hand():
    """Walking from A to B along +x, the right hand is -y: the yard."""
    xy = np.array([(0.0, 0.0), (10.0, 0.0), (2.0, -3.0), (5.0, 1.0)])
    rows = plane_rows(NET, NAMES)
    value, _ = predict(rows, xy)
    assert value[rows.group("along")] == pytest.approx([2.0])
    assert value[rows.group("out")] == pytest.approx([3.0])


def test_groups_cover_every_row_once():
    rows = plane_rows(NET, NAMES)
    kinds = [tag.kind for tag in rows.tags]
    assert kinds == ["pull", "along", "out", "right", "straight", "straight", "x", "y"]
    assert sum(len(range(*rows.group(k).indices(99))) for k in dict.fromkeys(kinds)) == len(kinds)
