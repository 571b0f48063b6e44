"""Longest path of a published PERT exercise of eight tasks.

Data as read at brainmass.com, question 380206: A(2,5,6) B(1,5,11) C(4,6,10; after A) D(2,2,2; B)
E(1,2,9; A) F(2,4,5; C, D) G(3,8,11; C, E) H(1,2,4; F, G). The results were worked out from the stated
formulas outside this program.
"""

from __future__ import annotations

import pytest

from slabwright.money.path import Task, longest_path

EXERCISE = {
    "A": Task(2, 5, 6),
    "B": Task(1, 5, 11),
    "C": Task(4, 6, 10, ("A",)),
    "D": Task(2, 2, 2, ("B",)),
    "E": Task(1, 2, 9, ("A",)),
    "F": Task(2, 4, 5, ("C", "D")),
    "G": Task(3, 8, 11, ("C", "E")),
    "H": Task(1, 2, 4, ("F", "G")),
}


def test_exercise() -> None:
    """H mean 2.1667; T = 20.833, critical A-C-G-H, variance 3.472, P(T <= 22) = .7344."""
    path = longest_path(EXERCISE)
    assert EXERCISE["H"].expected == pytest.approx(2.1667, abs=0.00005)
    assert path.whole == pytest.approx(20.833, abs=0.0005)
    assert path.critical == ("A", "C", "G", "H")
    assert path.whole_variance == pytest.approx(3.472, abs=0.0005)
    assert path.chance_by(22.0) == pytest.approx(0.7344, abs=0.00005)


def test_slack_of_the_exercise() -> None:
    """Slacks B 7.5, D 7.5, E 3.333, F 3.833."""
    slack = longest_path(EXERCISE).slack
    printed = {"B": 7.5, "D": 7.5, "E": 3.333, "F": 3.833, "A": 0, "C": 0, "G": 0, "H": 0}
    assert slack == pytest.approx(printed, abs=0.0005)
