"""The survey: slips found on simulated lots, speed and growth, beside a general solver, in one run.

.venv/bin/python bench/bench_survey.py [lots, default 2000]

Numpy's algebra is held to one thread: the blocks are small, and on a busy machine a second thread
costs more than it gives.
"""

from __future__ import annotations

import math
import os
import sys
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")  # numpy reads these when it is first imported

# ruff: noqa: E402
import numpy as np
from scipy.optimize import least_squares

from house_lots import house_lot, tract, with_slip
from slabwright.survey import adjust
from slabwright.survey.levels import level_net
from slabwright.survey.net import Net
from slabwright.survey.plane import plane_net
from slabwright.survey.solve import solve
from slabwright.survey.start import first_places


def best_ms(work: Callable[[], object], times: int, clock: Callable[[], float] = time.process_time) -> float:
    """Best of several runs, in processor time: what else the machine does only ever adds to a time."""
    work()
    spent = []
    for _ in range(times):
        start = clock()
        work()
        spent.append(clock() - start)
    return 1000 * min(spent)


def why_missed(size: float, detectable: float, share: float, passed: bool, others: int) -> str:
    """Sort a miss by what the net could tell."""
    if others:
        return "another reading explains it as well or better"
    if size < 2.0 * detectable:
        return "just above its detectable size (under 2 x)"
    if passed:
        return "net passes its test"
    return "net fails, but no reading of usual size restores it" + (" (r < 0.05)" if share < 0.05 else "")


def in_step(net: Net, key: tuple[str, str], others: list[tuple[str, str]]) -> bool:
    """Tell whether the residuals of another named reading move with this one's, all but exactly.

    Their correlation, from the covariance of residuals sd^2 - A Q A', is then above 0.999 or below
    -0.999: each checks only the other, and nothing in the net can tell which of them slipped.
    """
    tape = key[1] in ("pull", "along", "out", "right", "straight")
    made = plane_net(net) if tape else level_net(net)
    problem = made.problem
    tags = made.rows.tags if tape else made.tags
    coef = problem.predict(solve(problem).x)[1]
    dense = np.zeros((len(problem.value), len(problem.start) + 1))
    np.put_along_axis(dense, np.where(problem.cols < 0, len(problem.start), problem.cols), coef, axis=1)
    dense = dense[:, :-1] / problem.sd[:, None]
    left = np.eye(len(dense)) - dense @ np.linalg.inv(dense.T @ dense) @ dense.T
    row = {(tag.reading.name, tag.kind): k for k, tag in enumerate(tags)}
    k = row[key]
    pairs = [left[k, row[o]] / math.sqrt(left[k, k] * left[row[o], row[o]]) for o in others if o in row]
    return max((abs(rho) for rho in pairs), default=0.0) > 0.999


def slips(count: int) -> None:
    """Name one planted slip a lot, and cry none on clean lots."""
    cried = tried = named = first = lone = together = 0
    by_kind: Counter[str] = Counter()
    named_by_kind: Counter[str] = Counter()
    alone: Counter[bool] = Counter()
    pulls: Counter[bool] = Counter()
    near: Counter[bool] = Counter()
    reasons: Counter[str] = Counter()
    twins: Counter[bool] = Counter()
    seed = 0
    while tried < count:
        seed += 1
        lot = house_lot(seed)
        if seed <= count:
            cried += bool(adjust(lot.net).slips)
        rows = adjust(lot.net, look_for_slips=False).readings
        least = {(row.name, row.part): row.detectable for row in rows}
        bad = with_slip(lot, seed, least)
        if bad is None or bad.slip is None:
            continue
        tried += 1
        key = bad.slip[:2]
        got = adjust(bad.net)
        found = [(slip.reading, slip.part) for slip in got.slips]
        good = key in found
        tape = bad.slip[1] in ("pull", "along", "out")
        by_kind[bad.slip[2]] += 1
        close = abs(bad.by) < 2.0 * least[key]
        near[close] += 1
        pulls[tape] += 1
        if good:
            named += 1
            named_by_kind[bad.slip[2]] += 1
            first += found[0] == key
            lone += len(found) == 1
            together += len(found)
            alone[tape] += len(found) == 1
            if len(found) > 1:
                twins[tape] += in_step(bad.net, key, [other for other in found if other != key])
            continue
        row = next((r for r in got.readings if (r.name, r.part) == key), None)
        if row is None:
            reasons["its point was left out of the net"] += 1
            continue
        fit = got.plane if tape else got.levels
        assert fit is not None
        reasons[why_missed(abs(bad.by), least[key], row.redundancy, fit.passed_as_written, len(found))] += 1
    print(f"clean lots                 {count}")
    print(f"  a slip cried             {cried} = {cried / count:.2%}   (at most 2 %)")
    print(f"lots with one slip         {tried}  (any size above the reading's detectable one)")
    print(f"  right reading named      {named} = {named / tried:.2%}  (at least 95 %)")
    print(f"  named first              {first} = {first / tried:.2%}")
    print(f"  named, and no other      {lone} = {lone / tried:.2%}")
    print(f"  readings named in the mean {together / max(named, 1):.2f}, where the right one is among them")
    for tape, what in ((True, "tape and square-off"), (False, "rod and water level")):
        print(
            f"    {what:<22} {alone[tape]} of {pulls[tape]} = {alone[tape] / pulls[tape]:.2%};"
            f" {twins[tape]} more are named with a reading in step with them, which nothing could tell"
        )
    print(f"  slips under twice the detectable size: {near[True]} of {tried}")
    print("  by kind: " + ", ".join(f"{k} {named_by_kind[k]}/{n}" for k, n in by_kind.most_common()))
    print("  misses:")
    for reason, n in reasons.most_common():
        print(f"    {n:4d}  {reason}")


