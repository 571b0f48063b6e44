"""The shape of one slab: from corners or a walk's line to sides with true arcs, openings and contacts.

Rings and ribbons; arcs by a point or a radius; rounded corners; what walls and existing slabs cover is
cut away; each side says whether it is free (needs a form) or lies against a wall or a slab.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import pi

from slabwright.findings import Finding, find
from slabwright.ground.model import Ground
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity
from slabwright.notes.models import Opening
from slabwright.notes.spec import SlabSpec
from slabwright.slab.model import XY, Edge, Hole, Outline
from slabwright.slab.outline import check, contact, curves
from slabwright.slab.outline import cut as cutting
from slabwright.slab.outline.path import OutlineError, chain, place
from slabwright.slab.outline.ribbon import ribbon

__all__ = ["OutlineError", "meet_slabs", "outline"]

MUCH = 0.1  # of a slab as written: more than this cut away is hardly meant (our own choice)
MEETS_REACH = 0.1524  # an end written as meeting a slab is run on to it over 6 in at most


def outline(spec: SlabSpec, points: Mapping[str, XY], ground: Ground) -> tuple[Outline, tuple[Finding, ...]]:
    """Return the slab's shape and what was noticed about it.

    spec: corners (a ring) or along + width [m] (a ribbon). points: name -> (x, y) [m]. ground: walls,
    the house's ring and existing slabs [m]. The ring runs counter-clockwise; `area` [m2] counts true
    arcs less openings; `perimeter` [m] is the outer one. Raises OutlineError when the notes give no
    shape at all. Source: plane geometry.
    """
    lines = _lines(ground)
    found: list[Finding] = []
    axis: list[Edge] = []
    if spec.along:
        edges, axis, found = _ribbon(spec, points, ground, lines)
    else:
        edges, found = chain(spec.corners, points, closed=True, slab=spec.name, line=spec.line)
        edges, more = check.uncrossed(edges, spec.name, spec.line)
        found += more
    check.area_or_refuse(edges, spec.name)
    edges = ccw(edges)
    edges, holes, taken, more = _cut_away(edges, spec, points, ground)
    found += more
    sides = contact.label(edges, lines)
    against = sum(curves.length(e) for e in sides if e.kind != "free")
    if taken > max(cutting.OVERLAP, contact.TOUCH * against):  # less than an inch deep is the tape's doing
        found.append(_taken(taken, curves.ring_area(sides), spec))
    area = curves.ring_area(sides) - sum(hole_area(h) for h in holes)
    found += check.slivers(sides, area, spec.name, spec.line)
    made = Outline(
        name=spec.name,
        ring=tuple(curves.flatten_all(sides)),
        edges=tuple(sides),
        holes=tuple(holes),
        axis=(*(xy for e in axis for xy in curves.flatten(e)), axis[-1].q) if axis else (),
        width=spec.width if spec.along else None,
        area=area,
        perimeter=sum(curves.length(e) for e in sides),
        axis_edges=tuple(axis),
    )
    found += _not_met(made, spec, ground)
    return made, tuple(found)


def _taken(taken: float, left: float, spec: SlabSpec) -> Finding:
    """Return what is said of an area [m2] that was cut away, with the area left: a lot of it is a slip."""
    share, area = taken / (taken + left), Quantity("area", taken)
    if share < MUCH:
        return find("slab", "cut-away", where=spec.name, line=spec.line, area=area)
    part = Quantity("percent", share)
    return find("slab", "cut-away-much", where=spec.name, line=spec.line, area=area, share=part)


def ccw(edges: list[Edge]) -> list[Edge]:
    """Return the closed chain counter-clockwise, still starting at its first corner."""
    return edges if curves.ring_area(edges) > 0 else [curves.back(e) for e in reversed(edges)]


def hole_area(hole: Hole) -> float:
    """Return the area [m2] of an opening, a round one by its true circle."""
    if hole.radius is not None:
        return pi * hole.radius * hole.radius
    return float(shapely.Polygon(hole.ring).area)


def _lines(ground: Ground) -> list[contact.Against]:
    """Return what sides may lie against: existing slabs first, for they bear on heights, then walls."""
    lines = [
        a for s in ground.existing for a in contact.runs_of("existing", s.name, _edge_line(s.ring, s.edge))
    ]
    return lines + [a for w in ground.walls for a in contact.runs_of("wall", w.name, (w.p, w.q))]


def _edge_line(ring: Sequence[XY], edge: Sequence[XY]) -> Sequence[XY]:
    """Return a slab's closed ring, or its one known edge."""
    return (*ring, ring[0]) if ring else edge


