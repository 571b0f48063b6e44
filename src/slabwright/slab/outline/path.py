"""From named corners to a chain of edges: arcs, rounded corners, doubled points dropped."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from slabwright.findings import Finding, find
from slabwright.measure import Quantity
from slabwright.notes.models import Vertex
from slabwright.slab.model import XY, Edge
from slabwright.slab.outline import curves

DOUBLED = 0.006  # corners within a quarter of an inch are one corner: no form board is that short


class OutlineError(ValueError):
    """The corners as written give no shape; the text says which corners and what would do."""


def place(points: Mapping[str, XY], name: str, slab: str) -> XY:
    """Return the place [m] of a named point; OutlineError when it was never placed."""
    try:
        x, y = points[name]
    except KeyError:
        raise OutlineError(
            f"{slab}: {name} has no place. Tie it with two tape pulls or a square-off."
        ) from None
    return (float(x), float(y))


def chain(
    vertices: Sequence[Vertex], points: Mapping[str, XY], *, closed: bool, slab: str, line: int | None
) -> tuple[list[Edge], list[Finding]]:
    """Return the edges through the vertices in order, and what was noticed.

    points: name -> (x, y) [m]. `closed` joins the last corner to the first. Corners that lie on the
    one before are dropped with a finding. Raises OutlineError when an arc cannot be, or when fewer
    than two corners (three when closed, unless an arc makes up for it) are left.
    """
    found: list[Finding] = []
    kept = _without_doubles(vertices, points, closed=closed, slab=slab, line=line, found=found)
    arcs = any(v.arc_through or v.arc_radius for v, _ in kept)
    least = 3 if closed and not arcs else 2
    if len(kept) < least:
        names = ", ".join(v.point for v in vertices)
        raise OutlineError(f"{slab}: {names} leave fewer than {least} different corners.")
    edges = [_edge_to(kept[k - 1], kept[k], points, slab) for k in range(0 if closed else 1, len(kept))]
    if closed:  # the edge that ends at the first corner is the last one of the ring
        edges = edges[1:] + edges[:1]
    found += _round_corners(edges, kept, closed=closed, slab=slab, line=line)
    return edges, found


def _without_doubles(
    vertices: Sequence[Vertex],
    points: Mapping[str, XY],
    *,
    closed: bool,
    slab: str,
    line: int | None,
    found: list[Finding],
) -> list[tuple[Vertex, XY]]:
    kept: list[tuple[Vertex, XY]] = []
    for v in vertices:
        xy = place(points, v.point, slab)
        if kept and curves.dist(kept[-1][1], xy) < DOUBLED:
            found.append(
                find("slab", "doubled-corner", where=slab, line=line, first=kept[-1][0].point, second=v.point)
            )
            continue
        kept.append((v, xy))
    if closed and len(kept) > 1 and curves.dist(kept[0][1], kept[-1][1]) < DOUBLED:
        last = kept.pop()[0]
        # repeating the first corner to close the ring is a habit, not a slip; its arc note still counts
        first = kept[0][0]
        kept[0] = (
            first.model_copy(
                update={
                    "arc_through": first.arc_through or last.arc_through,
                    "arc_radius": first.arc_radius or last.arc_radius,
                    "arc_turn": first.arc_turn or last.arc_turn,
                }
            ),
            kept[0][1],
        )
        if last.point != first.point:
            found.append(
                find("slab", "doubled-corner", where=slab, line=line, first=first.point, second=last.point)
            )
    return kept


def _edge_to(a: tuple[Vertex, XY], b: tuple[Vertex, XY], points: Mapping[str, XY], slab: str) -> Edge:
    """Return the edge that ends at b: straight, through a point, or of a radius."""
    v, p, q = b[0], a[1], b[1]
    names = (a[0].point, v.point)
    if v.arc_through is not None:
        m = place(points, v.arc_through, slab)
        if min(curves.dist(m, p), curves.dist(m, q)) < DOUBLED:
            raise OutlineError(
                f"{slab}: the arc from {names[0]} to {names[1]} goes through {v.arc_through}, "
                f"which is one of its ends. Name a point near its middle."
            )
        return curves.edge(p, q, curves.bulge_through(p, m, q), names=names)
    if v.arc_radius is not None:
        try:
            bulge = curves.bulge_radius(p, q, v.arc_radius, v.arc_turn != "right")
        except ValueError:
            half = curves.dist(p, q) / 2
            raise OutlineError(
                f"{slab}: an arc of radius {v.arc_radius:.3f} m cannot reach from {names[0]} to {names[1]}; "
                f"it needs at least half their distance, {half:.3f} m."
            ) from None
        return curves.edge(p, q, bulge, names=names)
    return curves.edge(p, q, names=names)


def _round_corners(
    edges: list[Edge], kept: list[tuple[Vertex, XY]], *, closed: bool, slab: str, line: int | None
) -> list[Finding]:
    """Put the fillets into `edges` (changed in place); a radius that does not fit is a finding."""
    found: list[Finding] = []
    for k, (v, xy) in enumerate(kept):
        if not v.round or (not closed and k in (0, len(kept) - 1)):
            continue
        after = next((i for i, e in enumerate(edges) if e.names[0] == v.point and e.p == xy), None)
        if after is None:
            continue
        before = after - 1
        made = curves.fillet(edges[before], edges[after], v.round)
        if made is None:
            found.append(
                find(
                    "slab",
                    "round-does-not-fit",
                    where=slab,
                    line=line,
                    corner=v.point,
                    radius=Quantity("length", v.round),
                )
            )
            continue
        first, arc, last = made
        edges[before], edges[after] = first, last
        edges.insert(after, arc)
    return found
