"""The choice of joints as a set cover: which of the lines offered, at the least weight, with proof.

Rows: every window of a run as long as the limit is crossed; every inside corner and opening is met; no
two lines nearer than a panel's least side. What a row cannot foresee (a panel too thin between two
lines, two lines crossing at a sharp angle) is added when a plan shows it, and solved again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from slabwright.slab.joints.lines import Line
from slabwright.slab.joints.rules import SPACING_SLACK, rules
from slabwright.slab.joints.solver import Answer, Rows, solve
from slabwright.slab.joints.sweep import Sample, Sweep
from slabwright.solving import Status

Floats = NDArray[np.float64]

# what a row weighs when the rows cannot all be held [m of joint]: far above any joint
GIVE_COVER, GIVE_CORNER, GIVE_APART = 1e4, 1e3, 1e2


@dataclass(frozen=True, slots=True)
class Row:
    """sum over `plus` of x - sum over `minus` of x >= least; `give` [m] is the price of breaking it.

    A row without a price must hold.
    """

    plus: tuple[int, ...]
    minus: tuple[int, ...]
    least: float
    name: str
    give: float | None = None
    elastic: float = GIVE_COVER


@dataclass(slots=True)
class Cover:
    """Lines offered and the rows so far."""

    lines: Sequence[Line]
    rows: list[Row] = field(default_factory=list)
    _seen: set[tuple[tuple[int, ...], tuple[int, ...], float]] = field(default_factory=set)

    def add(self, row: Row) -> bool:
        """Add a row unless it stands already; say whether it is new."""
        key = (row.plus, row.minus, row.least)
        if key in self._seen:
            return False
        self._seen.add(key)
        self.rows.append(row)
        return True


@dataclass(frozen=True, slots=True)
class Chosen:
    """The chosen lines' numbers, the solver's answer, and the names of rows that gave."""

    numbers: tuple[int, ...]
    status: Status
    cost: float
    bound: float
    gave: tuple[str, ...]
    work: int = 0


def ends(lines: Sequence[Line]) -> Floats:
    """Return the ends of lines, shape (n, 4) [m]."""
    return np.array([(*ln.p, *ln.q) for ln in lines], dtype=np.float64).reshape(-1, 4)


def crossings(xy: Floats, p: tuple[float, float], q: tuple[float, float]) -> Floats:
    """Return how far along p to q [m] each line (n, 4) crosses it; nan where it does not."""
    far = np.hypot(q[0] - p[0], q[1] - p[1])
    ux, uy = (q[0] - p[0]) / far, (q[1] - p[1]) / far
    ax, ay, bx, by = xy[:, 0] - p[0], xy[:, 1] - p[1], xy[:, 2] - p[0], xy[:, 3] - p[1]
    ha, hb = ux * ay - uy * ax, ux * by - uy * bx
    ta, tb = ux * ax + uy * ay, ux * bx + uy * by
    with np.errstate(divide="ignore", invalid="ignore"):
        t = ta + (tb - ta) * ha / (ha - hb)
    hit = (np.minimum(ha, hb) <= 1e-4) & (np.maximum(ha, hb) >= -1e-4) & (np.abs(ha - hb) > 0.01)
    return np.where(hit & (t > 1e-6) & (t < far - 1e-6), t, np.nan)


def window_rows(cover: Cover, sweep: Sweep, most: float, thin: float | None) -> None:
    """Add the rows that every run be crossed often enough, and that no two lines be too close."""
    xy = ends(cover.lines)
    f = sweep.frame
    for axis in (0, 1):
        for s in sweep.samples[axis]:
            p, q = (
                (f.xy(s.lo, s.level), f.xy(s.hi, s.level))
                if axis == 0
                else (f.xy(s.level, s.lo), f.xy(s.level, s.hi))
            )
            t = crossings(xy, p, q) if len(xy) else np.zeros(0)
            hit = np.nonzero(~np.isnan(t))[0]
            order = hit[np.argsort(t[hit], kind="stable")]
            _windows(cover, sweep, s, order.tolist(), t[order].tolist(), most, thin)
            _apart(cover, order.tolist(), t[order].tolist())


def _windows(
    cover: Cover, sweep: Sweep, s: Sample, order: list[int], t: list[float], most: float, thin: float | None
) -> None:
    far = s.hi - s.lo
    starts = [0.0, *t]
    for n, start in enumerate(starts):
        if n > 1 and start == starts[n - 1]:
            continue
        limit = sweep.limit(s.axis, s.level, s.lo + start, s.hi, most, thin)
        if far - start <= limit + SPACING_SLACK:
            continue
        reach = start + limit + SPACING_SLACK
        # strictly after the start: a line at the start itself does not shorten what follows it
        plus = tuple(sorted(k for k, at in zip(order, t, strict=True) if start + 1e-6 < at <= reach))
        if plus:
            cover.add(Row(plus, (), 1.0, "spacing"))


def _apart(cover: Cover, order: list[int], t: list[float]) -> None:
    """Add rows that of lines crossing a run within a panel's least side only one is used."""
    least = rules().edge_least - SPACING_SLACK
    free = [(k, at) for k, at in zip(order, t, strict=True) if not cover.lines[k].fixed]
    for n, (_, at) in enumerate(free):
        group = [k for k, b in free[n:] if b - at < least]
        if len(group) > 1:
            cover.add(Row((), tuple(sorted(group)), -1.0, "least side", elastic=GIVE_APART))
    fixed = [(k, at) for k, at in zip(order, t, strict=True) if cover.lines[k].fixed]
    for k, at in fixed:
        for j, b in free:
            if 1e-6 < abs(b - at) < least and cover.lines[j].family == cover.lines[k].family:
                cover.add(Row((), tuple(sorted((j, k))), -1.0, "least side", elastic=GIVE_APART))
        for j, b in fixed:
            if j > k and 1e-6 < abs(b - at) < least and cover.lines[j].family == cover.lines[k].family:
                cover.add(Row((), (k, j), -1.0, "least side", give=rules().cost_short))


