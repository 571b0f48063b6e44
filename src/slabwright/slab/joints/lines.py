"""Where a joint may run across a slab of any shape: full lines from edge to edge.

Lines run in the outline's two main directions at even divisions of every straight run; along both
side-lines and the bisector of every corner that turns in; through openings; on from a neighbour's
joint; from a door's jambs; and, on request, at any place that a panel needs one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import atan2, cos, hypot, pi, sin

from slabwright.ground.untyped import shapely
from slabwright.slab.joints.body import Body, InsideCorner, Run, end_angles, near
from slabwright.slab.joints.checks import ANGLE_SLACK
from slabwright.slab.joints.rules import rules
from slabwright.slab.joints.stops import LineUp
from slabwright.slab.model import XY, Outline
from slabwright.slab.outline import curves

ALONG_MAIN = 0.01  # sine: a line this nearly along a main direction belongs to it
SAME_LINE = 0.002  # [m] lines this close are one
LINE_LEAST = 0.1  # [m] no joint is shorter than the joint tool

ROUND = 1.05  # [-] a shape no longer than this for its width has no direction of its own
JAMB_REACH = 0.3  # [m] a door this near the slab's edge opens onto the slab

Jambs = tuple[tuple[XY, XY], str]  # of a door, and its name


@dataclass(frozen=True, slots=True)
class Line:
    """A joint that may be: ends [m], main direction it belongs to, place [m] in it, weight, reason.

    `family`: 0 crosses runs along u (it lies at u = `at`), 1 crosses runs along v, 2 lies askew.
    `groups`: corners and openings that it meets; `fixed`: it may not be moved for evenness. `via`: points
    between the ends of a curved one.
    """

    p: XY
    q: XY
    family: int
    at: float
    cost: float
    why: str
    fixed: bool = False
    groups: frozenset[int] = frozenset()
    against: str | None = None
    via: tuple[XY, ...] = ()

    @property
    def length(self) -> float:
        """Length [m] of a straight one."""
        return hypot(self.q[0] - self.p[0], self.q[1] - self.p[1])

    @property
    def path(self) -> tuple[XY, ...]:
        """All its points [m]."""
        return (self.p, *self.via, self.q)


@dataclass(frozen=True, slots=True)
class Frame:
    """The outline's main directions: unit u, and v square to it on the left."""

    u: XY
    v: XY

    def uv(self, xy: XY) -> XY:
        """Return a point [m] in the frame."""
        return (xy[0] * self.u[0] + xy[1] * self.u[1], xy[0] * self.v[0] + xy[1] * self.v[1])

    def xy(self, u: float, v: float) -> XY:
        """Return a point of the frame in the plane [m]."""
        return (u * self.u[0] + v * self.v[0], u * self.u[1] + v * self.v[1])


def frame_of(outline: Outline) -> Frame:
    """Return the main directions: those of most straight side, walls counted double.

    A shape with little straight side takes the directions of the smallest rectangle round it.
    """
    weights: dict[float, float] = {}
    straight = 0.0
    for e in outline.edges:
        if e.radius is not None:
            continue
        far = curves.length(e)
        straight += far
        angle = atan2(e.q[1] - e.p[1], e.q[0] - e.p[0]) % (pi / 2)
        same = next((a for a in weights if min(abs(a - angle), pi / 2 - abs(a - angle)) < 0.01), None)
        key = angle if same is None else same
        weights[key] = weights.get(key, 0.0) + far * (1.0 if e.kind == "free" else 2.0)
    if straight < 0.25 * outline.perimeter:
        box = shapely.get_coordinates(shapely.oriented_envelope(shapely.Polygon(outline.ring)))
        sides = [hypot(box[k + 1][0] - box[k][0], box[k + 1][1] - box[k][1]) for k in (0, 1)]
        angle = atan2(box[1][1] - box[0][1], box[1][0] - box[0][0]) % (pi / 2)
        if max(sides) < ROUND * min(sides):
            angle = 0.0  # as good as round: the joints run with the house
    else:
        angle = max(weights, key=lambda a: (round(weights[a], 6), -a))
    if pi / 2 - angle < 1e-9:
        angle = 0.0
    return Frame((cos(angle), sin(angle)), (-sin(angle), cos(angle)))


