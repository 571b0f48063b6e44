"""What nothing checks, and the one more reading that would.

A slip in a reading shows only through its redundancy number. For every reading in which a slip of a
foot would stay hidden, each further pull that could be made is tried on paper: it lifts the
redundancy number of reading i by (a Q a_i)^2 / ((sd^2 + a Q a) sd_i^2), Q being the covariance of
the points, a the new pull's row and a_i the reading's (updating formula of least squares,
`ghilani-wolf`). The pull that lifts most readings is named, and so on for what is left.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from slabwright.survey.instruments import instruments
from slabwright.survey.levels import LevelNet
from slabwright.survey.net import Net, Reading, Rod, SquareOff
from slabwright.survey.plane import PlaneNet
from slabwright.survey.report import detectable_factor
from slabwright.survey.result import ExtraPull
from slabwright.survey.solve import Solution
from slabwright.survey.start import inside

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

HIDDEN = 0.3048  # [m] a reading in which a slip of a foot stays hidden counts as unchecked
PLAIN = 0.0762  # [m] three inches: a slip of this size should show after the extra pull
REACH = 30.0  # [m] a pull longer than the usual 100 ft tape is not proposed
ROWS, ENDS, MOST = 120, 50, 12  # unchecked readings and their points looked at, pulls proposed
SHOWS = 0.2  # share of the redundancy for PLAIN from which a pull counts as showing a reading
FLAT_FORMS = ("right", "straight", "x", "y")  # no one reads these from a tape; they need no check


def unchecked(rows_r: Floats, sd: Floats, used: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return the rows in which a slip of a foot would stay hidden."""
    least = detectable_factor() * sd / np.sqrt(np.maximum(rows_r, 1e-12))
    return np.flatnonzero(used & (least > HIDDEN))


def matters(net: Net, reading: Reading) -> bool:
    """Return whether the work hangs on this reading: on the point that it places."""
    if net.matter is None:
        return True
    own = (reading.point,) if isinstance(reading, SquareOff | Rod) else reading.points()
    return any(name in net.matter for name in own)


def extra_pulls(net: Net, made: PlaneNet, solution: Solution) -> tuple[ExtraPull, ...]:
    """Return the pulls that would make unchecked readings visible, the most telling first.

    What further pulls would show comes after them as one entry 'more', and what no pull between the
    points would show as one entry 'none'.

    Needs the fronts factored at the solution.
    """
    problem, rows = made.problem, made.rows
    hidden_rows = unchecked(solution.r, problem.sd, problem.use).tolist()
    every = [k for k in hidden_rows if rows.tags[k].kind not in FLAT_FORMS]
    telling = [k for k in every if matters(net, rows.tags[k].reading)]
    idle = [k for k in every if not matters(net, rows.tags[k].reading)]
    open_rows, beyond = telling[:ROWS], telling[ROWS:] + idle
    if not open_rows:
        return (_listed(made, beyond, "more"),) if beyond else ()
    xy = made.at(solution.x)
    pairs = _pairs(net, made, xy, open_rows)
    if not len(pairs):
        return (_listed(made, every, "none"),)
    share = _shares(made, solution, xy, pairs, open_rows)
    ring = [made.rows.index[name] for name in net.house if name in made.rows.index]
    walls = [(float(xy[k, 0]), float(xy[k, 1])) for k in ring]
    return _choose(made, xy, walls, pairs, share, open_rows, beyond)


def _shares(made: PlaneNet, solution: Solution, xy: Floats, pairs: Ints, open_rows: list[int]) -> Floats:
    """Return (pairs, rows): how far each new pull would lift each row, as a share of what PLAIN needs."""
    problem = made.problem
    coef = problem.predict(solution.x)[1]
    hidden = problem.fronts.solve(np.array([_dense(made, coef, k) for k in open_rows]).T).T
    sd = problem.sd[open_rows]
    d = xy[pairs[:, 0]] - xy[pairs[:, 1]]
    long = np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-9)
    unit = d / long[:, None]
    cols = np.unique(made.place[pairs].ravel())
    cols = cols[cols >= 0]
    at = np.full(len(problem.start) + 1, -1, dtype=np.int64)
    at[cols] = np.arange(len(cols))
    new = np.zeros((len(pairs), len(cols) + 1))
    here = np.arange(len(pairs))[:, None]
    for end, sign in ((0, 1.0), (1, -1.0)):
        place = made.place[pairs[:, end]]
        new[here, np.where(place < 0, len(cols), at[place])] = sign * unit
    new = new[:, :-1]
    units = np.zeros((len(problem.start), len(cols)))
    units[cols, np.arange(len(cols))] = 1.0
    cov = problem.fronts.solve(units)[cols]
    own = np.einsum("ij,ij->i", new @ cov, new)
    tape = instruments()["steel tape"]
    noise = np.array([tape.sd(length) for length in long.tolist()])
    across = new @ hidden[:, cols].T
    lift = across**2 / ((noise**2 + own)[:, None] * sd**2)
    need = (detectable_factor() * sd / PLAIN) ** 2
    share: Floats = np.minimum(solution.r[open_rows] + lift, need) / need
    return share


