"""Finished heights moved onto the marks in which they are written, with every limit still kept.

A sheet writes heights to 1/8 in (1 mm in metric). The exact heights are moved to whole marks: first
to the nearest, then marks are changed one by one where a limit would be passed, and heights for which
no whole mark will do are solved again with all others held. What is fixed stays as it is, and heights
that follow from others (on a straight form, on another slab's edge, in a plane) follow still. Method:
own, by rounding, repair and re-solving; nothing in it is left to chance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.findings import Finding, find
from slabwright.measure import Quantity
from slabwright.slab.heights.drawn import SAME, UP, Marks, eased, known
from slabwright.slab.heights.limits import EQUAL_HEIGHT, EQUAL_SLOPE, LEVEL_SLOPE, WALKED, value
from slabwright.slab.heights.problem import Problem
from slabwright.slab.heights.rows import Floats, Ints, Program
from slabwright.slab.heights.spare import Spare, spare

REACH = 2  # marks that one height is moved by at once


@dataclass(frozen=True, slots=True)
class Marked:
    """Heights x (columns,) [m]; as the sheet writes them `written`; limits that those pass, by row."""

    x: Floats
    written: Floats
    passed: Floats  # (rows,) in the row's unit, 0 where the limit is kept
    bands: tuple[Floats, Floats]


def tolerances(program: Program) -> Floats:
    """Return by how much each row may be off and still hold, in its unit."""
    by_family = [EQUAL_HEIGHT if f.unit == "m" else EQUAL_SLOPE for f in program.families]
    return np.array([*by_family, EQUAL_HEIGHT])[program.family]


def mark(problem: Problem, x: Floats, marks: Marks) -> Marked:
    """Return exact heights x (columns,) [m] moved onto the marks.

    No limit that x keeps is broken. Where whole marks cannot do that, the heights concerned stay between
    two marks; `passed` says what is passed when they are then written to the nearest.
    """
    program = eased(problem.program, marks.grade)
    a = program.activity(x)
    low, high = np.minimum(program.lo, a), np.maximum(program.hi, a)
    _published(problem, a, low, high)
    free = spare(program, _fixed(problem, x), x, (low, high))
    moved = _mark_from(free, x, marks)
    written = np.where(free.held, moved, marks.nearest(moved))
    return Marked(moved, written, _passed(program, written, low, high), (low, high))


def _published(problem: Problem, a: Floats, low: Floats, high: Floats) -> None:
    """Move bands in, in place, to published limits that values a (rows,) keep where the job asks for less."""
    program = problem.program
    use = {shape.part.spec.name: shape.part.spec.use for shape in problem.shapes}
    for k, family in enumerate(program.families):
        names: tuple[str, ...] = ()
        if family.kind == "house" and family.limit < value("house-fall"):
            names = ("house-fall",)
        elif family.kind == "across-most" and use[family.slab] in WALKED:
            names = ("cross-accessible",)
        elif family.kind == "along-most" and use[family.slab] in WALKED:
            names = ("running-ramp", "running-accessible")
        for limit in map(value, names):
            if family.kind != "house" and family.limit <= limit:
                continue
            rows = np.flatnonzero((program.family == k) & program.limits)
            if family.kind == "house":
                kept = rows[a[rows] >= limit - EQUAL_SLOPE]
                low[kept] = np.maximum(low[kept], limit)
            else:
                kept = rows[np.abs(a[rows]) <= limit + EQUAL_SLOPE]
                low[kept], high[kept] = np.maximum(low[kept], -limit), np.minimum(high[kept], limit)


def between(problem: Problem, made: Marked, marks: Marks) -> tuple[tuple[str, Finding], ...]:
    """Return, by slab, what the written heights pass at its worst place, if a level shows it."""
    program = problem.program
    worst: dict[str, int] = {}
    for r in np.flatnonzero(made.passed > LEVEL_SLOPE).tolist():
        slab = program.families[program.family[r]].slab
        if slab not in worst or made.passed[r] > made.passed[worst[slab]]:
            worst[slab] = r
    out = _given(problem, made.x)
    activity = program.activity(made.written) if worst else made.passed
    for slab, r in worst.items():
        family = program.families[program.family[r]]
        _, panel = problem.places[program.place[r]] if program.place[r] >= 0 else (slab, "")
        where = f"{slab}, panel {panel}" if panel else slab
        low, high = made.bands[0][r], made.bands[1][r]
        limit = high if activity[r] > high else low
        out.append(
            (
                slab,
                find(
                    "slab", "heights-between-marks", where=where, line=family.line,
                    step=Quantity("inches", marks.grade),
                    fall=Quantity("percent", abs(float(activity[r]))),
                    limit=Quantity("percent", abs(float(limit))),
                    by=Quantity("percent", float(made.passed[r])),
                ),
            )
        )  # fmt: skip
    return tuple(out)


def _given(problem: Problem, x: Floats) -> list[tuple[str, Finding]]:
    """Return, by slab, how far heights x are from the fall that the crew wrote, if farther than its give."""
    program = problem.program
    out: list[tuple[str, Finding]] = []
    if not any(f.kind == "across-given" for f in program.families):
        return out
    excess, activity = program.excess(x), program.activity(x)
    for k, family in enumerate(program.families):
        rows = np.flatnonzero((program.family == k) & (excess > EQUAL_SLOPE))
        if family.kind != "across-given" or not len(rows):
            continue
        worst = rows[int(np.argmax(excess[rows]))]
        values = {
            "fall": Quantity("percent", float(activity[worst])),
            "limit": Quantity("percent", family.limit),
        }
        out.append(
            (family.slab, find("slab", "given-fall-in-marks", where=family.slab, line=family.line, **values))
        )
    return out


def _passed(program: Program, z: Floats, low: Floats, high: Floats) -> Floats:
    """Return by how much heights z pass limits on slopes (those on heights are what they are)."""
    a = program.activity(z)
    excess = np.maximum(0.0, np.maximum(low - a, a - high))
    slopes = np.array([f.unit == "-" for f in program.families] + [False])[program.family] & program.limits
    return np.where(slopes & (excess > tolerances(program)), excess, 0.0)


def _fixed(problem: Problem, x: Floats) -> Ints:
    """Return the columns that stay as they are: fixed to one height, or met flush."""
    return np.flatnonzero(np.abs(x - known(problem)) < SAME)


def choices(problem: Problem, marks: Marks) -> list[Marks]:
    """Return the marks to try: the sheet's own, and marks counted from a height that is fixed.

    From a fixed height between two marks all others are whole marks away: each is then written off by
    the same small amount, and falls on paper stay as planned. Where all that is fixed is off its mark
    by one amount, those marks come first.
    """
    at = known(problem)
    at = at[~np.isnan(at)]
    off = (at - marks.nearest(at)) / marks.grade
    _, one = np.unique(np.round(off, 3), return_index=True)
    off = off[one]
    near_half = np.abs(np.abs(off) - 0.5) < 0.02  # would be written up here and down there
    own = [Marks(marks.grade, marks.datum + float(o) * marks.grade) for o in off[~near_half] if abs(o) > 1e-3]
    return [*own, marks] if len(off) == 1 else [marks, *own[:3]]


def _mark_from(free: Spare, x: Floats, marks: Marks) -> Floats:
    """Return x on the marks, as far as the limits let it."""
    exact = free.own(x)
    z = np.where(free.loose, marks.nearest(exact), exact)
    bad = _repair(free, z, exact, marks.grade)
    back = np.zeros(len(z), dtype=np.bool_)
    while bad.any():  # the exact heights keep every limit: with enough of them back, so do all
        back |= free.touched(bad)
        z = np.where(back, exact, z)
        bad = _excess(free, z) > free.tolerance
    _again(free, z, np.flatnonzero(back & free.loose), marks)
    return free.whole(z)


def _excess(free: Spare, z: Floats) -> Floats:
    a = free.activity(z)
    return np.maximum(0.0, np.maximum(free.lo - a, a - free.hi))


def _repair(free: Spare, z: Floats, wanted: Floats, grade: float) -> NDArray[np.bool_]:
    """Move heights z by whole marks, in place, until no limit is passed; return rows that stay passed.

    The row that is passed most goes first; of all moves of its heights the one is taken after which
    rows are passed least, and of these the one that changes falls least.
    """
    a = free.activity(z)
    over = np.maximum(0.0, np.maximum(free.lo - a, a - free.hi))
    size = np.where(over > free.tolerance, over / free.scale, 0.0) / grade
    # a difference of two heights was drawn to whole marks; where it is passed, no marks were to be had
    stuck = (np.diff(free.start) == 2) & (np.abs(free.sums) <= free.scale * UP) & (size > 0)
    given_up = stuck.copy()
    steps = np.array([k * grade for k in range(-REACH, REACH + 1) if k])
    for _ in range(2 * len(z) + 20):
        open_rows = np.where(stuck, 0.0, size)
        if not len(size) or open_rows.max() <= 0:
            break
        row = int(np.argmax(open_rows))
        best: tuple[float, float, tuple[int, ...], float] | None = None
        for group in _moves(free, row):
            rows, slope = free.moved(group)
            there = a[rows][:, None] + slope[:, None] * steps
            past = np.maximum(0.0, np.maximum(free.lo[rows][:, None] - there, there - free.hi[rows][:, None]))
            past = np.where(past > free.tolerance[rows][:, None], past, 0.0)
            past /= (free.scale[rows] * grade)[:, None]
            gain = (past + past**2).sum(axis=0) - (size[rows] + size[rows] ** 2).sum()
            away = sum(np.abs(z[c] + steps - wanted[c]) - abs(z[c] - wanted[c]) for c in group) / grade
            bent = float(np.abs(slope).sum()) * np.abs(steps)  # the falls that change
            total = gain + 1e-3 * away + bent
            k = int(np.argmin(total))
            found = (float(total[k]), float(gain[k]), group, float(steps[k]))
            if best is None or found[0] < best[0] - 1e-12:
                best = found
        if best is None or best[1] > -1e-9:
            stuck[row] = True
            continue
        _, _, group, step = best
        rows, slope = free.moved(group)
        z[list(group)] += step
        a[rows] += slope * step
        over = np.maximum(0.0, np.maximum(free.lo[rows] - a[rows], a[rows] - free.hi[rows]))
        size[rows] = np.where(over > free.tolerance[rows], over / free.scale[rows], 0.0) / grade
        stuck[rows] = given_up[rows]
    return np.asarray(_excess(free, z) > free.tolerance)


def _moves(free: Spare, row: int) -> list[tuple[int, ...]]:
    """Return the heights of a row that can be moved, one by one and two at a time."""
    columns = [c for c in free.columns_of(row).tolist() if free.loose[c]]
    pairs = [(c, d) for i, c in enumerate(columns) for d in columns[i + 1 :]]
    return [*((c,) for c in columns), *pairs]


def _again(free: Spare, z: Floats, columns: Ints, marks: Marks) -> None:
    """Put each of some heights z on a mark after all, in place, where no limit forbids it."""
    a = free.activity(z)
    for c in columns.tolist():
        rows, slope = free.moved((c,))
        step = float(marks.nearest(z[c : c + 1])[0] - z[c])
        there = a[rows] + slope * step
        slack = free.tolerance[rows]
        if np.all(there <= free.hi[rows] + slack) and np.all(there >= free.lo[rows] - slack):
            z[c] += step
            a[rows] = there
