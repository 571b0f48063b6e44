"""Finished heights of a house job, cold, after an edit and as it grows, beside a general solver's own layer.

.venv/bin/python bench/bench_heights.py
"""

from __future__ import annotations

import math
import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_array, eye_array, hstack, vstack
from scipy.spatial import ConvexHull

sys.path.insert(0, str(Path(__file__).parent.parent))

from tests.slab import heights_cases as cases

from slabwright.ground.model import DoorAt, Ground, Surface, Wall
from slabwright.ground.triangulate import triangulate
from slabwright.slab.heights.plan import GRADE, Wanted, plan_heights, problems_of
from slabwright.slab.heights.rows import Program
from slabwright.slab.heights.solver import Session, solve
from slabwright.solving import Status
from timing import times_ms

FREE = ("free", None)


def yard(reach: float, shots: int, seed: int = 1) -> Surface:
    rng = np.random.default_rng(seed)
    xy = rng.uniform(-reach, reach, (shots, 2))
    triangles, _ = triangulate(xy)
    z = 0.02 * xy[:, 1] + rng.normal(0, 0.03, shots)
    round_them = ConvexHull(xy).vertices  # counter-clockwise
    hull = tuple((float(x), float(y)) for x, y in xy[round_them])
    return Surface(np.column_stack([xy, z]), triangles, hull, ())


def house_job() -> tuple[list[Wanted], Ground]:
    """Five slabs that touch, 60 panels: a patio at a door, three walks and a pad, over 40 shots."""
    top = (FREE, FREE, ("wall", "A-B"), FREE)
    away, left = cases.fall(toward=None, across=0.018), cases.fall(toward="left")
    slabs = [
        (
            cases.spec("patio", use="patio", fall=away, meets=(cases.Meets(door="back"),)),
            *cases.pad(9, 6, 4, 5, name="patio", at=(0, -6), kinds=top),
        ),
        (cases.spec("east walk"), *cases.ribbon(12, 0.9144, 12, name="east walk", at=(9, -5))),
        (
            cases.spec("west walk", fall=left),
            *cases.ribbon(12, 0.9144, 10, name="west walk", at=(0, -5.5), turn=math.pi),
        ),
        (
            cases.spec("front walk"),
            *cases.ribbon(8, 0.9144, 8, name="front walk", at=(4.5, -6), turn=-math.pi / 2),
        ),
        (cases.spec("pad", use="pad"), *cases.pad(5, 4, 5, 2, name="pad", at=(21, -7))),
    ]  # fmt: skip
    ground = cases.ground(
        walls=[Wall("A-B", (0, 0), (9, 0))],
        doors=[DoorAt("back", "A-B", (3, 0), (4, 0), 0.3, "sill")],
        surface=yard(30.0, 40),
    )
    return slabs, ground


def lot(side: int) -> tuple[list[Wanted], Ground]:
    """A parking lot of side x side panels of 3.5 m over rolling ground."""
    fall = cases.fall(across_least=0.005, across_most=0.05, along_most=0.05, across=0.01)
    size = 3.5 * side
    return [
        (cases.spec("lot", use="pad", fall=fall), *cases.pad(size, size, side, side, name="lot"))
    ], cases.ground(surface=yard(size, 12 * side))


def by_layer(p: Program) -> float:
    """The same program as scipy.optimize.linprog takes it: heights, an over and an under for each wish."""
    rows = csr_array((p.value, p.index, p.start), shape=(len(p.lo), p.columns))
    wish, limits = np.flatnonzero(~p.limits), np.flatnonzero(p.limits)
    w = len(wish)
    even = limits[p.lo[limits] == p.hi[limits]]
    part = limits[p.lo[limits] != p.hi[limits]]
    up, low = part[np.isfinite(p.hi[part])], part[np.isfinite(p.lo[part])]
    a_ub = hstack([vstack([rows[up], -rows[low]]), csr_array((len(up) + len(low), 2 * w))])
    a_eq = vstack(
        [
            hstack([rows[wish], -eye_array(w), eye_array(w)]),
            hstack([rows[even], csr_array((len(even), 2 * w))]),
        ]
    )
    found = linprog(
        np.concatenate([np.zeros(p.columns), p.over[wish], p.under[wish]]),
        a_ub,
        np.concatenate([p.hi[up], -p.lo[low]]),
        a_eq,
        np.concatenate([p.lo[wish], p.lo[even]]),
        [(None, None)] * p.columns + [(0, None)] * (2 * w),
        method="highs",
    )
    return float(found.fun)


