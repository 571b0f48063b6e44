"""What was measured, as a drawing: points, tape pulls, square-offs, and how sure each point is."""

from __future__ import annotations

import math
from collections.abc import Iterator

from slabwright.result import Plan
from slabwright.sheets.drawing import Item, Line, Marker, Polyline
from slabwright.survey.result import Point, ReadingFit, ellipse

XY = tuple[float, float]

DRAWN_SHARE = 0.03  # of the net's longer side: how long the longest half axis is drawn
STEPS = 36
UNSEEN = 0.01  # share below which no other reading would show a slip
NOTHING = 1e-6  # m; an ellipse smaller than this is a dot


def net_points(plan: Plan) -> dict[str, Point]:
    """Return the points that a tape or a square-off ties in, by name."""
    used = {
        name for r in plan.survey.readings if r.part in ("pull", "along", "out", "right") for name in r.points
    }
    return {name: p for name, p in plan.survey.points.items() if name in used}


def net_exaggeration(plan: Plan) -> int:
    """Return how many times too large the ellipses are drawn: 1, 2 or 5 times a power of ten."""
    points = net_points(plan)
    longest = max((ellipse(p).a for p in points.values()), default=0.0)
    if longest < NOTHING:
        return 1
    xs, ys = [p.x for p in points.values()], [p.y for p in points.values()]
    wanted = DRAWN_SHARE * max(max(xs) - min(xs), max(ys) - min(ys)) / longest
    if wanted <= 1.0:
        return 1
    ten = 10 ** math.floor(math.log10(wanted))
    return int(max(step * ten for step in (1, 2, 5) if step * ten <= wanted))


def net_items(plan: Plan) -> Iterator[Item]:
    """Yield points, readings between them and error ellipses.

    A reading that was set aside is drawn heavy; one that no other checks is dotted.
    """
    points = net_points(plan)
    for reading in plan.survey.readings:
        ends = _ends(reading, points)
        if ends is not None:
            yield Line("set-out", *ends, _style(reading))
    times = net_exaggeration(plan)
    for point in points.values():
        one = ellipse(point)
        if one.a > NOTHING:
            yield Polyline("levels", _ring(point, times), True, "ellipse")
        yield Marker("stakes", (point.x, point.y), "point", point.name, weight=600)


def _style(reading: ReadingFit) -> str:
    if not reading.used:
        return "stop"
    return "unchecked" if reading.redundancy < UNSEEN else "pull"


def _ends(reading: ReadingFit, points: dict[str, Point]) -> tuple[XY, XY] | None:
    """Return where a reading runs from and to: a pull between its points, a square-off out of its wall."""
    if any(name not in points for name in reading.points):
        return None
    listed = [points[name] for name in reading.points]
    if reading.part == "pull" and len(listed) == 2:
        return (listed[0].x, listed[0].y), (listed[1].x, listed[1].y)
    if reading.part == "out" and len(listed) == 3:
        at, a, b = listed
        run = math.hypot(b.x - a.x, b.y - a.y)
        if run == 0.0:
            return None
        ux, uy = (b.x - a.x) / run, (b.y - a.y) / run
        along = (at.x - a.x) * ux + (at.y - a.y) * uy
        return (a.x + along * ux, a.y + along * uy), (at.x, at.y)
    return None


def _ring(point: Point, times: int) -> tuple[XY, ...]:
    one = ellipse(point)
    # azimuth is clockwise from +y
    ux, uy = math.sin(one.azimuth), math.cos(one.azimuth)
    ring = []
    for k in range(STEPS):
        t = 2 * math.pi * k / STEPS
        a, b = times * one.a * math.cos(t), times * one.b * math.sin(t)
        ring.append((point.x + a * ux - b * uy, point.y + a * uy + b * ux))
    return tuple(ring)
