"""Readings and points of other files as changes to a job file's text; its remarks stay as they are."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby

from slabwright.ground.exchange import NamedPoint, RodRow, Slips
from slabwright.notes.models import Notes
from slabwright.notes.writer import Append, Change, Set, update

SHORTEST_LINE = 0.3  # m between the two points that lay the frame: less would swing everything
DIGITS = 4  # of a metre


def with_readings(text: str, notes: Notes, rows: Sequence[RodRow], *, set_up: str, name: str) -> str:
    """Return the job file's text with rod readings added.

    rows: the readings [m], written as they were. set_up: where rows name none. A set-up that is there
    gets the new readings; a reading that is there already is refused, by name. name: the file, for
    errors. Raises ExchangeError.
    """
    slips = Slips(name)
    places = {s.set_up: n for n, s in enumerate(notes.levels)}
    changes: list[Change] = []
    for here, group in groupby(
        sorted(rows, key=lambda r: r.set_up or set_up), key=lambda r: r.set_up or set_up
    ):
        taken = notes.levels[places[here]].rod if here in places else {}
        fresh: dict[str, str] = {}
        for row in group:
            if row.point in taken:
                slips.add(row.line, "point", row.point, f"{row.point} was read from {here} already", None)
            fresh[row.point] = row.written
        if here in places:
            changes += [Set(("levels", places[here], "rod", point), value) for point, value in fresh.items()]
        else:
            changes.append(Append(("levels",), {"set-up": here, "rod": dict(fresh)}))
    slips.check()
    return update(text, changes)


def with_points(text: str, notes: Notes, points: Sequence[NamedPoint], *, name: str) -> str:
    """Return the job file's text with points added as given places, and their heights as known ones.

    points: places [m] in the other file's own frame. They are turned and moved so that the ends of the
    job's first wall or baseline, which must be among them, fall where the job has them; a job with
    neither takes its first two points as they come. Raises ExchangeError, naming what is missing.
    """
    slips = Slips(name)
    ends = notes.house.walls[:2] if notes.house else notes.baseline
    by_name = {p.name: p for p in points}
    for p in points:
        if p.name in notes.points:
            slips.add(None, "point", p.name, "is in the job file already", None)
    changes: list[Change] = []
    if ends is None:
        left, right = points[0], points[-1]
        changes.append(Set(("baseline",), [left.name, right.name]))
    else:
        missing = [end for end in ends if end not in by_name]
        if missing:
            raise slips.stop(
                None,
                "point",
                ", ".join(missing),
                "both ends of the job's first wall must be in the file",
                None,
            )
        left, right = by_name[ends[0]], by_name[ends[1]]
    run = math.dist((left.x, left.y), (right.x, right.y))
    if run < SHORTEST_LINE:
        raise slips.stop(
            None, "point", right.name, f"lies on {left.name}; the two cannot lay the frame", None
        )
    slips.check()
    c, s = (right.x - left.x) / run, (right.y - left.y) / run
    for p in points:
        dx, dy = p.x - left.x, p.y - left.y
        along, into = c * dx + s * dy, c * dy - s * dx
        # The job file's second number runs out into the yard.
        changes.append(Set(("points", p.name), [_metres(along), _metres(-into)]))
        if p.height is not None and p.name not in notes.heights:
            changes.append(Set(("heights", p.name), _metres(p.height)))
    return update(text, changes)


def _metres(value: float) -> str:
    return f"{round(value, DIGITS) + 0.0:.{DIGITS}f} m"
