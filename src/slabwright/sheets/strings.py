"""The straight strings of a job: which corner to which, and how far along each mark stands."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.build.model import Stake
from slabwright.result import Plan
from slabwright.slab.model import Edge, Slab

XY = tuple[float, float]

ON_STRING = 0.005  # m; a mark nearer to a string than this stands on it
SAME_WAY = math.radians(0.3)  # sides that turn less than this are one string


@dataclass(frozen=True, slots=True)
class StringLine:
    """A straight side of a slab from corner `a` at p to corner `b` at q, and the marks on it.

    `marks`: (mark, its distance from a [m]) in that order, corners left out; `kind` as of the side.
    """

    slab: str
    a: str
    b: str
    p: XY
    q: XY
    kind: str
    marks: tuple[tuple[Stake, float], ...]

    @property
    def name(self) -> str:
        """Return the string's name: its two corners."""
        return f"{self.a} - {self.b}"

    @property
    def length(self) -> float:
        """Return its length [m]."""
        return math.dist(self.p, self.q)


def string_lines(plan: Plan) -> tuple[StringLine, ...]:
    """Return the strings of all slabs, each slab's in the order round its outline."""
    return tuple(line for slab in plan.shaped.slabs for line in _of_slab(slab, plan.built.set_out.stakes))


def off_strings(plan: Plan) -> tuple[Stake, ...]:
    """Return the marks that need two tapes: corners, and marks on a curve."""
    on = {(s.slab, s.label) for line in string_lines(plan) for s, _ in line.marks}
    return tuple(s for s in plan.built.set_out.stakes if (s.slab, s.label) not in on)


def _of_slab(slab: Slab, stakes: Sequence[Stake]) -> list[StringLine]:
    own = [s for s in stakes if s.slab == slab.spec.name]
    corners = [s for s in own if s.kind == "corner"]
    made: list[StringLine] = []
    for run in straight_runs(slab.outline.edges):
        p, q = run[0].p, run[-1].q
        a, b = _corner(corners, p), _corner(corners, q)
        if a is None or b is None:
            continue
        marks = sorted(
            (
                (s, along)
                for s in own
                if s.kind != "corner" and (along := _along(p, q, (s.x, s.y))) is not None
            ),
            key=lambda pair: pair[1],
        )
        made.append(StringLine(slab.spec.name, a.label, b.label, p, q, run[0].kind, tuple(marks)))
    return made


def straight_runs(edges: Sequence[Edge]) -> list[list[Edge]]:
    """Return the straight sides of an outline in runs that do not turn, the first after a turn."""
    count = len(edges)
    turns = [_turns(edges[k - 1], edges[k]) for k in range(count)]
    first = next((k for k in range(count) if turns[k]), 0)
    runs: list[list[Edge]] = []
    for k in range(count):
        edge = edges[(first + k) % count]
        if edge.bulge or edge.radius is not None:
            continue
        before = runs[-1][-1] if runs else None
        if before is not None and before.q == edge.p and not turns[(first + k) % count]:
            runs[-1].append(edge)
        else:
            runs.append([edge])
    return runs


def _turns(before: Edge, after: Edge) -> bool:
    if before.bulge or after.bulge or before.radius is not None or after.radius is not None:
        return True
    one = math.atan2(before.q[1] - before.p[1], before.q[0] - before.p[0])
    two = math.atan2(after.q[1] - after.p[1], after.q[0] - after.p[0])
    return abs((two - one + math.pi) % (2 * math.pi) - math.pi) > SAME_WAY


def _corner(corners: Sequence[Stake], at: XY) -> Stake | None:
    return next((s for s in corners if math.dist((s.x, s.y), at) < 2 * ON_STRING), None)


def _along(p: XY, q: XY, at: XY) -> float | None:
    run = math.dist(p, q)
    ux, uy = (q[0] - p[0]) / run, (q[1] - p[1]) / run
    along = (at[0] - p[0]) * ux + (at[1] - p[1]) * uy
    off = (at[0] - p[0]) * uy - (at[1] - p[1]) * ux
    return along if abs(off) <= ON_STRING and -ON_STRING <= along <= run + ON_STRING else None
