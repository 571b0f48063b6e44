"""Longest path of the 'Milwaukee Paper' example.

Heizer and Render, Operations Management, chapter on project management. The data are recalled, not read
again; the results were worked out from the stated formulas outside this program.
"""

from __future__ import annotations

import pytest

from slabwright.money.path import Task, longest_path


def test_milwaukee_paper() -> None:
    """15 weeks, critical A-C-E-G-H; slack B 1, D 1, F 6; variance 3.111, P(T <= 16) = .7146."""
    after = {"C": "A", "D": "AB", "E": "C", "F": "C", "G": "DE", "H": "FG"}
    times = {
        "A": (1, 2, 3), "B": (2, 3, 4), "C": (1, 2, 3), "D": (2, 4, 6),
        "E": (1, 4, 7), "F": (1, 2, 9), "G": (3, 4, 11), "H": (1, 2, 3),
    }  # fmt: skip
    path = longest_path({n: Task(*t, tuple(after.get(n, ""))) for n, t in times.items()})
    assert path.whole == pytest.approx(15.0)
    assert path.critical == ("A", "C", "E", "G", "H")
    assert {n: round(s, 9) for n, s in path.slack.items() if s > 1e-9} == {"B": 1.0, "D": 1.0, "F": 6.0}
    assert path.whole_variance == pytest.approx(3.111, abs=0.0005)
    assert path.chance_by(16.0) == pytest.approx(0.7146, abs=0.00005)
