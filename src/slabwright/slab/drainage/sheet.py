"""Where the rain on the finished surface goes, exactly: along steepest descent over planes and edges.

On a plane all water runs one way, so what arrives at a side is a function of the place across the flow
that is linear between corners. Pieces are worked from the top down; each passes its water on across its
lower sides. Two pieces that pour into a common side make a channel that runs down that side; from its
lower end the water goes on as a single thread.

Water is counted as the plan area whose rain it is [m2].
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np

from slabwright.ground.model import Floats
from slabwright.slab.drainage.mesh import Sheet
from slabwright.slab.drainage.thread import ALONG, Place, Side, Ways

SAME_PLACE = 1e-9  # [m] breaks across the flow closer than this are one
ROUNDS = 50  # times that a piece may pass water on, for the rare ones that circle a low corner


@dataclass(slots=True)
class SheetFlow:
    """What arrives where [m2]: rim sides, drains, and places where water stays.

    `densest` holds the most that arrives per metre of a rim side [m2/m]; `stays` is keyed by the ends of
    `Thread` that are neither rim nor drain; `channels` holds what runs along sides on its way.
    """

    rim: dict[Side, float] = field(default_factory=dict)
    densest: dict[Side, float] = field(default_factory=dict)
    drains: dict[Side, float] = field(default_factory=dict)
    stays: dict[Place, float] = field(default_factory=dict)
    channels: dict[Side, float] = field(default_factory=dict)


def route(sheet: Sheet, drains: Collection[Side] = ()) -> SheetFlow:
    """Send the rain on every piece on its way and return what arrives where [m2].

    :param sheet: the finished surface.
    :param drains: sides (pairs of corner ids, either way round) along which a drain takes everything.
    """
    return _Router(sheet, drains).run()


class _Router(Ways):
    """Passes sheets of water from piece to piece."""

    def __init__(self, sheet: Sheet, drains: Collection[Side]) -> None:
        super().__init__(sheet, drains)
        self.flow = SheetFlow()

    def rain(self, k: int) -> Floats:
        """Return a piece's own rain as it arrives across the flow: rows (t0, t1, q0, q1)."""
        piece = self.sheet.pieces[k]
        t = np.array([self.across(k, v) for v in piece.corners])
        u = self.sheet.corners[list(piece.corners), :2] @ piece.down
        after = np.roll(np.arange(len(t)), -1)
        breaks = np.unique(t)
        ends = []
        for sign in (1.0, -1.0):
            run = np.flatnonzero(sign * (t[after] - t) > ALONG)
            chain = np.unique(np.concatenate([run, after[run]]))
            chain = chain[np.argsort(t[chain], kind="stable")]
            ends.append(np.interp(breaks, t[chain], u[chain]))
        long = np.maximum(ends[0] - ends[1], 0.0)
        return np.column_stack([breaks[:-1], breaks[1:], long[:-1], long[1:]])

    def run(self) -> SheetFlow:
        """Send all rain on its way and return what arrives where."""
        waiting: dict[int, list[Floats]] = {}
        for k, piece in enumerate(self.sheet.pieces):
            if piece.down == (0.0, 0.0):
                self.add(self.flow.stays, ("piece", k), self.area(k))
            else:
                waiting[k] = [self.rain(k)]
        rank = self.ranks()
        rounds = 0
        while waiting and rounds < ROUNDS * len(rank):
            k = min(waiting, key=rank.__getitem__)
            self.send(k, _summed(np.concatenate(waiting.pop(k))), waiting)
            rounds += 1
        for rows in waiting.values():  # water that circles a low corner for ever
            self.add(self.flow.stays, ("circle",), _total(np.concatenate(rows)))
        for side, area in sorted(self.flow.channels.items()):
            self.count(self.from_side(side).end, area)
        return self.flow

    def send(self, k: int, rows: Floats, waiting: dict[int, list[Floats]]) -> None:
        """Pass rows of water over a piece's lower sides."""
        for side in self.sheet.sides(k):
            low, high = self.across(k, side[0]), self.across(k, side[1])
            if high - low <= ALONG:
                continue
            part = _clipped(rows, low, high)
            area = _total(part)
            if area <= 0.0:
                continue
            case = self.case(k, side)
            if case[0] == "on":
                other = int(case[1])
                start, end = self.across(other, side[0]), self.across(other, side[1])
                scale = (end - start) / (high - low)
                moved = part.copy()
                moved[:, :2] = start + (part[:, :2] - low) * scale
                moved[:, 2:] /= scale
                waiting.setdefault(other, []).append(moved)
            elif case[0] == "channel":
                self.add(self.flow.channels, (int(case[1]), int(case[2])), area)
            else:
                self.count(case, area)
                if case[0] == "rim":
                    wide = float(np.hypot(*(self.xy(side[1]) - self.xy(side[0]))))
                    most = float(part[:, 2:].max()) * (high - low) / wide
                    self.flow.densest[side] = max(most, self.flow.densest.get(side, 0.0))

    def ranks(self) -> dict[int, int]:
        """Return an order of the pieces in which each comes after those above it, where there is one."""
        passes: dict[int, set[int]] = {k: set() for k in range(len(self.sheet.pieces))}
        into = dict.fromkeys(passes, 0)
        for k, piece in enumerate(self.sheet.pieces):
            for side in self.sheet.sides(k) if piece.down != (0.0, 0.0) else ():
                if self.across(k, side[1]) - self.across(k, side[0]) > ALONG:
                    case = self.case(k, side)
                    if case[0] == "on" and case[1] not in passes[k]:
                        passes[k].add(int(case[1]))
                        into[int(case[1])] += 1
        ready = [k for k, count in into.items() if count == 0]
        rank: dict[int, int] = {}
        while ready:
            k = ready.pop()
            rank[k] = len(rank)
            for other in sorted(passes[k]):
                into[other] -= 1
                if into[other] == 0:
                    ready.append(other)
        top = {k: self.sheet.corners[list(p.corners), 2].max() for k, p in enumerate(self.sheet.pieces)}
        for k in sorted((k for k in passes if k not in rank), key=lambda k: -top[k]):
            rank[k] = len(rank)
        return rank

    def count(self, end: Place, area: float) -> None:
        """Add water to the place where it ends."""
        if end[0] == "rim":
            self.add(self.flow.rim, (int(end[1]), int(end[2])), area)
        elif end[0] == "drain":
            self.add(self.flow.drains, (int(end[1]), int(end[2])), area)
        else:
            self.add(self.flow.stays, end, area)

    @staticmethod
    def add(into: dict[Any, float], key: Any, area: float) -> None:
        into[key] = into.get(key, 0.0) + area

    def area(self, k: int) -> float:
        ring = self.sheet.corners[list(self.sheet.pieces[k].corners), :2]
        after = np.roll(ring, -1, axis=0)
        return float((ring[:, 0] * after[:, 1] - ring[:, 1] * after[:, 0]).sum()) / 2.0


