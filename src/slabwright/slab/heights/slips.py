"""One reading a foot wrong, where no surface keeps every limit: whose slip would explain it all.

Each height that was read (a shot on an existing slab's edge, a sill, a point that the job measures a
height from) is moved by the slips that people make with a rod (habits.toml), all else held. It counts
when every limit then holds, and with half of the slip not: a height that needed less was not misread by
so much. What costs the least earthwork and keeps the wanted falls best is named first.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from slabwright.ground.model import ExistingSlab
from slabwright.measure import INCH
from slabwright.slab.heights.fixed import Hold
from slabwright.slab.heights.problem import Problem
from slabwright.slab.heights.relax import Asker
from slabwright.slab.heights.rows import Floats, Program
from slabwright.slab.heights.solver import solve
from slabwright.solving import Status
from slabwright.survey.misreads import habits

SHOWN = 2  # slips that fit alike are told, no more


@dataclass(frozen=True, slots=True)
class Slip:
    """A height that looks misread: its name, and by how much [m] it would have to move."""

    name: str
    by: float


@cache
def sizes(grade: float) -> tuple[float, ...]:
    """Return the slips of a rod [m], the commonest first; `grade` [m] tells inches from millimetres."""
    step = grade / (INCH / 16)
    system = "imperial" if abs(step - round(step)) < 1e-6 else "metric"
    rows = [h for h in habits().values() if "rod" in h.sorts and h.system == system and h.by]
    rows.sort(key=lambda h: -h.share)
    return tuple(by for h in rows for by in h.by if by >= INCH / 2)


def likely(problem: Problem, slips: tuple[float, ...]) -> list[Slip]:
    """Return the slips [m] that would explain why no surface keeps every limit, the likeliest first."""
    found: list[tuple[float, Slip]] = []
    for name, share in moved_with(problem).items():
        for size in slips:
            for by in (size, -size):
                if not _holds(problem, share, by) or _holds(problem, share, by / 2):
                    continue
                program = shifted(problem, share, by)
                solved = solve(program)
                if solved.status is Status.OPTIMAL:
                    found.append((program.cost(solved.z), Slip(name, by)))
    found.sort(key=lambda row: (row[0], row[1].name, abs(row[1].by)))
    named = dict.fromkeys(slip.name for _, slip in found)
    return [next(s for _, s in found if s.name == name) for name in list(named)[:SHOWN]]


def moved_with(problem: Problem) -> dict[str, Floats]:
    """Return, by the name of each height that was read, how far each hold moves when it moves by 1."""
    out: dict[str, Floats] = {}
    for k, hold in enumerate(problem.holds):
        for name, share in _readings(problem, hold):
            if share:
                out.setdefault(name, np.zeros(len(problem.holds)))[k] += share
    return out


def _readings(problem: Problem, hold: Hold) -> Iterator[tuple[str, float]]:
    """Yield the readings that a hold leans on, each with its share of it."""
    family, ground = hold.family, problem.site.ground
    part = next((s.part for s in problem.shapes if s.part.spec.name == family.slab), None)
    if part is None:
        return
    if family.kind == "existing":
        there = next(e for e in ground.existing if e.name == family.who)
        at = part.net.xy[hold.pins[0] - part.first]
        for name in dict.fromkeys(there.names):
            yield name, _share(there, name, (float(at[0]), float(at[1])))
    elif family.kind in ("door", "sill"):
        door = next(d for d in ground.doors if d.name == family.who)
        yield door.sill_name or door.name, 1.0
    elif family.kind == "height":
        fix = next((f for f in part.spec.heights if f.at == family.who), None)
        if fix is not None:
            yield fix.below or fix.above or fix.at, 1.0


def _share(there: ExistingSlab, name: str, at: tuple[float, float]) -> float:
    """Return how far an existing edge moves at a place when one of its shots moves by 1."""
    raised = tuple(
        None if h is None else h + (n == name) for n, h in zip(there.names, there.heights, strict=True)
    )
    before, after = there.height_on_edge(*at), replace(there, heights=raised).height_on_edge(*at)
    return 0.0 if before is None or after is None else after - before


def shifted(problem: Problem, share: Floats, by: float) -> Program:
    """Return the program with the holds moved by their share of `by` [m]."""
    program = problem.program
    lo, hi = program.lo.copy(), program.hi.copy()
    pulled = [k for k, h in enumerate(problem.holds) if h.pull is not None]
    own = problem.first_hold + np.arange(len(problem.holds))
    wished = problem.first_hold + len(problem.holds) + np.arange(len(pulled))
    rows, moves = np.concatenate([own, wished]), np.concatenate([share, share[pulled]]) * by
    lo[rows] += moves
    hi[rows] += moves
    return program.with_bounds(lo, hi)


def _holds(problem: Problem, share: Floats, by: float) -> bool:
    return Asker(shifted(problem, share, by))(frozenset())
