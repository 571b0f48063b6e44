"""Straight runs of a slab in its main directions, and the longest that each may stay uncrossed."""

from __future__ import annotations

from bisect import bisect
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, cos, pi, sin

from slabwright.slab.joints.body import Body
from slabwright.slab.joints.lines import Frame, Line, Lines
from slabwright.slab.joints.rules import SPACING_SLACK, rules
from slabwright.slab.model import XY
from slabwright.slab.outline import curves
from slabwright.slab.outline.check import corner_angle

STEP = 0.5  # [m] between sample runs where the outline is slanted or curved
RUN_LEAST = 0.3  # [m] shorter runs need no joint under any rule
NEAR_END = 0.01  # [m] how far from a corner the first sample run lies
MORE_DIVISIONS = 2
SMALL_HOLE = 0.15  # [m] a post: runs beside it differ too little to matter
CLOSE = 0.3  # [m] on slanted and curved outlines, divisions this close are offered once


@dataclass(frozen=True, slots=True)
class Sample:
    """One run along u (axis 0) or v (axis 1), at `level` in the other: from `lo` to `hi` [m]."""

    axis: int
    level: float
    lo: float
    hi: float


class Sweep:
    """Sample runs in both main directions, dense enough that between two of them nothing changes."""

    def __init__(self, body: Body, frame: Frame) -> None:
        """Sweep the body in both directions of the frame."""
        self.body, self.frame = body, frame
        self.turns = list(self._turns())  # where the outline turns: a line's end cannot slide past
        uv = [frame.uv(xy) for xy in self._corners()]
        self.square = all(self._aligned(a, b) for a, b in self._straights())
        holes = any(h.radius is not None for h in body.outline.holes)
        self.apart = 0.001 if self.square and not holes else CLOSE
        self.levels = (self._levels(sorted({u for u, _ in uv})), self._levels(sorted({v for _, v in uv})))
        self._wide: dict[tuple[int, float, float, float], float] = {}
        self._across: dict[tuple[int, float], list[tuple[float, float]]] = {}
        self.samples: tuple[list[Sample], list[Sample]] = (self._runs(0), self._runs(1))

    def _corners(self) -> Iterable[XY]:
        for e in self.body.outline.edges:
            yield e.p
            if e.radius is not None:
                yield from curves.flatten(e, 0.01)
        for h in self.body.outline.holes:
            yield from _round_marks(h.ring, h.radius) if h.radius is not None else h.ring

    def _turns(self) -> Iterable[XY]:
        edges = self.body.outline.edges
        for before, after in zip((edges[-1], *edges[:-1]), edges, strict=True):
            if abs(corner_angle(before, after) - pi) > rules().inside_corner:
                yield after.p
        for h in self.body.outline.holes:
            yield from _round_marks(h.ring, h.radius) if h.radius is not None else h.ring

    def _straights(self) -> Iterable[tuple[XY, XY]]:
        for e in self.body.outline.edges:
            if e.radius is not None:  # a curve is aligned with nothing
                yield (0.0, 0.0), (1.0, 1.0)
                yield (0.0, 0.0), (1.0, 0.5)
            else:
                yield e.p, e.q

    def _aligned(self, a: XY, b: XY) -> bool:
        (ua, va), (ub, vb) = self.frame.uv(a), self.frame.uv(b)
        return min(abs(ua - ub), abs(va - vb)) < 0.002

    def _levels(self, at: list[float]) -> list[float]:
        """Return the levels at which to run: one between neighbours, more where sides are slanted."""
        out: list[float] = []
        for a, b in pairwise(at):
            if b - a < 2 * NEAR_END:
                continue
            if self.square:
                out.append((a + b) / 2)
                continue
            n = max(2, ceil((b - a) / STEP))
            out += [a + NEAR_END + (b - a - 2 * NEAR_END) * k / n for k in range(n + 1)]
        return out

    def _runs(self, axis: int) -> list[Sample]:
        f = self.frame
        direction = f.u if axis == 0 else f.v
        out = []
        for level in self.levels[1 - axis]:
            start = f.xy(0.0, level) if axis == 0 else f.xy(level, 0.0)
            out += [
                Sample(axis, level, r.t0, r.t1)
                for r in self.body.runs(start, *direction)
                if r.length >= RUN_LEAST
            ]
        return out

    def width(self, axis: int, level: float, lo: float, hi: float) -> float:
        """Return the longest run square to `axis` that holds `level` between lo and hi [m]."""
        if (axis, level) not in self._across:
            self._across[axis, level] = [
                (s.level, s.hi - s.lo) for s in self.samples[1 - axis] if s.lo - 0.02 <= level <= s.hi + 0.02
            ]
        across = self._across[axis, level]
        within = [far for at, far in across if lo <= at <= hi]
        if within:
            return max(within)
        # no sample between: the nearest one, and of those as near the longest
        nearest = min(((max(lo - at, at - hi), -far) for at, far in across), default=(0.0, 0.0))
        return -nearest[1]

    def limit(self, axis: int, level: float, lo: float, hi: float, most: float, thin: float | None) -> float:
        """Return how long the part from lo to hi of a run may stay uncrossed [m]."""
        if thin is None:
            return most
        key = (axis, level, lo, hi)
        if key not in self._wide:  # the rows are made anew in every round of the search
            self._wide[key] = self.width(axis, level, lo, min(hi, lo + most))
        wide = self._wide[key]
        return min(most, thin * wide) if wide > 0.0 else most


