"""Round layouts: spokes from a centre, and rings round it where the spacing asks for them.

They suit round pads, kidneys (spokes from the middle of the hollow side meet both edges nearly square) and
slabs round a round opening. Every centre, number of spokes and number of rings is tried, and weighed like
any other plan.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import atan2, ceil, cos, dist, hypot, pi, sin

from slabwright.ground.untyped import shapely
from slabwright.slab.joints.body import Body
from slabwright.slab.joints.lines import LINE_LEAST, Line
from slabwright.slab.joints.mend import stops_inside
from slabwright.slab.joints.rules import SPACING_SLACK, rules
from slabwright.slab.model import XY
from slabwright.slab.outline import curves

ROUND_SHARE = 0.25  # [-] of an outline that must be curved for round layouts to be tried
OPENING_LEAST = 0.3  # [m] radius from which an opening is a centre
CENTRES_MOST = 4
SPOKES_MORE = 4  # spokes beyond the fewest that hold the spacing
RINGS_MOST = 3
BOW = 0.0005  # [m] how far a flattened ring may be off its true curve
CORE = 0.3  # [m] at a centre inside the slab, all spokes meet in one point or end on a ring


def centres(body: Body) -> list[XY]:
    """Return where spokes may come from [m]: centres of the longest arcs and of large round openings."""
    edges = [e for e in body.outline.edges if e.radius is not None and e.centre is not None]
    curved = sum(curves.length(e) for e in edges)
    found: list[tuple[float, XY]] = []
    for h in body.outline.holes:
        if h.radius is not None and h.radius >= OPENING_LEAST:
            middle = (sum(x for x, _ in h.ring) / len(h.ring), sum(y for _, y in h.ring) / len(h.ring))
            found.append((2 * pi * h.radius, middle))
    if curved >= ROUND_SHARE * body.outline.perimeter:
        found += [(curves.length(e), e.centre) for e in edges if e.centre is not None]
    out: list[XY] = []
    for _, xy in sorted(found, reverse=True):
        if all(dist(xy, other) > LINE_LEAST for other in out):
            out.append(xy)
    return out[:CENTRES_MOST]


def layouts(body: Body, at: XY, most: float) -> Iterator[list[Line]]:
    """Yield round layouts about a centre [m], each a list of joints; most: spacing [m]."""
    ring = body.outline.ring
    radii = [dist(xy, at) for xy in ring]
    inside = body.contains(at)
    near = 0.0 if inside else float(shapely.distance(body.polygon, shapely.Point(at)))
    far = max(radii)
    start, sweep = _sector(ring, at) if not (inside or _around(body, at)) else (0.0, 2 * pi)
    fewest = max(1, ceil((far - near) / (most + SPACING_SLACK)) - 1)
    for rings in range(RINGS_MOST + 1):
        if rings and rings < fewest - 1:
            continue
        # a disc in the middle as wide as the spacing allows needs no spokes
        first = min(most / 2, far / (rings + 1)) if inside and rings else near
        step = (far - first) / (rings if inside and rings else rings + 1)
        at_radii = (
            [first + step * k for k in range(rings)]
            if inside and rings
            else [near + step * (k + 1) for k in range(rings)]
        )
        n = max(1, ceil(sweep * (far - step / 2) / (most + SPACING_SLACK)) - 2)
        for spokes in range(n, n + SPOKES_MORE + 2):
            yield _layout(body, at, at_radii, _angles(start, sweep, spokes), inside)


def _angles(start: float, sweep: float, parts: int) -> list[float]:
    """Return the headings [rad] that divide a sector, or the whole round, into so many parts."""
    whole = sweep > 2 * pi - 1e-9
    return [start + sweep * k / parts for k in range(0 if whole else 1, parts)]


def _sector(ring: Sequence[XY], at: XY) -> tuple[float, float]:
    """Return where the slab begins as seen from a point outside it, and how wide it looks [rad]."""
    seen = sorted(atan2(y - at[1], x - at[0]) for x, y in ring)
    gaps = [(b - a, b) for a, b in pairwise([*seen, seen[0] + 2 * pi])]
    gap, begin = max(gaps)
    return begin, 2 * pi - gap


def _around(body: Body, at: XY) -> bool:
    """Say whether the centre lies in an opening, so that the slab goes round it."""
    return bool(shapely.contains_xy(shapely.Polygon(body.outline.ring), *at))


def _layout(
    body: Body, at: XY, radii: Sequence[float], headings: Sequence[float], inside: bool
) -> list[Line]:
    out: list[Line] = []
    core = radii[0] if inside and radii else 0.0
    reach = 2 * max(dist(xy, at) for xy in body.outline.ring)
    for a in headings:
        ux, uy = cos(a), sin(a)
        line = shapely.LineString(
            [(at[0] + ux * core, at[1] + uy * core), (at[0] + ux * reach, at[1] + uy * reach)]
        )
        out += _inside(body, line)
    for r in radii:
        count = max(24, ceil(pi / (2 * BOW / r) ** 0.5))
        turns = [2 * pi * k / count for k in range(count)]
        circle = [(at[0] + r * cos(t), at[1] + r * sin(t)) for t in turns]
        out += _inside(body, shapely.LineString([*circle, circle[0]]))
    return out


def _inside(body: Body, line: object) -> list[Line]:
    """Return the parts of a line inside the slab as joints."""
    cut = shapely.intersection(line, body.polygon)
    parts = shapely.get_parts(shapely.line_merge(cut) if cut.geom_type == "MultiLineString" else cut)
    out = []
    for part in parts:
        if part.geom_type != "LineString" or part.length < LINE_LEAST:
            continue
        xy: list[XY] = [(float(x), float(y)) for x, y in part.coords]
        closed = hypot(xy[-1][0] - xy[0][0], xy[-1][1] - xy[0][1]) < 1e-9
        stops = 0 if closed else sum(stops_inside(body, end) for end in (xy[0], xy[-1]))
        cost = float(part.length) + rules().cost_joint + rules().cost_stop * stops
        out.append(Line(xy[0], xy[-1], 2, 0.0, cost, "spacing", fixed=True, via=tuple(xy[1:-1])))
    return out
