"""The longest path against enumeration of every way."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.money.path import Task, longest_path


@st.composite
def plans(draw: st.DrawFn) -> dict[str, Task]:
    tasks: dict[str, Task] = {}
    for n in range(draw(st.integers(1, 7))):
        a, m, b = sorted(draw(st.tuples(*[st.integers(1, 20)] * 3)))
        after = tuple(name for name in tasks if draw(st.booleans()))
        tasks[f"t{n}"] = Task(a, m, b, after)
    return tasks


def ways(tasks: dict[str, Task]) -> list[tuple[str, ...]]:
    def on(way: tuple[str, ...]) -> list[tuple[str, ...]]:
        return [way] + [w for name, t in tasks.items() if way[-1] in t.after for w in on((*way, name))]

    return [way for name in tasks for way in on((name,))]


@settings(max_examples=60, deadline=None)
@given(tasks=plans())
def test_longest_of_all_ways(tasks: dict[str, Task]) -> None:
    path = longest_path(tasks)
    lengths = {way: sum(tasks[name].expected for name in way) for way in ways(tasks)}
    whole = max(lengths.values())
    assert path.whole == pytest.approx(whole)
    best = [way for way, long in lengths.items() if long == pytest.approx(whole)]
    assert set(path.critical) == {name for way in best for name in way}
    variance = max(sum(tasks[name].variance for name in way) for way in best)
    assert path.whole_variance == pytest.approx(variance)
    for name, task in tasks.items():
        through = max(long for way, long in lengths.items() if name in way)
        assert path.slack[name] == pytest.approx(whole - through, abs=1e-9)
        for before, after in pairwise((*task.after, name)):
            assert path.starts[name] >= path.starts[before] or after != name


def test_tasks_that_wait_for_each_other() -> None:
    with pytest.raises(ValueError, match="wait for each other: a, b"):
        longest_path({"a": Task(1, 1, 1, ("b",)), "b": Task(1, 1, 1, ("a",))})
    with pytest.raises(ValueError, match="not a task"):
        longest_path({"a": Task(1, 1, 1, ("zz",))})


def test_certain_tasks() -> None:
    path = longest_path({"a": Task(2, 2, 2), "b": Task(3, 3, 3, ("a",))})
    assert (path.chance_by(4.99), path.chance_by(5.0)) == (0.0, 1.0)
    assert longest_path({}).whole == 0.0
