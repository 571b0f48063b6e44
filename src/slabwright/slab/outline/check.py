"""Shapes that cannot be built as written: self-crossing, slivers, no area. Mended or refused by name."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import acos, degrees, pi

from slabwright.findings import Finding, find
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity
from slabwright.notes.spec import SlabSpec
from slabwright.slab.model import Edge, Outline
from slabwright.slab.outline import curves
from slabwright.slab.outline.path import OutlineError

AREA_LEAST = 0.02  # [m2] less than a stepping stone is a slip of the pencil, not a slab
OVERLAP_LEAST = 0.0254  # [m] how wide an overlap of two new slabs must be to count
SLIVER_WIDTH = 0.0762  # [m] a slab whose mean width is under 3 in
SLIVER_CORNER = 12.0  # [deg] a corner that no one can place, tool or keep from breaking off


def run_name(e: Edge) -> str:
    """Return 'P1 to P2' for a side, a question mark where a corner has no name."""
    return f"{e.names[0] or '?'} to {e.names[1] or '?'}"


def crossing_pair(edges: Sequence[Edge]) -> tuple[int, int] | None:
    """Return two sides of a closed chain that cross or touch away from their shared corner, or None."""
    ring = curves.flatten_all(list(edges))
    if len(ring) >= 3 and shapely.Polygon(ring).is_valid:
        return None
    lines = [shapely.LineString([*curves.flatten(e), e.q]) for e in edges]
    for i, j in combinations(range(len(edges)), 2):
        shared = [e for e in (edges[i].p, edges[i].q) if e in (edges[j].p, edges[j].q)]
        hit = lines[i].intersection(lines[j])
        if hit.is_empty:
            continue
        if hit.length > curves.SAME_PLACE:
            return i, j
        spots = [g.coords[0] for g in getattr(hit, "geoms", [hit]) if g.length == 0]
        if any(min((curves.dist(s, c) for c in shared), default=1.0) > curves.SAME_PLACE for s in spots):
            return i, j
    return (0, 0)  # invalid for another reason, such as a spike


def uncrossed(edges: list[Edge], slab: str, line: int | None) -> tuple[list[Edge], list[Finding]]:
    """Return a ring whose sides do not cross: straight-sided rings are taken in a better order.

    The order found is a proposal and carries a stop finding; arcs that cross raise OutlineError.
    """
    found: list[Finding] = []
    pair = crossing_pair(edges)
    if pair is None:
        return edges, found
    crossing = (run_name(edges[pair[0]]), run_name(edges[pair[1]]))
    if any(e.radius is not None for e in edges):
        raise OutlineError(
            f"{slab}: the side {crossing[0]} crosses {crossing[1]}. Check the arc's radius or turn."
        )
    corners = [(e.p, e.names[0]) for e in edges]
    for _ in range(len(corners) ** 2):
        i, j = pair
        if i == j:
            break
        # two crossing sides come apart when the corners between them are run the other way
        corners[i + 1 : j + 1] = reversed(corners[i + 1 : j + 1])
        edges = [
            curves.edge(p, q, names=(n, m))
            for (p, n), (q, m) in zip(corners, [*corners[1:], corners[0]], strict=True)
        ]
        again = crossing_pair(edges)
        if again is None:
            order = ", ".join(n or "?" for _, n in corners)
            found.append(
                find(
                    "slab",
                    "self-crossing",
                    where=slab,
                    line=line,
                    one=crossing[0],
                    other=crossing[1],
                    order=order,
                )
            )
            return edges, found
        pair = again
    names = ", ".join(n or "?" for _, n in corners)
    raise OutlineError(
        f"{slab}: the sides through {names} cross or double back. Write the corners in walking order."
    )


def area_or_refuse(edges: Sequence[Edge], slab: str) -> None:
    """Raise OutlineError when the ring has no area worth the name."""
    if abs(curves.ring_area(list(edges))) < AREA_LEAST:
        names = ", ".join(e.names[0] for e in edges if e.names[0]) or "the corners"
        raise OutlineError(
            f"{slab}: {names} lie on one line, so the slab has no area. Add a corner or a width."
        )


def slivers(edges: Sequence[Edge], area: float, slab: str, line: int | None) -> list[Finding]:
    """Return findings for a ring that is too thin and for corners too sharp to place concrete in."""
    found = []
    width = 2 * area / sum(curves.length(e) for e in edges)
    if width < SLIVER_WIDTH:
        names = ", ".join(e.names[0] for e in edges if e.names[0])
        found.append(
            find("slab", "sliver", where=slab, line=line, corners=names, width=Quantity("length", width))
        )
    for before, after in zip((edges[-1], *edges[:-1]), edges, strict=True):
        angle = corner_angle(before, after)
        if degrees(angle) < SLIVER_CORNER:
            found.append(
                find(
                    "slab",
                    "sharp-corner",
                    where=slab,
                    line=line,
                    corner=after.names[0] or f"{run_name(before)} and {run_name(after)}",
                    angle=Quantity("angle", angle),
                )
            )
    return found


def corner_angle(before: Edge, after: Edge) -> float:
    """Return the angle [rad] inside a counter-clockwise ring where one side ends and the next begins."""
    (ax, ay), (bx, by) = curves.heading(before, 1.0), curves.heading(after, 0.0)
    swing = acos(max(-1.0, min(1.0, ax * bx + ay * by)))
    return pi - swing if ax * by - ay * bx >= 0 else pi + swing


def overlapping(specs: Sequence[SlabSpec], outlines: Sequence[Outline]) -> list[Finding]:
    """Return a stop finding for every two new slabs that take up the same place.

    A strip up to an inch wide is what a tape leaves between slabs meant to touch, and is not counted.
    """
    found = []
    bodies = [shapely.Polygon(o.ring, [h.ring for h in o.holes]) for o in outlines]
    for i, j in combinations(range(len(outlines)), 2):
        both = shapely.intersection(bodies[i], bodies[j])
        if both.area < AREA_LEAST or shapely.buffer(both, -OVERLAP_LEAST / 2).is_empty:
            continue
        found.append(
            find(
                "slab",
                "slabs-overlap",
                where=f"{specs[i].name}, {specs[j].name}",
                line=specs[j].line,
                one=specs[i].name,
                other=specs[j].name,
                area=Quantity("area", float(both.area)),
            )
        )
    return found
