"""The longest way through a plan of tasks: when each can start, what slack it has, how sure the end is.

Tasks follow others; times are three-point estimates or single figures. Source pert.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Task:
    """A task: least, likely and most time [s], and the tasks that must be done before."""

    time_least: float
    time_likely: float
    time_most: float
    after: tuple[str, ...] = ()

    @property
    def expected(self) -> float:
        """Return (least + 4 likely + most) / 6 [s]."""
        return (self.time_least + 4.0 * self.time_likely + self.time_most) / 6.0

    @property
    def variance(self) -> float:
        """Return ((most - least) / 6) squared [s2]."""
        return ((self.time_most - self.time_least) / 6.0) ** 2


@dataclass(frozen=True, slots=True)
class Path:
    """A plan of tasks worked through: how long it takes in all [s], slack [s] of each, the tasks without any.

    `starts` earliest [s] by task; `whole_variance` [s2] is that of the way
    without slack, the one with the most of it.
    """

    whole: float
    starts: Mapping[str, float]
    slack: Mapping[str, float]
    critical: tuple[str, ...]
    whole_variance: float

    def chance_by(self, time: float) -> float:
        """Return the chance [-] of being done by `time` [s], by the normal law along the longest way."""
        if self.whole_variance <= 0:
            return 1.0 if time >= self.whole else 0.0
        return 0.5 * math.erfc(-(time - self.whole) / math.sqrt(2.0 * self.whole_variance))


def longest_path(tasks: Mapping[str, Task]) -> Path:
    """Return when each task can start, its slack, and the longest way.

    ValueError for a task that follows one that is not there, or tasks that wait for each other.
    """
    order = _in_order(tasks)
    starts: dict[str, float] = {}
    for name in order:
        starts[name] = max((starts[a] + tasks[a].expected for a in tasks[name].after), default=0.0)
    length = max((starts[name] + tasks[name].expected for name in order), default=0.0)
    latest = dict.fromkeys(order, length)  # latest end
    for name in reversed(order):
        for before in tasks[name].after:
            latest[before] = min(latest[before], latest[name] - tasks[name].expected)
    slack = {name: latest[name] - starts[name] - tasks[name].expected for name in order}
    dust = 1e-9 * max(1.0, length)
    critical = tuple(name for name in order if slack[name] <= dust)
    return Path(length, starts, slack, critical, _variance(tasks, order, critical, starts, dust))


def _in_order(tasks: Mapping[str, Task]) -> list[str]:
    for name, task in tasks.items():
        for before in task.after:
            if before not in tasks:
                raise ValueError(f"{name} follows {before}, which is not a task")
    order: list[str] = []
    waiting = dict(tasks)
    while waiting:
        ready = [name for name, task in waiting.items() if all(a not in waiting for a in task.after)]
        if not ready:
            raise ValueError(f"these tasks wait for each other: {', '.join(waiting)}")
        order += ready
        for name in ready:
            del waiting[name]
    return order


def _variance(
    tasks: Mapping[str, Task],
    order: list[str],
    critical: tuple[str, ...],
    starts: Mapping[str, float],
    dust: float,
) -> float:
    """Return the largest variance of any way along tasks without slack."""
    sums: dict[str, float] = {}
    for name in order:
        if name not in critical:
            continue
        before = [
            sums[a]
            for a in tasks[name].after
            if a in sums and abs(starts[a] + tasks[a].expected - starts[name]) <= dust
        ]
        sums[name] = max(before, default=0.0) + tasks[name].variance
    return max(sums.values(), default=0.0)
