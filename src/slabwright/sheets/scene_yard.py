"""Sprinklers beside the new slabs on a drawing: heads with their throw, and what water the lawn gets."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from slabwright.build.model_yard import Coverage, SprinklerHead, SprinklerPlan
from slabwright.ground.untyped import shapely
from slabwright.sheets.drawing import Area, Arrow, Item, Marker, Polyline
from slabwright.sheets.window import Window, window_round

XY = tuple[float, float]

# What a part of the mean is shown as: hatch, from, up to; between SOME and MUCH the lawn stays white.
LOW, SOME, MUCH = 0.5, 0.75, 1.5
CLASSES: tuple[tuple[str, float, float], ...] = (
    ("rain-low", 0.0, LOW),
    ("rain-some", LOW, SOME),
    ("rain-much", MUCH, math.inf),
)
DRY = "rain-none"
FULL = 2.0 * math.pi - 1e-6  # [rad]
STEP = math.radians(7.5)  # of a drawn arc
NEAR = 0.05  # [m] a head that moved less than this bears no arrow


def yard_window(work: SprinklerPlan, rings: Iterable[Sequence[XY]]) -> Window:
    """Return the window round the heads, the watered lawn and the slabs (rings of points [m])."""
    shown = [p for ring in rings for p in ring]
    shown += [(h.x, h.y) for h in (*work.heads, *work.found)]
    for cover in (work.before, work.after):
        if cover.columns:
            rows = len(cover.rates) // cover.columns
            half = cover.step / 2
            shown.append((cover.at[0] - half, cover.at[1] - half))
            shown.append(
                (cover.at[0] + (cover.columns - 0.5) * cover.step, cover.at[1] + (rows - 0.5) * cover.step)
            )
    return window_round(shown)


def cover_items(cover: Coverage, mean: float) -> Iterator[Item]:
    """Yield where the lawn gets none, too little or too much of a mean rate [m/s]."""
    for hatch, rings in _classes(cover, mean).items():
        if rings:
            yield Area("ground", tuple(rings), hatch=hatch)


def _classes(cover: Coverage, mean: float) -> dict[str, list[tuple[XY, ...]]]:
    cells: dict[str, list[Any]] = {}
    half = cover.step / 2
    for k, rate in enumerate(cover.rates):
        name = _class(rate, mean)
        if name:
            row, column = divmod(k, cover.columns)
            x, y = cover.at[0] + column * cover.step, cover.at[1] + row * cover.step
            cells.setdefault(name, []).append(shapely.box(x - half, y - half, x + half, y + half))
    return {name: _rings(shapely.union_all(boxes, grid_size=1e-6)) for name, boxes in sorted(cells.items())}


def _class(rate: float | None, mean: float) -> str:
    if rate is None:
        return ""
    if rate <= 0.0:
        return DRY
    part = rate / mean if mean > 0.0 else 1.0
    return next((name for name, low, high in CLASSES if low <= part < high), "")


def _rings(area: Any) -> list[tuple[XY, ...]]:
    return [
        tuple((float(x), float(y)) for x, y in ring.coords[:-1])
        for part in getattr(area, "geoms", (area,))
        if part.geom_type == "Polygon"
        for ring in (part.exterior, *part.interiors)
    ]


def now_items(work: SprinklerPlan, view: Window) -> Iterator[Item]:
    """Yield the heads as they are."""
    for head in work.found:
        yield Marker("services", (head.x, head.y), "head", head.name, weight=600)
        yield from _throw(head, view)


def later_items(work: SprinklerPlan, view: Window) -> Iterator[Item]:
    """Yield the heads as they will be, where moved ones came from, and those that are capped."""
    was = {head.name: (head.x, head.y) for head in work.found}
    for head in work.heads:
        at = (head.x, head.y)
        kind = "head" if head.change == "stays" else f"head-{head.change}"
        yield Marker("services", at, kind, head.name, weight=600 if head.change == "stays" else 700)
        yield from _throw(head, view)
        if head.change == "moved" and head.shift > NEAR:
            yield Arrow("services", was[head.name], at, style="shift")
    for head in work.removed:
        yield Marker("services", (head.x, head.y), "head-capped", head.name)


def _throw(head: SprinklerHead, view: Window) -> Iterator[Item]:
    """Yield the edge of what a head wets, as far as the window shows it."""
    full = head.arc >= FULL
    # facing counts clockwise from straight into the house, which is up on the drawing
    middle = math.pi / 2 - head.facing
    start, sweep = (0.0, 2.0 * math.pi) if full else (middle - head.arc / 2, head.arc)
    parts = max(2, math.ceil(sweep / STEP))
    at = (head.x, head.y)
    line = [
        (
            head.x + head.throw * math.cos(start + sweep * n / parts),
            head.y + head.throw * math.sin(start + sweep * n / parts),
        )
        for n in range(parts + 1)
    ]
    for part in view.line(line if full else [at, *line, at]):
        yield Polyline("services", part, style="spray")