def _ribbon(
    spec: SlabSpec, points: Mapping[str, XY], ground: Ground, lines: list[contact.Against]
) -> tuple[list[Edge], list[Edge], list[Finding]]:
    if spec.width is None or spec.width <= 0.0:
        raise OutlineError(f"{spec.name}: a walk along a line needs a width, such as width: 3'.")
    axis, found = chain(spec.along, points, closed=False, slab=spec.name, line=spec.line)
    stops = (
        _stop(axis[0], False, spec, ground, lines),
        _stop(axis[-1], True, spec, ground, lines),
    )
    edges, axis = ribbon(axis, spec.width, spec.side, stops, spec.name)
    if check.crossing_pair(edges) is not None:
        names = ", ".join(v.point for v in spec.along)
        raise OutlineError(
            f"{spec.name}: along {names} the walk runs over itself. Make its bends wider or split it in two."
        )
    return edges, axis, found


def _stop(e: Edge, at_end: bool, spec: SlabSpec, ground: Ground, lines: list[contact.Against]) -> Edge | None:
    """Return the straight line that this end of a ribbon lies on, or None for a square end."""
    xy = e.q if at_end else e.p
    named = {m.existing for m in spec.meets if m.existing}
    ux, uy = curves.heading(e, 1.0 if at_end else 0.0)
    inside = {
        s.name for s in ground.existing if s.ring and shapely.Polygon(s.ring).contains(shapely.Point(xy))
    }
    best: tuple[float, Edge] | None = None
    for a in lines:
        line = curves.edge(a.p, a.q)
        t = min(1.0, max(0.0, curves.share_at(line, xy)))
        gap = curves.dist(curves.point_at(line, t), xy)
        reach = MEETS_REACH if a.name in named else contact.TOUCH
        if a.name in inside:  # run into it: back to where the line crosses its edge
            hits = [
                h
                for h in curves.crossings(e, line)
                if -1e-9 <= curves.share_at(line, h) <= 1 + 1e-9 and 0 <= curves.share_at(e, h) <= 1
            ]
            if not hits:
                continue
        elif gap > reach:
            continue
        vx, vy = curves.heading(line, 0.5)
        square = abs(ux * vy - uy * vx)
        if best is None or square > best[0]:  # at a slab's corner, the edge most square to the walk
            best = (square, line)
    return None if best is None else best[1]


def _cut_away(
    edges: list[Edge], spec: SlabSpec, points: Mapping[str, XY], ground: Ground
) -> tuple[list[Edge], list[Hole], float, list[Finding]]:
    """Cut off what walls, slabs and openings at the edge cover; return openings inside and area cut [m2]."""
    found: list[Finding] = []
    names, cutters = [], []
    for s in ground.existing:
        if len(s.ring) >= 3:
            names.append(s.name)
            cutters.append(ccw(_straight_ring(s.ring)))
    if len(ground.house_ring) >= 3:
        names.append("house")
        cutters.append(ccw(_straight_ring(ground.house_ring)))
    openings = [(o, _opening_edges(o, points, spec.name)) for o in spec.openings]
    body = cutting.fine_polygon(edges)
    inner: list[tuple[Opening, list[Edge]]] = []
    for o, ring in openings:
        shape = cutting.fine_polygon(ring)
        if body.contains(shape):
            inner.append((o, ring))
        elif body.intersection(shape).area > cutting.OVERLAP:
            names.append(o.name)
            cutters.append(ring)
        else:
            found.append(find("slab", "opening-outside", where=spec.name, line=spec.line, name=o.name))
    made = cutting.cut(edges, cutters)
    if not ground.house_ring and len(ground.walls) >= 1 and made.edges:
        line = [ground.walls[0].p, *(w.q for w in ground.walls)]
        by_wall = cutting.cut_by_line(made.edges, line)
        made = replace(
            by_wall,
            holes=made.holes,
            taken=made.taken + by_wall.taken,
            pieces=max(made.pieces, by_wall.pieces),
        )
    if not made.edges:
        raise OutlineError(f"{spec.name}: it lies wholly on what is already there ({', '.join(names)}).")
    if made.pieces > 1:
        found.append(find("slab", "cut-in-pieces", where=spec.name, line=spec.line, pieces=made.pieces))
    holes = [_hole(names[k], "existing", ring) for k, ring in made.holes]
    left = cutting.fine_polygon(made.edges)
    for o, ring in inner:
        if left.contains(cutting.fine_polygon(ring)):
            holes.append(_hole(o.name, o.kind, ring))
        else:
            found.append(find("slab", "opening-outside", where=spec.name, line=spec.line, name=o.name))
    return made.edges, _apart(holes, spec, found), made.taken, found


