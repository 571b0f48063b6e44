"""Where a label could stand: places in order of liking, each with what it costs. Millimetres, y down."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, TypeAlias

from slabwright.sheets.boxes import Box
from slabwright.sheets.drawing import Point

Mode: TypeAlias = Literal["beside", "inside", "along"]


@dataclass(frozen=True, slots=True)
class Ask:
    """A label that wants a place.

    at: its anchor [mm]; half_w, half_h: half its size [mm]; angle: of its letters [deg, counter-clockwise,
    already readable]; clear: how far to keep off the anchor [mm]; span: half the length of the line that it
    belongs to [mm] ('along'); room: how far it may move without a leader [mm] ('inside'); rank: a lower one
    chooses first; towards: the side where it should stand [rad, counter-clockwise as seen] ('beside').
    """

    at: Point
    half_w: float
    half_h: float
    mode: Mode
    angle: float = 0.0
    clear: float = 1.0
    span: float = 0.0
    room: float = 0.0
    rank: int = 5
    towards: float | None = None


@dataclass(frozen=True, slots=True)
class Spot:
    """A place for a label: its box, its leader from the anchor or None, and how little it is liked [-]."""

    box: Box
    leader: tuple[Point, Point] | None
    cost: float


# How little each place beside a point is liked; the numbers only rank the places (our own choice).
_BESIDE = (
    ((1.0, -1.0), 0.0),
    ((1.0, 0.0), 0.1),
    ((1.0, 1.0), 0.3),
    ((-1.0, -1.0), 0.4),
    ((-1.0, 0.0), 0.5),
    ((-1.0, 1.0), 0.6),
    ((0.0, -1.0), 0.7),
    ((0.0, 1.0), 0.8),
)
_RINGS = (3.0, 5.5, 8.5, 12.0, 16.0, 21.0, 27.0, 34.0, 42.0, 52.0, 65.0, 82.0, 105.0)
_LEADER_COST = 3.0
_PER_MM = 0.35
_TURNS = tuple(
    (math.cos(t), math.sin(t))
    for t in (math.radians(22.5 * n) for n in (14, 15, 1, 2, 10, 9, 7, 6, 0, 8, 12, 4, 13, 3, 11, 5))
)


def readable(angle: float) -> float:
    """Return an angle [deg] turned so that letters read from the bottom or from the right: (-90, 90]."""
    turned = (angle + 90.0) % 180.0 - 90.0
    # A hair off upright must read from the right too, not upside down beside its neighbours.
    return turned + 180.0 if turned <= -89.5 else turned


def _leader(anchor: Point, box: Box, clear: float) -> tuple[Point, Point] | None:
    """Return a line from just off the anchor to the nearest point of the box, or None when too short."""
    c, s = box.axes()
    dx, dy = anchor[0] - box.x, anchor[1] - box.y
    u = min(max(dx * c + dy * s, -box.half_w), box.half_w)
    v = min(max(dy * c - dx * s, -box.half_h), box.half_h)
    end = (box.x + u * c - v * s, box.y + u * s + v * c)
    length = math.hypot(end[0] - anchor[0], end[1] - anchor[1])
    if length < clear + 0.8:
        return None
    start = min(clear, 0.5 * length) / length
    return (anchor[0] + (end[0] - anchor[0]) * start, anchor[1] + (end[1] - anchor[1]) * start), end


def _ring(ask: Ask, distance: float, towards: tuple[float, float], cost: float, *, lead: bool) -> Spot:
    dx, dy = towards
    sx, sy = max(-1.0, min(1.0, 1.5 * dx)), max(-1.0, min(1.0, 1.5 * dy))
    box = Box(
        ask.at[0] + dx * distance + sx * ask.half_w,
        ask.at[1] + dy * distance + sy * ask.half_h,
        ask.half_w,
        ask.half_h,
    )
    return Spot(box, _leader(ask.at, box, min(ask.clear, 1.4)) if lead else None, cost)


def _rings(ask: Ask, extra: float) -> Iterator[Spot]:
    for ring in _RINGS:
        for rank, towards in enumerate(_TURNS):
            cost = extra + _LEADER_COST + _PER_MM * ring + 0.02 * rank
            yield _ring(ask, ask.clear + ring, towards, cost, lead=True)


def _beside(ask: Ask) -> Iterator[Spot]:
    yield from sorted(_touching(ask), key=lambda s: s.cost)
    yield from _rings(ask, 0.0)


def _touching(ask: Ask) -> Iterator[Spot]:
    for (dx, dy), liking in _BESIDE:
        cost = liking
        if ask.towards is not None:
            # 0 straight towards the wished side, 2 to the other; the usual liking only breaks ties.
            wish = dx * math.cos(ask.towards) - dy * math.sin(ask.towards)
            cost = 1.0 - wish / math.hypot(dx, dy) + 0.05 * liking
        reach = ask.clear * (0.75 if dx and dy else 1.0)
        box = Box(
            ask.at[0] + dx * (reach + ask.half_w),
            ask.at[1] + dy * (reach + ask.half_h),
            ask.half_w,
            ask.half_h,
        )
        yield Spot(box, None, cost)


def _inside(ask: Ask) -> Iterator[Spot]:
    yield Spot(Box(ask.at[0], ask.at[1], ask.half_w, ask.half_h, ask.angle), None, 0.0)
    room = max(ask.room, 3.0)
    step = max(1.5, room / 8.0)
    for n in range(1, round(room / step) + 1):
        for rank, (dx, dy) in enumerate(_TURNS):
            x, y = ask.at[0] + dx * n * step, ask.at[1] + dy * n * step
            yield Spot(Box(x, y, ask.half_w, ask.half_h, ask.angle), None, 0.15 * n * step + 0.01 * rank)
    yield from _rings(ask, 2.0)


def _along(ask: Ask) -> Iterator[Spot]:
    yield from sorted(_near_line(ask), key=lambda s: s.cost)
    yield from _rings(ask, 6.0)


def _near_line(ask: Ask) -> Iterator[Spot]:
    turn = math.radians(ask.angle)
    ux, uy = math.cos(turn), -math.sin(turn)  # along the letters
    vx, vy = uy, -ux  # to their upper side
    fits = ask.half_w <= ask.span

    def at(along: float, up: float) -> Box:
        x, y = ask.at[0] + ux * along + vx * up, ask.at[1] + uy * along + vy * up
        return Box(x, y, ask.half_w, ask.half_h, ask.angle)

    up = ask.clear + ask.half_h
    slack = ask.span - ask.half_w
    if fits:
        yield Spot(at(0.0, up), None, 0.0)
        for share in (0.3, -0.3, 0.6, -0.6, 0.95, -0.95):
            yield Spot(at(share * slack, up), None, 0.5 + abs(share))
    out = ask.span + ask.half_w + 1.2
    # A text that is longer than its line stands past its end, on the same upper side.
    yield Spot(at(out, up), None, 0.6 if not fits else 2.5)
    yield Spot(at(-out, up), None, 0.7 if not fits else 2.6)
    if not fits and ask.half_w <= 1.6 * ask.span:
        yield Spot(at(0.0, up), None, 1.2)
    for level in (1, 2, 3, 4):
        for shift in (0.0, 0.8, -0.8):
            box = at(shift * (ask.half_w + ask.span), up + level * (2.0 * ask.half_h + 0.6))
            cost = 3.0 + 1.2 * level + abs(shift)
            yield Spot(box, _leader(ask.at, box, 0.0), cost)


def spots(ask: Ask) -> Iterator[Spot]:
    """Yield every place tried for a label, the most liked first."""
    return {"beside": _beside, "inside": _inside, "along": _along}[ask.mode](ask)
