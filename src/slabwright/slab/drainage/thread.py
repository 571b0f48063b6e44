"""The way of a single drop or thread of water over the finished surface."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from slabwright.ground.model import Floats
from slabwright.slab.drainage.mesh import Sheet
from slabwright.slab.drainage.rain import rules
from slabwright.slab.model import XY

Side = tuple[int, int]
Place = tuple[str | int, ...]

ALONG = 1e-9  # [m] a side narrower than this across the flow passes nothing
FARTHEST = 10_000  # sides and corners that one thread of water may pass


@dataclass(frozen=True, slots=True)
class Thread:
    """The path of a drop: points [m], and where it ends.

    Ends: ('rim', p, q) off the edge; ('drain', p, q) into a drain; ('corner', v) in a low corner;
    ('piece', k) on a level piece; ('side', p, q) in a level channel; ('dam', p, q) at a higher neighbour;
    ('circle',) when it found no end.
    """

    points: tuple[XY, ...]
    end: Place


class Ways:
    """Where water goes from a point, a side or a corner of the sheet."""

    def __init__(self, sheet: Sheet, drains: Collection[Side]) -> None:
        """Take the sheet, and the sides along which a drain takes everything."""
        self.sheet = sheet
        self.drained = {(min(side), max(side)) for side in drains}
        self.level, self.step = rules()["level"], rules()["step"]
        self.at_corner: dict[int, list[int]] = {}
        self.rims: set[Side] = set()
        for k, piece in enumerate(sheet.pieces):
            for v in piece.corners:
                self.at_corner.setdefault(v, []).append(k)
            self.rims |= {side for side in sheet.sides(k) if side not in sheet.beyond}
        self.over: dict[int, list[int]] = {}
        for a, b in sheet.steps:
            self.over.setdefault(a, []).append(b)
            self.over.setdefault(b, []).append(a)

    def xy(self, v: int) -> Floats:
        out: Floats = self.sheet.corners[v, :2]
        return out

    def across(self, k: int, v: int) -> float:
        """Return a corner's place across a piece's flow [m], growing to the left of it."""
        d = self.sheet.pieces[k].down
        return float(d[0] * self.sheet.corners[v, 1] - d[1] * self.sheet.corners[v, 0])

    def case(self, k: int, side: Side) -> Place:
        """Return what becomes of water that leaves piece k over one of its sides."""
        if (min(side), max(side)) in self.drained:
            return ("drain", *sorted(side))
        other = self.sheet.beyond.get(side)
        if other is None:
            return ("rim", *side)
        x, y = ((self.xy(side[0]) + self.xy(side[1])) / 2).tolist()
        if self.sheet.height(other, x, y) - self.sheet.height(k, x, y) > self.step:
            return ("dam", *side)
        if self.sheet.pieces[other].down == (0.0, 0.0):
            return ("piece", other)
        if self.across(other, side[1]) - self.across(other, side[0]) > ALONG:
            return ("on", other)
        return ("channel", *sorted(side))

    def from_point(self, k: int, x: float, y: float) -> Thread:
        """Return the path of a drop that lands on piece k."""
        points = [(x, y)]
        for _ in range(FARTHEST):
            if self.sheet.pieces[k].down == (0.0, 0.0):
                return Thread(tuple(points), ("piece", k))
            side, place = self.leave(k, points[-1])
            points.append(place)
            case = self.case(k, side)
            if case[0] == "on":
                k = int(case[1])
            elif case[0] == "channel":
                rest = self.from_side((int(case[1]), int(case[2])))
                return Thread((*points, *rest.points), rest.end)
            else:
                return Thread(tuple(points), case)
        return Thread(tuple(points), ("circle",))

    def leave(self, k: int, at: XY) -> tuple[Side, XY]:
        """Return the side by which a drop at `at` leaves piece k, and where."""
        d = self.sheet.pieces[k].down
        t = d[0] * at[1] - d[1] * at[0]
        best: tuple[float, Side, XY] | None = None
        for side in self.sheet.sides(k):
            low, high = self.across(k, side[0]), self.across(k, side[1])
            if high - low <= ALONG:
                continue
            share = (t - low) / (high - low)
            off = max(0.0, -share, share - 1.0) * (high - low)
            share = min(1.0, max(0.0, share))
            p, q = self.xy(side[0]), self.xy(side[1])
            x, y = (p + share * (q - p)).tolist()
            if best is None or off < best[0]:
                best = (off, side, (x, y))
        assert best is not None  # a piece that falls has a lower side
        return best[1], best[2]

    def from_side(self, side: Side) -> Thread:
        """Return the path of water that runs along a side to its lower end and on."""
        p, q = side
        fall = float(self.sheet.corners[p, 2] - self.sheet.corners[q, 2])
        run = float(np.hypot(*(self.xy(p) - self.xy(q))))
        if abs(fall) / run < self.level:
            return Thread((), ("side", *side))
        return self.from_corner(q if fall > 0 else p)

    def from_corner(self, v: int) -> Thread:
        """Return the path of a thread of water that arrives at a corner."""
        points: list[XY] = []
        for _ in range(FARTHEST):
            x, y = self.xy(v).tolist()
            points.append((x, y))
            into, edge, slope = self.steepest(v)
            if into is not None:
                rest = self.from_point(into, x, y)
                return Thread((*points, *rest.points[1:]), rest.end)
            if edge is None or slope < self.level:
                rim = self.rim_at(v)
                return Thread(tuple(points), ("corner", v) if rim is None else ("rim", *rim))
            if (min(edge), max(edge)) in self.drained:
                return Thread(tuple(points), ("drain", *sorted(edge)))
            rim = edge if edge in self.rims else edge[::-1]
            if rim in self.rims and self.outward(rim) > 0:
                return Thread(tuple(points), ("rim", *rim))
            v = edge[1]
        return Thread(tuple(points), ("circle",))

    def steepest(self, v: int) -> tuple[int | None, Side | None, float]:
        """Return the way down from a corner: into a piece, or along a side, and its slope."""
        into: int | None = None
        edge: Side | None = None
        slope = 0.0
        for corner in (v, *self.over.get(v, ())):
            if self.sheet.corners[corner, 2] > self.sheet.corners[v, 2]:
                continue
            for k in self.at_corner.get(corner, ()):
                piece = self.sheet.pieces[k]
                ring = piece.corners
                here = ring.index(corner)
                ahead, behind = ring[(here + 1) % len(ring)], ring[here - 1]
                one, two = self.xy(ahead) - self.xy(corner), self.xy(behind) - self.xy(corner)
                d = piece.down
                if (
                    piece.fall > slope
                    and one[0] * d[1] - one[1] * d[0] > ALONG
                    and d[0] * two[1] - d[1] * two[0] > ALONG
                ):
                    into, edge, slope = k, None, piece.fall
                for end, way in ((ahead, one), (behind, two)):
                    drop = float(self.sheet.corners[v, 2] - self.sheet.corners[end, 2]) / float(
                        np.hypot(*way)
                    )
                    if drop > slope * (1 + 1e-9):
                        into, edge, slope = None, (corner, end), drop
        return into, edge, slope

    def outward(self, side: Side) -> float:
        """Return how steeply the sheet drops outward across a rim side [-]."""
        k = next(k for k in self.at_corner[side[0]] if side in self.sheet.sides(k))
        p, q = self.xy(side[0]), self.xy(side[1])
        d, along = self.sheet.pieces[k].down, (q - p) / float(np.hypot(*(q - p)))
        return float(d[0] * along[1] - d[1] * along[0]) * self.sheet.pieces[k].fall

    def rim_at(self, v: int) -> Side | None:
        """Return the rim side at a corner that drops outward most, None away from the rim."""
        here = [side for k in self.at_corner.get(v, ()) for side in self.sheet.sides(k) if v in side]
        return max((side for side in here if side in self.rims), key=self.outward, default=None)
