"""Cutting boards and bars: published instances, house jobs, and a general assignment model beside ours.

Bound is the linear bound lifted to the next cost that a plan can have; FFD is first fit decreasing, what
a careful person does by hand. The peer is the plain model (a piece goes to a board) on the same solver.
"""

from __future__ import annotations

import importlib.util
import math
import random
import statistics
import sys
from pathlib import Path
from time import perf_counter
from types import ModuleType

import numpy as np

from slabwright.build.cutting import Cutting, Stock, cut
from slabwright.solving import forget, make_whole, quiet_solver

FT = 0.3048
KERF = 0.0254 / 8
OUTSIDE = Path(__file__).parent.parent / "tests" / "outside"
YARD = [Stock(n * FT, n * FT) for n in range(8, 22, 2)]


def outside(name: str) -> ModuleType:
    """The published data stand once, in the outside checks."""
    spec = importlib.util.spec_from_file_location(name, OUTSIDE / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def timed(pieces: list[tuple[float, int]], stocks: list[Stock], **more: float) -> tuple[Cutting, float]:
    forget()
    start = perf_counter()
    plan = cut(pieces, stocks, **more)
    return plan, perf_counter() - start


def by_hand(pieces: list[tuple[float, int]], length: float, kerf: float = 0.0) -> int:
    """First fit decreasing on one length: the number of boards."""
    rooms: list[float] = []
    for piece in sorted((p for p, n in pieces for _ in range(n)), reverse=True):
        for i, room in enumerate(rooms):
            if room >= piece + kerf - 1e-9:
                rooms[i] -= piece + kerf
                break
        else:
            rooms.append(length + kerf - piece - kerf)
    return len(rooms)


def published() -> None:
    print(f"{'published instance':<28}{'pieces':>7}{'FFD':>6}{'ours':>7}{'bound':>8}{'proved':>8}{'ms':>8}")
    article = outside("test_cutting_roll_article").WIDTHS
    cases = [
        ("rolls of 5600 mm", [(float(w), n) for w, n in article], 5600.0, 10.0),
        ("raws of 100 (Chvatal)", [(45.0, 97), (36.0, 610), (31.0, 395), (14.0, 211)], 100.0, 1.0),
        ("u120_00", [(float(s), 1) for s in outside("test_falkenauer_u120").SIZES], 150.0, 1.0),
    ]
    for name, (capacity, _, sizes) in outside("test_scholl_klein").CASES.items():
        cases.append((name, [(float(s), 1) for s in sizes], float(capacity), 1.0))
    cut([(1.0, 1)], [Stock(2.0, 1.0)])  # the library's own first call
    for name, pieces, length, grain in cases:
        plan, seconds = timed(pieces, [Stock(length, 1.0)], grain=grain)
        print(
            f"{name:<28}{sum(n for _, n in pieces):>7}{by_hand(pieces, length):>6}{plan.cost:>7.0f}"
            f"{plan.bound:>8.0f}{plan.proved!s:>8}{seconds * 1e3:>8.1f}"
        )


def house_jobs(jobs: int = 200) -> None:
    times, proved, gaps = [], 0, []
    for seed in range(jobs):
        rng = random.Random(seed)
        pieces = [(rng.uniform(0.6, 6.0), 1) for _ in range(rng.randint(6, 30))]
        pile = [
            Stock(rng.uniform(1.0, 4.9), 0.0, rng.randint(1, 3), "pile") for _ in range(rng.randint(0, 5))
        ]
        pile = [Stock(s.length, s.length / 8, s.limit, "pile") for s in pile]
        plan, seconds = timed(pieces, [*YARD, *pile], kerf=KERF)
        times.append(seconds)
        proved += plan.proved
        gaps.append(plan.cost / plan.bound - 1 if plan.bound else 0.0)
    times.sort()
    ms = [1e3 * t for t in times]
    over = sum(t > 100.0 for t in ms)
    print(
        f"\n{jobs} house jobs, 6 to 30 pieces, seven lengths and a pile: proved {proved} of {jobs}; "
        f"median {statistics.median(ms):.1f} ms, 95 in 100 under {ms[int(0.95 * jobs)]:.1f} ms, "
        f"slowest {ms[-1]:.1f} ms, {over} over 100 ms; largest gap left {100 * max(gaps):.3f} %"
    )


def odd_piles(jobs: int = 40) -> None:
    """Tract-sized jobs with a pile of odd lengths: costs have no common step, so a proof is hard."""
    times, proved, gaps = [], 0, []
    for seed in range(1000, 1000 + jobs):
        rng = random.Random(seed)
        pieces = [(rng.uniform(0.6, 6.0), 1) for _ in range(rng.randint(60, 100))]
        lengths = [(rng.uniform(1.0, 4.9), rng.randint(1, 3)) for _ in range(rng.randint(3, 8))]
        pile = [Stock(length, length / 8, count, "pile") for length, count in lengths]
        plan, seconds = timed(pieces, [*YARD, *pile], kerf=KERF)
        times.append(1e3 * seconds)
        proved += plan.proved
        gaps.append(plan.cost / plan.bound - 1 if plan.bound else 0.0)
    print(
        f"{jobs} jobs of 60 to 100 pieces with an odd pile: proved {proved} of {jobs}; "
        f"median {statistics.median(times):.0f} ms, slowest {max(times):.0f} ms; "
        f"largest gap left {100 * max(gaps):.3f} %"
    )


def large_jobs(jobs: int = 12) -> None:
    print(f"\n{'200 random pieces':<28}{'ours m':>9}{'bound m':>9}{'proved':>8}{'ms':>9}")
    for seed in range(jobs):
        rng = random.Random(seed)
        pieces = [(rng.uniform(0.4, 6.0), 1) for _ in range(200)]
        plan, seconds = timed(pieces, YARD, kerf=KERF)
        name = f"seed {seed}"
        print(f"{name:<28}{plan.cost:>9.3f}{plan.bound:>9.3f}{plan.proved!s:>8}{seconds * 1e3:>9.0f}")


def assignment(pieces: list[float], stocks: list[Stock], limit: float) -> tuple[str, float, float, float]:
    """The plain model: which board of which length each piece comes from. Status, cost, bound, seconds."""
    solver = quiet_solver(time_limit=limit)
    boards, kinds, n = len(pieces), len(stocks), len(pieces)
    # y[b, k]: board b is bought in length k; x[i, b]: piece i comes from board b.
    for _ in range(boards):
        for stock in stocks:
            solver.addCol(stock.cost, 0.0, 1.0, 0, np.empty(0, np.int32), np.empty(0))
    for _ in range(n * boards):
        solver.addCol(0.0, 0.0, 1.0, 0, np.empty(0, np.int32), np.empty(0))
    start_x = boards * kinds
    for i in range(n):
        columns = np.array([start_x + i * boards + b for b in range(boards)], np.int32)
        solver.addRow(1.0, 1.0, boards, columns, np.ones(boards))
    for b in range(boards):
        columns = [b * kinds + k for k in range(kinds)] + [start_x + i * boards + b for i in range(n)]
        values = [-(s.length + KERF) for s in stocks] + [p + KERF for p in pieces]
        solver.addRow(-math.inf, 0.0, len(columns), np.array(columns, np.int32), np.array(values))
        own = np.array([b * kinds + k for k in range(kinds)], np.int32)
        solver.addRow(-math.inf, 1.0, kinds, own, np.ones(kinds))
    total = boards * kinds + n * boards
    make_whole(solver, total)
    start = perf_counter()
    solver.run()
    info = solver.getInfo()
    return (
        solver.modelStatusToString(solver.getModelStatus()),
        float(info.objective_function_value),
        float(info.mip_dual_bound),
        perf_counter() - start,
    )


def beside_the_plain_model() -> None:
    print(f"\n{'30 pieces, seven lengths':<28}{'cost m':>9}{'bound m':>9}{'seconds':>9}")
    for seed in range(2):
        rng = random.Random(100 + seed)
        pieces = [rng.uniform(0.6, 6.0) for _ in range(30)]
        plan, seconds = timed([(p, 1) for p in pieces], YARD, kerf=KERF)
        status, cost, bound, peer = assignment(pieces, YARD, 10.0)
        print(f"{'ours, proved ' + str(plan.proved):<28}{plan.cost:>9.3f}{plan.bound:>9.3f}{seconds:>9.3f}")
        name = f"plain, {status.lower()}"
        print(f"{name:<28}{cost:>9.3f}{bound:>9.3f}{peer:>9.3f}   x {peer / seconds:.0f}")


def main() -> None:
    published()
    house_jobs()
    odd_piles()
    large_jobs(6)
    beside_the_plain_model()
    sys.stdout.flush()


if __name__ == "__main__":
    main()
