"""Where the water of one storm goes, on a drawing: arrows, water that stands, roof water, drains."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from slabwright.measure import Quantity, System, write
from slabwright.sheets.drawing import Area, Arrow, Item, Polyline, Text
from slabwright.sheets.scene import middle
from slabwright.sheets.window import Window
from slabwright.slab.drainage.model import Drainage, Pond

XY = tuple[float, float]

ARROW_MM = 8.0
APART = 0.06  # of the window's longer side: arrows on the ground stand no nearer than this


def water_items(water: Drainage, view: Window, *, system: System) -> Iterator[Item]:
    """Yield what the window shows: fall on slabs and ground, ponds with their depth, roof water's way."""
    for start, way in water.arrows:
        if view.holds(start):
            yield Arrow("water", start, (start[0] + way[0], start[1] + way[1]), length=ARROW_MM, style="edge")
    for start, way in _thinned(water.yard_arrows, view):
        yield Arrow("water", start, (start[0] + way[0], start[1] + way[1]), length=ARROW_MM)
    for pond in water.ponds:
        yield from _pond(pond, view, system)
    for roof in water.roofs:
        for n, part in enumerate(view.line(roof.path) if len(roof.path) > 1 else ()):
            yield Polyline("water", part)
            if n == 0:
                yield Text("notes", part[0], roof.downspout, mode="beside", weight=600)


def _pond(pond: Pond, view: Window, system: System) -> Iterator[Item]:
    if len(pond.ring) < 3 or not view.holds(pond.at):
        return
    for ring in view.ring(pond.ring):
        yield Area("water", (ring,), fill="water", tint=0.25, hatch="water", outline="edge")
    text = write(Quantity("inches", pond.depth), system=system)
    yield Text("notes", middle(pond.ring), text, mode="beside", weight=600, rank=2)


def _thinned(arrows: Sequence[tuple[XY, XY]], view: Window) -> Iterator[tuple[XY, XY]]:
    """Yield arrows in the window that stand clear of each other, the first of each neighbourhood."""
    apart = APART * max(view.right - view.left, view.high - view.low)
    taken: set[tuple[int, int]] = set()
    for start, way in arrows:
        if not view.holds(start) or math.hypot(*way) == 0.0:
            continue
        cell = (math.floor(start[0] / apart), math.floor(start[1] / apart))
        if cell not in taken:
            taken.add(cell)
            yield start, way
