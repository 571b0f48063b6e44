"""The order beside the trade's fixed 5 % and 10 % rules over 1,000 varied jobs, and its chances beside pours.

Every rule is charged the same way, with the same planning costs (made up, see build/pour.toml: left-over by
the yard; a short load as a second trip, people waiting, a cold joint), worked out exactly and again on
simulated pours. Left-over and short are as the planning spread has them, not as any crew's record. How
sloppy a subgrade is varies from job to job; one row of ours is told, the other takes the usual for all.
"""

from __future__ import annotations

import math
import statistics
import time
from dataclasses import dataclass, replace

import numpy as np

from slabwright.build.need import PlacedNeed, Spread, usual_spread
from slabwright.build.overage import (
    YARD,
    Costs,
    Plant,
    balance_call,
    best_order,
    expected_cost,
    loads_of,
    usual_costs,
)

FT, IN = 0.3048, 0.0254
JOBS = 1000
POURS = 4000  # simulated pours of each job


@dataclass(frozen=True)
class Job:
    need: PlacedNeed
    costs: Costs
    plant: Plant

    @property
    def drawn(self) -> float:
        return self.need.area * self.need.thickness


def varied(rng: np.random.Generator) -> Job:
    """A walk, a patio or a driveway; subgrade from tight to sloppy; small and large crews and plants."""
    kind = rng.choice(3)
    if kind == 0:
        long, wide = rng.uniform(15, 120), rng.uniform(3, 5)
    elif kind == 1:
        long, wide = rng.uniform(10, 50), rng.uniform(10, 40)
    else:
        long, wide = rng.uniform(25, 100), rng.uniform(9, 24)
    thick = float(rng.choice([3.5, 4.0, 5.0, 6.0]))
    sloppy = float(rng.uniform(0.4, 1.8))
    usual = usual_spread()
    spread = replace(
        usual, subgrade_mean=usual.subgrade_mean * sloppy, subgrade_sd=usual.subgrade_sd * sloppy
    )
    area = long * wide * FT * FT
    plant = Plant(
        step=float(rng.choice([0.25, 0.5])) * YARD,
        least=YARD,
        truck=float(rng.uniform(8, 10)) * YARD,
        left_in_truck=0.05 * YARD,
    )
    need = PlacedNeed(area, thick * IN, spread, patches=((long * FT, wide * FT),))
    return Job(need, usual_costs(int(rng.integers(2, 8))), plant)


def by_rule(job: Job, more: float) -> float:
    """The drawn volume and a fixed share more, rounded up to the plant's step."""
    k = math.ceil(max(job.plant.least, job.drawn * (1 + more)) / job.plant.step - 1e-9)
    return k * job.plant.step


def pours(need: PlacedNeed, rng: np.random.Generator, count: int) -> np.ndarray:
    """Volumes that simulated pours take [m3], drawn from the stated errors."""
    s: Spread = need.spread
    thickness = (
        need.thickness
        + rng.normal(s.subgrade_mean, s.subgrade_sd, count)
        + rng.normal(0, s.form_sd, count)
        + rng.normal(0, need.rough_mean_sd(), count)
    )
    out = need.area * (1 + rng.normal(s.area_mean, s.area_sd, count)) * thickness
    out *= (1 + rng.normal(s.waste_mean, s.waste_sd, count)) * (
        1 + rng.normal(s.settle_mean, s.settle_sd, count)
    )
    return np.asarray(out / (1 + rng.normal(s.yield_mean, s.yield_sd, count)))


def charged(job: Job, order: float, took: np.ndarray) -> float:
    """Mean money over pours that took so much [m3], charged one by one."""
    here, c = job.plant.arrives(order), job.costs
    missing, over = np.maximum(took - here, 0.0), np.maximum(here - took, 0.0)
    again = c.lump + c.small * np.maximum(c.small_under - missing, 0.0)
    return float((c.left_over * over + np.where(missing > 0, again, 0.0)).mean())


