"""The plane net as equations: first places, which points can be determined at all, and the datum."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from slabwright.survey.fronts import Fronts
from slabwright.survey.loci import Place, gap
from slabwright.survey.net import Net
from slabwright.survey.rows import PlaneRows, plane_rows, predict
from slabwright.survey.solve import Problem, Solution, descend, solve
from slabwright.survey.start import Start, first_places, frame_holds

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

OPEN = 0.3  # [m] a point that its readings leave this uncertain (a foot) is not determined,
COARSE = 20.0  # unless that is less than this many times the sd of its own readings
TIGHTER = 5  # times that a leash is tightened, a tenth of its length each
LEASH = 10.0  # times that limit: sd of the leash put on every point to find out which are open


@dataclass(frozen=True, slots=True)
class PlaneNet:
    """The plane net as equations.

    place (n, 2): column of each point's x and y, -1 for fixed; base (n, 2) [m]: first places;
    loose: point -> why it cannot be determined ('apart', 'one-tie', 'cannot-reach', 'in-line',
    'open'), and the points that it hangs on; first: how the places were found; solution: the
    settled net, its covariances in `problem.fronts` until that is used again.
    """

    problem: Problem
    rows: PlaneRows
    place: Ints
    base: Floats
    loose: dict[str, tuple[str, tuple[str, ...], float]]
    first: Start
    solution: Solution

    def at(self, x: Floats) -> Floats:
        """Return the points (n, 2) [m] for unknowns x."""
        xy = self.base.copy()
        xy[self.place >= 0] = x
        return xy


def plane_net(
    net: Net, *, skip: frozenset[int] = frozenset(), flips: frozenset[str] = frozenset()
) -> PlaneNet:
    """Return the plane net of everything that can be determined.

    skip: ids of readings that must not help to find first places; flips: points on the other side.
    """
    first = first_places(net, skip, flips)
    loose = _left_over(net, first)
    names = [name for name in mentioned(net) if name in first.xy]
    while True:
        rows = plane_rows(net, names)
        problem, place, base = _equations(net, rows, first)
        solution, bad = _settle(problem, rows, place)
        if solution is not None:
            problem = replace(problem, start=solution.x)
            return PlaneNet(problem, rows, place, base, loose, first, solution)
        loose |= {name: ("in-line", _anchors(first, name), 0.0) for name in bad}
        names = [name for name in names if name not in bad]


def _equations(net: Net, rows: PlaneRows, first: Start) -> tuple[Problem, Ints, Floats]:
    """Return the equations, the columns (n, 2) of every point's x and y, and its first place (n, 2)."""
    base = np.array([first.xy[name] for name in rows.names]).reshape(-1, 2)
    free = np.ones((len(rows.names), 2), dtype=np.bool_)
    for known in net.knowns:
        if known.sd is None and known.point in rows.index:
            free[rows.index[known.point]] = False
    left, right = frame_holds(net)
    if net.frame and left and net.frame[0] in rows.index:
        free[rows.index[net.frame[0]]] = False
    if net.frame and right and net.frame[1] in rows.index:
        k = rows.index[net.frame[1]]
        base[k, 1] = first.xy[net.frame[0]][1]
        free[k, 1] = False
    place = np.full(free.shape, -1, dtype=np.int64)
    place[free] = np.arange(int(free.sum()))
    cols = np.where(rows.trio[:, :, None] < 0, -1, place[rows.trio]).reshape(-1, 6)

    spots = np.flatnonzero(free)
    # Most large nets are pulls alone, two points a row; the third one's columns are then not carried.
    wide = 6 if (rows.trio[:, 2] >= 0).any() else 4
    cols = np.ascontiguousarray(cols[:, :wide])

    def at(x: Floats) -> tuple[Floats, Floats]:
        xy = base.copy()
        xy.ravel()[spots] = x
        value, coef = predict(rows, xy)
        return value, coef[:, :wide]

    problem = Problem(
        predict=at,
        cols=cols,
        value=rows.value,
        sd=rows.sd,
        use=np.ones(len(rows.value), dtype=np.bool_),
        fronts=Fronts(cols, int(free.sum())),
        start=base[free],
    )
    return problem, place, base


