"""The yard as the sprinklers see it: lawn, new paving, everything that is not to be sprayed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from slabwright.build.model_yard import SprinklerHead
from slabwright.build.sprinklers.figures import FULL, Floats, direction
from slabwright.build.tables import rule, table
from slabwright.findings import Finding, find
from slabwright.ground.model import XY, Ground
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity, read
from slabwright.notes.models import Head, Notes, line_of
from slabwright.slab.model import Shaped

BEHIND = 3.0  # [m] how far behind a single wall counts as house
ROUND = 16  # segments a quarter circle
TURNS = 72  # directions tried for a head whose facing was not written


@dataclass(frozen=True, slots=True)
class Yard:
    """Polygons (shapely): `slabs` new paving, `hard` all that is not to be sprayed, `lawn` without them.

    `lawn_now` is the lawn before the new slabs; `written` whether the notes gave it.
    """

    slabs: Any
    hard: Any
    lawn: Any
    lawn_now: Any
    written: bool


def disk(head: SprinklerHead) -> Any:
    """Return a head's sector as a polygon."""
    if head.arc >= FULL - 1e-9:
        return shapely.buffer(shapely.points(head.x, head.y), head.throw, quad_segs=ROUND)
    steps = max(2, math.ceil(4 * ROUND * head.arc / FULL))
    start = direction(head.facing) - head.arc / 2
    turned = start + head.arc * np.arange(steps + 1) / steps
    rim = np.column_stack((head.x + head.throw * np.cos(turned), head.y + head.throw * np.sin(turned)))
    return shapely.polygons(np.vstack(([head.x, head.y], rim)))


def paving(shaped: Shaped) -> Any:
    """Return the new slabs as one polygon; openings count as slab."""
    return shapely.union_all([shapely.polygons(slab.outline.ring) for slab in shaped.slabs])


def built(ground: Ground) -> Any:
    """Return house, walls and slabs that are there as one polygon."""
    parts = [shapely.polygons(old.ring) for old in ground.existing if old.ring]
    if ground.house_ring:
        parts.append(shapely.polygons(ground.house_ring))
    else:
        parts += [_strip(wall.p, wall.q) for wall in ground.walls if wall.p != wall.q]
    return shapely.union_all([shapely.make_valid(part) for part in parts])


def _strip(p: XY, q: XY) -> Any:
    """The house behind a wall whose other sides were not measured: it lies on the left from p to q."""
    run = math.dist(p, q)
    nx, ny = -(q[1] - p[1]) / run * BEHIND, (q[0] - p[0]) / run * BEHIND
    return shapely.polygons([p, q, (q[0] + nx, q[1] + ny), (p[0] + nx, p[1] + ny)])


def lay_out(shaped: Shaped, ground: Ground, notes: Notes, points: Mapping[str, XY]) -> Yard | None:
    """Return the yard, its lawn empty where the notes wrote none (see `assume_lawn`); None without slabs."""
    if not shaped.slabs:
        return None
    slabs, old = paving(shaped), built(ground)
    rings = [
        shapely.make_valid(shapely.polygons([points[name] for name in row.corners]))
        for row in notes.lawns
        if all(name in points for name in row.corners)
    ]
    now = shapely.difference(shapely.union_all(rings), old)
    return Yard(slabs, shapely.union(slabs, old), shapely.difference(now, slabs), now, bool(rings))


def assume_lawn(yard: Yard, heads: tuple[SprinklerHead, ...]) -> Yard:
    """Return the yard with all that the heads reach now as its lawn."""
    old = shapely.difference(yard.hard, yard.slabs)
    now = shapely.difference(shapely.union_all([disk(head) for head in heads]), old)
    return replace(yard, lawn=shapely.difference(now, yard.slabs), lawn_now=now)


def full_flow(throw: float) -> float:
    """Return the flow [m3/s] of a full-circle spray of this throw [m], between the table's rows.

    Beyond them it goes with the square of the throw, which keeps the rate. Source: spray-flows.
    """
    rows = [(read("length", a), read("flow", b)) for a, b in table("yard")["spray"]["full"]]
    throws, flows = zip(*rows, strict=True)
    if throw < throws[0]:
        return float(flows[0] * (throw / throws[0]) ** 2)
    if throw > throws[-1]:
        return float(flows[-1] * (throw / throws[-1]) ** 2)
    return float(np.interp(throw, throws, flows))


def placed_heads(notes: Notes, ground: Ground) -> Iterator[tuple[Head, XY]]:
    """Yield the heads that have a place, with it."""
    at = {name: place for name, place, _ in ground.heads}
    for row in notes.sprinklers:
        if row.head in at:
            yield row, at[row.head]


def read_heads(notes: Notes, ground: Ground, yard: Yard) -> tuple[tuple[SprinklerHead, ...], list[Finding]]:
    """Return the heads as they stand, what was not written taken from the table, and what was noticed."""
    heads: list[SprinklerHead] = []
    found: list[Finding] = []
    no_flow: list[str] = []
    for row, (x, y) in placed_heads(notes, ground):
        arc = math.radians(row.arc)
        flow = row.flow
        if flow is None or flow <= 0:
            flow = full_flow(row.throw) * arc / FULL
            no_flow.append(row.head)
        head = SprinklerHead(row.head, x, y, row.throw, arc, row.facing or 0.0, flow, row.line or "")
        if row.facing is None and arc < FULL - 1e-9:
            head = _aimed(head, yard)
            found.append(
                find(
                    "build",
                    "sprinkler-facing-taken",
                    where=row.head,
                    line=line_of(row),
                    facing=Quantity("angle", head.facing),
                )
            )
        heads.append(head)
    if no_flow:
        found.append(find("build", "sprinkler-flow-taken", heads=", ".join(no_flow)))
    return tuple(heads), found


def _aimed(head: SprinklerHead, yard: Yard) -> SprinklerHead:
    """Turn a head so that it waters most lawn, or where no lawn was written sprays least on what is built."""
    target = yard.lawn_now if yard.written else shapely.difference(yard.hard, yard.slabs)
    sign = 1.0 if yard.written else -1.0

    def worth(turn: int) -> tuple[float, int]:
        tried = replace(head, facing=turn * FULL / TURNS)
        return (round(sign * float(shapely.area(shapely.intersection(disk(tried), target))), 6), -turn)

    return replace(head, facing=max(range(TURNS), key=worth) * FULL / TURNS)


def cells(
    polygon: Any, step: float
) -> tuple[Floats, tuple[int, int], XY, np.ndarray[Any, np.dtype[np.bool_]]]:
    """Return a grid over a polygon: middles (n, 2) [m], rows and columns, the first middle, which are in.

    step [m]. The middles are those of the whole rectangle, row by row.
    """
    x0, y0, x1, y1 = (float(v) for v in shapely.bounds(polygon))
    columns, rows = max(1, math.ceil((x1 - x0) / step)), max(1, math.ceil((y1 - y0) / step))
    xs = x0 + step * (np.arange(columns) + 0.5)
    ys = y0 + step * (np.arange(rows) + 0.5)
    middles = np.column_stack((np.tile(xs, rows), np.repeat(ys, columns)))
    shapely.prepare(polygon)
    inside = np.asarray(shapely.contains_xy(polygon, middles[:, 0], middles[:, 1]), dtype=np.bool_)
    return middles, (rows, columns), (float(xs[0]), float(ys[0])), inside


def setback(notes: Notes) -> float:
    """Return how far heads keep off the new paving [m]: the custom or the strict rule."""
    return rule("yard", f"off_{notes.off_paving}", notes.units)
