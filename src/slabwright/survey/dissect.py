"""Splitting the graph of a large net into small parts with small separators.

Breadth-first distances from a far corner cut the graph into layers; the thinnest layer near the
middle separates it. Only large nets come here, so scipy may be imported at the top.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components, dijkstra

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

_MIDDLE = (0.3, 0.7)  # where between the two ends of a part its separator may lie


def dissect(cols: Ints, n: int, leaf: int) -> list[tuple[Ints, int]]:
    """Return the elimination tree as (own columns, parent index), children before parents.

    cols (m, k) columns of each reading, -1 for none; n columns; leaf: columns left unsplit.
    """
    graph = _graph(cols, n)
    found: list[tuple[Ints, int]] = []  # parents first; turned round at the end
    todo: list[tuple[Ints, int]] = [(np.arange(n, dtype=np.int64), -1)]
    while todo:
        part, parent = todo.pop()
        halves = _split(graph, part) if len(part) > leaf else None
        if halves is None:
            found.append((part, parent))
            continue
        left, middle, right = halves
        found.append((middle, parent))
        here = len(found) - 1
        todo += [(half, here) for half in (left, right) if len(half)]
    last = len(found) - 1
    return [(own, last - parent if parent >= 0 else -1) for own, parent in reversed(found)]


def _graph(cols: Ints, n: int) -> csr_matrix:
    """Return which columns meet in a reading."""
    k = cols.shape[1]
    i = np.repeat(cols, k, axis=1).ravel()
    j = np.tile(cols, (1, k)).ravel()
    keep = (i >= 0) & (j >= 0) & (i != j)
    key = np.unique(i[keep] * n + j[keep])
    return csr_matrix((np.ones(len(key)), (key // n, key % n)), shape=(n, n))


def _split(graph: csr_matrix, part: Ints) -> tuple[Ints, Ints, Ints] | None:
    """Return (left, separator, right) of one part, or None when no split would pay."""
    sub = graph[part][:, part]
    away = _distances(sub, 0)
    if not np.isfinite(away).all():
        label = connected_components(sub, directed=False)[1]
        half = label <= max(int(np.median(label)) - 1, 0)
        return part[half], part[:0], part[~half]
    layer = _distances(sub, int(np.argmax(away))).astype(np.int64)
    counts = np.bincount(layer)
    upto = np.cumsum(counts)
    total = len(part)
    fit = np.flatnonzero((upto - counts >= _MIDDLE[0] * total) & (upto <= _MIDDLE[1] * total))
    if not len(fit):
        at = int(np.searchsorted(upto, total / 2))
        fit = np.array([min(max(at, 1), len(counts) - 2)])
    if len(counts) < 3:
        return None
    at = int(fit[np.argmin(counts[fit])])
    if counts[at] > 0.6 * total:
        return None
    return part[layer < at], part[layer == at], part[layer > at]


def _distances(graph: csr_matrix, start: int) -> Floats:
    """Return how many readings away (n,) every column is from `start`; inf where none leads."""
    out: Floats = dijkstra(graph, directed=True, indices=np.array(start), unweighted=True)
    return out
