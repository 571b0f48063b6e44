"""Where a head might stand and what it might spray from there, without wetting what is built."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slabwright.build.model_yard import SprinklerHead
from slabwright.build.sprinklers.figures import FULL, Floats, matched_flow
from slabwright.build.sprinklers.yard import Yard
from slabwright.build.tables import rule, table
from slabwright.ground.model import XY
from slabwright.ground.untyped import shapely

BINS = 72  # directions looked at round a place, 5 degrees each
BANDS = 8  # distances looked at in each direction
STATIONS = 0.5  # places along an edge, in throws
THROWS = 2  # throws kept for a place, the largest that fit
END = 0.02  # [m] a head stands this far inside the end of an edge
SLACK = 0.002  # [m] a head set out at the setback is not inside it
APART = 0.2  # places along an edge nearer than this, in throws, are one


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to set a head: as `head`, at place number `place`; `own`: index of the head standing there."""

    head: SprinklerHead
    place: int
    own: int | None


@dataclass(frozen=True, slots=True)
class _Spot:
    x: float
    y: float
    base: float  # a direction that sectors line up with [rad]
    own: int | None
    like: SprinklerHead  # throw and line are taken from it


def choices(
    heads: Sequence[SprinklerHead], hit: Sequence[int], yard: Yard, *, off: float, strict: bool
) -> list[Choice]:
    """Return the ways to set heads beside the new slabs.

    heads: as they stand; hit: indices of those in the way; off: distance kept from paving [m]; strict:
    nothing within that distance is sprayed either. Sectors that spill more than the table's share of
    their water on what is built are left out.
    """
    near = shapely.buffer(yard.slabs, off, join_style="mitre") if strict else yard.slabs
    dry = shapely.union(yard.hard, near)
    lawn = shapely.difference(yard.lawn, dry)
    shapely.prepare(dry)
    shapely.prepare(lawn)
    made: list[Choice] = []
    for place, spot in enumerate(_spots(heads, hit, yard, off)):
        fit = 0
        for throw in _throws(spot.like.throw):
            sectors = [Choice(h, place, spot.own) for h in _sectors(spot, throw, dry, lawn)]
            made += sectors
            fit += bool(sectors)
            if fit == THROWS:  # smaller ones are for strips where no larger one fits
                break
    return made


def _throws(throw: float) -> tuple[float, ...]:
    """Throws to try [m]: as it is, screwed in, and the smallest nozzle of the table screwed in."""
    from slabwright.measure import read

    screw = 1.0 - rule("yard", "screw")
    small = read("length", table("yard")["spray"]["full"][0][0])
    tried = {throw, throw * screw, *(t for t in (small, small * screw) if t < throw * screw - 0.1)}
    return tuple(sorted(tried, reverse=True))


def _spots(heads: Sequence[SprinklerHead], hit: Sequence[int], yard: Yard, off: float) -> Iterator[_Spot]:
    """Places of the heads in the way that may stay, then places along every edge of the new slabs."""
    keep_out = shapely.union(
        shapely.buffer(yard.slabs, off - SLACK, join_style="mitre"), shapely.difference(yard.hard, yard.slabs)
    )
    edge = shapely.boundary(shapely.buffer(yard.slabs, off + SLACK, join_style="mitre"))
    for k in hit:
        head = heads[k]
        at = shapely.points(head.x, head.y)
        if not shapely.intersects(keep_out, at):
            near = min(shapely.get_parts(edge), key=lambda part: float(shapely.distance(part, at)))
            along = _tangent(near, float(shapely.line_locate_point(near, at)))
            yield _Spot(head.x, head.y, along, k, head)
    inside = shapely.buffer(shapely.difference(yard.lawn, keep_out), SLACK)
    run = shapely.line_merge(shapely.intersection(edge, inside))
    for line in _lines(run):
        yield from _along(line, [heads[k] for k in hit], len(heads))


def _lines(geometry: Any) -> list[Any]:
    parts = [g for g in shapely.get_parts(geometry) if g.geom_type == "LineString" and g.length > 0.3]
    return sorted(parts, key=lambda g: tuple(round(v, 6) for v in g.bounds))


