"""Short joints across single panels, where no full joint serves: they stop at the joints beside them.

A joint that stops at another one is a second choice, for a crack may run on from its end; so each such
end has a price. It is lighter than a panel too long or too thin, and often than full joints that are
wanted in one place only.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import ceil, hypot

from slabwright.ground.untyped import shapely
from slabwright.slab.joints.body import Body
from slabwright.slab.joints.lines import LINE_LEAST, Line
from slabwright.slab.joints.patterns import broken_price, shape_price
from slabwright.slab.joints.refine import panel_axis
from slabwright.slab.joints.rules import RATIO_SLACK, SPACING_SLACK, rules
from slabwright.slab.model import XY
from slabwright.slab.panels import Piece

ON_EDGE = 0.001  # [m] an end this near the slab's edge is on it
PASSES = 2  # a panel may need joints both ways
WRONG_MOST = 12  # panels; where more are wrong, the layout is

Cut = Callable[[Sequence[Line]], list[Piece]]


def mended(
    picked: Sequence[Line],
    pieces: Sequence[Piece],
    body: Body,
    cut: Cut,
    most: float,
    thin: float | None,
) -> tuple[list[Line], list[Piece]]:
    """Return the plan with short joints across its wrong panels, where that makes it lighter.

    pieces: the panels that `picked` makes. most: spacing [m]. thin: most that a panel may be longer than
    wide [-], None where it is not asked for. Weights are in metres of joint.
    """
    lines, now = list(picked), list(pieces)

    def weight(of: Sequence[Line], made: Sequence[Piece]) -> float:
        return sum(ln.cost for ln in of) + broken_price(made, most, thin) + shape_price(made)

    best = weight(lines, now)
    for _ in range(PASSES):
        wrong = [p for p in now if broken_price([p], most, thin) > 0]
        if not wrong or len(wrong) > WRONG_MOST:
            break
        before = best
        for piece in wrong:
            more = [*lines, *_across(piece, body, most, thin)]
            after = cut(more)
            total = weight(more, after)
            if total < best - 1e-9:
                lines, now, best = more, after, total
        if best >= before:
            break
    return lines, now


def _across(piece: Piece, body: Body, most: float, thin: float | None) -> list[Line]:
    """Return the joints that divide a panel evenly across its long way, from side to side of it."""
    limit = most if thin is None else min(most, (thin + RATIO_SLACK) * piece.short)
    n = max(2, ceil(piece.long / (limit + SPACING_SLACK)))
    a, _, (ux, uy) = panel_axis(piece)
    polygon = shapely.Polygon(piece.ring, list(piece.holes))
    reach = piece.long + piece.short
    out = []
    for k in range(1, n):
        x, y = a[0] + ux * piece.long * k / n, a[1] + uy * piece.long * k / n
        ends = [(x + uy * reach, y - ux * reach), (x - uy * reach, y + ux * reach)]
        for run in shapely.get_parts(shapely.intersection(shapely.LineString(ends), polygon)):
            if run.geom_type == "LineString" and run.length >= LINE_LEAST:
                (px, py), (qx, qy) = run.coords[0], run.coords[-1]
                why = "spacing" if piece.long > most + SPACING_SLACK else "aspect"
                out.append(_stopping((px, py), (qx, qy), why, body))
    return out


def _stopping(p: XY, q: XY, why: str, body: Body) -> Line:
    stops = sum(stops_inside(body, xy) for xy in (p, q))
    cost = hypot(q[0] - p[0], q[1] - p[1]) + rules().cost_joint + rules().cost_stop * stops
    return Line(p, q, 2, 0.0, cost, why, fixed=True)


def stops_inside(body: Body, xy: XY) -> bool:
    """Say whether a joint's end [m] lies inside the slab, so on another joint, and not on its edge."""
    return bool(shapely.distance(shapely.boundary(body.polygon), shapely.Point(xy)) > ON_EDGE)
