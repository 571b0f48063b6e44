"""The best joints of a ribbon: a shortest path over the places where a joint may run.

Each panel of a ribbon depends only on the joint before it and the joint after it, so the cheapest set
of joints is the cheapest path from the start edge to the finish edge, and dynamic programming proves it
best among the places offered. Wide ribbons are split into lanes; the number of lanes is tried upwards
until the lengthwise joints alone cost more than the best plan found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

import numpy as np

from slabwright.ground.untyped import shapely
from slabwright.notes.spec import SlabSpec
from slabwright.slab.joints.rules import RATIO_SLACK, SPACING_SLACK, rules
from slabwright.slab.joints.stops import (
    LineUp,
    Stop,
    allowed_spans,
    asked_for,
    even_divisions,
    square_stop,
)
from slabwright.slab.joints.track import Track
from slabwright.slab.model import XY
from slabwright.slab.outline import curves

# what a broken rule weighs in the search [m of joint]; far above any joint, so that a rule gives only
# where no joint can keep it, and the gravest rule gives last
TOO_LONG, TOO_THIN, TOO_SHORT = 1e4, 1e3, 1e2
LANES_MORE = 6


@dataclass(frozen=True, slots=True)
class RibbonJoints:
    """Chosen stops in order, lane joints as polylines [m], their weight [m of joint].

    `held`: every panel keeps the rules. `left_out`: neighbours whose joint is not carried on.
    """

    stops: tuple[Stop, ...]
    lanes: tuple[tuple[XY, ...], ...]
    cost: float
    held: bool
    left_out: tuple[str, ...]


def best_joints(track: Track, spec: SlabSpec, line_ups: Sequence[LineUp]) -> RibbonJoints:
    """Return the cheapest joints of a ribbon, even between those that may not move."""
    asked, prices = asked_for(track, line_ups)
    first, last = track.end_stations(False), track.end_stations(True)
    run_most = spec.joints.span
    fewest = max(1, ceil(track.width / (spec.joints.most + SPACING_SLACK)))
    long_way = sum(curves.length(e) for e in track.legs)
    best: tuple[float, int, list[Stop]] | None = None
    held = False
    for lanes in range(fewest, fewest + LANES_MORE):
        lane_cost = (lanes - 1) * (long_way + rules().cost_joint)
        if best is not None and lane_cost >= best[0]:
            break
        lane = track.width / lanes
        thin = spec.joints.thin
        limit = run_most if thin is None else min(run_most, thin * lane)
        why = "crew-rule" if spec.joints.every else ("spacing" if limit == run_most else "aspect")
        # stations of the ends count from the far corner of a slanted end, for the longest side rules
        marks = [first[0], last[1], *(s.station for s in asked)]
        stops = sorted(
            [*asked, *even_divisions(track, marks, limit, why, allowed_spans(track))], key=lambda s: s.station
        )
        cost, path = _cheapest(track, stops, (first, last), prices, run_most, lane, thin)
        if best is None or cost + lane_cost < best[0] - 1e-9:
            best = (cost + lane_cost, lanes, path)
            chain = [0, *(stops.index(s) + 1 for s in path), len(stops) + 1]
            held = not any(
                _penalty(track, stops, i, j, (first, last), run_most, lane, thin) for i, j in pairwise(chain)
            )
    assert best is not None
    _, lanes, path = best
    evened = _even(track, path, first[0], last[1])
    cost = sum(s.cost for s in path) + (lanes - 1) * (long_way + rules().cost_joint)
    met = {s.against for s in path}
    left_out = tuple(sorted({s.against for s in asked if s.against and s.against not in met}))
    return RibbonJoints(tuple(evened), tuple(_lane_lines(track, lanes)), cost, held, left_out)


def _cheapest(
    track: Track,
    stops: list[Stop],
    ends: tuple[tuple[float, float], tuple[float, float]],
    prices: Sequence[float],
    run_most: float,
    lane: float,
    thin: float | None,
) -> tuple[float, list[Stop]]:
    """Return the cheapest path's cost and stops; rules that no path keeps are paid for."""
    n = len(stops)
    last_of = [-1] * len(prices)  # the last stop that meets each group, as a place in `stops` (1-based below)
    first_of = [n + 2] * len(prices)
    for k, s in enumerate(stops, start=1):
        for g in s.groups:
            last_of[g], first_of[g] = max(last_of[g], k), min(first_of[g], k)
    cost = np.full(n + 2, np.inf)
    cost[0] = 0.0
    came = [0] * (n + 2)
    reach = 1.5 * run_most + 3 * track.width
    for j in range(1, n + 2):
        own = stops[j - 1].cost if j <= n else 0.0
        here = stops[j - 1].station if j <= n else ends[1][1]
        for i in range(j - 1, -1, -1):
            there = stops[i - 1].station if i else ends[0][0]
            if here - there > reach and i < j - 1:
                break
            missed = sum(price for g, price in enumerate(prices) if i < first_of[g] and 0 < last_of[g] < j)
            panel = _penalty(track, stops, i, j, ends, run_most, lane, thin)
            total = cost[i] + own + panel + missed
            if total < cost[j] - 1e-9:
                cost[j], came[j] = total, i
    path = []
    k = came[n + 1]
    while k:
        path.append(stops[k - 1])
        k = came[k]
    return float(cost[n + 1]), path[::-1]


