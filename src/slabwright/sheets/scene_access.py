"""How the concrete gets there, on a drawing: the truck, its chute's reach, the ways, the order of placing."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from slabwright.build.model_yard import AccessPlan
from slabwright.result import Plan
from slabwright.sheets.drawing import Item, Line, Marker, Polyline, Text
from slabwright.sheets.scene import middle, slab_points
from slabwright.sheets.window import Window, window_round

XY = tuple[float, float]

DIGITS = 3  # of a metre: two ways that run so near each other are drawn as one


def access_shown(plan: Plan) -> bool:
    """Return whether there is a way to draw: a truck comes, and something reaches a panel from it."""
    work = plan.built.access
    return not plan.built.order.bags and work.stand is not None and any(haul.path for haul in work.hauls)


def access_window(plan: Plan) -> Window:
    """Return the window round the slabs, the truck and every way."""
    work = plan.built.access
    shown = slab_points(plan) + [p for haul in work.hauls for p in haul.path]
    return window_round([*shown, work.stand] if work.stand is not None else shown)


def access_items(plan: Plan, view: Window) -> Iterator[Item]:
    """Yield the truck, how far its chute reaches, each way once, and the panels by their order."""
    work = plan.built.access
    if work.stand is None:
        return
    for p, q in _steps(work):
        yield Line("order", p, q, "way")
    if any(haul.way == "chute" for haul in work.hauls):
        for part in view.circle(work.stand, work.reach):
            yield Polyline("order", part, style="reach")
    x, y = work.stand
    towards = _towards(plan)
    yield Marker(
        "order", (x, y), "truck", work.stand_name or "", weight=700, size="figure", angle=towards, rank=1
    )
    same = in_named_order(work)
    rings = {(s.spec.name, p.name): p.ring for s in plan.shaped.slabs for p in s.joint_plan.panels}
    for n, haul in enumerate(work.hauls, 1):
        text = str(n) if same else f"{n} ({haul.panel})"
        yield Text("order", middle(rings[haul.slab, haul.panel]), text, weight=700, size="big", room=0.5)


def in_named_order(work: AccessPlan) -> bool:
    """Return whether the panels' names count them in placing order already."""
    return [haul.panel for haul in work.hauls] == [str(n) for n in range(1, len(work.hauls) + 1)]


def _steps(work: AccessPlan) -> Iterator[tuple[XY, XY]]:
    """Yield each straight piece of the ways once, from the truck outwards."""
    seen: set[frozenset[tuple[float, float]]] = set()
    for haul in work.hauls:
        for p, q in pairwise(haul.path):
            piece = frozenset((round(x, DIGITS), round(y, DIGITS)) for x, y in (p, q))
            if len(piece) == 2 and piece not in seen:
                seen.add(piece)
                yield p, q


def _towards(plan: Plan) -> float:
    """Return which way [rad] the truck's nose points: away from the work, for it backs up to it."""
    work = plan.built.access
    points = slab_points(plan)
    if work.stand is None or not points:
        return 0.0
    x = math.fsum(p[0] for p in points) / len(points)
    y = math.fsum(p[1] for p in points) / len(points)
    return math.atan2(work.stand[1] - y, work.stand[0] - x)
