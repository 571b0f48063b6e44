"""Sparse normal equations, solved and inverted where it matters, by nested dissection.

The unknowns are split again and again by small separators of their graph until each part is small;
every part is then a dense block ('front') of numpy. Eliminating from the leaves to the root gives
the solution; going back from the root to the leaves gives the blocks of the inverse that belong to
readings, which is all that standard deviations and redundancy numbers ask for. A house job is one
single front, so the same code serves it without any sparse library; only a large net imports scipy
for the graph distances. (Multifrontal elimination and the block form of Takahashi's selected
inverse; source `takahashi-1973`.)
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FAINT = 1e-30  # [1/m2] an unknown that its readings hold less than this is not held at all
SAME = 1e-9  # [-] rows that differ by less, beside the largest, need no new factor
HALVE = 48  # columns from which a triangle is inverted in two halves
LEAF = 160  # columns that one dense block takes before it is split: below this a split costs more


@dataclass(slots=True)
class _Front:
    """One dense block: `own` columns eliminated here, `edge` columns of its ancestors it touches."""

    own: Ints
    parent: int
    children: list[int] = field(default_factory=list)
    edge: Ints = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    rows: Ints = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    into: Ints = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    slot: Ints = field(default_factory=lambda: np.empty((0, 0), dtype=np.int64))
    inv: Floats = field(default_factory=lambda: np.empty((0, 0)))
    reach: Floats = field(default_factory=lambda: np.empty((0, 0)))
    cov: Floats = field(default_factory=lambda: np.empty((0, 0)))


class Fronts:
    """The elimination tree of one net: made once from which reading touches which unknown."""

    def __init__(self, cols: Ints, n: int, *, leaf: int = LEAF) -> None:
        """Plan the elimination. cols (m, k): columns of each reading, -1 for none; n unknowns."""
        self.n = n
        self.cols = cols
        self._held: Floats | None = None
        self.inverted = False
        self._cols = np.where(cols < 0, n, cols)
        self.fronts: list[_Front] = []
        if n <= leaf:
            self.fronts.append(_Front(own=np.arange(n, dtype=np.int64), parent=-1))
        else:
            from slabwright.survey.dissect import dissect

            self._plant(dissect(cols, n, leaf))
        self.owner = np.empty(n + 1, dtype=np.int64)
        for k, front in enumerate(self.fronts):
            self.owner[front.own] = k
        self.owner[n] = len(self.fronts)  # the dummy column belongs to no front and is never first
        self._share_rows()

    def _plant(self, tree: list[tuple[Ints, int]]) -> None:
        """Take the tree (own columns, parent) in an order where children come before parents."""
        self.fronts = [_Front(own=own, parent=parent) for own, parent in tree]
        for k, front in enumerate(self.fronts):
            if front.parent >= 0:
                self.fronts[front.parent].children.append(k)

    def _share_rows(self) -> None:
        """Give each reading to the front that eliminates its first column; find the edges."""
        cols = self._cols
        if len(self.fronts) == 1:
            # A house job: one dense block, its rows and columns in their own order.
            self.fronts[0].rows = np.arange(len(cols), dtype=np.int64)
            self.fronts[0].slot = cols + np.arange(len(cols), dtype=np.int64)[:, None] * (self.n + 1)
            return
        first = self.owner[cols].min(axis=1) if len(cols) else np.empty(0, dtype=np.int64)
        order = np.argsort(first, kind="stable")
        ends = np.searchsorted(first[order], np.arange(len(self.fronts) + 1))
        loc = np.full(self.n + 1, -1, dtype=np.int64)
        for k, front in enumerate(self.fronts):
            front.rows = order[ends[k] : ends[k + 1]]
            mine = cols[front.rows]
            touched = [mine.ravel(), *(self.fronts[c].edge for c in front.children)]
            every = np.unique(np.concatenate(touched)) if len(self.fronts) > 1 else front.own[:0]
            front.edge = every[(self.owner[every] > k) & (every < self.n)]
            span = np.concatenate([front.own, front.edge])
            loc[span] = np.arange(len(span))
            loc[self.n] = len(span)
            front.slot = loc[mine] + np.arange(len(mine))[:, None] * (len(span) + 1)
            for c in front.children:
                self.fronts[c].into = loc[self.fronts[c].edge]

    def _rows_of(self, front: _Front, coef: Floats) -> Floats:
        """Return this front's readings as a dense block (rows, own + edge)."""
        size = len(front.own) + len(front.edge)
        block = np.zeros((len(front.rows), size + 1))
        block.ravel()[front.slot] = coef if len(self.fronts) == 1 else coef[front.rows]
        return block[:, :size]

    def factor(self, coef: Floats, ridge: float = 0.0) -> None:
        """Eliminate. coef (m, k): rows already divided by their sd; ridge is added to the diagonal.

        Raises numpy's LinAlgError when the unknowns are not determined.
        """
        self._held = coef if ridge == 0.0 else None
        self.inverted = False
        passed: dict[int, Floats] = {}
        for k, front in enumerate(self.fronts):
            own = len(front.own)
            rows = self._rows_of(front, coef)
            full = rows.T @ rows
            if ridge:
                full.flat[: own * len(full) : len(full) + 1] += ridge
            for c in front.children:
                into = self.fronts[c].into
                if len(into):
                    full[np.ix_(into, into)] += passed.pop(c)
            front.inv = _inverse(full[:own, :own])
            if len(front.edge):
                front.reach = front.inv @ full[:own, own:]
                passed[k] = full[own:, own:] - full[own:, :own] @ front.reach

    def holds(self, coef: Floats) -> bool:
        """Return whether these rows, to nine digits, were the last ones factored."""
        if self._held is None or self._held.shape != coef.shape:
            return False
        off = float(np.abs(self._held - coef).max(initial=0.0))
        return off <= SAME * float(np.abs(coef).max(initial=0.0))

    def gradient(self, coef: Floats, miss: Floats) -> Floats:
        """Return A' l (n,) for scaled rows coef (m, k) and misses (m,)."""
        if len(self.fronts) == 1:
            dense: Floats = miss @ self._rows_of(self.fronts[0], coef)
            return dense
        pushed = (coef * miss[:, None]).ravel()
        summed = np.bincount(self._cols.ravel(), weights=pushed, minlength=self.n + 1)
        return summed[: self.n].astype(np.float64)

    def solve(self, rhs: Floats) -> Floats:
        """Return N^-1 rhs for a vector (n,) or for columns (n, k), after `factor`."""
        if len(self.fronts) == 1:
            only: Floats = self.fronts[0].inv @ rhs
            return only
        b = rhs.copy()
        x = np.zeros(rhs.shape)
        for front in self.fronts:
            if len(front.edge):
                b[front.edge] -= front.reach.T @ b[front.own]
        for front in reversed(self.fronts):
            x[front.own] = front.inv @ b[front.own]
            if len(front.edge):
                x[front.own] -= front.reach @ x[front.edge]
        return x

    def invert(self) -> None:
        """Fill every front's block of the covariance, after `factor`, from the root down."""
        self.inverted = True
        loc = np.full(self.n, -1, dtype=np.int64)
        for front in reversed(self.fronts):
            if not len(front.edge):
                front.cov = front.inv
                continue
            up = self.fronts[front.parent]
            loc[np.concatenate([up.own, up.edge])] = np.arange(len(up.own) + len(up.edge))
            at = loc[front.edge]
            edge = up.cov[np.ix_(at, at)]
            cross = -front.reach @ edge
            own = front.inv - cross @ front.reach.T
            front.cov = np.block([[own, cross], [cross.T, edge]])

    def row_variance(self, coef: Floats) -> Floats:
        """Return a Q a' (m,) of every row `coef` (m, k), after `invert`."""
        if len(self.fronts) == 1 and self.n:
            here = np.minimum(self._cols, self.n - 1)
            some = np.where(self.cols < 0, 0.0, coef)
            cov = self.fronts[0].cov[here[:, :, None], here[:, None, :]]
            few: Floats = np.einsum("ij,ij->i", np.matmul(cov, some[:, :, None])[:, :, 0], some)
            return few
        out = np.zeros(len(coef))
        for front in self.fronts:
            rows = self._rows_of(front, coef)
            out[front.rows] = np.einsum("ij,ij->i", rows @ front.cov, rows)
        return out

    def variance(self) -> Floats:
        """Return Q[i, i] (n,) of every unknown, after `invert`."""
        out = np.empty(self.n)
        for front in self.fronts:
            out[front.own] = np.diagonal(front.cov)[: len(front.own)]
        return out

    def pair_covariance(self, pairs: Ints) -> Floats:
        """Return Q[i, j] for column pairs (p, 2) that share a reading, after `invert`."""
        if len(self.fronts) == 1:
            some: Floats = self.fronts[0].cov[pairs[:, 0], pairs[:, 1]]
            return some
        out = np.zeros(len(pairs))
        first = self.owner[pairs].min(axis=1)
        loc = np.full(self.n, -1, dtype=np.int64)
        order = np.argsort(first, kind="stable")
        ends = np.searchsorted(first[order], np.arange(len(self.fronts) + 1))
        for k, front in enumerate(self.fronts):
            at = order[ends[k] : ends[k + 1]]
            if len(at):
                span = np.concatenate([front.own, front.edge])
                loc[span] = np.arange(len(span))
                out[at] = front.cov[loc[pairs[at, 0]], loc[pairs[at, 1]]]
        return out