def _apart(holes: list[Hole], spec: SlabSpec, found: list[Finding]) -> list[Hole]:
    """Return the openings without those that overlap a larger one, each left out with a finding."""
    out: list[Hole] = []
    for h in sorted(holes, key=hole_area, reverse=True):
        shape = shapely.Polygon(h.ring)
        over = next((o for o in out if shape.intersects(shapely.Polygon(o.ring))), None)
        if over is None:
            out.append(h)
        else:
            found.append(
                find("slab", "openings-overlap", where=spec.name, line=spec.line, one=over.name, other=h.name)
            )
    return [h for h in holes if h in out]


def _straight_ring(ring: Sequence[XY]) -> list[Edge]:
    return [curves.edge(a, b) for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)]


def _opening_edges(o: Opening, points: Mapping[str, XY], slab: str) -> list[Edge]:
    """Return an opening's counter-clockwise ring: two half circles, or straight sides."""
    if o.corners:
        ring = [place(points, n, slab) for n in o.corners]
        if len(ring) < 3:
            raise OutlineError(f"{slab}: the opening {o.name} needs three corners or more, or at and across.")
        return ccw(_straight_ring(ring))
    if o.at is None or not o.across:
        raise OutlineError(f"{slab}: the opening {o.name} needs corners, or at and across.")
    x, y = place(points, o.at, slab)
    r = o.across / 2
    return [curves.edge((x + r, y), (x - r, y), 1.0), curves.edge((x - r, y), (x + r, y), 1.0)]


def _hole(name: str, kind: str, ring: list[Edge]) -> Hole:
    """Return the record of an opening, its ring flattened and clockwise."""
    xy = curves.flatten_all(ring)
    if curves.ring_area(ring) > 0:
        xy.reverse()
    radii = {round(e.radius, 9) if e.radius else None for e in ring}
    centres = {e.centre for e in ring}
    whole = (
        len(radii) == 1
        and len(ring) == 2
        and len({(round(c[0], 6), round(c[1], 6)) for c in centres if c}) == 1
    )
    return Hole(name, kind, tuple(xy), next(iter(radii)) if whole else None)


def _not_met(made: Outline, spec: SlabSpec, ground: Ground) -> list[Finding]:
    """Return a finding for each existing slab that was to be met and is not touched."""
    found = []
    body = shapely.Polygon(made.ring)
    touched = {e.against for e in made.edges} | {h.name for h in made.holes}
    by_name = {s.name: s for s in ground.existing}
    for m in spec.meets:
        s = by_name.get(m.existing or "")
        if s is None or s.name in touched:
            continue
        line = _edge_line(s.ring, s.edge)
        there = shapely.LineString(line) if len(line) > 1 else shapely.Point(line[0])
        gap = float(body.distance(there))
        code = "does-not-meet" if gap > contact.TOUCH else "meets-at-a-point"
        found.append(
            find("slab", code, where=spec.name, line=spec.line, name=s.name, gap=Quantity("length", gap))
        )
    return found


def meet_slabs(outlines: Sequence[Outline]) -> tuple[Outline, ...]:
    """Return the outlines with sides that lie against another new slab labelled `slab`, split as needed."""
    out = []
    for k, o in enumerate(outlines):
        lines = [
            a
            for j, other in enumerate(outlines)
            if j != k
            for a in contact.runs_of("slab", other.name, (*other.ring, other.ring[0]))
        ]
        sides: list[Edge] = []
        for e in o.edges:
            sides += contact.label([e], lines) if e.kind == "free" else [e]
        out.append(replace(o, edges=tuple(sides), ring=tuple(curves.flatten_all(sides))))
    return tuple(out)
