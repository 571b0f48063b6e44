"""Pipes that pass under a new slab: what to sleeve, lower or take round, and where a line must cross."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Literal

from slabwright.build.kit import clear_width
from slabwright.build.model_yard import PipeCrossing, SprinklerHead
from slabwright.build.tables import rule
from slabwright.findings import Finding, find
from slabwright.ground.model import XY, BuriedLine, Ground
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity
from slabwright.notes.models import Buried, Notes
from slabwright.slab.model import Shaped, Slab

WET = frozenset(("sprinkler", "water", "reclaimed"))
SHORT = 0.05  # [m] a pipe that only touches the edge does not cross
WHEELS = frozenset(("driveway", "apron"))


def crossings(
    shaped: Shaped, ground: Ground, notes: Notes, heads: Sequence[SprinklerHead]
) -> tuple[tuple[PipeCrossing, ...], list[Finding]]:
    """Return every place where water passes under a slab, with what to do, and the findings on it.

    heads: as they will stand; a line with heads on both sides of a slab and no known pipe gets a place
    to cross. Gas, wires and sewers are cautions of their own (`build.cautions`). Sources sleeve-bore,
    sleeve-past.
    """
    made: list[PipeCrossing] = []
    found: list[Finding] = []
    written = {(row.name or row.kind): row for row in notes.buried}
    for slab in shaped.slabs:
        polygon = shapely.polygons(slab.outline.ring)
        here = [
            _crossing(slab, line, p, q, written.get(line.name), notes)
            for line in ground.buried
            if line.kind in WET
            for p, q in _under(line, polygon)
        ]
        kinds = {line.name: line.kind for line in ground.buried}
        if not any(kinds.get(c.name) == "sprinkler" for c in here):
            here += list(_needed(slab, polygon, heads, notes))
        found += [_say(slab, crossing) for crossing in here]
        made += here
    return tuple(made), found


def _under(line: BuriedLine, polygon: Any) -> Iterator[tuple[XY, XY]]:
    """Yield the ends of each stretch of a line under a slab."""
    inside = shapely.intersection(shapely.linestrings(line.line), polygon)
    for part in shapely.get_parts(inside):
        if part.geom_type == "LineString" and part.length > SHORT:
            p, q = part.coords[0], part.coords[-1]
            yield (float(p[0]), float(p[1])), (float(q[0]), float(q[1]))


def _pipe(line: str, row: Buried | None, notes: Notes) -> float:
    """Return a pipe's size [m]: as written on it or on its line of heads, else the table's."""
    sizes: Mapping[str, float | None] = {one.line: one.pipe for one in notes.sprinkler_lines}
    written = (row.pipe if row else None) or sizes.get(line)
    return written or rule("yard", "pipe", notes.units)


def _wanted(slab: Slab, kind: str, notes: Notes) -> float:
    """Return how deep a pipe should lie under this slab [m]."""
    key = "wheels_deep" if slab.spec.use in WHEELS else "main_deep" if kind == "water" else "lateral_deep"
    return rule("yard", key, notes.units)


def _crossing(slab: Slab, line: BuriedLine, p: XY, q: XY, row: Buried | None, notes: Notes) -> PipeCrossing:
    run = math.dist(p, q)
    hole = slab.spec.thickness + slab.spec.base
    advice: Literal["sleeve", "lower", "move"] = "sleeve"
    if run > rule("yard", "along_most") * clear_width(slab):
        advice = "move"
    elif line.depth is not None and line.depth < hole:
        advice = "lower"
    return _sized(slab, line.name, p, q, advice, line.depth, _wanted(slab, line.kind, notes), row, notes)


def _sized(
    slab: Slab,
    name: str,
    p: XY,
    q: XY,
    advice: Literal["sleeve", "lower", "move", "new"],
    depth: float | None,
    wanted: float,
    row: Buried | None,
    notes: Notes,
) -> PipeCrossing:
    return PipeCrossing(
        name=name,
        slab=slab.spec.name,
        p=p,
        q=q,
        advice=advice,
        depth=depth,
        cover_least=wanted,
        bore=rule("yard", "sleeve_bore") * _pipe(name, row, notes),
        sleeve=0.0 if advice == "move" else math.dist(p, q) + 2 * rule("yard", "sleeve_past", notes.units),
    )


def _needed(slab: Slab, polygon: Any, heads: Sequence[SprinklerHead], notes: Notes) -> Iterator[PipeCrossing]:
    """Yield where each line of heads must pass under the slab: between its nearest heads across it."""
    for line in sorted({head.hangs_on for head in heads}):
        mine = [head for head in heads if head.hangs_on == line]
        best: tuple[float, XY, XY] | None = None
        for a, b in tree_of(mine):
            for p, q in _under(BuriedLine(line, "sprinkler", ((a.x, a.y), (b.x, b.y)), None), polygon):
                if best is None or math.dist(p, q) < best[0]:
                    best = (math.dist(p, q), p, q)
        if best is not None:
            wanted = _wanted(slab, "sprinkler", notes)
            yield _sized(slab, line, best[1], best[2], "new", None, wanted, None, notes)


def tree_of(heads: Sequence[SprinklerHead]) -> list[tuple[SprinklerHead, SprinklerHead]]:
    """Return the shortest tree that joins heads (Prim): pairs of neighbours."""
    if not heads:
        return []
    joined, rest = [heads[0]], list(heads[1:])
    pairs: list[tuple[SprinklerHead, SprinklerHead]] = []
    while rest:
        a, b = min(
            ((a, b) for a in joined for b in rest),
            key=lambda ab: (math.hypot(ab[0].x - ab[1].x, ab[0].y - ab[1].y), ab[1].name),
        )
        pairs.append((a, b))
        joined.append(b)
        rest.remove(b)
    return pairs


def _say(slab: Slab, crossing: PipeCrossing) -> Finding:
    return find(
        "build",
        f"pipe-{crossing.advice}",
        where=slab.spec.name,
        line=slab.spec.line,
        pipe=crossing.name or slab.spec.name,
        bore=Quantity("inches", crossing.bore),
        sleeve=Quantity("length", crossing.sleeve),
        past=Quantity("length", rule("yard", "sleeve_past")),
        deep=Quantity("length", crossing.cover_least),
        run=Quantity("length", math.dist(crossing.p, crossing.q)),
    )