def _inverse(matrix: Floats) -> Floats:
    """Return the inverse of a symmetric positive definite matrix; LinAlgError when it is not."""
    if not len(matrix):
        return matrix
    diagonal = np.diagonal(matrix)
    if not np.all(diagonal > FAINT) or not np.all(np.isfinite(matrix)):
        raise np.linalg.LinAlgError("an unknown has no reading, or a net ran away")
    scale = 1.0 / np.sqrt(diagonal)
    lower = np.linalg.cholesky(matrix * scale[:, None] * scale).astype(np.float64, copy=False)
    # A pivot this small means digits that no reading supports; a singular net often slips through
    # the factorisation itself by rounding.
    if np.diagonal(lower).min() < 1e-7:
        raise np.linalg.LinAlgError("unknowns are not determined")
    half = _lower_inverse(lower) * scale
    out: Floats = half.T @ half
    return out


def _lower_inverse(lower: Floats) -> Floats:
    """Return the inverse of a lower triangle, halved once: numpy's own does not know of the zeros."""
    n = len(lower)
    if n < HALVE:
        return np.linalg.inv(lower).astype(np.float64, copy=False)
    h = n // 2
    out = np.zeros((n, n))
    out[:h, :h] = _lower_inverse(lower[:h, :h])
    out[h:, h:] = _lower_inverse(lower[h:, h:])
    out[h:, :h] = -(out[h:, h:] @ (lower[h:, :h] @ out[:h, :h]))
    return out