class Lines:
    """The lines offered so far, without doubles."""

    def __init__(self, body: Body, frame: Frame) -> None:
        """Begin with none."""
        self.body, self.frame = body, frame
        self.found: list[Line] = []
        self._at: dict[tuple[int, int], list[int]] = {}

    def across(self, family: int, at: float, why: str, *, fixed: bool = False) -> list[int]:
        """Offer every run of the main line u = at (family 0) or v = at (1); return their numbers."""
        f = self.frame
        start = f.xy(at, 0.0) if family == 0 else f.xy(0.0, at)
        direction = f.v if family == 0 else f.u
        return [
            self.offer(r, why, fixed=fixed)
            for r in self.body.runs(start, *direction)
            if r.length >= LINE_LEAST
        ]

    def through(
        self, xy: XY, heading: XY, why: str, *, ends_here: bool, group: int | None = None
    ) -> list[int]:
        """Offer the runs of the line through xy along a heading that end at xy (or pass through it)."""
        out = []
        for r in self.body.runs(xy, *heading):
            touches = min(abs(r.t0), abs(r.t1)) < SAME_LINE if ends_here else r.t0 < 0.0 < r.t1
            if touches and r.length >= LINE_LEAST:
                out.append(self.offer(r, why, fixed=True, group=group))
        return out

    def offer(
        self,
        run: Run,
        why: str,
        *,
        fixed: bool = False,
        group: int | None = None,
        share: float = 1.0,
        against: str | None = None,
    ) -> int:
        """Offer one run; return its number, an earlier one's when it is the same line."""
        groups = frozenset() if group is None else frozenset({group})
        family, at = self._family(run)
        i, j = round((run.p[0] + run.q[0]) / 0.02), round((run.p[1] + run.q[1]) / 0.02)
        around = [(i + di, j + dj) for di in (-1, 0, 1) for dj in (-1, 0, 1)]
        for k in (k for c in around for k in self._at.get(c, ())):
            old = self.found[k]
            if (near(old.p, run.p, SAME_LINE) and near(old.q, run.q, SAME_LINE)) or (
                near(old.p, run.q, SAME_LINE) and near(old.q, run.p, SAME_LINE)
            ):
                keep_why = old.why if old.fixed or not fixed else why
                self.found[k] = replace(
                    old,
                    groups=old.groups | groups,
                    fixed=old.fixed or fixed,
                    why=keep_why,
                    cost=min(old.cost, share * self._cost(run)),
                    against=old.against or against,
                )
                return k
        self.found.append(
            Line(run.p, run.q, family, at, share * self._cost(run), why, fixed, groups, against)
        )
        self._at.setdefault((i, j), []).append(len(self.found) - 1)
        return len(self.found) - 1

    def _family(self, run: Run) -> tuple[int, float]:
        dx, dy = (run.q[0] - run.p[0]) / run.length, (run.q[1] - run.p[1]) / run.length
        u, v = self.frame.uv(((run.p[0] + run.q[0]) / 2, (run.p[1] + run.q[1]) / 2))
        if abs(dx * self.frame.u[0] + dy * self.frame.u[1]) < ALONG_MAIN:
            return 0, u
        if abs(dx * self.frame.v[0] + dy * self.frame.v[1]) < ALONG_MAIN:
            return 1, v
        return 2, 0.0

    def _cost(self, run: Run) -> float:
        """Return the weight of a run: its length, the charge for a joint, and for sharp ends."""
        r = rules()
        sharp = sum(a < r.corner - ANGLE_SLACK for a in end_angles(run))
        return run.length + r.cost_joint + r.cost_sharp * sharp


def asked_lines(
    lines: Lines, doors: Iterable[Jambs], line_ups: Iterable[LineUp]
) -> tuple[list[list[int]], list[tuple[int, str]]]:
    """Offer the lines that corners, openings, doors and neighbours ask for.

    Returns the lines that may meet each inside corner or round opening (one list each, in the order of
    `Body.inside_corners`, then round openings), and the lines that carry a neighbour's joint on, with
    its name.
    """
    must: list[list[int]] = []
    for g, c in enumerate(lines.body.inside_corners):
        must.append(_at_corner(lines, c, g))
    for h in lines.body.outline.holes:
        if h.radius is not None:
            must.append(_at_round(lines, h.ring, "post" if h.kind == "post" else "opening", len(must)))
    carried = []
    share = 1 - rules().line_up_share
    for j in line_ups:
        carried += [
            (lines.offer(r, "line-up", fixed=True, share=share, against=j.of), j.of)
            for r in lines.body.runs(j.at, *j.heading)
            if min(abs(r.t0), abs(r.t1)) < 0.01 and r.length >= LINE_LEAST
        ]
    for (p, q), name in doors:
        _at_door(lines, (p, q), name, share)
    return must, carried


def _at_corner(lines: Lines, c: InsideCorner, group: int) -> list[int]:
    why = "opening" if c.of else "re-entrant"
    bx, by = c.before[0] - c.after[0], c.before[1] - c.after[1]
    far = hypot(bx, by) or 1.0
    headings = [c.before, (-c.after[0], -c.after[1]), lines.frame.u, lines.frame.v]
    if not all(_main(lines.frame, h) for h in headings[:2]):
        headings.append((bx / far, by / far))  # a square corner needs no joint on its bisector
    found: list[int] = []
    for h in headings:
        found += lines.through(c.at, h, why, ends_here=True, group=group)
    return sorted(set(found))


def _main(frame: Frame, heading: XY) -> bool:
    """Say whether a heading runs along a main direction."""
    along = abs(heading[0] * frame.u[0] + heading[1] * frame.u[1])
    return min(along, 1 - along) < ALONG_MAIN


def _at_round(lines: Lines, ring: Sequence[XY], why: str, group: int) -> list[int]:
    middle = (sum(x for x, _ in ring) / len(ring), sum(y for _, y in ring) / len(ring))
    radius = max(hypot(x - middle[0], y - middle[1]) for x, y in ring)
    found = {
        lines.offer(r, why, fixed=True, group=group)
        for heading in (lines.frame.u, lines.frame.v)
        for r in lines.body.runs(middle, *heading)
        if min(abs(r.t0), abs(r.t1)) < radius + 0.01 and r.length >= LINE_LEAST
    }
    return sorted(found)


def _at_door(lines: Lines, jambs: tuple[XY, XY], name: str, share: float) -> None:
    (ax, ay), (bx, by) = jambs
    far = hypot(bx - ax, by - ay)
    if far < LINE_LEAST:
        return
    out = ((by - ay) / far, -(bx - ax) / far)  # the yard lies on the right of a wall
    for xy in jambs:
        for r in lines.body.runs(xy, *out):
            if min(abs(r.t0), abs(r.t1)) < JAMB_REACH and r.length >= LINE_LEAST:
                lines.offer(r, "line-up", fixed=True, share=share, against=name)
