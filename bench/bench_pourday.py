"""The slab's heat for 72 h beside scipy's stiff integrator at equal accuracy and beside this machine's floor.

.venv/bin/python bench/bench_pourday.py

Times are processor time of this program alone, so that a busy machine does not change them.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.pourday.slabs import CHICAGO, COOL, MILD, MIX, days, grid_errors, panels, random_case, reference

import timing
from slabwright.pourday import forecast
from slabwright.pourday.clocks import since_begin
from slabwright.pourday.column import column
from slabwright.pourday.crew_model import CrewDay, PanelWork
from slabwright.pourday.draws import bleed_of, draw, hydration_of, vary_of
from slabwright.pourday.events import reached
from slabwright.pourday.fast import installed
from slabwright.pourday.forcing import forcing
from slabwright.pourday.kernel import BLOCK, run, switch_to
from slabwright.pourday.search import Choices, pour_of, row_of, search, tried
from slabwright.pourday.simulate import Setting
from slabwright.pourday.weigh import weigh

HOURS, STEP = 72, 600.0
# Processor time, but for work that is dealt out to cores.
median_ms = partial(timing.median_ms, clock=time.process_time)
least_ms = partial(timing.least_ms, clock=time.process_time)
quickest_ms = timing.least_ms


def batch(samples: int, compiled: bool | None = False) -> Callable[[], object]:
    """Return a run of `samples` days of 72 h with a curing compound."""
    whole = column(0.1016, 0.1016)
    d = draw(1, samples, 1)
    mix, bleed = hydration_of(MIX, d), bleed_of(MIX, 0.1016, d)
    drive = forcing(days(MILD), CHICAGO, [7 * 3600.0], int(HOURS * 3600 / STEP), STEP, vary=vary_of(d))
    begin = np.full((whole.nodes, 1, 1), 16.0)
    begin[: whole.live - 1] = 21.0
    cure = switch_to("compound", 3.5 * 3600.0)
    return lambda: run(whole, mix, bleed, drive, begin, (cure,), lanes=(1, samples), compiled=compiled)


def floor_ms(samples: int) -> float:
    """Return the time of nothing but the model's exponentials, logarithms and divisions [ms], in cache."""
    steps = HOURS * 3600 / STEP
    live = column(0.1016, 0.1016).live
    x = np.random.default_rng(1).uniform(1.0, 2.0, (live, min(BLOCK, samples)))
    out = np.empty_like(x)
    each = 0.0
    for work, count in (
        (np.exp, 3.0 + 4.0 / live),
        (np.log, 1.0 + 0.5 / live),
        (np.reciprocal, 1.0 + 3.0 / live),
    ):
        each += count * median_ms(lambda work=work: [work(x, out=out) for _ in range(200)]) / 200 / x.size
    return each * live * samples * steps


def compiled_floor_ms() -> tuple[float, float]:
    """Return what the compiled twin's exponentials and logarithms alone take for a day, and its writing.

    Both [ms of processor time]: the former at the speed of its own polynomials in the first cache, the latter
    at that of a copy of arrays too big for any cache.
    """
    from slabwright.pourday.compiled import exponential, logarithm

    size, times = np.uint64(192), 4000
    m = np.random.default_rng(1).uniform(1.0, 2.0, 3 * 192)
    bits, x = m.view(np.int64), np.uint64(0)

    def spent(work: Callable[..., None], n: np.uint64) -> float:
        return least_ms(lambda: [work(m, bits, x, size, size + size, n) for _ in range(times)], 15)

    each = {work: (spent(work, size) - spent(work, x)) / times / 192 for work in (exponential, logarithm)}
    live, steps = column(0.1016, 0.1016).live, HOURS * 3600 / STEP
    lane = steps * ((3 * live + 5) * each[exponential] + (live + 1) * each[logarithm])
    big = np.ones(4_000_000)
    out = np.empty_like(big)
    byte = least_ms(lambda: np.copyto(out, big), 9) / (2 * big.nbytes)
    return lane, 7 * 8 * (steps + 1) * byte


