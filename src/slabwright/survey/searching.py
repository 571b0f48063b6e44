"""The search for slips in a solved net: what to try, what to set aside, when to stop."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from slabwright.survey.net import Net, SquareOff
from slabwright.survey.plane import PlaneNet, plane_net, start_of
from slabwright.survey.result import Point, Slip, ellipse
from slabwright.survey.rows import Tag
from slabwright.survey.slips import (
    SMALL,
    Guess,
    Without,
    judge,
    linear_without,
    suspicious,
)
from slabwright.survey.solve import Problem, Solution, solve
from slabwright.survey.start import first_places, inside, right_of

Floats = NDArray[np.float64]

APART = 0.05  # [m] two ways to solve a net that differ by less are one
MOST = 3  # slips named one after another before the net is given up
FLIPS = 8  # points tried on the other side of their line
SIDE_SHARE = 0.0005  # chance that a given side was noted wrong; common practice has no count
INDOORS = 3.0  # on the scale of the sum of squares, for each peg indoors up to four; common practice
BETTER = 12.0  # drop in the sum of squares for which a point goes to the other side of its line


@dataclass(frozen=True, slots=True)
class Found:
    """A net after the search: its equations and solution without what was set aside, and the slips."""

    problem: Problem
    solution: Solution
    slips: tuple[Slip, ...]


def search(
    tags: Sequence[Tag],
    problem: Problem,
    solution: Solution,
    without: Callable[[Problem, Solution, int], Sequence[Without]],
    sides: Callable[[], Sequence[Guess]] = lambda: (),
) -> Found:
    """Return the net with its slips named, each lone one set aside before the next is sought.

    A slip that mends the whole net comes first. Where there is none, there may be two or three: the
    best one is taken on trial, and all of them are dropped again unless the net passes in the end.
    """
    slips: list[Slip] = []
    firm = Found(problem, solution, ())
    for group in range(1, MOST + 1):
        if not suspicious(problem, solution):
            break
        others = sides() if group == 1 else ()
        verdict = judge(problem, solution, tags, without, others)
        mends = bool(verdict.named)
        if not mends:
            verdict = judge(problem, solution, tags, without, restores=False)
        lone = len(verdict.named) == 1
        if not verdict.named or not (mends or lone):
            break
        slips += [_slip(tags, problem, guess, chance, group, lone) for guess, chance in verdict.named]
        guess = verdict.named[0][0]
        if lone and guess.row >= 0:
            problem = problem.without(guess.row, guess.start)
            after = _solved(problem)
            if after is None:  # without this reading something hangs loose: it cannot be set aside
                break
            solution = after
        if mends:
            firm = Found(problem, solution, tuple(slips))
        if not lone or guess.row < 0:
            break
    return firm


def _slip(tags: Sequence[Tag], problem: Problem, guess: Guess, chance: float, group: int, lone: bool) -> Slip:
    if guess.row < 0:
        name = f"side of {guess.point}"
        return Slip(name, "side", "side", 0.0, 0.0, 0.0, chance, group, lone, None, (guess.point,))
    tag, value = tags[guess.row], float(problem.value[guess.row])
    return Slip(
        reading=tag.reading.name,
        part=tag.kind,
        kind=guess.kind,
        by=guess.by,
        fits=value - guess.by,
        written=value,
        chance=chance,
        group=group,
        set_aside=lone,
        line=tag.reading.line,
        points=tag.reading.points(),
    )


def plane_without(
    net: Net, made: PlaneNet, problem: Problem, solution: Solution, row: int
) -> tuple[Without, ...]:
    """Return the plane net solved without one row; empty when that leaves something open.

    A large net takes the linear estimate. A small one is solved anew, and from fresh first places
    when the old ones, which the slip may have led astray, do not close. Where a point is left with two
    pulls, it may be on either side of their line, and both are returned.
    """
    if len(problem.value) > SMALL:
        return linear_without(problem, solution, row)
    tag = made.rows.tags[row]
    rest = problem.without(row, solution.x)
    out = _solved(rest)
    if out is None or out.statistic > max(3.0 * problem.dof, 30.0):
        places = first_places(net, frozenset({id(tag.reading)})).xy
        again = _solved(problem.without(row, start_of(made, places)))
        if out is None or (again is not None and again.statistic < out.statistic):
            out = again
    if out is None:
        return ()
    found = [_without(net, made, problem, out, row)]
    for start in _other_sides(made, rest, out.x, row):
        other = _solved(replace(rest, start=start))
        if other is not None and float(np.abs(other.x - out.x).max()) > APART:
            found.append(_without(net, made, problem, other, row))
    return tuple(found)


def _without(net: Net, made: PlaneNet, problem: Problem, out: Solution, row: int) -> Without:
    reading, line = made.rows.tags[row].reading, None
    if isinstance(reading, SquareOff):
        xy = made.at(out.x)
        a, b = (xy[made.rows.index[name]] for name in (reading.start, reading.end))
        line = float(np.hypot(*(b - a)))
    return Without(
        row=row,
        statistic=out.statistic,
        miss=-float(out.residual[row]),
        spread=float(np.sqrt(problem.sd[row] ** 2 + out.q[row])),
        start=out.x,
        line=line,
        burden=_indoors(net, made, out),
    )


def _other_sides(made: PlaneNet, rest: Problem, x: Floats, row: int) -> Iterator[Floats]:
    """Yield starts with an end of this row's reading mirrored, where two pulls are all that is left of it."""
    trio = made.rows.trio
    for k in trio[row].tolist():
        if k < 0 or (made.place[k] < 0).any():
            continue
        left = np.flatnonzero((trio == k).any(axis=1) & rest.use)
        if len(left) != 2 or any(made.rows.tags[i].kind != "pull" for i in left.tolist()):
            continue
        xy = made.at(x)
        (a, b) = (xy[int(trio[i, 0] if trio[i, 1] == k else trio[i, 1])] for i in left.tolist())
        along = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
        turned = x.copy()
        turned[made.place[k]] = 2.0 * (a + float((xy[k] - a) @ along) * along) - xy[k]
        yield turned


