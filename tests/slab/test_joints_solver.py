"""The status between the solver and the rules: only what is proved is called so."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.slab import shape_cases as c

from slabwright import solving
from slabwright.slab.joints import checks, ring
from slabwright.slab.joints.cover import Cover, Row, choose
from slabwright.slab.joints.lines import Line
from slabwright.slab.joints.solver import Rows, solve
from slabwright.slab.outline import outline
from slabwright.solving import Status


def knapsack(n=30, seed=5):
    rng = np.random.default_rng(seed)
    model = Rows()
    weights = rng.integers(20, 80, n)
    for w in weights:
        model.col(-float(w) - rng.random(), 0.0, 1.0, whole=True)
    model.row({k: float(w) for k, w in enumerate(weights)}, -math.inf, float(weights.sum() // 2), "room")
    return model


def test_optimal_value_and_bound_agree():
    answer = solve(knapsack())
    assert answer.status is Status.OPTIMAL
    assert answer.value == pytest.approx(answer.bound, abs=1e-6)
    assert answer.usable


def test_infeasible_is_said():
    model = Rows()
    model.col(1.0, 0.0, 1.0, whole=True)
    model.row({0: 1.0}, 2.0, math.inf, "two")
    answer = solve(model)
    assert answer.status is Status.INFEASIBLE
    assert not answer.usable


def test_stopping_early_is_never_called_optimal():
    answer = solve(knapsack(60), nodes_most=0)
    assert answer.status is not Status.OPTIMAL
    if answer.status is Status.FEASIBLE:
        assert answer.bound <= answer.value


def test_no_steps_at_all_give_nothing(monkeypatch):
    monkeypatch.setattr(solving, "STEPS_MOST", 0)
    model = Rows()
    model.col(-1.0, 0.0, math.inf)
    model.col(-1.0, 0.0, math.inf)
    model.row({0: 1.0, 1: 2.0}, -math.inf, 1.0, "room")
    answer = solve(model)
    assert answer.status in (Status.STOPPED, Status.FEASIBLE)
    assert answer.bound == -math.inf


def test_an_unbounded_model_is_no_answer():
    model = Rows()
    model.col(-1.0, 0.0, math.inf)
    model.row({0: -1.0}, -math.inf, 0.0, "none")
    assert not solve(model).usable


def test_an_empty_model_holds_or_not_by_its_rows():
    model = Rows()
    assert solve(model).status is Status.OPTIMAL
    model.row({}, 1.0, math.inf, "never")
    assert solve(model).status is Status.INFEASIBLE


@settings(max_examples=30, deadline=None)
@given(st.data())
def test_covers_against_full_enumeration(data):
    n = data.draw(st.integers(1, 8))
    costs = data.draw(st.lists(st.floats(0.5, 9.0), min_size=n, max_size=n))
    rows = data.draw(st.lists(st.sets(st.integers(0, n - 1), min_size=1), min_size=1, max_size=8))
    lines = [Line((0.0, 0.0), (1.0, 0.0), 0, 0.0, cost, "spacing") for cost in costs]
    cover = Cover(lines)
    for r in rows:
        cover.add(Row(tuple(sorted(r)), (), 1.0, "spacing"))
    best = min(
        sum(costs[k] for k in range(n) if pick >> k & 1)
        for pick in range(1 << n)
        if all(any(pick >> k & 1 for k in r) for r in rows)
    )
    chosen = choose(cover)
    assert chosen.status is Status.OPTIMAL
    assert chosen.cost == pytest.approx(best)
    assert chosen.bound == pytest.approx(best)
    assert chosen.gave == ()


def test_rows_that_clash_give_by_name():
    lines = [Line((0.0, 0.0), (1.0, 0.0), 0, 0.0, 1.0, "spacing") for _ in range(2)]
    cover = Cover(lines)
    cover.add(Row((0,), (), 1.0, "inside corner"))
    cover.add(Row((1,), (), 1.0, "spacing"))
    cover.add(Row((), (0, 1), -1.0, "least side", elastic=50.0))
    chosen = choose(cover)
    assert chosen.numbers == (0, 1)
    assert chosen.gave == ("least side",)


def test_a_search_that_stops_early_is_a_finding_with_cost_and_bound(monkeypatch):
    monkeypatch.setattr(ring, "ROUNDS", 0)
    names, points = c.ring(c.RINGS["trapezoid"])
    spec = c.spec(names)
    o, _ = outline(spec, points, c.ground())
    from slabwright.slab.joints import plan_joints

    plan = plan_joints(o, spec, c.ground())
    assert not plan.proved
    assert plan.findings
    finding = checks.not_proved(spec, 12.0, 10.0, "spacing")
    text = finding.text()
    assert "stopped early" in text.what
    assert "spacing" in text.why