def compiled_runs() -> None:
    """Print the compiled twin beside its numpy original and beside this machine's floors."""
    if not installed():
        print("\nthe compiled twin is not installed (extra 'fast')")
        return
    lane, writing = compiled_floor_ms()
    print(
        f"\ncompiled on {os.cpu_count()} cores; goals by the clock on the wall: 1 ms for one, 30 ms for 2,048"
    )
    print("floor: its own exponentials and logarithms alone, and writing the trace; all processor time")
    print(
        f"{'days at once, 72 h each':>24}{'wall ms':>9}{'cpu ms':>9}{'numpy cpu':>11}{'floor ms':>10}"
        f"{'floor / own':>13}{'writing ms':>12}"
    )
    for samples in (1, 64, 512, 2048):
        took, plain = (least_ms(batch(samples, which), 7) for which in (True, False))
        wall, least = quickest_ms(batch(samples, True)), lane * samples
        print(
            f"{samples:24}{wall:9.2f}{took:9.2f}{plain:11.1f}{least:10.2f}{least / took:13.2f}"
            f"{writing * samples:12.2f}"
        )


def accuracy() -> None:
    """Print our error beside LSODA's at several tolerances, all against LSODA at 1e-9, on the same grid."""
    cases = [random_case(np.random.default_rng(200 + n), STEP, HOURS) for n in range(4)]
    cover = switch_to("compound", 4 * 3600.0)
    truth = [reference(*case, cover) for case in cases]
    calm = np.arange(truth[0][0].size) * STEP
    calm = (np.abs(calm - 4 * 3600) > 1800) & (calm > 1800)

    def errors(surface: list[np.ndarray], te: list[np.ndarray]) -> tuple[float, float]:
        warm = max(float(np.abs(s - t[0])[calm].max()) for s, t in zip(surface, truth, strict=True))
        late = 0.0
        for case, got, known in zip(cases, te, truth, strict=True):
            marks = [
                reached(np.asarray(trace)[:, None, None], case[1].te_final, STEP)[0, 0]
                for trace in (got, known[1])
            ]
            late = max(late, abs(marks[0] - marks[1]) / 60)
        return warm, late

    print(f"{'four random slabs, 72 h':34}{'ms a slab':>11}{'surface K':>11}{'final set min':>15}")
    for which in (False, True) if installed() else (False,):
        ours = [run(*case, (cover,), compiled=which) for case in cases]
        took = median_ms(lambda which=which: [run(*case, (cover,), compiled=which) for case in cases]) / len(
            cases
        )
        warm, late = errors([t.surface[:, 0, 0] for t in ours], [t.te_top[:, 0, 0] for t in ours])
        name = "this model, compiled" if which else "this model, steps of 10 min"
        print(f"{name:34}{took:11.1f}{warm:11.3f}{late:15.2f}")
    for rtol in (1e-3, 1e-4, 1e-6):
        start = time.process_time()
        found = [reference(*case, cover, rtol=rtol, atol=rtol) for case in cases]
        spent = (time.process_time() - start) * 1000 / len(cases)
        warm, late = errors([f[0] for f in found], [f[1] for f in found])
        print(f"{f'LSODA, tolerance {rtol:g}':34}{spent:11.1f}{warm:11.3f}{late:15.2f}")


def grid() -> None:
    """Print the errors of the working grid over random slabs, against a fine one."""
    found = np.array([grid_errors(seed) for seed in range(16)])
    rows = ("surface, worst K", "surface, rms K", "initial set min", "final set min")
    print(f"\n{'16 random slabs against 4 x the cells':38}{'median':>9}{'worst':>9}")
    for name, column_ in zip(rows, found.T, strict=True):
        print(f"{name:38}{np.median(column_):9.3f}{column_.max():9.3f}")