def _along(line: Any, hit: Sequence[SprinklerHead], many: int) -> Iterator[_Spot]:
    throw = float(np.median([head.throw for head in hit]))
    count = max(1, min(4 * many, math.ceil(line.length / (STATIONS * throw))))
    first, last = min(END, line.length / 2), max(line.length - END, line.length / 2)
    abeam = [
        float(shapely.line_locate_point(line, at))
        for at in (shapely.points(head.x, head.y) for head in hit)
        if shapely.distance(line, at) < throw
    ]
    even = [line.length * k / count for k in range(1, count)]
    stops: list[float] = []
    for t in (first, last, *abeam, *even):
        t = min(last, max(first, t))
        if all(abs(t - other) > APART * throw for other in stops):
            stops.append(t)
    for t in stops:
        at = shapely.line_interpolate_point(line, t)
        like = min(hit, key=lambda h: (math.hypot(h.x - at.x, h.y - at.y), h.name))
        yield _Spot(float(at.x), float(at.y), _tangent(line, t), None, like)


def _tangent(line: Any, t: float) -> float:
    a = shapely.line_interpolate_point(line, max(0.0, t - 0.05))
    b = shapely.line_interpolate_point(line, min(line.length, t + 0.05))
    return math.atan2(b.y - a.y, b.x - a.x)


def _sectors(spot: _Spot, throw: float, dry: Any, lawn: Any) -> Iterator[SprinklerHead]:
    """The best sectors of each arc from one place: most water on lawn, next to none on what is built."""
    wet_dry, wet_lawn = _rose(spot, throw, dry, lawn)
    spill, waste = rule("yard", "spill"), rule("yard", "waste")
    for degrees in table("yard")["spray"]["arcs"]:
        width = BINS * int(degrees) // 360
        bad, good = _window(wet_dry, width), _window(wet_lawn, width)
        fits = (bad <= spill * width + 1e-9) & (good >= (1.0 - waste) * width - 1e-9)
        if width == BINS:
            fits[1:] = False
        for start in _best(good, fits, width):
            middle = spot.base + (start + width / 2) * FULL / BINS
            arc = width * FULL / BINS
            yield SprinklerHead(
                name=spot.like.name,
                x=spot.x,
                y=spot.y,
                throw=throw,
                arc=arc,
                facing=(math.pi / 2 - middle) % FULL if width < BINS else 0.0,
                flow=matched_flow(1.0, throw, arc),  # of 1 m/s; scaled by the line's own rate
                hangs_on=spot.like.hangs_on,
            )


def _rose(spot: _Spot, throw: float, dry: Any, lawn: Any) -> tuple[Floats, Floats]:
    """Shares of the water thrown in each direction that land on what is built, and on lawn: (BINS,) each."""
    turned = spot.base + (np.arange(BINS) + 0.5) * FULL / BINS
    away = (np.arange(BANDS) + 0.5) / BANDS
    weight = away * (1.0 - away)
    weight /= weight.sum()
    x = spot.x + throw * np.outer(np.cos(turned), away)
    y = spot.y + throw * np.outer(np.sin(turned), away)
    on_dry = np.asarray(shapely.contains_xy(dry, x.ravel(), y.ravel()), dtype=np.float64).reshape(x.shape)
    on_lawn = np.asarray(shapely.contains_xy(lawn, x.ravel(), y.ravel()), dtype=np.float64).reshape(x.shape)
    return on_dry @ weight, on_lawn @ weight


def _window(values: Floats, width: int) -> Floats:
    """Sums of `width` neighbours from each start on, round the circle."""
    twice = np.concatenate(([0.0], np.cumsum(np.concatenate((values, values)))))
    return np.asarray(twice[width : width + BINS] - twice[:BINS], dtype=np.float64)


def _best(good: Floats, fits: NDArray[np.bool_], width: int) -> list[int]:
    """Up to two starts: the best, and the best that looks another way by half its width or more."""
    picked: list[int] = []
    free = fits.copy()
    for _ in range(2):
        if not free.any():
            break
        top = float(good[free].max())
        near = np.flatnonzero(free & (good >= top - 0.02 * width))
        start = int(near[len(near) // 2])
        picked.append(start)
        gap = np.abs((np.arange(BINS) - start + BINS // 2) % BINS - BINS // 2)
        free &= gap >= max(6, width // 2)
    return picked


def place_of(choice: Choice) -> XY:
    """Return where a choice stands (x, y) [m]."""
    return choice.head.x, choice.head.y
