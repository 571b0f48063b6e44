"""The door to the solver: silent, options that it does not know are refused, and a status for each end."""

from __future__ import annotations

import numpy as np
import pytest

from slabwright import solving
from slabwright.solving import Status, lp, make_whole, quiet_solver, status_of

INF = float("inf")


def solved(cost, least, most, rows, *, whole=(), **options):
    """Columns in [0, most]; rows (coefficients, low, high) written in full."""
    n = len(cost)
    matrix = np.arange(0, n * len(rows) + 1, n), np.tile(np.arange(n), len(rows))
    given = lp(
        np.array(cost, dtype=float),
        (np.full(n, float(least)), np.full(n, float(most))),
        (np.array([r[1] for r in rows], dtype=float), np.array([r[2] for r in rows], dtype=float)),
        (*matrix, np.array([v for r in rows for v in r[0]], dtype=float)),
        by_rows=True,
        whole=whole,
    )
    h = quiet_solver(presolve="off", **options)
    h.passModel(given)
    h.run()
    return h


@pytest.mark.parametrize(
    ("case", "status"),
    [
        (([1, 1], 0, 9, [([1, 2], 3, INF)]), Status.OPTIMAL),
        (([1, 1], 0, 1, [([1, 2], 4, INF)]), Status.INFEASIBLE),
        (([-1, 0], 0, INF, [([1, -1], -INF, 1)]), Status.UNBOUNDED),
    ],
)
def test_the_status_of_small_programs(case, status):
    h = solved(*case)
    assert status_of(h) is status
    assert status.usable == (status is Status.OPTIMAL)


def test_effort_spent_is_said_and_is_no_proof(monkeypatch):
    monkeypatch.setattr(solving, "STEPS_MOST", 0)
    h = solved([1, 1], 0, 9, [([1, 2], 3, INF), ([2, 1], 3, INF)])
    assert status_of(h) is Status.STOPPED
    assert not status_of(h).usable


def test_a_whole_answer_that_was_not_proved_best_is_feasible():
    rng = np.random.default_rng(2)
    weights = rng.integers(30, 90, 40).astype(float)
    case = (-weights - rng.random(40), 0, 1, [(weights, -INF, float(weights.sum() // 2) + 0.5)])
    h = solved(*case, whole=[True] * 40, mip_max_nodes=1, mip_rel_gap=0.0)
    assert status_of(h) is Status.FEASIBLE
    assert h.getInfo().mip_dual_bound < h.getInfo().objective_function_value - 0.01


def test_columns_made_whole_later_come_out_so():
    h = solved([-1, -1], 0, 9, [([2, 2], -INF, 5)])
    assert h.getInfo().objective_function_value == pytest.approx(-2.5)
    make_whole(h, 2)
    h.run()
    assert status_of(h) is Status.OPTIMAL
    assert h.getInfo().objective_function_value == pytest.approx(-2.0)


@pytest.mark.parametrize(
    "option", [{"no_such_option": 1}, {"presolve": "perhaps"}, {"mip_max_nodes": "many"}]
)
def test_an_option_that_is_not_taken_is_refused(option):
    with pytest.raises(ValueError, match=next(iter(option))):
        quiet_solver(**option)


def test_nothing_is_printed_by_a_solver_or_a_run(capfd):
    solved([1, 1], 0, 9, [([1, 2], 3, INF)])
    assert capfd.readouterr() == ("", "")


def test_by_columns_is_the_same_program_turned():
    a = np.array([[1.0, 2.0, 0.0], [0.0, 1.0, 3.0]])
    ends = (np.zeros(3), np.full(3, 5.0)), (np.array([2.0, 3.0]), np.full(2, INF))
    values = []
    for by_rows in (True, False):
        m = a if by_rows else a.T
        start = np.arange(0, m.size + 1, m.shape[1])
        index = np.tile(np.arange(m.shape[1]), m.shape[0])
        h = quiet_solver()
        h.passModel(lp(np.array([1.0, 2.0, 3.0]), *ends, (start, index, m.ravel()), by_rows=by_rows))
        h.run()
        assert status_of(h) is Status.OPTIMAL
        values.append(h.getInfo().objective_function_value)
    assert values[0] == pytest.approx(values[1])