def crew() -> None:
    """Print what a plan and a search cost."""
    weather, day = days(MILD, 4, date(2026, 5, 12)), date(2026, 5, 13)
    place = Setting(weather, CHICAGO, MIX, since_begin(weather, day, 0.0))
    works = tuple(PanelWork("patio", str(n + 1), 23.2, 2.36, "chute") for n in range(12))
    loads = (7.1, 7.1, 7.1, 7.1)
    panel = replace(panels(1)[0], placed_at=0.0)
    choices = Choices()
    start = time.process_time()
    pour = pour_of(day, place, panel, works, loads, choices, samples=2048)
    table = time.process_time() - start
    plan = CrewDay(7 * 3600.0, 6, 6, 1800.0)
    one = median_ms(lambda: tried(pour, plan))
    rated = median_ms(lambda: row_of(pour, plan))
    start = time.process_time()
    got = search(pour, choices)
    spent = time.process_time() - start
    print("\n12 panels, 4 trucks, 2,048 days")
    print(f"windows table {1000 * table:.0f} ms, one plan {one:.1f} ms, rated {rated:.1f} ms")
    print(f"search of {got.compared} plans: {spent:.2f} s")
    print(f"chance of loss {got.best.late_chance:.3f}, standard error {got.error:.4f}")


def update() -> None:
    """Print how far things seen narrow the deadlines still to come, and what no watching could take away."""
    print("\nspread of a later panel's deadline [h], trucks differing; goal 0.25 after one look")
    print(f"{'':8}{'before':>9}{'broom on 1':>12}{'and on 4':>10}{'to the minute':>15}{'and one truck':>15}")
    for name, figures in (("mild", MILD), ("cool", COOL)):
        weather, day = days(figures, 4, date(2026, 5, 12)), date(2026, 5, 13)
        place = Setting(weather, CHICAGO, MIX, since_begin(weather, day, 0.0))
        works = tuple(PanelWork("patio", str(n + 1), 20.0, 2.03, "chute") for n in range(6))
        choices = Choices(starts=(7 * 3600.0,), people=(5,), spacings=(1800.0,))
        panel = replace(panels(1)[0], placed_at=0.0)
        pour = pour_of(day, place, panel, works, (6.1, 6.1), choices, samples=4096)
        plan = CrewDay(7 * 3600.0, 5, 5, 1800.0)
        ran = tried(pour, plan)
        offset = (ran.deadline - ran.placed)[5] / 3600

        def left(looks: tuple[int, ...], exact: bool, ran=ran, offset=offset) -> float:
            took = [ran.broom_ready[n] - ran.placed[n] for n in looks]
            weights = np.full(offset.size, 1.0 / offset.size)
            if exact:  # the residual of a straight line: what the minute says at best
                slope = np.polyfit(took[0], offset, 2)
                return float((offset - np.polyval(slope, took[0])).std())
            if took:
                weights = weigh(took, [float(np.median(t)) for t in took]).weights
            return float(np.sqrt(((offset - offset @ weights) ** 2) @ weights))

        alike = replace(pour, draws=replace(pour.draws, truck=0.0 * pour.draws.truck))
        same = tried(alike, plan)
        first = same.broom_ready[0] - same.placed[0], (same.deadline - same.placed)[5] / 3600
        one = float((first[1] - np.polyval(np.polyfit(first[0], first[1], 2), first[0])).std())
        print(
            f"{name:8}{left((), False):9.2f}{left((0,), False):12.2f}{left((0, 3), False):10.2f}"
            f"{left((0,), True):15.2f}{one:15.2f}"
        )


def main() -> None:
    accuracy()
    grid()
    print(f"\n{'days at once, 72 h each':>24}{'ms':>9}{'us a day':>10}{'floor ms':>10}{'floor / own':>13}")
    for samples in (1, 64, 512, 2048):
        took = median_ms(batch(samples), 3)
        least = floor_ms(samples)
        print(f"{samples:24}{took:9.1f}{1000 * took / samples:10.1f}{least:10.1f}{least / took:13.2f}")
    print("goal: 2,048 days within 200 ms without compiled code")
    compiled_runs()
    got = median_ms(
        lambda: forecast(panels(8), days(MILD, 4, date(2026, 5, 12)), CHICAGO, MIX, day=date(2026, 5, 13)), 3
    )
    print(f"\nforecast of 8 panels, 128 days, weather to its end: {got:.0f} ms")
    crew()
    update()


if __name__ == "__main__":
    main()
