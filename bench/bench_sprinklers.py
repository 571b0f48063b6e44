"""Sprinklers beside a walk: seconds and the bound; a careful person's rule and a plain one beside ours.

By rule: every head in the way is taken out and a half circle set abreast of it on each side; the rule knows
no limit of flow and no strict distance. Access: a
patio's barrow ways beside a search on a fine grid.
"""

from __future__ import annotations

import importlib.util
import math
import statistics
import sys
from dataclasses import replace
from pathlib import Path
from time import perf_counter
from types import ModuleType

from slabwright.build.model_yard import SprinklerHead
from slabwright.build.sprinklers import plan_sprinklers
from slabwright.build.sprinklers.cover import coverage
from slabwright.build.sprinklers.yard import lay_out, read_heads

FT = 0.3048
GPM = 6.30901964e-05
TESTS = Path(__file__).parent.parent / "tests" / "build"
LIMIT = 1.0  # s for 12 heads


def tested(name: str) -> ModuleType:
    """The jobs are those of the tests."""
    spec = importlib.util.spec_from_file_location(f"bench_{name}", TESTS / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def by_rule(heads: tuple[SprinklerHead, ...], y: float) -> list[SprinklerHead]:
    """Two half circles (quarters at the lawn's ends) for each head on the walk's line, none moved along."""
    made: list[SprinklerHead] = []
    for head in heads:
        if abs(head.y - y) > 1.75 * FT:
            made.append(head)
            continue
        for side in (1.0, -1.0):
            part = min(head.arc / 2, math.pi)
            out = 0.0 if side > 0 else math.pi
            lean = 0.0 if head.arc > 6 else math.copysign(math.pi / 4, math.sin(head.facing))
            facing = out + (lean if side > 0 else -lean)
            made.append(
                replace(
                    head,
                    y=y + side * 1.75 * FT,
                    arc=part,
                    facing=facing,
                    flow=head.flow * part / head.arc,
                    change="new",
                )
            )
    return made


def main() -> None:
    """Print every line; fail where 12 heads take longer than the limit."""
    make = tested("conftest").Make
    jobs = tested("test_sprinklers")
    print(
        f"{'job':<36}{'heads':>6}{'ms':>8}{'cost':>8}{'bound':>8}{'DU':>6}{'DU by rule':>12}{'on paving':>11}"
    )
    slow = 0.0
    for rows, columns, extra in (
        (3, 4, {}),
        (3, 4, {"sprinkler-lines": [{"line": "west", "most": "18 gpm"}]}),
        (3, 4, {"sprinkler-lines": [{"line": "west", "most": "20 gpm"}]}),
        (3, 4, {"off-paving": "strict"}),
        (3, 4, {"off-paving": "strict", "sprinkler-lines": [{"line": "west", "most": "40 gpm"}]}),
        (3, 8, {}),
        (5, 6, {}),
    ):
        job = jobs.grid_job(make, rows=rows, columns=columns, **extra)
        plan_sprinklers(*job)  # the libraries' own first call
        times = []
        for _ in range(3):
            start = perf_counter()
            plan = plan_sprinklers(*job)
            times.append(perf_counter() - start)
        seconds = statistics.median(times)
        shaped, ground, notes, points = job
        yard = lay_out(shaped, ground, notes, points)
        assert plan is not None
        assert yard is not None
        heads, _ = read_heads(notes, ground, yard)
        rule = coverage(
            by_rule(heads, -(rows - 1) * 15 * FT / 2), yard.lawn, yard.slabs, step=plan.after.step
        )
        name = f"{rows} x {columns}" + "".join(
            f", {k} {v if isinstance(v, str) else v[0]['most']}" for k, v in extra.items()
        )
        print(
            f"{name:<36}{rows * columns:>6}{seconds * 1e3:>8.0f}{plan.cost:>8.2f}{plan.bound:>8.2f}"
            f"{plan.after.du:>6.2f}{rule.du:>12.2f}{100 * plan.after.on_paving:>10.1f}%"
        )
        if rows * columns <= 12:
            slow = max(slow, seconds)
    ways()
    sys.stdout.flush()
    if slow > LIMIT:
        sys.exit(f"12 heads took {slow:.2f} s, more than {LIMIT} s")


def ways() -> None:
    """Shortest ways to sixty panels, and one way beside a search on a grid."""
    from slabwright.build.access.net import Net, corners

    make = tested("conftest").Make
    access = tested("test_access")
    box = access.box
    panels = [box(4 + 2 * i, -6 + 2 * j, 6 + 2 * i, -4 + 2 * j) for j in range(6) for i in range(10)]
    slab = access.paved(make, *panels)
    start = perf_counter()
    plan = access.planned(make, slab)
    ms = 1e3 * (perf_counter() - start)
    print(f"\n60 panels in placing order, ways and trips: {ms:.0f} ms, {plan.trips} trips")
    import shapely

    fixed = shapely.union_all([shapely.box(2.1, -3.9, 3.1, 4.1), shapely.box(5.1, -6.9, 6.1, 1.1)])
    start = perf_counter()
    exact = float(Net((0.0, 0.0), [(12.0, 0.0), *corners(fixed)], fixed, []).ways(())[0][1])
    ours = perf_counter() - start
    start = perf_counter()
    coarse = access.on_a_grid(fixed, (0.0, 0.0), (12.0, 0.0))
    peer = perf_counter() - start
    print(
        f"one way round two boxes: {exact:.3f} m in {1e3 * ours:.1f} ms; on a 0.25 m grid {coarse:.3f} m in "
        f"{1e3 * peer:.0f} ms (x {peer / ours:.0f})"
    )


if __name__ == "__main__":
    main()
