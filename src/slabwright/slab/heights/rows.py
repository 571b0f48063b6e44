"""A linear program kept as plain arrays, and the rules that its rows stand for.

Every row belongs to a family: one limit of one slab as a person would name it ('the height of the
gate walk', 'most cross fall of the side walk'). Structural rows (a form is straight) have none.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
INF = float("inf")

Kind = Literal[
    "existing", "door", "height", "slab", "siding", "sill", "house",
    "across-least", "across-most", "across-given", "along-most", "total-most", "break", "twist",
]  # fmt: skip
HEIGHT_KINDS: frozenset[str] = frozenset({"existing", "door", "height", "slab"})


@dataclass(frozen=True, slots=True)
class Family:
    """One limit: kind, slab, what it is about, its unit ([m], [-] or [1/m]), value, line of the job file."""

    kind: Kind
    slab: str
    who: str
    unit: Literal["m", "-", "1/m"]
    limit: float
    line: int | None = None

    @property
    def key(self) -> str:
        """Return its name in `HeightPlan.price`: kind, and what it is about where there are several."""
        return f"{self.kind}:{self.who}" if self.who else self.kind


@dataclass(frozen=True, slots=True)
class Program:
    """min cost @ x, row_lo <= A x <= row_hi, col_lo <= x <= col_hi; A by rows (start, index, value).

    `earth` is the part of the cost that is plain earthwork, 1 per m3. `family` (rows,) is an index
    into `families` or -1; `place` (rows,) an index into the problem's pieces or -1.
    """

    cost: Floats
    earth: Floats
    col_lo: Floats
    col_hi: Floats
    row_lo: Floats
    row_hi: Floats
    start: Ints
    index: Ints
    value: Floats
    family: Ints
    place: Ints
    families: tuple[Family, ...]

    def activity(self, x: Floats) -> Floats:
        """Return A x, one value a row."""
        if not len(self.value):
            return np.zeros(len(self.row_lo))
        rows = np.repeat(np.arange(len(self.row_lo)), np.diff(self.start))
        return np.bincount(rows, self.value * x[self.index], minlength=len(self.row_lo))

    def excess(self, x: Floats) -> Floats:
        """Return by how much each row is outside its bounds, in the row's unit; 0 inside."""
        a = self.activity(x)
        return np.maximum(0.0, np.maximum(self.row_lo - a, a - self.row_hi))

    def with_bounds(self, lo: Floats, hi: Floats) -> Program:
        """Return the program with other bounds on its rows."""
        return replace(self, row_lo=lo, row_hi=hi)


@dataclass(slots=True)
class Builder:
    """Collects columns and rows in blocks; `done` makes the program."""

    columns: int
    families: list[Family] = field(default_factory=list)
    _known: dict[tuple[str, str, str], int] = field(default_factory=dict)
    _cost: list[Floats] = field(default_factory=list)
    _earth: list[Floats] = field(default_factory=list)
    _index: list[Ints] = field(default_factory=list)
    _value: list[Floats] = field(default_factory=list)
    _lo: list[Floats] = field(default_factory=list)
    _hi: list[Floats] = field(default_factory=list)
    _family: list[Ints] = field(default_factory=list)
    _place: list[Ints] = field(default_factory=list)
    _added: int = 0

    def family(self, family: Family) -> int:
        """Return the index of a family, adding it when it is new."""
        key = (family.kind, family.slab, family.who)
        if key not in self._known:
            self._known[key] = len(self.families)
            self.families.append(family)
        return self._known[key]

    def rows(
        self,
        index: Ints,
        value: Floats,
        lo: ArrayLike,
        hi: ArrayLike,
        family: ArrayLike = -1,
        place: ArrayLike = -1,
    ) -> None:
        """Add n rows: columns and their values (n, k), bounds, family and place (n,) or one for all."""
        n = len(index)
        if not n:
            return
        self._index.append(index)
        self._value.append(value)
        for store, what in ((self._lo, lo), (self._hi, hi)):
            store.append(np.broadcast_to(np.asarray(what, dtype=np.float64), n))
        for keep, which in ((self._family, family), (self._place, place)):
            keep.append(np.broadcast_to(np.asarray(which, dtype=np.int64), n))

    def charge(
        self,
        index: Ints,
        value: Floats,
        target: ArrayLike,
        over: ArrayLike,
        under: ArrayLike,
        earth: ArrayLike = 0.0,
        family: ArrayLike = -1,
        place: ArrayLike = -1,
    ) -> None:
        """Charge what each of n sums is over and under its target; two columns and one row each.

        `over` and `under` (n,) are costs per unit; `earth` (n,) is what of either is plain earthwork.
        """
        n = len(index)
        if not n:
            return
        first = self.columns + self._added
        extra = first + np.arange(2 * n).reshape(2, n)
        self._added += 2 * n
        for cost in (over, under):
            self._cost.append(np.broadcast_to(np.asarray(cost, dtype=np.float64), n))
            self._earth.append(np.broadcast_to(np.asarray(earth, dtype=np.float64), n))
        self.rows(
            np.column_stack([index, extra[0], extra[1]]),
            np.column_stack([value, np.full(n, -1.0), np.ones(n)]),
            target,
            target,
            family,
            place,
        )

    def done(self) -> Program:
        """Return the program; a column that stands twice in a row is added up."""
        total = self.columns + self._added
        zeros = np.zeros(self.columns)
        widths = np.concatenate([np.full(len(i), i.shape[1]) for i in self._index] or [np.zeros(0, int)])
        row = np.repeat(np.arange(len(widths)), widths)
        index = np.concatenate([i.ravel() for i in self._index] or [np.zeros(0, int)])
        value = np.concatenate([v.ravel() for v in self._value] or [np.zeros(0)])
        keys, back = np.unique(row * total + index, return_inverse=True)
        summed = np.bincount(back, value, minlength=len(keys))
        keep = np.abs(summed) > 1e-12  # a coefficient that cancels is no coefficient
        keys, summed = keys[keep], summed[keep]
        start = np.searchsorted(keys, np.arange(len(widths) + 1) * total)
        free = np.full(self.columns, -INF)
        return Program(
            cost=np.concatenate([zeros, *self._cost]),
            earth=np.concatenate([zeros, *self._earth]),
            col_lo=np.concatenate([free, np.zeros(self._added)]),
            col_hi=np.full(total, INF),
            row_lo=np.concatenate(self._lo or [zeros[:0]]),
            row_hi=np.concatenate(self._hi or [zeros[:0]]),
            start=start,
            index=keys % total,
            value=summed,
            family=np.concatenate(self._family or [np.zeros(0, int)]),
            place=np.concatenate(self._place or [np.zeros(0, int)]),
            families=tuple(self.families),
        )