def peer_time(net: Net, times: int) -> tuple[float, float, float, float]:
    """Return ms of our solver, of our whole stage, of the general solver, and the largest gap [m].

    The same readings, pulls and rods, in one vector of unknowns. Both solvers begin at our first
    places; the general one gets array expressions for its residuals and takes numerical derivatives
    (its default, two-point). Our solver's time includes variances and redundancy numbers, our stage's
    also vetting, first places and all records; the general solver gives neither.
    """
    made = plane_net(net)
    rows = made.rows
    places = first_places(net).xy
    base = np.array([places[name] for name in rows.names])
    free = np.ones(base.shape, dtype=bool)
    free[rows.index[net.frame[0]]] = False
    free[rows.index[net.frame[1]], 1] = False
    level = level_net(net)
    plane = replace(made.problem, start=base[free])
    sights = level.problem.cols
    held = np.array([level.fixed.get(tag.reading.points()[0], 0.0) for tag in level.tags])
    flat, ups = int(free.sum()), len(level.nodes)

    def residuals(x: np.ndarray) -> np.ndarray:
        xy = base.copy()
        xy[free] = x[:flat]
        d = xy[rows.trio[:, 0]] - xy[rows.trio[:, 1]]
        heights = np.append(x[flat:], 0.0)
        up = heights[sights[:, 1]] - np.where(sights[:, 0] < 0, held, heights[sights[:, 0]])
        return np.concatenate(
            [
                (np.hypot(d[:, 0], d[:, 1]) - rows.value) / rows.sd,
                (up - level.problem.value) / level.problem.sd,
            ]
        )

    start = np.concatenate([base[free], np.zeros(ups)])
    core = best_ms(lambda: (solve(plane), solve(level.problem)), times)
    stage = best_ms(lambda: adjust(net), times)
    peers = [least_squares(residuals, start)]
    spent = best_ms(lambda: peers.append(least_squares(residuals, start)), 3)
    peer = peers[-1]
    xy = base.copy()
    xy[free] = peer.x[:flat]
    got = adjust(net)
    gaps = [
        math.hypot(got.points[n].x - xy[k, 0], got.points[n].y - xy[k, 1]) for k, n in enumerate(rows.names)
    ]
    for (kind, name), height in zip(level.nodes, peer.x[flat:], strict=True):
        gaps.append(abs((got.heights if kind == "point" else got.set_ups)[name].height - height))
    return core, stage, spent, max(gaps)


def growth() -> None:
    sizes, times = [], []
    print("lots  readings  points   whole stage")
    for side in (1, 3, 6, 9, 13, 19, 28):
        lot = tract(side * side)
        n = len(lot.net.pulls) + len(lot.net.rods)
        spent = best_ms(lambda lot=lot: adjust(lot.net), 7 if n < 3000 else 3)
        print(f"{side * side:4d}  {n:8d}  {len(lot.xy):6d}   {spent:9.2f} ms")
        sizes.append(n)
        times.append(spent)
    large = [k for k, n in enumerate(sizes) if n >= 150]
    slope = np.polyfit(np.log([sizes[k] for k in large]), np.log([times[k] for k in large]), 1)[0]
    print(f"cost grows as n^{slope:.2f} from {sizes[large[0]]} to {sizes[-1]} readings (at most n^1.3)")


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    few = house_lot(4, pegs=31).net
    n = len(few.pulls) + 2 * len(few.square_offs) + len(few.rods) + len(few.height_differences)
    spent = best_ms(lambda: adjust(few), 31)
    wall = best_ms(lambda: adjust(few), 31, time.perf_counter)
    print(f"{n} readings of one house lot adjusted warm: {wall:.2f} ms by the wall clock, {spent:.2f} ms of")
    print("processor time (200 in at most 10 ms); all times below are processor time of one thread\n")
    growth()
    print("\nbeside scipy.optimize.least_squares with numerical derivatives, from the same first places")
    print("readings   our solver   whole stage   general solver   ratio to solver, to stage   largest gap")
    for lots in (2, 4, 6, 9, 10, 16, 36, 64):
        net = tract(lots).net
        core, stage, peer, gap = peer_time(net, 15)
        n = len(net.pulls) + len(net.rods)
        print(
            f"{n:8d}  {core:8.2f} ms   {stage:8.2f} ms   {peer:10.1f} ms"
            f"   {peer / core:11.1f} x {peer / stage:8.1f} x    {gap:.1e} m"
        )
    print()
    slips(count)


if __name__ == "__main__":
    main()
