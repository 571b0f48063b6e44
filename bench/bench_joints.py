"""Joints of patios, walks and parking lots with proof, and how the time grows with the panels.

.venv/bin/python bench/bench_joints.py
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

sys.path.insert(0, str(Path(__file__).parent.parent))

from tests.slab import shape_cases as c

from slabwright.slab.joints import cover, plan_joints
from slabwright.slab.joints.solver import Answer, Rows, solve
from slabwright.slab.model import JointPlan
from slabwright.slab.outline import outline
from timing import times_ms

HOUSE_LIMIT, GROWTH_LIMIT = 100.0, 1.5  # ms for a patio of 30 panels; exponent of growth


def job(points: list[tuple[float, float]], **other: object) -> Callable[[], JointPlan]:
    """Return the planning of a ring given in ft."""
    names, places = c.ring(points)
    extra = other.pop("places", {})
    assert isinstance(extra, dict)
    spec = c.spec(names, **other)
    own, _ = outline(spec, {**places, **c.feet(extra)}, c.ground())
    return lambda: plan_joints(own, spec, c.ground())


def stepped(n: int) -> list[tuple[float, float]]:
    """An L-shaped lot of about 0.6 n^2 panels."""
    w, h = 10.0 * n, 8.0 * n
    return [(0, 0), (w, 0), (w, h), (0.6 * w, h), (0.6 * w, 0.8 * h), (0, 0.8 * h)]


def show(name: str, work: Callable[[], JointPlan], times: int = 15) -> tuple[int, float]:
    """Print one line and return the panels and the least time."""
    plan = work()
    least, median = times_ms(work, times)
    proof = "proved" if plan.proved else "not proved"
    print(
        f"{name:34s} {len(plan.panels):5d} panels  {least:8.1f} ms least {median:8.1f} median  "
        f"cost {plan.cost:9.2f}  bound {plan.bound:9.2f}  {proof}"
    )
    return len(plan.panels), least


def house() -> float:
    """House jobs; returns the worst least time of the patios of about 30 panels [ms]."""
    worst = 0.0
    posts = tuple(c.Opening(name=f"post {k}", kind="post", at=f"T{k}", across="6 in") for k in range(3))
    places = {"T0": (9.0, 8.0), "T1": (27.0, 8.0), "T2": (45.0, 8.0)}
    patios = {
        "patio 54 x 45 ft": job([(0, 0), (54, 0), (54, 45), (0, 45)]),
        "patio, L, 56 x 50 ft": job([(0, 0), (56, 0), (56, 26), (37, 26), (37, 50), (0, 50)]),
        "patio, three posts, 54 x 45 ft": job(
            [(0, 0), (54, 0), (54, 45), (0, 45)], openings=posts, places=places
        ),
        "patio, bay, 54 x 50 ft": job([(0, 0), (54, 0), (54, 40), (44, 50), (10, 50), (0, 40)]),
    }
    for name, work in patios.items():
        worst = max(worst, show(name, work)[1])
    print("other shapes of a house job")
    for name in ("T", "U", "hexagon", "skew L", "trapezoid"):
        show(name, job(c.RINGS[name]), 5)
    spec = c.spec(along="AB", width=3 * c.FT)
    walk, _ = outline(spec, {"A": (0.0, 0.0), "B": (120 * c.FT, 0.0)}, c.ground())
    show("walk, 3 ft by 120 ft", lambda: plan_joints(walk, spec, c.ground()))
    return worst


def growth() -> float:
    """Lots of growing size; returns the exponent fitted over them."""
    sizes = [show(f"lot, L, {10 * n} x {8 * n} ft", job(stepped(n)), 3) for n in (8, 16, 32, 48, 66)]
    logs = np.log(np.array(sizes[1:]))
    return float(np.polyfit(logs[:, 0], logs[:, 1], 1)[0])


def beside_general_layer() -> None:
    """The same set covers through scipy's general layer over the same solver, in the same run."""
    models: list[Rows] = []
    kept = cover.solve

    def keep(model: Rows, *, hard: bool = False) -> Answer:
        models.append(model)
        return kept(model, hard=hard)

    cover.solve = keep  # type: ignore[assignment]
    try:
        job(c.RINGS["U"])()
        job(stepped(16))()
        job(stepped(48))()
    finally:
        cover.solve = kept

    def general() -> list[float]:
        values = []
        for m in models:
            a = np.zeros((len(m.names), len(m.cost)))
            for r in range(len(m.names)):
                a[r, m.column[m.start[r] : m.start[r + 1]]] = m.value[m.start[r] : m.start[r + 1]]
            made = milp(
                m.cost,
                constraints=LinearConstraint(a, m.row_low, m.row_high),
                bounds=Bounds(m.low, m.high),
                integrality=np.array(m.whole, dtype=int),
                options={"mip_rel_gap": 0.0},
            )
            values.append(float(made.fun))
        return values

    ours = [solve(m).value for m in models]
    apart = max(abs(a - b) for a, b in zip(ours, general(), strict=True))
    mine, _ = times_ms(lambda: [solve(m) for m in models], 5)
    theirs, _ = times_ms(general, 5)
    print(
        f"{len(models)} set covers: ours {mine:.1f} ms, scipy.optimize.milp {theirs:.1f} ms "
        f"({theirs / mine:.2f} x), same values within {apart:.1e}"
    )


def main() -> None:
    """Run all."""
    worst = house()
    print(f"patios of about 30 panels: at most {worst:.1f} ms (limit {HOUSE_LIMIT:.0f} ms)")
    power = growth()
    print(f"growth: time as panels^{power:.2f} (limit {GROWTH_LIMIT})")
    beside_general_layer()
    if worst > HOUSE_LIMIT or power > GROWTH_LIMIT or not math.isfinite(power):
        sys.exit("over the limit")


if __name__ == "__main__":
    main()
