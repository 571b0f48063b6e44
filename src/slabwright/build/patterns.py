"""Cutting patterns: what fits on one board, priced and enumerated.

Sizes are whole numbers (a piece with its saw cut, in grains; see `cutting`). A pattern counts how
many of each piece are cut from one board. Pricing is a bounded knapsack by dynamic programming over
the capacity; one table answers for every stock length at once.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Pattern = tuple[int, ...]
Floats = NDArray[np.float64]

LEAST_GAIN = 1e-9  # a pattern must beat its board by this much (in cost units) to be worth adding


def best_patterns(
    sizes: Sequence[int], most: Sequence[int], worth: Floats, capacities: Sequence[int]
) -> list[tuple[float, Pattern]]:
    """Return the most valuable pattern and its value for each capacity.

    sizes: sizes [grains] of the n pieces; most: how many of each may be used; worth: value of one of
    each [cost units], shape (n,); capacities: [grains] of the boards asked about.
    """
    top = max(capacities)
    bundles = _bundles(sizes, most, worth, top)
    table = np.zeros(top + 1)
    taken = np.zeros((len(bundles), top + 1), dtype=bool)
    for row, (_, count, size, value) in enumerate(bundles):
        size, value = size * count, value * count
        with_it = table[: top + 1 - size] + value
        taken[row, size:] = with_it > table[size:] + LEAST_GAIN * 1e-3
        np.maximum(table[size:], with_it, out=table[size:])
    found = []
    for capacity in capacities:
        counts, room = [0] * len(sizes), capacity
        for row in range(len(bundles) - 1, -1, -1):
            if taken[row, room]:
                piece, count, size, _ = bundles[row]
                counts[piece] += count
                room -= size * count
        found.append((float(table[capacity]), tuple(counts)))
    return found


def _bundles(
    sizes: Sequence[int], most: Sequence[int], worth: Floats, top: int
) -> list[tuple[int, int, int, float]]:
    """Split 'at most m of a piece' into doubling bundles, so that any count is a choice of bundles."""
    bundles = []
    for piece, (size, limit) in enumerate(zip(sizes, most, strict=True)):
        value = float(worth[piece])
        if value <= LEAST_GAIN:
            continue
        left, step = min(limit, top // size), 1
        while left > 0:
            count = min(step, left)
            bundles.append((piece, count, size, value))
            left -= count
            step *= 2
    return bundles


def fill(sizes: Sequence[int], most: Sequence[int], capacity: int) -> Pattern:
    """Return the first-fit-decreasing pattern of one board (pieces are in falling size)."""
    counts, room = [], capacity
    for size, limit in zip(sizes, most, strict=True):
        count = min(limit, room // size)
        counts.append(count)
        room -= size * count
    return tuple(counts)


def fullest(sizes: Sequence[int], most: Sequence[int], capacities: Sequence[int]) -> list[Pattern]:
    """Return the pattern that leaves least of each kind of board over (ties: larger pieces first)."""
    worth = np.array([size * (1.0 + 1e-6 * size / sizes[0]) for size in sizes])
    return [pattern for _, pattern in best_patterns(sizes, most, worth, capacities)]


def maximal_patterns(
    sizes: Sequence[int],
    most: Sequence[int],
    worth: Floats,
    capacity: int,
    need: float,
    limit: int,
) -> list[Pattern] | None:
    """Return every maximal pattern of one board that is worth at least `need`, or None past `limit` steps.

    Only these can stand in a solution that beats the best known one (reduced-cost argument), so a
    whole-number programme over them is a proof. A pattern is maximal when no further piece fits.
    """
    order = sorted(range(len(sizes)), key=lambda i: (-worth[i] / sizes[i], i))
    size = [sizes[i] for i in order]
    bound = [min(most[i], capacity // sizes[i]) for i in order]
    value = [float(worth[i]) for i in order]
    ratio = [v / s for v, s in zip(value, size, strict=True)] + [0.0]
    found: list[Pattern] = []
    counts = [0] * len(size)
    steps = 0
    # Depth first over (piece, room left, value so far); the best remaining ratio bounds what can come.
    stack: list[tuple[int, int, float, int]] = [(0, capacity, 0.0, -1)]
    while stack:
        at, room, got, chosen = stack.pop()
        steps += 1
        if steps > limit:
            return None
        if chosen >= 0:
            counts[at - 1] = chosen
        if at == len(size):
            if got >= need and not any(
                room >= s and c < b for s, c, b in zip(size, counts, bound, strict=True)
            ):
                pattern = [0] * len(size)
                for place, count in zip(order, counts, strict=True):
                    pattern[place] = count
                found.append(tuple(pattern))
            continue
        for count in range(min(bound[at], room // size[at]) + 1):
            left = room - count * size[at]
            worth_now = got + count * value[at]
            if worth_now + left * ratio[at + 1] >= need:
                stack.append((at + 1, left, worth_now, count))
    return found
