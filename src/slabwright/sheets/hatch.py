"""Hatches as plain lines, clipped to their area, so that every file and every copier shows the same."""

from __future__ import annotations

import math

from slabwright.sheets.drawing import Point
from slabwright.sheets.styles import HatchLines

# A hatch of more lines than this is a grey smear on paper and a slow file; it is thinned instead.
MOST_LINES = 1500


def hatch_lines(rings: tuple[tuple[Point, ...], ...], family: HatchLines) -> list[tuple[Point, Point]]:
    """Return the lines [mm] of one family inside rings (even-odd) [mm, y down].

    The lines hang on the sheet's own origin, so neighbouring areas match. Dashes are not cut here.
    """
    turn = math.radians(family.angle)
    c, s = math.cos(turn), -math.sin(turn)
    # In the turned frame the hatch lines are level: v is constant along each.
    turned = [[(x * c + y * s, y * c - x * s) for x, y in ring] for ring in rings if len(ring) > 2]
    heights = [v for ring in turned for _, v in ring]
    if not heights:
        return []
    step = family.spacing
    low, high = min(heights), max(heights)
    step *= max(1, math.ceil((high - low) / step / MOST_LINES))
    edges = [
        (a, b) if a[1] < b[1] else (b, a)
        for ring in turned
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
        if a[1] != b[1]
    ]
    found: list[tuple[Point, Point]] = []
    for n in range(math.ceil((low - family.phase) / step), math.floor((high - family.phase) / step) + 1):
        v = n * step + family.phase
        hits = sorted(a[0] + (v - a[1]) * (b[0] - a[0]) / (b[1] - a[1]) for a, b in edges if a[1] <= v < b[1])
        for u, w in zip(hits[::2], hits[1::2], strict=True):
            if w - u > 1e-6:
                found.append(((u * c - v * s, u * s + v * c), (w * c - v * s, w * s + v * c)))
    return found
