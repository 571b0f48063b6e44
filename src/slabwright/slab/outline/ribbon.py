"""A ribbon: a constant width along a line of straight runs and arcs.

Bends are mitred (the two parallels are run on until they meet); curves keep their radius, less or
plus the offset. An end that meets an existing edge or a wall at a slant ends ON that line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import degrees, tan

from slabwright.slab.model import XY, Edge
from slabwright.slab.outline import curves
from slabwright.slab.outline.path import OutlineError

SLANT_LEAST = 0.26  # sine of 15 deg: an end that runs nearly along an edge is not cut to it


def offsets(width: float, side: str) -> tuple[float, float]:
    """Return how far the left and the right side lie to the left of the line [m] (right: negative)."""
    return {"centre": (width / 2, -width / 2), "left": (width, 0.0), "right": (0.0, -width)}[side]


def parallel(axis: Sequence[Edge], d: float, slab: str) -> list[Edge]:
    """Return the chain at d [m] to the left of the axis, one edge per axis edge (bevels added).

    Raises OutlineError naming the run that has no room for the width.
    """
    side: list[Edge] = []
    for e in axis:
        o = e if d == 0.0 else curves.offset(e, d)
        if o is None:
            raise OutlineError(
                f"{slab}: the curve from {e.names[0] or 'a rounded bend'} to {e.names[1] or 'the next run'} "
                f"has a radius of {e.radius or 0.0:.3f} m, too tight for this width."
            )
        side.append(o)
    k = 0
    while k < len(side) - 1:
        k += _join(side, k, slab)
    for e, o in zip(axis, [s for s in side if s.names != ("bevel", "bevel")], strict=True):
        h0, h1 = curves.heading(e, 0.5), curves.heading(o, 0.5)
        if h0[0] * h1[0] + h0[1] * h1[1] <= 0.0:
            raise OutlineError(
                f"{slab}: the run from {e.names[0] or 'a bend'} to {e.names[1] or 'a bend'} is too short "
                f"for its bends at this width."
            )
    # points of the axis keep their names only on the line itself
    return [s if d == 0.0 else replace(s, names=(None, None)) for s in side]


def _join(side: list[Edge], k: int, slab: str) -> int:
    """Bring the ends of side[k] and side[k + 1] together; return how many edges to step on."""
    a, b = side[k], side[k + 1]
    if curves.dist(a.q, b.p) < curves.SAME_PLACE:
        side[k + 1] = replace(b, p=a.q)
        return 1
    at = curves.nearest(curves.crossings(a, b), a.q)
    reach = 4 * curves.dist(a.q, b.p) + curves.SAME_PLACE
    if at is None or curves.dist(at, a.q) > reach:
        # no common point near (an arc against a slanted run, or a hairpin): a straight bevel
        side.insert(k + 1, curves.edge(a.q, b.p, names=("bevel", "bevel")))
        return 2
    side[k], side[k + 1] = trimmed(a, end=at, slab=slab), trimmed(b, start=at, slab=slab)
    return 1


def trimmed(e: Edge, *, start: XY | None = None, end: XY | None = None, slab: str) -> Edge:
    """Return the edge shortened or run on along its own line or circle to new ends [m]."""
    p, q = start or e.p, end or e.q
    if e.centre is None:
        if curves.dist(p, q) < curves.SAME_PLACE:
            raise OutlineError(f"{slab}: a run between two bends has no length left at this width.")
        return replace(e, p=p, q=q)
    t0 = curves.share_at(e, p) if start else 0.0
    t1 = curves.share_at(e, q) if end else 1.0
    sweep = curves.turn(e) * (t1 - t0)
    if t1 - t0 < 1e-9 or abs(degrees(sweep)) > 355.0:
        raise OutlineError(f"{slab}: a curve between two bends has no length left at this width.")
    return replace(e, p=p, q=q, bulge=tan(sweep / 4))


def ribbon(
    axis: Sequence[Edge],
    width: float,
    side: str,
    stops: tuple[Edge | None, Edge | None],
    slab: str,
) -> tuple[list[Edge], list[Edge]]:
    """Return the ribbon's closed chain (counter-clockwise) and its axis trimmed to its ends.

    axis: edges from the first named point to the last. width [m]. `stops`: a straight edge (an
    existing slab's or a wall's) that the start and the finish lie on, else None for a square end.
    """
    to_left, to_right = offsets(width, side)
    left = parallel(axis, to_left, slab)
    right = parallel(axis, to_right, slab)
    line = list(axis)
    for which, stop in enumerate(stops):
        if stop is None:
            continue
        for path in (left, right, line):
            _stop_at(path, stop, at_end=which == 1, width=width, slab=slab)
    ring = [*right, curves.edge(right[-1].q, left[-1].q)]
    ring += [curves.back(e) for e in reversed(left)]
    ring.append(curves.edge(left[0].p, right[0].p))
    names = (axis[0].names[0], axis[-1].names[1])
    line[0] = replace(line[0], names=(names[0], line[0].names[1]))
    line[-1] = replace(line[-1], names=(line[-1].names[0], names[1]))
    return ring, line


def _stop_at(path: list[Edge], stop: Edge, *, at_end: bool, width: float, slab: str) -> None:
    """Run the path's last (first) edge on, or cut it back, to the line of `stop`."""
    e = path[-1] if at_end else path[0]
    ux, uy = curves.heading(e, 1.0 if at_end else 0.0)
    vx, vy = curves.heading(stop, 0.5)
    if abs(ux * vy - uy * vx) < SLANT_LEAST:
        return
    near = e.q if at_end else e.p
    at = curves.nearest(curves.crossings(e, stop), near)
    if at is None or curves.dist(at, near) > 4 * width:
        return
    path[-1 if at_end else 0] = trimmed(e, end=at, slab=slab) if at_end else trimmed(e, start=at, slab=slab)