def _indoors(net: Net, made: PlaneNet, solution: Solution) -> float:
    """Return how unlikely a net is for the pegs that it puts inside the house.

    A net of pulls alone fits as well when it is folded over the wall; only the house tells them apart.
    """
    index = made.rows.index
    xy = made.at(solution.x).tolist()
    ring = [(xy[index[name]][0], xy[index[name]][1]) for name in net.house if name in index]
    if len(ring) < 3:
        return 0.0
    pegs = [(x, y) for name, (x, y) in zip(made.rows.names, xy, strict=True) if name not in net.house]
    return min(INDOORS * sum(inside(peg, ring) for peg in pegs), 4.0 * INDOORS)


def _solved(problem: Problem) -> Solution | None:
    try:
        return solve(problem)
    except np.linalg.LinAlgError:
        return None


def side_guesses(net: Net, made: PlaneNet) -> list[Guess]:
    """Return, for every point with a noted side, how well the net closes with it on the other one."""
    said = [name for name, (_, how) in made.first.chosen.items() if how == "noted"]
    found: list[Guess] = []
    for name in said[:FLIPS]:
        other = turned(net, made, name)
        if other is not None:
            score = other.statistic - 2.0 * float(np.log(SIDE_SHARE))
            found.append(Guess(-1, "side", 0.0, score, other.statistic, other.x, name))
    return found


def turned(net: Net, made: PlaneNet, name: str) -> Solution | None:
    """Return the net solved with one point begun on the other side of its line."""
    places = first_places(net, flips=frozenset({name})).xy
    return _solved(replace(made.problem, start=start_of(made, places)))


def best_sides(net: Net, made: PlaneNet, solution: Solution) -> tuple[PlaneNet, Solution]:
    """Return the net with points put on whichever side of their line closes it best.

    Only points whose side was not noted are tried, and only in a net that fails; one at a time, as
    long as that makes the net clearly better.
    """
    flips: frozenset[str] = frozenset()
    while suspicious(made.problem, solution) and len(made.problem.value) <= SMALL:
        chosen = made.first.chosen.items()
        open_points = [n for n, (_, how) in chosen if how != "noted" and n not in flips]
        tries = [(name, turned(net, made, name)) for name in open_points[:FLIPS]]
        good = [(t.statistic, name) for name, t in tries if t is not None]
        if not good or min(good)[0] > solution.statistic - BETTER:
            break
        flips |= {min(good)[1]}
        other = plane_net(net, flips=flips)
        # A net that closes because a point dropped out of it is no better.
        if len(other.loose) > len(made.loose) or other.solution.statistic > solution.statistic - BETTER:
            break
        made, solution = other, other.solution
    return made, solution


def open_sides(net: Net, made: PlaneNet, solution: Solution) -> list[str]:
    """Return the points that fit as well on the other side, where nothing but convention chose.

    A part of the net can be folded over when it hangs on the rest by two points only and nothing in it
    has a hand (a square-off, a noted side, a given place); what the graph leaves open is then tried.
    """
    rows = made.rows
    by_yard = [n for n, (_, how) in made.first.chosen.items() if how == "yard" and n in rows.index]
    if not by_yard or len(rows.value) > SMALL:
        return []
    beside: dict[str, set[str]] = {name: set() for name in rows.names}
    for trio in rows.trio.tolist():
        ends = [rows.names[k] for k in trio if k >= 0]
        for name in ends:
            beside[name].update(ends)
    handed = {name for reading in (*net.square_offs, *net.sides) for name in reading.points()[:1]}
    handed |= {known.point for known in net.knowns} | set(net.frame or ())
    found: list[str] = []
    for name in by_yard[:FLIPS]:
        hinge = {end for locus in made.first.loci[name][:2] for end in locus.by}
        part, todo = {name}, [name]
        while todo:
            fresh = beside[todo.pop()] - part - hinge
            part |= fresh
            todo += fresh
        if part & (handed - hinge):
            continue
        other = turned(net, made, name)
        if other is not None and other.statistic < solution.statistic + BETTER:
            found.append(name)
    return found


def wrong_sides(net: Net, points: Mapping[str, Point], slips: Sequence[Slip]) -> list[Slip]:
    """Return a slip for every noted side that the placed points contradict, beyond those in `slips`."""
    told = {slip.points for slip in slips if slip.part == "side"}
    group = max((slip.group for slip in slips), default=0)
    found: list[Slip] = []
    for side in net.sides:
        if (side.point,) in told or not all(name in points for name in side.points()):
            continue
        p, s, e = (points[name] for name in side.points())
        length = float(np.hypot(e.x - s.x, e.y - s.y))
        off = right_of((p.x, p.y), (s.x, s.y), (e.x, e.y)) / max(length, 1e-9)
        sure = 3.0 * max(ellipse(p).a, ellipse(s).a, ellipse(e).a)
        if (off > sure and side.side == "left") or (off < -sure and side.side == "right"):
            group += 1
            told.add((side.point,))
            found.append(
                Slip(side.name, "side", "side", 0.0, 0.0, 0.0, 1.0, group, True, side.line, (side.point,))
            )
    return found
