"""What nothing checks, and the one more reading that would.

A slip in a reading shows only through its redundancy number. For every reading in which a slip of a
foot would stay hidden, each further pull that could be made is tried on paper: it lifts the
redundancy number of reading i by (a Q a_i)^2 / ((sd^2 + a Q a) sd_i^2), Q being the covariance of
the points, a the new pull's row and a_i the reading's (updating formula of least squares,
`ghilani-wolf`). The pull that lifts most readings is named, and so on for what is left.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from slabwright.survey.instruments import instruments
from slabwright.survey.levels import LevelNet
from slabwright.survey.net import Net, Rod
from slabwright.survey.plane import PlaneNet
from slabwright.survey.report import detectable_factor
from slabwright.survey.result import ExtraPull
from slabwright.survey.solve import Solution
from slabwright.survey.start import inside

Floats = NDArray[np.float64]

HIDDEN = 0.3048  # [m] a reading in which a slip of a foot stays hidden counts as unchecked
PLAIN = 0.0762  # [m] three inches: a slip of this size should show after the extra pull
REACH = 30.0  # [m] a pull longer than the usual 100 ft tape is not proposed
ROWS, MOST = 60, 6  # unchecked readings looked at, and extra pulls proposed
FLAT_FORMS = ("right", "straight", "x", "y")  # no one reads these from a tape; they need no check


def unchecked(rows_r: Floats, sd: Floats, used: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return the rows in which a slip of a foot would stay hidden."""
    least = detectable_factor() * sd / np.sqrt(np.maximum(rows_r, 1e-12))
    return np.flatnonzero(used & (least > HIDDEN))


def extra_pulls(net: Net, made: PlaneNet, solution: Solution) -> tuple[ExtraPull, ...]:
    """Return the pulls that would make unchecked readings visible, the most telling first.

    What no pull between the points shows comes last, as one entry of the kind 'none'.

    Needs the fronts factored at the solution.
    """
    problem, rows = made.problem, made.rows
    open_rows = [
        int(k) for k in unchecked(solution.r, problem.sd, problem.use) if rows.tags[k].kind not in FLAT_FORMS
    ][:ROWS]
    if not open_rows:
        return ()
    xy = made.at(solution.x)
    coef = problem.predict(solution.x)[1]
    hidden = np.array([problem.fronts.solve(_dense(made, coef, k)) for k in open_rows])
    sd = problem.sd[open_rows]
    pairs = _pairs(net, made, xy, open_rows)
    if not pairs:
        return (_none(made, open_rows),)
    lift = np.array([_lift(made, xy, pair, hidden, sd) for pair in pairs])
    need = (detectable_factor() * sd / PLAIN) ** 2
    share = np.minimum(solution.r[open_rows] + lift, need) / need
    return _choose(made, pairs, share, open_rows)


def _choose(
    made: PlaneNet, pairs: list[tuple[int, int]], share: Floats, open_rows: list[int]
) -> tuple[ExtraPull, ...]:
    """Return pulls one after another, each the one that shows most of what is still hidden."""
    rows = made.rows
    found: list[ExtraPull] = []
    left = np.ones(len(open_rows), dtype=np.bool_)
    while left.any() and len(found) < MOST:
        gain = share[:, left].sum(axis=1)
        best = int(np.argmax(gain))
        shown = left & (share[best] > 0.2)
        if not shown.any():
            break
        names = dict.fromkeys(rows.tags[open_rows[k]].reading.name for k in np.flatnonzero(shown).tolist())
        a, b = (rows.names[k] for k in pairs[best])
        found.append(ExtraPull("tape", a, b, tuple(names)))
        left &= ~shown
    if left.any():
        found.append(_none(made, [row for k, row in enumerate(open_rows) if left[k]]))
    return tuple(found)


def _none(made: PlaneNet, open_rows: list[int]) -> ExtraPull:
    names = dict.fromkeys(made.rows.tags[row].reading.name for row in open_rows)
    return ExtraPull("none", "", "", tuple(names))


def _dense(made: PlaneNet, coef: Floats, row: int) -> Floats:
    """Return one row of derivatives over all unknowns (n,)."""
    out = np.zeros(len(made.problem.start))
    cols = made.problem.cols[row]
    out[cols[cols >= 0]] = coef[row][cols >= 0]
    return out


def _pull_row(made: PlaneNet, xy: Floats, pair: tuple[int, int]) -> tuple[NDArray[np.int64], Floats, float]:
    """Return columns, derivatives and length [m] of a pull between two points that is not there yet."""
    d = xy[pair[0]] - xy[pair[1]]
    long = math.hypot(*d.tolist())
    unit = d / max(long, 1e-9)
    cols = np.concatenate([made.place[pair[0]], made.place[pair[1]]])
    coef = np.concatenate([unit, -unit])
    return cols[cols >= 0], coef[cols >= 0], long


def _lift(made: PlaneNet, xy: Floats, pair: tuple[int, int], hidden: Floats, sd: Floats) -> Floats:
    """Return by how much one more pull lifts the redundancy number of every hidden reading."""
    cols, coef, long = _pull_row(made, xy, pair)
    row = np.zeros(len(made.problem.start))
    row[cols] = coef
    own = float(coef @ made.problem.fronts.solve(row)[cols])
    new = instruments()["steel tape"].sd(long)
    across = hidden[:, cols] @ coef
    out: Floats = across**2 / ((new**2 + own) * sd**2)
    return out


def _pairs(net: Net, made: PlaneNet, xy: Floats, open_rows: list[int]) -> list[tuple[int, int]]:
    """Return the pulls that could be made from the points of unchecked readings, not through the house."""
    rows = made.rows
    index = rows.index
    done = {frozenset((index[p.a], index[p.b])) for p in net.pulls if p.a in index and p.b in index}
    ring = [(float(xy[index[n], 0]), float(xy[index[n], 1])) for n in net.house if n in index]
    touched = dict.fromkeys(int(k) for row in open_rows for k in rows.trio[row] if k >= 0)
    ends = list(touched)[:20]
    found: list[tuple[int, int]] = []
    for a in ends:
        near = np.flatnonzero(np.hypot(*(xy - xy[a]).T) < REACH).tolist()
        for b in near:
            pair = (min(a, b), max(a, b))
            if a == b or frozenset(pair) in done:
                continue
            done.add(frozenset(pair))
            if not _through(ring, xy[a], xy[b]):
                found.append(pair)
    return found


def _through(ring: list[tuple[float, float]], a: Floats, b: Floats) -> bool:
    """Return whether a straight pull would run through the house."""
    if len(ring) < 3:
        return False
    steps = np.linspace(0.04, 0.96, 24)[:, None]
    return any(inside((float(x), float(y)), ring) for x, y in a + steps * (b - a))


def extra_sights(made: LevelNet, solution: Solution) -> tuple[ExtraPull, ...]:
    """Return which rod readings nothing checks, as one second set-up for each set-up concerned."""
    problem = made.problem
    open_rows = unchecked(solution.r, problem.sd, problem.use)
    by_set_up: dict[str, list[Rod]] = {}
    for k in open_rows.tolist():
        reading = made.tags[k].reading
        if isinstance(reading, Rod):
            by_set_up.setdefault(reading.set_up, []).append(reading)
    found: list[ExtraPull] = []
    for rods in by_set_up.values():
        points = list(dict.fromkeys(rod.point for rod in rods))
        names = tuple(rod.name for rod in rods)
        if len(points) > 1:
            found.append(ExtraPull("level", points[0], points[-1], names))
    return tuple(found)