def _round_marks(ring: Sequence[XY], radius: float) -> list[XY]:
    """Return the points of a round opening between which runs are sampled: four, or eight of a large one."""
    x, y = sum(p[0] for p in ring) / len(ring), sum(p[1] for p in ring) / len(ring)
    count = 4 if radius < SMALL_HOLE else 8
    turns = [2 * pi * k / count for k in range(count)]
    return [(x + radius * cos(a), y + radius * sin(a)) for a in turns]


def divide(lines: Lines, sweep: Sweep, most: float, thin: float | None) -> None:
    """Offer lines at even divisions of every run, and of its parts between lines asked for."""
    fixed = [ln for ln in lines.found if ln.family < 2]
    wanted: tuple[dict[float, float], dict[float, float]] = ({}, {})  # place: the run it divides
    reasons: dict[tuple[int, float], str] = {}
    for axis in (0, 1):
        spans = [(ln.at, *_span(lines.frame, ln)) for ln in fixed if ln.family == axis]
        seen: set[tuple[float, ...]] = set()
        for s in sweep.samples[axis]:
            marks = sorted(
                {
                    round(m, 6)
                    for m in (
                        s.lo,
                        s.hi,
                        *(
                            at
                            for at, lo, hi in spans
                            if lo - 0.01 <= s.level <= hi + 0.01 and s.lo < at < s.hi
                        ),
                    )
                }
            )
            for step in (1, 2, 3):
                for a, b in zip(marks, marks[step:], strict=False):
                    limit = sweep.limit(axis, s.level, a, b, most, thin)
                    if (a, b, round(limit, 3)) in seen or (step > 1 and b - a > 3 * limit):
                        continue
                    seen.add((a, b, round(limit, 3)))
                    fewest = max(1, ceil((b - a) / (limit + SPACING_SLACK)))
                    for n in range(fewest, fewest + 1 + MORE_DIVISIONS):
                        for k in range(1, n):
                            place = a + (b - a) * k / n
                            wanted[axis][place] = max(wanted[axis].get(place, 0.0), b - a)
                            reasons.setdefault((axis, place), "spacing" if limit == most else "aspect")
    for axis in (0, 1):
        for place in _spread_out(wanted[axis], sweep.apart):
            lines.across(axis, place, reasons[axis, place])


def _spread_out(wanted: dict[float, float], apart: float) -> list[float]:
    """Return the places at least `apart` from each other [m]; those of the longest runs come first."""
    kept: list[float] = []
    for place in sorted(wanted, key=lambda x: (-round(wanted[x], 3), x)):
        k = bisect(kept, place)
        if all(abs(kept[j] - place) >= apart for j in (k - 1, k) if 0 <= j < len(kept)):
            kept.insert(k, place)
    return kept


def _span(frame: Frame, line: Line) -> tuple[float, float]:
    """Return the extent [m] of a main line along its own direction."""
    one, two = frame.uv(line.p), frame.uv(line.q)
    k = 1 - line.family
    return min(one[k], two[k]), max(one[k], two[k])