def rules(jobs: list[Job]) -> None:
    rng = np.random.default_rng(2)
    taken = [pours(job.need, rng, POURS) for job in jobs]
    ours = [best_order(job.need, job.costs, job.plant) for job in jobs]
    blind = [best_order(replace(j.need, spread=usual_spread()), j.costs, j.plant) for j in jobs]
    base = statistics.fmean(choice.cost for choice in ours)
    print(
        f"{'rule':<24}{'a job':>7}{'by pours':>10}{'of ours':>9}{'short':>8}{'left over':>12}{'dearer':>11}"
    )
    for name, orders in (
        ("as drawn, rounded up", [by_rule(job, 0.0) for job in jobs]),
        ("5 % more", [by_rule(job, 0.05) for job in jobs]),
        ("10 % more", [by_rule(job, 0.10) for job in jobs]),
        ("15 % more", [by_rule(job, 0.15) for job in jobs]),
        ("ours, usual subgrade", [choice.order for choice in blind]),
        ("ours", [choice.order for choice in ours]),
    ):
        made = [expected_cost(j.need, v, j.costs, j.plant) for j, v in zip(jobs, orders, strict=True)]
        mean = statistics.fmean(choice.cost for choice in made)
        seen = statistics.fmean(charged(j, v, t) for j, v, t in zip(jobs, orders, taken, strict=True))
        short = statistics.fmean(choice.chance_short for choice in made)
        left = statistics.fmean(choice.left_over for choice in made) / YARD
        worse = sum(c.cost > o.cost * (1 + 1e-9) for c, o in zip(made, ours, strict=True))
        print(
            f"{name:<24}{mean:>7.0f}{seen:>10.0f}{mean / base:>9.2f}{short:>8.1%}{left:>8.2f} yd3{worse:>11}"
        )
    better = [
        (balance_call(j.need, loads_of(o.order, j.plant), j.costs, j.plant), o)
        for j, o in zip(jobs, ours, strict=True)
    ]
    called = [(b, o) for b, o in better if b is not None]
    print(
        f"balance call, {len(called)} jobs of two loads and more: short "
        f"{statistics.fmean(o.chance_short for _, o in called):.1%} -> "
        f"{statistics.fmean(b.chance_short for b, _ in called):.1%} (model: shared errors seen in full)"
    )


def chances(jobs: list[Job]) -> None:
    rng = np.random.default_rng(4)
    worst = 0.0
    for job in jobs[:40]:
        order = best_order(job.need, job.costs, job.plant)
        took = pours(job.need, rng, 100_000)
        seen = float((took > job.plant.arrives(order.order)).mean())
        worst = max(worst, abs(seen - order.chance_short))
    print(
        f"chance of running short, stated against 100,000 pours, 40 jobs: at most {100 * worst:.2f} % apart"
    )


def speed(jobs: list[Job]) -> None:
    start = time.perf_counter()
    for job in jobs:
        best_order(job.need, job.costs, job.plant)
    spent = (time.perf_counter() - start) / len(jobs)
    rng, some = np.random.default_rng(5), jobs[:20]
    start = time.perf_counter()
    for job in some:
        took = np.sort(pours(job.need, rng, 100_000))
        for k in range(20):  # as many steps as ours looks at, by plain simulation
            charged(job, job.drawn * (1 + k / 100), took)
    peer = (time.perf_counter() - start) / len(some)
    print(
        f"one order: {1000 * spent:.2f} ms; 20 steps on 100,000 simulated pours {1000 * peer:.0f} ms: "
        f"{peer / spent:.0f} times"
    )


def main() -> None:
    rng = np.random.default_rng(1)
    jobs = [varied(rng) for _ in range(JOBS)]
    yards = sorted(job.drawn / YARD for job in jobs)
    print(f"{JOBS} jobs, {yards[0]:.1f} to {yards[-1]:.1f} yd3, half of them under {yards[JOBS // 2]:.1f}")
    rules(jobs)
    chances(jobs)
    speed(jobs)


if __name__ == "__main__":
    main()