def _settle(problem: Problem, rows: PlaneRows, place: Ints) -> tuple[Solution | None, list[str]]:
    """Return the settled net, or None and the points that its readings leave open."""
    coarse = np.full(len(rows.names) + 1, OPEN / COARSE)
    np.maximum.at(coarse, rows.trio, rows.sd[:, None])
    limit = COARSE * coarse[:-1]
    leash = float(LEASH * limit.max(initial=OPEN)) ** -2
    try:
        solution = solve(problem)
        if np.all(_spread(problem, place) < limit):
            return solution, []
    except np.linalg.LinAlgError:
        pass
    x = _leashed(problem, leash)
    if x is None:
        return None, [name for name, cols in zip(rows.names, place, strict=True) if cols.max() >= 0]
    share = _spread(problem, place) / limit
    bad = np.flatnonzero(share > 1.0)
    if not len(bad):
        bad = np.array([int(np.argmax(share))])
    return None, [rows.names[k] for k in bad]


def _leashed(problem: Problem, leash: float) -> Floats | None:
    """Return the unknowns with every point on a leash, its covariances in the fronts; None if that fails.

    leash [1/m2] is tightened until the contradictions of a hopeless net no longer drown it.
    """
    for _ in range(TIGHTER):
        try:
            x, _ = descend(problem, ridge=leash)
            problem.fronts.factor(problem.predict(x)[1] / problem.sd[:, None], leash)
        except np.linalg.LinAlgError:
            leash *= 100.0
            continue
        problem.fronts.invert()
        return x
    return None


def _spread(problem: Problem, place: Ints) -> Floats:
    """Return the greater of sx and sy (n,) [m] of every point, from the inverted fronts."""
    variance = problem.fronts.variance()
    padded = np.append(np.sqrt(np.maximum(variance, 0.0)), 0.0)
    out: Floats = padded[place].max(axis=1)
    return out


def _anchors(first: Start, name: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(by for locus in first.loci.get(name, []) for by in locus.by))


def _left_over(net: Net, first: Start) -> dict[str, tuple[str, tuple[str, ...], float]]:
    """Return why every point that found no place has none: (reason, points it hangs on, gap [m])."""
    out: dict[str, tuple[str, tuple[str, ...], float]] = {}
    kinds = (net.pulls, net.square_offs, net.right_angles, net.straights)
    every = mentioned(net)
    if all(name in first.xy for name in every):
        return out
    beside: dict[str, set[str]] = {name: set() for name in every}
    for kind in kinds:
        for reading in kind:
            for name in reading.points():
                beside[name].update(other for other in reading.points() if other != name)
    for name in every:
        if name in first.xy:
            continue
        loci = first.loci.get(name, [])
        anchors = _anchors(first, name) or tuple(sorted(beside[name]))
        misses = [gap(p, q) for i, p in enumerate(loci) for q in loci[:i]]
        if len(loci) >= 2 and min(misses) > 0.0:
            out[name] = ("cannot-reach", anchors, min(misses))
        elif len(loci) == 1:
            out[name] = ("one-tie", anchors, 0.0)
        else:
            out[name] = ("apart" if not loci else "open", anchors, 0.0)
    return out


def mentioned(net: Net) -> list[str]:
    """Return the names of all points of the plan, in the order in which the net mentions them."""
    kinds = (net.knowns, net.pulls, net.square_offs, net.right_angles, net.straights)
    names = dict.fromkeys(net.frame or ())
    names |= dict.fromkeys(name for kind in kinds for reading in kind for name in reading.points())
    return list(names)


def start_of(plane: PlaneNet, places: dict[str, Place]) -> Floats:
    """Return first places found elsewhere as this net's unknowns; its own where one is missing."""
    xy = plane.base.copy()
    for k, name in enumerate(plane.rows.names):
        xy[k] = places.get(name, (xy[k, 0], xy[k, 1]))
    out: Floats = xy[plane.place >= 0]
    return out