def strip_rows(cover: Cover, sweep: Sweep, thin: float) -> None:
    """Add rows for the narrow strips between two lines that something asked for, if both are used.

    A strip as long as `thin` [-] times its width must be crossed.
    """
    f = sweep.frame
    xy = ends(cover.lines)
    asked = [(k, ln) for k, ln in enumerate(cover.lines) if ln.fixed and ln.family < 2]
    for n, (i, a) in enumerate(asked):
        for j, b in asked[n + 1 :]:
            gap = abs(a.at - b.at)
            if a.family != b.family or gap < rules().edge_least / 2:
                continue
            k = 1 - a.family
            spans = [sorted((f.uv(ln.p)[k], f.uv(ln.q)[k])) for ln in (a, b)]
            lo, hi = max(s[0] for s in spans), min(s[1] for s in spans)
            if hi - lo <= thin * gap + SPACING_SLACK:
                continue
            middle = (a.at + b.at) / 2
            p, q = (f.xy(middle, lo), f.xy(middle, hi)) if k else (f.xy(lo, middle), f.xy(hi, middle))
            t = crossings(xy, p, q)
            hit = np.nonzero(~np.isnan(t))[0].tolist()
            for start in (0.0, *sorted(float(t[m]) for m in hit)):
                end = start + thin * gap
                if end >= hi - lo - SPACING_SLACK:
                    break
                plus = tuple(m for m in hit if start + 1e-6 < t[m] <= end + SPACING_SLACK)
                give = 3 * max((cover.lines[m].cost for m in plus), default=0.0) + 5.0
                cover.add(Row(plus, (i, j), -1.0, "panel shape", elastic=give))


def choose(cover: Cover, *, hard: bool = False) -> Chosen:
    """Return the cheapest lines that hold every row; when none do, the ones that break the least.

    hard: as in `solver.solve`.
    """
    answer, slack = _solved(cover, elastic=False, hard=hard)
    work = answer.work
    if answer.status in (Status.INFEASIBLE, Status.UNBOUNDED):
        answer, slack = _solved(cover, elastic=True, hard=hard)
        work += answer.work
    if not answer.usable:
        return Chosen((), answer.status, answer.value, answer.bound, (), work)
    n = len(cover.lines)
    picked = tuple(k for k in range(n) if answer.x[k] > 0.5)
    gave = tuple(sorted({cover.rows[r].name for r, k in slack.items() if answer.x[k] > 1e-6}))
    return Chosen(picked, answer.status, answer.value, answer.bound, gave, work)


def _solved(cover: Cover, *, elastic: bool, hard: bool) -> tuple[Answer, dict[int, int]]:
    model = Rows()
    for ln in cover.lines:
        model.col(ln.cost, 0.0, 1.0, whole=True)
    slack: dict[int, int] = {}
    for r, row in enumerate(cover.rows):
        terms = dict.fromkeys(row.plus, 1.0)
        for k in row.minus:
            terms[k] = terms.get(k, 0.0) - 1.0
        price = row.give if row.give is not None else (row.elastic if elastic else None)
        if price is not None:
            slack[r] = model.col(price, 0.0, float("inf"))
            terms[slack[r]] = 1.0
        model.row(terms, row.least, float("inf"), row.name)
    return solve(model, hard=hard), slack