def _penalty(
    track: Track,
    stops: list[Stop],
    i: int,
    j: int,
    ends: tuple[tuple[float, float], tuple[float, float]],
    run_most: float,
    lane: float,
    thin: float | None,
) -> float:
    """Return what the panel between places i and j (0 and n + 1 are the ends) costs in broken rules."""
    a = stops[i - 1].station if i else ends[0][0]
    b = stops[j - 1].station if j <= len(stops) else ends[1][1]
    total = 0.0
    for run, across in _panel_sizes(track, a, b, lane):
        broken = 0.0
        if run > run_most + SPACING_SLACK:
            broken += TOO_LONG * (run / run_most)
        if thin is not None:
            ratio = max(run, across) / max(1e-6, min(run, across))
            if ratio > thin + RATIO_SLACK:
                broken += TOO_THIN * ratio / thin
        total = max(total, broken)
    # the clear side next to a slanted end is the shorter one
    clear = (b if j <= len(stops) else ends[1][0]) - (a if i else ends[0][1])
    if clear < min(rules().edge_least, lane) - SPACING_SLACK:
        total += TOO_SHORT * (2 - clear / rules().edge_least)
    return total


def _panel_sizes(track: Track, a: float, b: float, lane: float) -> list[tuple[float, float]]:
    """Return the length along and the width across [m] of the panels between two stations, lane by lane.

    At a bend and on a curve the lanes differ, and each counts as the smallest rectangle round it.
    """
    (leg_a, ta), (leg_b, tb) = track.place(a), track.place(b)
    straight = leg_a == leg_b and track.legs[leg_a].radius is None
    if straight or b - a <= 1e-6:
        return [(b - a, lane)]
    across: list[tuple[XY, XY]] = [track.section(leg_a, max(ta, 0.0))]
    for leg in range(leg_a, leg_b + 1):
        e = track.legs[leg]
        t0, t1 = (max(ta, 0.0) if leg == leg_a else 0.0), (min(tb, 1.0) if leg == leg_b else 1.0)
        if e.radius is not None:
            count = max(2, ceil(abs(curves.turn(e)) * (t1 - t0) / 0.1))
            across += [track.section(leg, t0 + (t1 - t0) * k / count) for k in range(1, count)]
        if leg < leg_b:
            here = [x for x in track.bends if x.leg == leg]
            across += [(x.outer, x.inner) if x.left else (x.inner, x.outer) for x in here]
    across.append(track.section(leg_b, min(tb, 1.0)))
    ends = np.array(across)
    lanes = max(1, round(track.width / lane))
    sizes = []
    for k in range(lanes):
        shares = (k / lanes, (k + 1) / lanes)
        corners = np.concatenate([ends[:, 0] + s * (ends[:, 1] - ends[:, 0]) for s in shares])
        box = shapely.get_coordinates(shapely.oriented_envelope(shapely.multipoints(corners)))
        sides = sorted((curves.dist(box[0], box[1]), curves.dist(box[1], box[2])))
        sizes.append((sides[1], sides[0]))
    return sizes


def _even(track: Track, path: list[Stop], start: float, finish: float) -> list[Stop]:
    """Return the path with the stops between two that may not move set at even distances."""
    out: list[Stop] = []
    k = 0
    while k < len(path):
        if path[k].fixed:
            out.append(path[k])
            k += 1
            continue
        n = k
        while n < len(path) and not path[n].fixed:
            n += 1
        a = path[k - 1].station if k else start
        b = path[n].station if n < len(path) else finish
        step = (b - a) / (n - k + 1)
        out += [square_stop(track, a + step * (m + 1), path[k + m].why) for m in range(n - k)]
        k = n
    return out


def _lane_lines(track: Track, lanes: int) -> list[tuple[XY, ...]]:
    """Return the lengthwise joints, parallel to the line, inside the slab [m]."""
    from slabwright.slab.outline.ribbon import parallel

    out = []
    for k in range(1, lanes):
        d = track.right + (track.left - track.right) * k / lanes
        side = parallel(track.legs, d, track.body.outline.name)
        run_on = 2 * track.width
        (ux, uy), (vx, vy) = curves.heading(side[0], 0.0), curves.heading(side[-1], 1.0)
        points = [
            (side[0].p[0] - ux * run_on, side[0].p[1] - uy * run_on),
            *(xy for e in side for xy in curves.flatten(e)),
            side[-1].q,
            (side[-1].q[0] + vx * run_on, side[-1].q[1] + vy * run_on),
        ]
        inside = shapely.intersection(shapely.linestrings(points), track.body.polygon)
        out += [
            tuple((float(x), float(y)) for x, y in g.coords)
            for g in shapely.get_parts(inside)
            if g.length > rules().edge_least / 2
        ]
    return out