def by_expressions(p: Program) -> float:
    """The same program written as expressions in the modelling layer that comes with the solver."""
    import highspy

    class Quiet(highspy.Highs):  # without the banner of its first call
        def enableCallbacks(self) -> None:  # noqa: N802 - the library's name
            self.setOptionValue("output_flag", False)
            super().enableCallbacks()

    h = Quiet()
    z = [h.addVariable(lb=-highspy.kHighsInf) for _ in range(p.columns)]
    objective = []
    limits = p.limits
    for r in range(len(p.lo)):
        cut = slice(p.start[r], p.start[r + 1])
        terms = [float(v) * z[k] for k, v in zip(p.index[cut], p.value[cut], strict=True)]
        if limits[r]:
            if math.isfinite(p.hi[r]):
                h.addConstr(h.qsum(terms) <= float(p.hi[r]))
            if math.isfinite(p.lo[r]):
                h.addConstr(h.qsum(terms) >= float(p.lo[r]))
        else:
            over, under = h.addVariable(lb=0), h.addVariable(lb=0)
            objective += [float(p.over[r]) * over, float(p.under[r]) * under]
            h.addConstr(h.qsum([*terms, -1.0 * over, under]) == float(p.lo[r]))
    h.minimize(h.qsum(objective))
    return float(h.getObjectiveValue())


def house() -> None:
    slabs, ground = house_job()
    panels = sum(len(plan.panels) for _, _, plan in slabs)
    plans = plan_heights(slabs, {}, {}, ground)
    least, median = times_ms(lambda: plan_heights(slabs, {}, {}, ground))
    kept = all(p.feasible for p in plans)
    print(f"house job, {len(slabs)} slabs that touch, {panels} panels, all limits kept: {kept}")
    print(f"  heights, findings and prices   least {least:6.1f} ms  median {median:6.1f} ms  (bound 15 ms)")
    exact, _ = times_ms(lambda: plan_heights(slabs, {}, {}, ground, grade=0.0))
    staked = [n.z / GRADE for plan in plans for n in plan.nodes if not n.shape_only]
    on = sum(abs(z - round(z)) < 1e-4 for z in staked)
    print(f"  without whole marks            least {exact:6.1f} ms  ({on} of {len(staked)} stakes on a mark)")
    (problem,), _ = problems_of(slabs, {}, {}, ground)
    p = problem.program
    build, _ = times_ms(lambda: problems_of(slabs, {}, {}, ground))
    ours, _ = times_ms(lambda: solve(p))
    layer, _ = times_ms(lambda: by_layer(p), 9)
    print(f"  of it: nodes and rows          least {build:6.1f} ms")
    print(f"  of it: solve with prices       least {ours:6.1f} ms  {p.columns} heights, {len(p.lo)} rows")
    worded, _ = times_ms(lambda: by_expressions(p), 5)
    for name, spent_by, work in (
        ("scipy.optimize.linprog", layer, by_layer),
        ("the solver's expressions", worded, by_expressions),
    ):
        gap = abs(work(p) - solve(p).cost)
        print(
            f"  {name:<30} least {spent_by:6.1f} ms  {spent_by / ours:.1f} x ours; optimum off by {gap:.0e}"
        )
    session = Session(p)
    session.solve()
    door = p.family == next(k for k, f in enumerate(p.families) if f.kind == "door")
    spent = []
    for k in range(40):  # the sill's shot is written anew, to and fro
        by = 0.003 * ((k * 7) % 11 - 5) * door
        start = time.perf_counter()
        session.rebound(p.lo + by, p.hi + by)
        if session.solve().status is not Status.OPTIMAL:
            raise SystemExit("an edit that should be solved was not")
        spent.append(1000 * (time.perf_counter() - start))
    print(
        f"  re-solve after one edit        median {statistics.median(spent):6.1f} ms  "
        f"most {max(spent):.1f} ms  (bound 5 ms)"
    )


def conflicting() -> None:
    slabs, ground = house_job()
    spec, *rest = slabs[4]
    high = (cases.Fix(at="Z", above="bench", by="1.2 m"),)
    slabs[4] = (replace(spec, heights=high), *rest)
    where, bench = {"Z": (26.0, -7.0)}, {"bench": 0.0}
    plans = plan_heights(slabs, where, bench, ground)
    least, median = times_ms(lambda: plan_heights(slabs, where, bench, ground), 5)
    broken = sum(not plan.feasible for plan in plans)
    print(f"house job that cannot be had, {broken} of {len(plans)} slabs broken")
    print(f"  why, and ways out that work    least {least:6.1f} ms  median {median:6.1f} ms")


def growth() -> None:
    print("growth, one slab over rolling ground")
    sizes, spent = [], []
    for side in (8, 16, 32, 55):
        slabs, ground = lot(side)
        start = time.perf_counter()
        (plan,) = plan_heights(slabs, {}, {}, ground)
        spent.append(time.perf_counter() - start)
        sizes.append(side * side)
        print(f"  {side * side:5d} panels  {spent[-1]:8.2f} s  all limits kept: {plan.feasible}")
    fit = np.polyfit(np.log(sizes), np.log(spent), 1)[0]
    print(f"  grows as n^{fit:.2f}  (bound n^1.5)")


if __name__ == "__main__":
    house()
    conflicting()
    growth()
