"""Boxes of letters on paper and a grid that finds what lies near them. Millimetres, y down."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from slabwright.sheets.drawing import Point

# Boxes that touch by less than this count as apart: it is a tenth of the thinnest line.
TOUCH_MM = 0.02
CELL_MM = 12.0


@dataclass(frozen=True, slots=True)
class Box:
    """A turned box: its centre and half sides [mm], turned by `angle` [deg] counter-clockwise as seen."""

    x: float
    y: float
    half_w: float
    half_h: float
    angle: float = 0.0

    def axes(self) -> tuple[float, float]:
        """Return cosine and sine of the direction of the letters, y down."""
        if self.angle == 0.0:
            return 1.0, 0.0
        turn = math.radians(self.angle)
        return math.cos(turn), -math.sin(turn)

    def bounds(self) -> tuple[float, float, float, float]:
        """Return left, top, right, bottom [mm] of the upright rectangle round the box."""
        c, s = self.axes()
        w = abs(c) * self.half_w + abs(s) * self.half_h
        h = abs(s) * self.half_w + abs(c) * self.half_h
        return self.x - w, self.y - h, self.x + w, self.y + h

    def corners(self) -> tuple[Point, Point, Point, Point]:
        """Return the four corners [mm]."""
        c, s = self.axes()
        wx, wy, hx, hy = c * self.half_w, s * self.half_w, -s * self.half_h, c * self.half_h
        return (
            (self.x - wx - hx, self.y - wy - hy),
            (self.x + wx - hx, self.y + wy - hy),
            (self.x + wx + hx, self.y + wy + hy),
            (self.x - wx + hx, self.y - wy + hy),
        )


def meet(a: Box, b: Box, *, touch: float = TOUCH_MM) -> bool:
    """Say whether two boxes share more than `touch` [mm] of each other, by separating axes."""
    dx, dy = b.x - a.x, b.y - a.y
    if a.angle == b.angle == 0.0:
        return abs(dx) < a.half_w + b.half_w - touch and abs(dy) < a.half_h + b.half_h - touch
    ca, sa = a.axes()
    cb, sb = b.axes()
    cos, sin = abs(ca * cb + sa * sb), abs(ca * sb - sa * cb)
    return (
        abs(dx * ca + dy * sa) < a.half_w + b.half_w * cos + b.half_h * sin - touch
        and abs(dy * ca - dx * sa) < a.half_h + b.half_w * sin + b.half_h * cos - touch
        and abs(dx * cb + dy * sb) < b.half_w + a.half_w * cos + a.half_h * sin - touch
        and abs(dy * cb - dx * sb) < b.half_h + a.half_w * sin + a.half_h * cos - touch
    )


def inside_length(box: Box, a: Point, b: Point) -> float:
    """Return how much [mm] of the line from a to b runs inside the box."""
    c, s = box.axes()
    ax, ay = a[0] - box.x, a[1] - box.y
    bx, by = b[0] - box.x, b[1] - box.y
    if box.angle:
        ax, ay, bx, by = ax * c + ay * s, ay * c - ax * s, bx * c + by * s, by * c - bx * s
    w, h = box.half_w, box.half_h
    if (ax <= -w and bx <= -w) or (ax >= w and bx >= w) or (ay <= -h and by <= -h) or (ay >= h and by >= h):
        return 0.0  # wholly to one side: the usual case, and cheap
    start, end = 0.0, 1.0
    for at, run, half in ((ax, bx - ax, box.half_w), (ay, by - ay, box.half_h)):
        if abs(run) < 1e-12:
            if abs(at) >= half:
                return 0.0
            continue
        near, far = (-half - at) / run, (half - at) / run
        if near > far:
            near, far = far, near
        start, end = max(start, near), min(end, far)
        if start >= end:
            return 0.0
    return (end - start) * math.hypot(bx - ax, by - ay)


def cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Say whether the lines a-b and c-d cross between their ends."""

    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0.0 and side(c, d, a) * side(c, d, b) < 0.0


class Grid:
    """Numbers of things by the squares of paper that they lie in. Order of adding never matters."""

    __slots__ = ("_cells",)

    def __init__(self) -> None:
        """Begin with an empty sheet."""
        self._cells: dict[tuple[int, int], set[int]] = {}

    @staticmethod
    def _of(left: float, top: float, right: float, bottom: float) -> Iterator[tuple[int, int]]:
        rows = range(math.floor(top / CELL_MM), math.floor(bottom / CELL_MM) + 1)
        for column in range(math.floor(left / CELL_MM), math.floor(right / CELL_MM) + 1):
            for row in rows:
                yield column, row

    def add(self, key: int, bounds: tuple[float, float, float, float]) -> None:
        """Enter thing `key`, which lies within bounds (left, top, right, bottom) [mm]."""
        for cell in self._of(*bounds):
            self._cells.setdefault(cell, set()).add(key)

    def add_line(self, key: int, a: Point, b: Point) -> None:
        """Enter a line in the squares that it runs through (or just past)."""
        steps = max(1, math.ceil(max(abs(b[0] - a[0]), abs(b[1] - a[1])) / CELL_MM))
        ux, uy = (b[0] - a[0]) / steps, (b[1] - a[1]) / steps
        for i in range(steps):
            x, y = a[0] + i * ux, a[1] + i * uy
            self.add(key, (min(x, x + ux), min(y, y + uy), max(x, x + ux), max(y, y + uy)))

    def drop(self, key: int, bounds: tuple[float, float, float, float]) -> None:
        """Take out thing `key`, entered with the same bounds."""
        for cell in self._of(*bounds):
            self._cells[cell].discard(key)

    def near(self, bounds: tuple[float, float, float, float]) -> set[int]:
        """Return the keys of all things in the squares that bounds touch."""
        found: set[int] = set()
        cells = self._cells
        for cell in self._of(*bounds):
            here = cells.get(cell)
            if here:
                found |= here
        return found

    def near_line(self, a: Point, b: Point) -> set[int]:
        """Return the keys of all things in the squares along a line: far fewer than in its bounds."""
        steps = max(1, math.ceil(max(abs(b[0] - a[0]), abs(b[1] - a[1])) / CELL_MM))
        ux, uy = (b[0] - a[0]) / steps, (b[1] - a[1]) / steps
        found: set[int] = set()
        for i in range(steps):
            x, y = a[0] + i * ux, a[1] + i * uy
            found |= self.near((min(x, x + ux), min(y, y + uy), max(x, x + ux), max(y, y + uy)))
        return found
