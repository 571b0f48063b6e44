"""The plain rectangle: every grid of even panels is weighed, so the lightest is best beyond doubt.

Full lines across a rectangle divide it into rows and columns; their weight depends only on how many
there are, and even ones hold every rule if any of that many do. So counting is proof.
"""

from __future__ import annotations

from math import ceil

from slabwright.slab.joints.lines import Line, Lines
from slabwright.slab.joints.rules import RATIO_SLACK, SPACING_SLACK, rules
from slabwright.slab.model import Outline

SQUARE = 0.0005  # [m] how far a side may run off a main direction and the slab still be a rectangle


def rectangle(lines: Lines, outline: Outline) -> tuple[float, float, float, float] | None:
    """Return (u0, u1, v0, v1) [m] in the frame when the outline is a rectangle without openings."""
    if outline.holes or any(e.radius is not None for e in outline.edges):
        return None
    uv = [lines.frame.uv(xy) for xy in outline.ring]
    u0, u1 = min(u for u, _ in uv), max(u for u, _ in uv)
    v0, v1 = min(v for _, v in uv), max(v for _, v in uv)
    on_side = all(min(u - u0, u1 - u, v - v0, v1 - v) < SQUARE for u, v in uv)
    full = (u1 - u0) * (v1 - v0) - outline.area <= SQUARE * outline.perimeter
    return (u0, u1, v0, v1) if on_side and full else None


def best_counts(wide: float, high: float, most: float, thin: float | None) -> tuple[int, int]:
    """Return how many panels along u and along v weigh least and keep the rules.

    wide, high: sides [m]. most: spacing [m]. thin: most that a panel may be longer than wide [-], None
    when it is not asked for.
    """
    first = [max(1, ceil(side / (most + SPACING_SLACK))) for side in (wide, high)]
    best: tuple[float, int, int] | None = None
    m = first[0]
    while best is None or (m - 1) * (high + rules().cost_joint) < best[0] - 1e-12:
        n = first[1]
        while True:
            cost = (m - 1) * (high + rules().cost_joint) + (n - 1) * (wide + rules().cost_joint)
            if best is not None and cost >= best[0] - 1e-12:
                break
            a, b = wide / m, high / n
            if thin is None or max(a, b) <= (thin + RATIO_SLACK) * min(a, b):
                best = (cost, m, n)
                break
            if b < a:  # more rows only make the panels thinner
                break
            n += 1
        m += 1
    return best[1], best[2]


def grid_lines(
    lines: Lines, sides: tuple[float, float, float, float], most: float, thin: float | None
) -> list[Line]:
    """Return the joints of the lightest grid of a rectangle (u0, u1, v0, v1) [m]."""
    u0, u1, v0, v1 = sides
    counts = best_counts(u1 - u0, v1 - v0, most, thin)
    out: list[Line] = []
    for family, (lo, hi), n in ((0, (u0, u1), counts[0]), (1, (v0, v1), counts[1])):
        fewest = max(1, ceil((hi - lo) / (most + SPACING_SLACK)))
        why = "spacing" if n == fewest else "aspect"
        for k in range(1, n):
            out += [lines.found[i] for i in lines.across(family, lo + (hi - lo) * k / n, why)]
    return out
