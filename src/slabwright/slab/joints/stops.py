"""Where on a ribbon a joint may run: at bends, openings, existing joints, and at even divisions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from slabwright.slab.joints.body import near
from slabwright.slab.joints.rules import SPACING_SLACK, rules
from slabwright.slab.joints.track import Track
from slabwright.slab.model import XY
from slabwright.slab.outline import curves

MISSED = 1e6  # price [m of joint] of a corner left unmet: paid only where no joint can reach it
MORE_DIVISIONS = 2  # besides the fewest panels that hold the limit, one and two more are tried


@dataclass(frozen=True, slots=True)
class Stop:
    """A place for a joint across a ribbon: its station [m], ends [m], weight, and what asks for it.

    `groups`: the corners and openings that it meets. `fixed`: it may not move for evenness.
    """

    station: float
    right: XY
    left: XY
    cost: float
    why: str
    fixed: bool = False
    groups: frozenset[int] = frozenset()
    against: str | None = None


@dataclass(frozen=True, slots=True)
class LineUp:
    """The end of a joint in a neighbouring slab [m], its direction, and whose it is."""

    at: XY
    heading: XY
    of: str


def square_stop(track: Track, station: float, why: str, *, fixed: bool = False) -> Stop:
    """Return the stop square to the line at a station [m]."""
    leg, t = track.place(station)
    return _at(track, leg, t, why, fixed=fixed)


def _at(
    track: Track,
    leg: int,
    t: float,
    why: str,
    *,
    fixed: bool = True,
    share: float = 1.0,
    against: str | None = None,
) -> Stop:
    right, left = track.section(leg, t)
    cost = share * (curves.dist(right, left) + rules().cost_joint)
    return Stop(track.station(leg, t), right, left, cost, why, fixed, frozenset(), against)


def asked_for(track: Track, line_ups: Iterable[LineUp]) -> tuple[list[Stop], list[float]]:
    """Return the stops that corners, openings and neighbours' joints ask for, and each group's price.

    A group is a corner, an opening or a neighbour's joint that at least one of its stops should meet; its
    price [m of joint] is paid when none does.
    """
    found: list[Stop] = []
    prices: list[float] = []
    for b in track.bends:
        found += _at_bend(track, b.leg, len(prices))
        prices.append(MISSED)
    inner = [b.inner for b in track.bends]
    for c in track.body.inside_corners:
        if any(near(c.at, xy, 0.01) for xy in inner):
            continue
        leg, t, _ = track.nearest(c.at)
        stop = _at(track, leg, t, "opening" if c.of else "re-entrant")
        same = next((k for k, s in enumerate(found) if abs(s.station - stop.station) < 0.003), None)
        if same is not None:
            found[same] = _with_group(found[same], len(prices))
        else:
            found.append(_with_group(stop, len(prices)))
        prices.append(MISSED)
    for h in track.body.outline.holes:
        if h.radius is None:
            continue
        middle = (sum(x for x, _ in h.ring) / len(h.ring), sum(y for _, y in h.ring) / len(h.ring))
        leg, t, _ = track.nearest(middle)
        found.append(_with_group(_at(track, leg, t, "post" if h.kind == "post" else "opening"), len(prices)))
        prices.append(MISSED)
    for j in line_ups:
        leg, t, off = track.nearest(j.at)
        right, left = track.section(leg, t)
        ux, uy = (left[0] - right[0]) / track.width, (left[1] - right[1]) / track.width
        if off > track.width + rules().line_up or abs(ux * j.heading[0] + uy * j.heading[1]) < 0.9:
            continue
        on = _at(track, leg, t, "line-up", share=1 - rules().line_up_share, against=j.of)
        found.append(_with_group(on, len(prices)))
        prices.append(rules().cost_left_out)
    return found, prices


def _with_group(s: Stop, group: int) -> Stop:
    return Stop(s.station, s.right, s.left, s.cost, s.why, s.fixed, s.groups | {group}, s.against)


def _at_bend(track: Track, leg: int, group: int) -> list[Stop]:
    """Return the joints that can meet a bend's inner corner: square to either leg, or on the mitre."""
    b = next(x for x in track.bends if x.leg == leg)
    a, c = track.legs[leg], track.legs[leg + 1]
    out = []
    t = curves.share_at(a, b.inner)
    if 0.0 < t < 1.0:
        out.append(_with_group(_at(track, leg, t, "bend"), group))
    if b.turned <= rules().mitre_most:
        right, left = (b.outer, b.inner) if b.left else (b.inner, b.outer)
        length = curves.dist(right, left)
        middle = (track.station(leg, 1.0) + track.station(leg + 1, 0.0)) / 2
        # a touch cheaper than a square one, so that a gentle bend gets the one joint on its mitre
        cost = 0.9 * (length + rules().cost_joint)
        out.append(Stop(middle, right, left, cost, "bend", True, frozenset({group})))
    t = curves.share_at(c, b.inner)
    if 0.0 < t < 1.0:
        out.append(_with_group(_at(track, leg + 1, t, "bend"), group))
    return out


def even_divisions(
    track: Track, marks: Sequence[float], limit: float, why: str, allowed: Sequence[tuple[float, float]]
) -> list[Stop]:
    """Return stops that divide each stretch between two marks [m] into even parts within `limit` [m].

    marks: stations of the ends and of the stops asked for; stretches that step over one or two marks
    are divided too, for those joints may be left out. `allowed`: station spans where a section is
    whole. Sorted, and none within 1 mm of a mark or of another.
    """
    ordered = sorted(set(marks))
    wanted: set[float] = set()
    for step in (1, 2, 3):
        for a, b in zip(ordered, ordered[step:], strict=False):
            gap = b - a
            if step > 1 and gap > 3 * limit:
                continue
            fewest = max(1, ceil(gap / (limit + SPACING_SLACK)))
            for n in range(fewest, fewest + 1 + MORE_DIVISIONS):
                wanted |= {a + gap * k / n for k in range(1, n)}
    out: list[Stop] = []
    last = float("-inf")
    for s in sorted(wanted):
        if s - last < 0.001 or any(abs(s - m) < 0.001 for m in ordered):
            continue
        if any(lo - 1e-9 <= s <= hi + 1e-9 for lo, hi in allowed):
            out.append(square_stop(track, s, why))
            last = s
    return out


def allowed_spans(track: Track) -> list[tuple[float, float]]:
    """Return the station spans [m] in which a square section is clear of ends and bends."""
    first = track.end_stations(False)[1]
    last = track.end_stations(True)[0]
    cuts = [(first, first)]
    for b in track.bends:
        inner_before = curves.share_at(track.legs[b.leg], b.inner)
        inner_after = curves.share_at(track.legs[b.leg + 1], b.inner)
        cuts.append((track.station(b.leg, inner_before), track.station(b.leg + 1, inner_after)))
    cuts.append((last, last))
    return [(a[1], b[0]) for a, b in pairwise(cuts) if b[0] > a[1]]
