"""A program in the heights that are free to choose: the others follow from them.

Equal heights, corners on straight forms, slabs that share an edge and planes through three corners
are equations between heights. Each takes one height out of the choice.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.slab.heights.limits import EQUAL_HEIGHT, EQUAL_SLOPE
from slabwright.slab.heights.rows import Floats, Ints, Program

DUST = 1e-11  # a coefficient this small is what cancelling leaves


@dataclass(frozen=True, slots=True)
class Spare:
    """Limits in own heights: rows (start, index, value), by column (by, row_of, entry); bands, tolerance.

    `whole` maps own heights to all of the program's. `loose` (own,) are free to be moved, `held`
    (columns,) are the fixed ones. `scale` is a row's largest coefficient, `sums` the sum of them.
    """

    program: Program
    columns: Ints  # the program's column of each own height
    start: Ints
    index: Ints
    value: Floats
    by: Ints
    row_of: Ints
    entry: Floats
    lo: Floats
    hi: Floats
    tolerance: Floats
    scale: Floats
    sums: Floats
    loose: NDArray[np.bool_]
    held: NDArray[np.bool_]
    follows: tuple[tuple[int, float, Ints, Floats], ...]

    def own(self, x: Floats) -> Floats:
        """Return the own heights out of all the program's."""
        return x[self.columns]

    def whole(self, y: Floats) -> Floats:
        """Return all the program's heights [m] from own ones."""
        x = np.empty(self.program.columns)
        x[self.columns] = y
        for column, constant, own, weights in self.follows:
            x[column] = constant + float(weights @ y[own])
        return x

    def activity(self, y: Floats) -> Floats:
        """Return the limits' values at own heights."""
        row = np.repeat(np.arange(len(self.lo)), np.diff(self.start))
        return np.bincount(row, self.value * y[self.index], minlength=len(self.lo)).astype(np.float64)

    def columns_of(self, row: int) -> Ints:
        """Return the own heights in a row."""
        return self.index[self.start[row] : self.start[row + 1]]

    def moved(self, group: tuple[int, ...]) -> tuple[Ints, Floats]:
        """Return the rows that change when some own heights are raised together, and by how much a unit."""
        if len(group) == 1:
            cut = slice(self.by[group[0]], self.by[group[0] + 1])
            return self.row_of[cut], self.entry[cut]
        cuts = [slice(self.by[c], self.by[c + 1]) for c in group]
        rows, back = np.unique(np.concatenate([self.row_of[c] for c in cuts]), return_inverse=True)
        entry = np.concatenate([self.entry[c] for c in cuts])
        return rows, np.bincount(back, entry, minlength=len(rows)).astype(np.float64)

    def touched(self, rows: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Return the own heights in some of the rows."""
        out = np.zeros(len(self.columns), dtype=np.bool_)
        out[self.index[np.repeat(rows, np.diff(self.start))]] = True
        return out

    def touching(self, own: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Return the rows that some of the own heights stand in."""
        out = np.zeros(len(self.lo), dtype=np.bool_)
        out[np.repeat(np.arange(len(self.lo)), np.diff(self.start))[own[self.index]]] = True
        return out


def spare(program: Program, fixed: Ints, x: Floats, bands: tuple[Floats, Floats]) -> Spare:
    """Return the program in the heights that are free to choose.

    `fixed` columns stay at x (columns,) [m], which keeps every equation; `bands` are the limits' own.
    """
    held = np.zeros(program.columns, dtype=np.bool_)
    held[fixed] = True
    follow = _solved(program, held, x)
    columns = np.array([k for k in range(program.columns) if k not in follow], dtype=np.int64)
    number = np.full(program.columns, -1)
    number[columns] = np.arange(len(columns))
    follows = tuple(
        (k, rest, number[np.array(list(terms), dtype=np.int64)], np.array(list(terms.values())))
        for k, (rest, terms) in follow.items()
    )
    start, index, value, shift = _replaced(program, number, follows)
    low, high = bands[0] - shift, bands[1] - shift
    loose = ~held[columns]
    counts = np.diff(start)
    moves = np.zeros(len(counts), dtype=np.bool_)
    moves[np.repeat(np.arange(len(counts)), counts)[loose[index]]] = True
    equal = program.lo == program.hi
    kept = np.flatnonzero(moves & program.limits & ~equal)
    l_start, l_index, l_value = _cut(start, index, value, kept)
    row = np.repeat(np.arange(len(kept)), np.diff(l_start))
    order = np.argsort(l_index, kind="stable")
    by_family = np.array(
        [EQUAL_HEIGHT if f.unit == "m" else EQUAL_SLOPE for f in program.families] + [EQUAL_HEIGHT]
    )
    return Spare(
        program=program,
        columns=columns,
        start=l_start,
        index=l_index,
        value=l_value,
        by=np.searchsorted(l_index[order], np.arange(len(columns) + 1)),
        row_of=row[order],
        entry=l_value[order],
        lo=low[kept],
        hi=high[kept],
        tolerance=by_family[program.family[kept]],
        scale=np.maximum.reduceat(np.abs(l_value), l_start[:-1]) if len(kept) else np.zeros(0),
        sums=np.bincount(row, l_value, minlength=len(kept)).astype(np.float64),
        loose=loose,
        held=held,
        follows=follows,
    )


def _cut(start: Ints, index: Ints, value: Floats, rows: Ints) -> tuple[Ints, Ints, Floats]:
    """Return some rows of a matrix."""
    lengths = np.diff(start)[rows]
    begin = np.concatenate([[0], np.cumsum(lengths)])
    take = np.arange(begin[-1]) + np.repeat(start[rows] - begin[:-1], lengths)
    return begin, index[take], value[take]


def _solved(
    program: Program, held: NDArray[np.bool_], x: Floats
) -> dict[int, tuple[float, dict[int, float]]]:
    """Return heights that follow from others: a constant [m] and weights, by column."""
    follow: dict[int, dict[int, float]] = {}
    users: dict[int, set[int]] = {}
    single = np.diff(program.start) == 1
    for r in np.flatnonzero(program.limits & (program.lo == program.hi) & ~single).tolist():
        terms: dict[int, float] = {}
        for k in range(int(program.start[r]), int(program.start[r + 1])):
            c, v = int(program.index[k]), float(program.value[k])
            for d, w in follow[c].items() if c in follow else ((c, 1.0),):
                terms[d] = terms.get(d, 0.0) + v * w
        able = [(abs(v), -c) for c, v in terms.items() if abs(v) > DUST and not held[c]]
        if not able:
            continue
        pivot = -max(able)[1]
        own = {c: -v / terms[pivot] for c, v in terms.items() if c != pivot and abs(v) > DUST}
        for user in users.pop(pivot, set()):
            weight = follow[user].pop(pivot)
            for c, v in own.items():
                follow[user][c] = follow[user].get(c, 0.0) + weight * v
                users.setdefault(c, set()).add(user)
        follow[pivot] = own
        for c in own:
            users.setdefault(c, set()).add(pivot)
    return {k: (float(x[k]) - sum(v * float(x[c]) for c, v in t.items()), t) for k, t in follow.items()}


def _replaced(
    program: Program, number: Ints, follows: tuple[tuple[int, float, Ints, Floats], ...]
) -> tuple[Ints, Ints, Floats, Floats]:
    """Return the program's rows in own heights, and what the constants add to each."""
    count = len(program.lo)
    row = np.repeat(np.arange(count), np.diff(program.start))
    if not follows:
        return program.start, number[program.index], program.value, np.zeros(count)
    lengths = np.ones(program.columns, dtype=np.int64)
    constant = np.zeros(program.columns)
    for k, rest, own, _ in follows:
        lengths[k], constant[k] = len(own), rest
    begin = np.concatenate([[0], np.cumsum(lengths)])
    ids, weights = np.empty(begin[-1], dtype=np.int64), np.ones(begin[-1])
    plain = number >= 0
    ids[begin[:-1][plain]] = number[plain]
    for k, _, own, w in follows:
        ids[begin[k] : begin[k + 1]], weights[begin[k] : begin[k + 1]] = own, w
    shift = np.bincount(row, program.value * constant[program.index], minlength=count).astype(np.float64)
    times = lengths[program.index]
    first = np.concatenate([[0], np.cumsum(times)])
    take = np.arange(first[-1]) + np.repeat(begin[program.index] - first[:-1], times)
    wide = max(int(number.max()) + 1, 1)
    keys, back = np.unique(np.repeat(row, times) * wide + ids[take], return_inverse=True)
    each = np.repeat(program.value, times) * weights[take]
    summed = np.bincount(back, each, minlength=len(keys)).astype(np.float64)
    keep = np.abs(summed) > DUST
    keys, summed = keys[keep], summed[keep]
    return np.searchsorted(keys, np.arange(count + 1) * wide), keys % wide, summed, shift
