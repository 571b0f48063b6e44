"""How long work takes: one run to warm up, then some more, in milliseconds.

Before each run all answers that the house remembers are forgotten: what is timed is the work.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

from slabwright.solving import forget

Clock = Callable[[], float]


def runs_ms(work: Callable[[], object], times: int, clock: Clock = time.perf_counter) -> list[float]:
    """Return the time [ms] of each of `times` runs, by the clock on the wall or by another."""
    work()
    spent = []
    for _ in range(times):
        forget()
        start = clock()
        work()
        spent.append(1000 * (clock() - start))
    return spent


def median_ms(work: Callable[[], object], times: int = 5, clock: Clock = time.perf_counter) -> float:
    """Return the median time [ms]."""
    return statistics.median(runs_ms(work, times, clock))


def least_ms(work: Callable[[], object], times: int = 9, clock: Clock = time.perf_counter) -> float:
    """Return the least time [ms]."""
    return min(runs_ms(work, times, clock))


def times_ms(work: Callable[[], object], times: int = 25) -> tuple[float, float]:
    """Return the least and the median time [ms]."""
    spent = runs_ms(work, times)
    return min(spent), statistics.median(spent)
