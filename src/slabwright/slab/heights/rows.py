"""Bands on heights kept as plain arrays, and the rules that they stand for.

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
    """Bands on weighted sums of node heights, and what leaving each band costs.

    min over z of sum(over * above(A z, hi) + under * below(A z, lo)); A by rows (start, index, value)
    over `columns` heights [m]. A limit has infinite `over` and `under`: it must hold. A wish has
    lo == hi and finite prices. `earth` (rows,) is the part of a wish's price that is plain earthwork,
    1 per m3. `family` (rows,) is an index into `families` or -1; `place` an index into pieces or -1.
    """

    columns: int
    start: Ints
    index: Ints
    value: Floats
    lo: Floats
    hi: Floats
    over: Floats
    under: Floats
    earth: Floats
    family: Ints
    place: Ints
    families: tuple[Family, ...]
    implied: NDArray[np.bool_]  # limits that others imply, as long as those hold

    def activity(self, z: Floats) -> Floats:
        """Return A z, one value a row."""
        row = np.repeat(np.arange(len(self.lo)), np.diff(self.start))
        return np.bincount(row, self.value * z[self.index], minlength=len(self.lo)).astype(np.float64)

    def excess(self, z: Floats) -> Floats:
        """Return by how much each limit is outside its band, in the row's unit; 0 inside and for wishes."""
        a = self.activity(z)
        out = np.maximum(0.0, np.maximum(self.lo - a, a - self.hi))
        return np.where(self.limits, out, 0.0)

    def cost(self, z: Floats) -> float:
        """Return what the wishes cost at heights z [m3]."""
        a = self.activity(z)
        w = ~self.limits
        over, under = np.maximum(0, a - self.hi)[w], np.maximum(0, self.lo - a)[w]
        return float(self.over[w] @ over + self.under[w] @ under)

    def earthwork(self, z: Floats) -> float:
        """Return the cut and fill at heights z [m3]."""
        a = self.activity(z)
        return float(self.earth @ np.maximum(0, np.maximum(a - self.hi, self.lo - a)))

    @property
    def limits(self) -> NDArray[np.bool_]:
        """Return which rows must hold."""
        return np.isinf(self.over) | np.isinf(self.under)

    def with_bounds(self, lo: Floats, hi: Floats) -> Program:
        """Return the program with other bands."""
        return replace(self, lo=lo, hi=hi)

    def only(self, rows: Ints) -> Program:
        """Return the program with some of its rows."""
        start, take = self._taken(rows)
        return replace(
            self, start=start, index=self.index[take], value=self.value[take], lo=self.lo[rows],
            hi=self.hi[rows], over=self.over[rows], under=self.under[rows], earth=self.earth[rows],
            family=self.family[rows], place=self.place[rows], implied=self.implied[rows],
        )  # fmt: skip

    def beside(self, rows: Ints, lo: Floats, hi: Floats, price: Floats) -> Program:
        """Return the program with some rows once more, in other bands that may be left at a price."""
        start, take = self._taken(rows)
        join = np.concatenate
        return replace(
            self,
            start=join([self.start, self.start[-1] + start[1:]]),
            index=join([self.index, self.index[take]]),
            value=join([self.value, self.value[take]]),
            lo=join([self.lo, lo]),
            hi=join([self.hi, hi]),
            over=join([self.over, price]),
            under=join([self.under, price]),
            earth=join([self.earth, np.zeros(len(rows))]),
            family=join([self.family, self.family[rows]]),
            place=join([self.place, self.place[rows]]),
            implied=join([self.implied, np.zeros(len(rows), dtype=np.bool_)]),
        )

    def _taken(self, rows: Ints) -> tuple[Ints, Ints]:
        """Return where some rows would start on their own, and where their entries are."""
        lengths = np.diff(self.start)[rows]
        start = np.concatenate([[0], np.cumsum(lengths)])
        return start, np.arange(start[-1]) + np.repeat(self.start[rows] - start[:-1], lengths)

    def with_prices(self, over: Floats, under: Floats) -> Program:
        """Return the program with other prices for leaving the bands."""
        return replace(self, over=over, under=under)


@dataclass(slots=True)
class Builder:
    """Collects rows in blocks; `done` makes the program."""

    columns: int
    families: list[Family] = field(default_factory=list)
    _known: dict[tuple[str, str, str], int] = field(default_factory=dict)
    _index: list[Ints] = field(default_factory=list)
    _value: list[Floats] = field(default_factory=list)
    _floats: tuple[list[Floats], ...] = field(default_factory=lambda: ([], [], [], [], []))
    _ints: tuple[list[Ints], ...] = field(default_factory=lambda: ([], [], []))

    @property
    def rows(self) -> int:
        """Return how many rows were added so far."""
        return sum(len(i) for i in self._index)

    def family(self, family: Family) -> int:
        """Return the index of a family, adding it when it is new."""
        key = (family.kind, family.slab, family.who)
        if key not in self._known:
            self._known[key] = len(self.families)
            self.families.append(family)
        return self._known[key]

    def limit(
        self,
        index: Ints,
        value: Floats,
        lo: ArrayLike,
        hi: ArrayLike,
        family: ArrayLike = -1,
        place: ArrayLike = -1,
        implied: ArrayLike = 0,
    ) -> None:
        """Add n limits: columns and their values (n, k), bands, family and place (n,) or one for all.

        `implied` is true for limits that hold by themselves where others hold.
        """
        self._add(index, value, (lo, hi, INF, INF, 0.0), (family, place, implied))

    def wish(
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
        """Charge what each of n sums is over and under its target, at prices `over` and `under` (n,)."""
        self._add(index, value, (target, target, over, under, earth), (family, place, 0))

    def _add(
        self, index: Ints, value: Floats, floats: tuple[ArrayLike, ...], ints: tuple[ArrayLike, ...]
    ) -> None:
        n = len(index)
        if not n:
            return
        self._index.append(index)
        self._value.append(value)
        for store, what in zip(self._floats, floats, strict=True):
            store.append(
                np.full(n, float(what))
                if isinstance(what, float | int)
                else np.asarray(what, dtype=np.float64)
            )
        for keep, which in zip(self._ints, ints, strict=True):
            keep.append(np.full(n, which) if isinstance(which, int) else np.asarray(which, dtype=np.int64))

    def done(self) -> Program:
        """Return the program; a column that stands twice in a row is added up."""
        count = max(self.columns, 1)
        widths = np.concatenate([np.full(len(i), i.shape[1]) for i in self._index] or [np.zeros(0, int)])
        row = np.repeat(np.arange(len(widths)), widths)
        index = np.concatenate([i.ravel() for i in self._index] or [np.zeros(0, int)])
        value = np.concatenate([v.ravel() for v in self._value] or [np.zeros(0)])
        keys, back = np.unique(row * count + index, return_inverse=True)
        summed = np.bincount(back, value, minlength=len(keys)).astype(np.float64)
        keep = np.abs(summed) > 1e-12  # a coefficient that cancels is no coefficient
        keys, summed = keys[keep], summed[keep]
        lo, hi, over, under, earth = (np.concatenate(f or [np.zeros(0)]) for f in self._floats)
        family, place, implied = (np.concatenate(k or [np.zeros(0, dtype=np.int64)]) for k in self._ints)
        return Program(
            columns=self.columns,
            start=np.searchsorted(keys, np.arange(len(widths) + 1) * count),
            index=keys % count,
            value=summed,
            lo=lo,
            hi=hi,
            over=over,
            under=under,
            earth=earth,
            family=family,
            place=place,
            families=tuple(self.families),
            implied=implied > 0,
        )
