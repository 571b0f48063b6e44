"""A ribbon measured along its line: sections square to it, bends, and where its ends are."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from math import acos, tan

from slabwright.slab.joints.body import Body, Run
from slabwright.slab.joints.rules import rules
from slabwright.slab.model import XY, Edge, Outline
from slabwright.slab.outline import curves
from slabwright.slab.outline.ribbon import offsets

FULL = 0.005  # [m] a section this close to the whole width crosses the whole ribbon


@dataclass(frozen=True, slots=True)
class Bend:
    """A bend after leg `leg`: inner and outer corner, turned angle [rad], whether it turns left."""

    leg: int
    inner: XY
    outer: XY
    turned: float
    left: bool


class Track:
    """A ribbon's line as legs (straight runs and arcs), with a measure along its longer side.

    `station(leg, t)` [m] grows along the ribbon as its outer side does: on a curve by the outer
    radius, at a bend by the way round the outer corner. A panel's length in stations is therefore
    never less than its longest side.
    """

    def __init__(self, outline: Outline, side: str, body: Body) -> None:
        """Take the outline's line (`axis_edges`), its width [m] and the side that the slab lies on."""
        assert outline.width is not None
        self.body = body
        self.width = outline.width
        self.left, self.right = offsets(outline.width, side)
        self.legs: tuple[Edge, ...] = outline.axis_edges
        self.bends: list[Bend] = []
        self.begin: list[float] = []  # station at the start of each leg, rising
        self.long: list[float] = []  # stations of each leg
        self.rate: list[float] = []  # stations per metre of line, each leg
        at = 0.0
        for k, e in enumerate(self.legs):
            if k:
                at += self._pass_bend(k - 1)
            self.begin.append(at)
            bow = 0.0 if e.radius is None else (1 if e.bulge > 0 else -1) / e.radius
            self.rate.append(max(1 - self.left * bow, 1 - self.right * bow))
            self.long.append(curves.length(e) * self.rate[k])
            at += self.long[k]
        self.length = at

    def _pass_bend(self, k: int) -> float:
        """Record the bend after leg k, if it is one; return the stations that its outer corner adds."""
        a, b = self.legs[k], self.legs[k + 1]
        h0, h1 = curves.heading(a, 1.0), curves.heading(b, 0.0)
        turned = acos(max(-1.0, min(1.0, h0[0] * h1[0] + h0[1] * h1[1])))
        if turned <= rules().inside_corner:
            return 0.0
        left = h0[0] * h1[1] - h0[1] * h1[0] > 0
        inner, outer = (self.left, self.right) if left else (self.right, self.left)
        corners = []
        for d in (inner, outer):
            pa, pb = (curves.offset(e, d) if d else e for e in (a, b))
            if pa is None or pb is None:
                return 0.0
            corners.append(curves.nearest(curves.crossings(pa, pb), pa.q) or pa.q)
        self.bends.append(Bend(k, corners[0], corners[1], turned, left))
        return 2 * abs(outer) * tan(turned / 2)

    def station(self, leg: int, t: float) -> float:
        """Return the station [m] at the share t [-] of a leg (t beyond 0..1 runs on straight)."""
        return self.begin[leg] + t * self.long[leg]

    def place(self, station: float) -> tuple[int, float]:
        """Return the leg and the share t [-] at a station [m]; inside a bend's corner, its nearer leg."""
        leg = max(0, bisect_right(self.begin, station + 1e-9) - 1)
        t = (station - self.begin[leg]) / self.long[leg]
        return leg, (min(t, 1.0) if leg < len(self.legs) - 1 else t)

    def section(self, leg: int, t: float) -> tuple[XY, XY]:
        """Return the right and the left end [m] of the section square to the line."""
        (x, y), (ux, uy) = self._line_at(leg, t)
        return (
            (x - uy * self.right, y + ux * self.right),
            (x - uy * self.left, y + ux * self.left),
        )

    def _line_at(self, leg: int, t: float) -> tuple[XY, XY]:
        e = self.legs[leg]
        u = curves.heading(e, min(1.0, max(0.0, t)) if e.radius else 0.5)
        if e.radius is None and not 0.0 <= t <= 1.0:
            far = t * curves.length(e)
            return (e.p[0] + u[0] * far, e.p[1] + u[1] * far), u
        return curves.point_at(e, t), u

    def clipped(self, right: XY, left: XY) -> list[Run]:
        """Return the parts inside the slab of the straight line from the right to the left side.

        A line that leaves the slab before it reaches the other side (at a slanted end) gives less than
        the whole; an opening on the way splits it.
        """
        far = curves.dist(right, left)
        ux, uy = (left[0] - right[0]) / far, (left[1] - right[1]) / far
        runs = self.body.runs(right, ux, uy)
        return [r for r in runs if r.t0 > -FULL and r.t1 < far + FULL]

    def whole(self, leg: int, t: float) -> bool:
        """Say whether the section reaches both sides of the ribbon."""
        runs = self.clipped(*self.section(leg, t))
        return bool(runs) and runs[0].t0 < FULL and runs[-1].t1 > self.width - FULL

    def nearest(self, xy: XY) -> tuple[int, float, float]:
        """Return leg, share t [-] and distance [m] of the line's point nearest to xy [m]."""
        best = (0, 0.0, float("inf"))
        for k, e in enumerate(self.legs):
            t = min(1.0, max(0.0, curves.share_at(e, xy)))
            off = curves.dist(curves.point_at(e, t), xy)
            if off < best[2] - 1e-9:
                best = (k, t, off)
        return best

    def end_stations(self, at_end: bool) -> tuple[float, float]:
        """Return the first and the last station [m] of the ribbon's start (or finish) edge.

        They differ when the end is slanted; between them sections do not reach both sides.
        """
        leg = len(self.legs) - 1 if at_end else 0
        run = curves.length(self.legs[leg])
        sign = -1.0 if at_end else 1.0
        base = 1.0 if at_end else 0.0

        def reach(inner: bool) -> float:
            """Bisect for the first share at which a section is whole (inner) or not empty (outer)."""
            out = base if inner else base - sign * 2 * self.width / run
            inn = base + sign * min(1.0, 2 * self.width / run) if inner else base + sign * 0.002 / run
            test = self.whole if inner else self._any
            if inner and test(leg, base + sign * 0.002 / run):
                return base
            if not inner and (self.legs[leg].radius is not None or not test(leg, base - sign * 0.004 / run)):
                return base
            for _ in range(30):
                mid = (out + inn) / 2
                out, inn = (out, mid) if test(leg, mid) else (mid, inn)
            return inn

        inside, outside = self.station(leg, reach(True)), self.station(leg, reach(False))
        return (outside, inside) if not at_end else (inside, outside)

    def _any(self, leg: int, t: float) -> bool:
        return bool(self.clipped(*self.section(leg, t)))