def _choose(
    made: PlaneNet,
    xy: Floats,
    walls: list[tuple[float, float]],
    pairs: Ints,
    share: Floats,
    open_rows: list[int],
    beyond: list[int],
) -> tuple[ExtraPull, ...]:
    """Return pulls one after another, each the one that shows most of what is still hidden."""
    rows = made.rows
    found: list[ExtraPull] = []
    left = np.ones(len(open_rows), dtype=np.bool_)
    while left.any() and len(found) < MOST:
        best = int(np.argmax(share[:, left].sum(axis=1)))
        shown = left & (share[best] > SHOWS)
        if not shown.any():
            break
        a, b = pairs[best].tolist()
        if _through(walls, xy[a], xy[b]):
            share[best] = 0.0
            continue
        names = dict.fromkeys(rows.tags[open_rows[k]].reading.name for k in np.flatnonzero(shown).tolist())
        found.append(ExtraPull("tape", rows.names[a], rows.names[b], tuple(names)))
        left &= ~shown
    # What a further pull would still show, though it is not proposed here, and what none would.
    could = left & (share.max(axis=0) > SHOWS)
    more = [row for row, rest in zip(open_rows, could, strict=True) if rest] + beyond
    never = [row for row, rest in zip(open_rows, left & ~could, strict=True) if rest]
    if more:
        found.append(_listed(made, more, "more"))
    if never:
        found.append(_listed(made, never, "none"))
    return tuple(found)


def _listed(made: PlaneNet, open_rows: list[int], what: str) -> ExtraPull:
    names = dict.fromkeys(made.rows.tags[row].reading.name for row in open_rows)
    return ExtraPull(what, "", "", tuple(names))


def _dense(made: PlaneNet, coef: Floats, row: int) -> Floats:
    """Return one row of derivatives over all unknowns (n,)."""
    out = np.zeros(len(made.problem.start))
    cols = made.problem.cols[row]
    out[cols[cols >= 0]] = coef[row][cols >= 0]
    return out


def _pairs(net: Net, made: PlaneNet, xy: Floats, open_rows: list[int]) -> Ints:
    """Return the pulls (k, 2) that could be made from points of unchecked readings, within reach."""
    rows = made.rows
    done = {(rows.index[p.a], rows.index[p.b]) for p in net.pulls if p.a in rows.index and p.b in rows.index}
    done |= {(b, a) for a, b in done}
    touched = dict.fromkeys(int(k) for row in open_rows for k in rows.trio[row] if k >= 0)
    found: dict[tuple[int, int], None] = {}
    for a in list(touched)[:ENDS]:
        near = np.flatnonzero(np.hypot(*(xy - xy[a]).T) < REACH).tolist()
        for b in near:
            if a != b and (a, b) not in done:
                found[min(a, b), max(a, b)] = None
    return np.array(list(found), dtype=np.int64).reshape(-1, 2)


def _through(ring: list[tuple[float, float]], a: Floats, b: Floats) -> bool:
    """Return whether a straight pull would run through the house."""
    if len(ring) < 3:
        return False
    steps = np.linspace(0.04, 0.96, 24)[:, None]
    return any(inside((float(x), float(y)), ring) for x, y in a + steps * (b - a))


def extra_sights(net: Net, made: LevelNet, solution: Solution) -> tuple[ExtraPull, ...]:
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
        telling = [rod for rod in rods if matters(net, rod)]
        points = list(dict.fromkeys(rod.point for rod in telling))
        if len(points) > 1:
            found.append(ExtraPull("level", points[0], points[-1], tuple(rod.name for rod in telling)))
        idle = tuple(rod.name for rod in rods if not matters(net, rod))
        if idle:
            found.append(ExtraPull("more", "", "", idle))
    return tuple(found)
