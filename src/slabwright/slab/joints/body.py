"""A slab's outline made ready for cutting by straight lines: where each line runs inside it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import acos, hypot, pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slabwright.ground.untyped import shapely
from slabwright.slab.joints.rules import rules
from slabwright.slab.model import XY, Edge, Outline
from slabwright.slab.outline import curves
from slabwright.slab.outline.check import corner_angle
from slabwright.slab.panels import Trial

TINY = 1e-6  # [m] two crossings this close are one; a line this close to a corner goes through it
CHORD_LEAST = 0.02  # [m] a run shorter than this is a line grazing a corner

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Run:
    """One straight run of a line inside the slab: from p to q [m], at t0 to t1 [m] along the line.

    `sides`: the unit directions of the boundary where the run begins and ends, shape (2, 2).
    """

    p: XY
    q: XY
    t0: float
    t1: float
    sides: tuple[XY, XY]

    @property
    def length(self) -> float:
        """Length [m]."""
        return self.t1 - self.t0


@dataclass(frozen=True, slots=True)
class InsideCorner:
    """A corner that turns into the slab: its place, the unit headings of the sides before and after it.

    `of` names the opening that it belongs to, None for the outline itself.
    """

    at: XY
    before: XY
    after: XY
    of: str | None


class Body:
    """The polygon of an outline with its openings, for many cuts."""

    def __init__(self, outline: Outline) -> None:
        """Prepare the outline's rings [m]."""
        self.outline = outline
        rings = [outline.ring, *(h.ring for h in outline.holes)]
        sides = [(*r[k], *r[(k + 1) % len(r)]) for r in rings for k in range(len(r))]
        self.sides: Floats = np.array(sides, dtype=np.float64)
        run = self.sides[:, 2:] - self.sides[:, :2]
        self.headings: Floats = run / np.maximum(np.hypot(run[:, 0], run[:, 1]), 1e-12)[:, None]
        self.polygon: Any = shapely.Polygon(outline.ring, [h.ring for h in outline.holes])
        shapely.prepare(self.polygon)

    @cached_property
    def trial(self) -> Trial:
        """The same slab, ready to be cut into panels many times."""
        return Trial(self.outline.ring, [h.ring for h in self.outline.holes])

    @cached_property
    def inside_corners(self) -> tuple[InsideCorner, ...]:
        """Corners that turn into the slab by more than the custom: of the outline, then of openings."""
        found = _inside(self.outline.edges, None)
        for h in self.outline.holes:
            if h.radius is None:
                ring = h.ring
                edges = [curves.edge(ring[k], ring[(k + 1) % len(ring)]) for k in range(len(ring))]
                found += _inside(tuple(edges), h.name)
        return tuple(found)

    def runs(self, at: XY, ux: float, uy: float) -> list[Run]:
        """Return where the endless line through `at` [m] along the unit (ux, uy) runs inside the slab.

        Runs along the boundary itself are left out. A line through a corner counts it once.
        """
        s = self.sides
        ax, ay, bx, by = s[:, 0] - at[0], s[:, 1] - at[1], s[:, 2] - at[0], s[:, 3] - at[1]
        ha, hb = ux * ay - uy * ax, ux * by - uy * bx
        hit = np.nonzero((np.minimum(ha, hb) <= TINY) & (np.maximum(ha, hb) >= -TINY))[0]
        if len(hit) == 0:
            return []
        spots: list[tuple[float, int]] = []
        along: list[tuple[float, float]] = []
        for k in hit.tolist():
            a, b = float(ha[k]), float(hb[k])
            ta, tb = float(ax[k] * ux + ay[k] * uy), float(bx[k] * ux + by[k] * uy)
            if abs(a - b) <= TINY:
                if abs(a) <= TINY:
                    spots += [(ta, k), (tb, k)]
                    along.append((min(ta, tb), max(ta, tb)))
                continue
            share = min(1.0, max(0.0, a / (a - b)))
            spots.append((ta + share * (tb - ta), k))
        return self._inside_runs(sorted(spots), along, at, ux, uy)

    def _inside_runs(
        self, spots: list[tuple[float, int]], along: list[tuple[float, float]], at: XY, ux: float, uy: float
    ) -> list[Run]:
        stops: list[tuple[float, list[int]]] = []
        for t, k in spots:
            if stops and t - stops[-1][0] <= 2 * TINY:
                stops[-1][1].append(k)
            else:
                stops.append((t, [k]))
        pairs = [
            (a, b)
            for a, b in pairwise(stops)
            if b[0] - a[0] > CHORD_LEAST
            and not any(lo - TINY < (a[0] + b[0]) / 2 < hi + TINY for lo, hi in along)
        ]
        if not pairs:
            return []
        mids = np.array([(a[0] + b[0]) / 2 for a, b in pairs])
        within = shapely.contains_xy(self.polygon, at[0] + mids * ux, at[1] + mids * uy)
        out = []
        for (a, b), ok in zip(pairs, within, strict=True):
            if ok:
                p, q = (at[0] + a[0] * ux, at[1] + a[0] * uy), (at[0] + b[0] * ux, at[1] + b[0] * uy)
                sides = (self._worst_side(a[1], ux, uy), self._worst_side(b[1], ux, uy))
                out.append(Run(p, q, a[0], b[0], sides))
        return out

    def _worst_side(self, sides: list[int], ux: float, uy: float) -> XY:
        """Return the heading of the boundary at a run's end that makes the sharpest corner with it."""
        best = max(
            sides, key=lambda k: abs(float(self.headings[k, 0]) * ux + float(self.headings[k, 1]) * uy)
        )
        if len(sides) > 1:  # at a corner: the line may run on along one of its sides, which is no corner
            others = [
                k
                for k in sides
                if abs(float(self.headings[k, 0]) * uy - float(self.headings[k, 1]) * ux) > 1e-6
            ]
            best = max(
                others or sides,
                key=lambda k: abs(float(self.headings[k, 0]) * ux + float(self.headings[k, 1]) * uy),
            )
        return (float(self.headings[best, 0]), float(self.headings[best, 1]))

    def contains(self, xy: XY) -> bool:
        """Say whether a point [m] lies strictly inside the slab."""
        return bool(shapely.contains_xy(self.polygon, *xy))


def _inside(edges: tuple[Edge, ...], of: str | None) -> list[InsideCorner]:
    out = []
    for before, after in zip((edges[-1], *edges[:-1]), edges, strict=True):
        # openings run clockwise, so their sides have the slab on the left like the outline's
        if corner_angle(before, after) > pi + rules().inside_corner:
            out.append(InsideCorner(after.p, curves.heading(before, 1.0), curves.heading(after, 0.0), of))
    return out


def end_angles(run: Run) -> tuple[float, float]:
    """Return the sharper angle [rad] that the run makes with the boundary at each end, at most pi/2."""
    ux, uy = (run.q[0] - run.p[0]) / run.length, (run.q[1] - run.p[1]) / run.length
    one, two = (acos(min(1.0, abs(sx * ux + sy * uy))) for sx, sy in run.sides)
    return one, two


def off_line(xy: XY, at: XY, ux: float, uy: float) -> float:
    """Return how far a point lies off the line through `at` along (ux, uy) [m]."""
    return abs(ux * (xy[1] - at[1]) - uy * (xy[0] - at[0]))


def near(a: XY, b: XY, reach: float) -> bool:
    """Say whether two points lie within `reach` [m]."""
    return hypot(a[0] - b[0], a[1] - b[1]) <= reach