def _total(rows: Floats) -> float:
    """Return the water in rows (t0, t1, q0, q1) [m2]."""
    return float(((rows[:, 1] - rows[:, 0]) * (rows[:, 2] + rows[:, 3])).sum() / 2.0)


def _at(rows: Floats, t: Floats) -> Floats:
    """Return each row's density at places t, one a row, carried on straight beyond its ends."""
    share = (t - rows[:, 0]) / (rows[:, 1] - rows[:, 0])
    out: Floats = rows[:, 2] + share * (rows[:, 3] - rows[:, 2])
    return out


def _clipped(rows: Floats, low: float, high: float) -> Floats:
    """Return the part of rows between two places across the flow."""
    start, end = np.maximum(rows[:, 0], low), np.minimum(rows[:, 1], high)
    kept = end - start > SAME_PLACE
    rows, start, end = rows[kept], start[kept], end[kept]
    return np.column_stack([start, end, _at(rows, start), _at(rows, end)])


def _summed(rows: Floats) -> Floats:
    """Return rows that do not overlap, with the same water."""
    rows = rows[rows[:, 1] - rows[:, 0] > SAME_PLACE]
    breaks = np.unique(rows[:, :2])
    if not len(rows) or len(breaks) == len(rows) + 1:
        return rows
    breaks = breaks[np.concatenate([[True], np.diff(breaks) > SAME_PLACE])]
    made = []
    for low, high in pairwise(breaks.tolist()):
        there = rows[(rows[:, 0] < high - SAME_PLACE) & (rows[:, 1] > low + SAME_PLACE)]
        if len(there):
            ends = [float(_at(there, np.full(len(there), t)).sum()) for t in (low, high)]
            made.append((low, high, *ends))
    return np.array(made)
