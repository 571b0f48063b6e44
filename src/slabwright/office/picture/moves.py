"""Points that can be dragged: where their two numbers stand in the job file, and what a new place writes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from slabwright.measure import MeasureError, Quantity, System, read, write
from slabwright.notes.layout import canonical
from slabwright.notes.models import Notes, SquareOff
from slabwright.notes.spelled import spelled
from slabwright.office.actions.edits import at
from slabwright.result import Plan

XY = tuple[float, float]
KeyPath = tuple[str | int, ...]

STEP = {System.IMPERIAL: read("inches", "1/8 in"), System.METRIC: read("inches", "5 mm")}
SAME = 1e-5  # m; texts that differ by less say the same
CLEAR_RUN = 1e-6  # m; a line shorter than this has no direction


@dataclass(frozen=True, slots=True)
class Move:
    """How a point is written: `along` and `out` of a line from `start` [m] in direction `way` [-].

    `paths` are the places of the two numbers, as edits name them; `written` is what stands there now, `line`
    the line's name. `drops` are tape pulls that hold the point where it is and would go with the move: each
    with its place, what stands there, and what a person calls it; last ones first.
    """

    point: str
    line: str
    paths: tuple[KeyPath, KeyPath]
    written: tuple[str, str]
    start: XY
    way: XY
    drops: tuple[tuple[KeyPath, Any, str], ...] = ()

    def numbers(self, place: XY) -> tuple[float, float]:
        """Return along and out [m] of a place [m]; out is to the right hand, into the yard."""
        dx, dy = place[0] - self.start[0], place[1] - self.start[1]
        ux, uy = self.way
        return dx * ux + dy * uy, dx * uy - dy * ux

    def place(self, along: float, out: float) -> XY:
        """Return the place [m] of along and out [m]."""
        ux, uy = self.way
        return self.start[0] + along * ux + out * uy, self.start[1] + along * uy - out * ux

    def texts(self, place: XY, system: System) -> tuple[str, str]:
        """Return what the job file would say of a place [m], to 1/8 in or to 5 mm.

        A number that stays what it was keeps the text in which it was written.
        """
        step = STEP[system]
        made = []
        for value, old in zip(self.numbers(place), self.written, strict=True):
            new = write(Quantity("fine_length", round(value / step) * step), system=system)
            made.append(old if _same(new, old) else new)
        return made[0], made[1]


def _same(one: str, other: str) -> bool:
    try:
        return abs(read("length", one) - read("length", other)) < SAME
    except MeasureError:
        return one == other


def moves(plan: Plan, tree: Mapping[str, Any]) -> dict[str, Move]:
    """Return the points of a job that can be dragged, by name; `tree` is the job file as plain dicts.

    A point may be dragged when one square-off, or its entry among `points`, says where it is. Where tape
    pulls hold it too it stays, unless it is a corner of a new slab: that one is decided, not found, and the
    pulls that no longer hold go with it.
    """
    notes = plan.notes
    held, decided = squared(notes), to_build(notes)
    found: dict[str, Move] = {}
    for one in (*_squared(plan, tree), *_given(plan, tree)):
        if one.point in found:
            held.add(one.point)
        drops = _drops(plan, tree, one.point)
        if drops and one.point not in decided:
            held.add(one.point)
        found[one.point] = replace(one, drops=drops)
    return {name: one for name, one in found.items() if name not in held}


def to_build(notes: Notes) -> set[str]:
    """Return the points of new slabs that are nothing else: no corner of the house or of what is there."""
    new = {c if isinstance(c, str) else c.point for s in notes.slabs for c in (*s.corners, *s.along)}
    there = {name for one in notes.existing for name in (*one.corners, *one.edge)}
    walls = set(notes.house.walls) if notes.house is not None else set(notes.baseline or ())
    return new - there - walls


def squared(notes: Notes) -> set[str]:
    """Return the points that a checked right angle or a straight line holds in place."""
    held = {name for line in notes.straight_lines for name in line}
    for square in notes.right_angles:
        held |= {square.at, *square.between}
    return held


def measured(notes: Notes) -> set[str]:
    """Return the points that a tape pull, a checked right angle or a straight line holds in place."""
    return squared(notes) | {name for pull in notes.tape for name in (pull.from_, pull.to)}


def _drops(plan: Plan, tree: Mapping[str, Any], point: str) -> tuple[tuple[KeyPath, Any, str], ...]:
    """Return the tape pulls of a point, the last first, so that taking one away moves no other."""
    pulls = [(n, pull) for n, pull in enumerate(plan.notes.tape) if point in (pull.from_, pull.to)]
    return tuple(
        (("tape", n), at(tree, ("tape", n)), f"{pull.from_}-{pull.to}") for n, pull in reversed(pulls)
    )


def _squared(plan: Plan, tree: Mapping[str, Any]) -> Iterator[Move]:
    rows = next((rows for key, rows in tree.items() if canonical(key) == "square-off"), None)
    if not isinstance(rows, list):
        return
    for n, off in enumerate(plan.notes.square_off):
        keys = spelled(SquareOff, at(rows, (n,)), ()) or {}
        written = [str(keys[key][1]) for key in ("along", "out") if key in keys]
        line = _line(plan, off.wall)
        if line is not None and len(written) == 2:
            paths: tuple[KeyPath, KeyPath] = (("square-off", n, "along"), ("square-off", n, "out"))
            yield Move(off.point, off.wall, paths, (written[0], written[1]), *line)


def _given(plan: Plan, tree: Mapping[str, Any]) -> Iterator[Move]:
    rows = tree.get("points")
    if not isinstance(rows, Mapping):
        return
    house, baseline = plan.notes.house, plan.notes.baseline
    names = house.walls[:2] if house is not None else baseline or ()
    for name, pair in rows.items():
        if name in plan.notes.points and isinstance(pair, list) and len(pair) == 2:
            paths: tuple[KeyPath, KeyPath] = (("points", name, 0), ("points", name, 1))
            # the first corner is the origin, and the first wall runs along x
            yield Move(name, "-".join(names), paths, (str(pair[0]), str(pair[1])), (0.0, 0.0), (1.0, 0.0))


def _line(plan: Plan, wall: str) -> tuple[XY, XY] | None:
    """Return where a line such as 'A-B' begins [m] and its direction; None where it cannot be told."""
    for first, last in _ends(wall):
        p, q = plan.survey.points.get(first), plan.survey.points.get(last)
        if p is None or q is None:
            continue
        run = math.dist((p.x, p.y), (q.x, q.y))
        if run > CLEAR_RUN:
            return (p.x, p.y), ((q.x - p.x) / run, (q.y - p.y) / run)
    return None


def _ends(wall: str) -> Iterator[Sequence[str]]:
    """Yield the ways to read 'A-B' as two names; names may have a hyphen of their own."""
    parts = wall.split("-")
    for n in range(1, len(parts)):
        yield "-".join(parts[:n]).strip(), "-".join(parts[n:]).strip()
