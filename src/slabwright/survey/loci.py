"""Where a point may be, by one reading: on a circle, on a line, or at a place; and where they meet."""

from __future__ import annotations

import math
from typing import NamedTuple

Place = tuple[float, float]

TOUCH = 0.03  # [m] circles that miss each other by less are taken to touch: the tape's own slack


class Locus(NamedTuple):
    """A circle of radius `r` [m] about (x, y), a line through (x, y) along (ux, uy), or a place.

    kind 'circle' | 'line' | 'place'; `by` names the placed points that it hangs on.
    """

    kind: str
    x: float
    y: float
    by: tuple[str, ...]
    r: float = 0.0
    ux: float = 1.0
    uy: float = 0.0

    def miss(self, at: Place) -> float:
        """Return how far [m] a place is from this locus."""
        kind, x, y, _, r, ux, uy = self
        dx, dy = at[0] - x, at[1] - y
        if kind == "line":
            return abs(dx * uy - dy * ux)
        return abs(math.hypot(dx, dy) - r)


def meet(p: Locus, q: Locus) -> tuple[list[Place], float]:
    """Return the places where two loci meet, and how strong the cut is (sine of its angle, 0..1).

    No place when they miss each other by more than `TOUCH`.
    """
    if p.kind == "place":
        return [(p.x, p.y)], 1.0
    if q.kind == "place":
        return [(q.x, q.y)], 1.0
    if p.kind == "circle" and q.kind == "circle":
        return _circles(p, q)
    if p.kind == "line" and q.kind == "line":
        return _lines(p, q)
    return _line_circle(p, q) if p.kind == "line" else _line_circle(q, p)


def apart(p: Place, q: Place) -> float:
    """Return the distance [m] between two places."""
    return math.hypot(p[0] - q[0], p[1] - q[1])


def gap(p: Locus, q: Locus) -> float:
    """Return by how much [m] two circles miss each other; 0 when they meet, as for other kinds."""
    if p.kind != "circle" or q.kind != "circle":
        return 0.0
    c = math.hypot(q.x - p.x, q.y - p.y)
    return max(c - p.r - q.r, abs(p.r - q.r) - c, 0.0)


def tie(c: float, da: float, db: float) -> Place:
    """Return the place (x, y) [m] at `da` from (0, 0) and `db` from (c, 0), y >= 0.

    x = (da^2 - db^2 + c^2) / 2c (`geometry`). Raises ValueError when the circles do not meet.
    """
    if c <= 0.0 or da <= 0.0 or db <= 0.0:
        raise ValueError(f"a tie needs positive lengths, for example 3, 4 and 5; got {c}, {da}, {db}")
    if da + db < c or abs(da - db) > c:
        raise ValueError(f"circles do not meet: {da} and {db} cannot both reach across {c}")
    x = (da * da - db * db + c * c) / (2.0 * c)
    return x, math.sqrt(max(da * da - x * x, 0.0))


def _circles(p: Locus, q: Locus) -> tuple[list[Place], float]:
    dx, dy = q.x - p.x, q.y - p.y
    c = math.hypot(dx, dy)
    if c < 1e-9 or gap(p, q) > TOUCH:
        return [], 0.0
    x = (p.r * p.r - q.r * q.r + c * c) / (2.0 * c)
    y = math.sqrt(max(p.r * p.r - x * x, 0.0))
    if y == 0.0:
        x = math.copysign(min(abs(x), p.r), x)
    ux, uy = dx / c, dy / c
    one = (p.x + x * ux - y * uy, p.y + x * uy + y * ux)
    two = (p.x + x * ux + y * uy, p.y + x * uy - y * ux)
    return [one, two], c * y / max(p.r * q.r, 1e-12)


def _lines(p: Locus, q: Locus) -> tuple[list[Place], float]:
    sine = p.ux * q.uy - p.uy * q.ux
    if abs(sine) < 1e-6:
        return [], 0.0
    t = ((q.x - p.x) * q.uy - (q.y - p.y) * q.ux) / sine
    return [(p.x + t * p.ux, p.y + t * p.uy)], abs(sine)


def _line_circle(line: Locus, ring: Locus) -> tuple[list[Place], float]:
    dx, dy = ring.x - line.x, ring.y - line.y
    t = dx * line.ux + dy * line.uy
    off = abs(dx * line.uy - dy * line.ux)
    if off > ring.r + TOUCH or ring.r <= 0.0:
        return [], 0.0
    h = math.sqrt(max(ring.r**2 - off**2, 0.0))
    one = (line.x + (t + h) * line.ux, line.y + (t + h) * line.uy)
    two = (line.x + (t - h) * line.ux, line.y + (t - h) * line.uy)
    return [one, two], h / ring.r
