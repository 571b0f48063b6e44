"""Drainage of a 100 x 150 ft lot at 3 in beside a cell-by-cell flood in one run, and its growth.

.venv/bin/python bench/bench_drainage.py
"""

from __future__ import annotations

import heapq
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.slab.drained import box, plane, slab

from slabwright.ground.model import Ground, Wall
from slabwright.ground.shots import surface_from
from slabwright.slab.drainage.grid import AROUND, arrivals, d8, d_infinity, flood
from slabwright.slab.drainage.mesh import sheet_of
from slabwright.slab.drainage.plan import drain
from slabwright.slab.drainage.sheet import route
from timing import median_ms

FT = 0.3048
GOAL = 250.0  # [ms] for the whole lot, before and after


def cell_by_cell(z: np.ndarray, opened: np.ndarray) -> np.ndarray:
    """The textbook priority-flood with a heap, one cell at a time."""
    level, done = np.full(z.shape, np.nan), np.zeros(z.shape, dtype=bool)
    heap = [(z[j, i], j, i) for j, i in np.argwhere(opened).tolist()]
    heapq.heapify(heap)
    ny, nx = z.shape
    while heap:
        height, j, i = heapq.heappop(heap)
        if done[j, i]:
            continue
        done[j, i], level[j, i] = True, height
        for dj, di in AROUND:
            a, b = j + dj, i + di
            if 0 <= a < ny and 0 <= b < nx and not done[a, b]:
                heapq.heappush(heap, (max(height, z[a, b]), a, b))
    return level


def rim_of(z: np.ndarray) -> np.ndarray:
    out = np.ones(z.shape, dtype=bool)
    out[1:-1, 1:-1] = False
    return out


def lot() -> tuple[tuple, Ground]:
    """A 100 x 150 ft lot: 60 shots with hollows, a house, a patio of 8 panels, a walk of 12."""
    rng = np.random.default_rng(1)
    shots = {}
    for k, (x, y) in enumerate(rng.uniform((-30, -90), (70, 60), (60, 2))):
        shots[f"G{k}"] = (x * FT, y * FT, float(0.01 * y * FT + rng.normal(0, 0.05)))
    for k, (x, y) in enumerate([(-30, -90), (70, -90), (70, 60), (-30, 60)]):
        shots[f"C{k}"] = (x * FT, y * FT, 0.01 * y * FT)
    ring = tuple((x * FT, y * FT) for x, y in box(0, 0, 40, 28))
    walls = tuple(
        Wall(n, p, q) for n, p, q in zip(("A-B", "B-C", "C-D", "D-A"), ring, ring[1:] + ring[:1], strict=True)
    )
    surface = surface_from(shots)[0]
    ground = Ground(walls, ring, (), (), (), (), (), surface, 0.1, "loam", "none", None, ())
    patio = [
        plane([(x * FT, y * FT) for x, y in box(8 + 6 * i, -6 - 6 * j, 14 + 6 * i, -6 * j)], 0, 0.02)
        for i in range(4)
        for j in range(2)
    ]
    walk = [
        plane([(x * FT, y * FT) for x, y in box(-6, 4 * k, -3, 4 * k + 4)], 0.02, 0.005) for k in range(12)
    ]
    return (slab(patio, name="patio"), slab(walk, name="walk")), ground


def main() -> None:
    slabs, ground = lot()
    got = drain(slabs, ground)
    assert got.cell == 0.0762
    took = median_ms(lambda: drain(slabs, ground))
    print(f"whole check of a 100 x 150 ft lot at 3 in, before and after: {took:.0f} ms (goal {GOAL:.0f} ms)")

    x, y = np.meshgrid(np.arange(400) * 0.0762, np.arange(600) * 0.0762)
    rng = np.random.default_rng(0)
    kinds = {
        "rolling ground": 0.02 * x - 0.01 * y + 0.05 * np.sin(x) * np.cos(y),
        "rolling, each cell 3 mm rough": 0.02 * x + rng.normal(0, 0.003, x.shape),
    }
    heads = ("flood ms", "by cell ms", "ratio", "D8 ms", "D-inf ms", "arrive ms")
    print(f"\n{'240,000 cells':32}" + "".join(f"{head:>11}" for head in heads))
    for name, z in kinds.items():
        opened = rim_of(z)
        ours, peer = (
            median_ms(lambda z=z, o=opened: flood(z, 1.0, o)),
            median_ms(lambda z=z, o=opened: cell_by_cell(z, o), 1),
        )
        water = flood(z, 1.0, opened)
        assert np.array_equal(water.level, cell_by_cell(z, opened))
        parts = [
            median_ms(lambda z=z: d8(z, 1.0)),
            median_ms(lambda z=z: d_infinity(z, 1.0)),
            median_ms(lambda w=water: arrivals(w.onward, np.ones(w.onward.size))),
        ]
        print(f"{name:32}" + "".join(f"{v:11.1f}" for v in (ours, peer, peer / ours, *parts)))

    print(f"\n{'panels':>8} {'mesh ms':>9} {'exact flow ms':>14}")
    sizes, times = [20, 80, 320, 1280], []
    for count in sizes:
        side = int(count**0.5) + 1
        facets = [
            plane(box(3 * i, 3 * j, 3 * i + 3, 3 * j + 3), 0.01, 0.015)
            for i in range(side)
            for j in range(side)
        ]
        many = (slab(facets),)
        mesh = median_ms(lambda m=many: sheet_of(m), 3)
        sheet = sheet_of(many)
        flow = median_ms(lambda s=sheet: route(s), 3)
        times.append(mesh + flow)
        print(f"{side * side:8} {mesh:9.1f} {flow:14.1f}")
    power = np.polyfit(np.log([(int(n**0.5) + 1) ** 2 for n in sizes]), np.log(times), 1)[0]
    print(f"growth: n^{power:.2f}")


if __name__ == "__main__":
    main()
