"""Where the rain goes once the slabs are built: over their surface, to their edges, and round the yard.

Two ways of looking, each where it is exact: over the new slabs by steepest descent on their planes (what
sheds to which edge, pools and their levels), and over the whole yard as a raster of heights before and
after (ponds that ground or slabs hold back, water that reaches a wall, where roof water goes). A pond is
reported; nothing is filled in silence.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from slabwright.findings import Finding, find
from slabwright.ground.model import Ground
from slabwright.ground.untyped import shapely
from slabwright.slab.drainage import yard as around
from slabwright.slab.drainage.grid import OUT, d_infinity
from slabwright.slab.drainage.mesh import Sheet, sheet_of
from slabwright.slab.drainage.model import (
    XY,
    Downspout,
    Drainage,
    EdgeFlow,
    Inlet,
    Pond,
    RoofWater,
    TrenchDrain,
    WallWater,
)
from slabwright.slab.drainage.pools import Pool, pools
from slabwright.slab.drainage.rain import Storm, peak_flow, rules, sheet_depth, usual_storm
from slabwright.slab.drainage.sheet import SheetFlow, route
from slabwright.slab.drainage.told import told
from slabwright.slab.drainage.yard import Run, Yard
from slabwright.slab.model import Edge, Slab

ON_DRAIN = 0.02  # [m] a side this close to a trench drain runs along it
AT_INLET = 0.15  # [m] a corner this close to an inlet drains into it
ARROWS = 1.2  # [m] between arrows on the yard
ROOF_CELLS = 20_000  # cells that a downspout's path is followed through


def drain(
    slabs: tuple[Slab, ...],
    ground: Ground,
    storm: Storm | None = None,
    *,
    downspouts: Sequence[Downspout] = (),
    inlets: Sequence[Inlet] = (),
    trenches: Sequence[TrenchDrain] = (),
    cell: float = around.CELL,
) -> Drainage:
    """Return where the water of one storm goes on the finished slabs and in the yard around them.

    :param slabs: shaped slabs with their finished heights.
    :param ground: what is there; without shots of the ground only the slabs are looked at.
    :param storm: the rain; None takes `usual_storm()`, and says so.
    :param downspouts: where roof water is let out.
    :param inlets: grates that take all water that reaches them.
    :param trenches: drains along lines.
    :param cell: side of the raster's cells [m]; grows where a yard would need more than 400,000.
    """
    storm = storm or usual_storm()
    sheet = sheet_of(slabs)
    names = [slab.outline.name for slab in slabs]
    along = _sides_along(sheet, trenches)
    flow = route(sheet, along)
    edges, drained = _edges(sheet, slabs, flow, storm), _drained(flow, along, storm)
    found = _pools(sheet, slabs, inlets, along)
    yard = around.yard_of(sheet, ground, cell)
    walls: tuple[WallWater, ...] = ()
    roofs: tuple[RoofWater, ...] = ()
    ponds = [_told_pool(pool, names[sheet.pieces[pool.piece].slab]) for pool in found]
    before: list[Pond] = []
    arrows: tuple[tuple[XY, XY], ...] = ()
    if yard is not None:
        was = around.run(yard, yard.before, ground.soil, inlets, trenches, new=False)
        now = around.run(yard, yard.after, ground.soil, inlets, trenches, new=True)
        walls = _walls(yard, was, now, ground, storm)
        wall_names = [wall.name for wall in ground.walls]
        before = around.ponds(yard, yard.before, was, names, wall_names, new=False)
        ponds += _not_twice(
            around.ponds(yard, yard.after, now, names, wall_names, new=True), found, yard, was
        )
        roofs = tuple(_roof(yard, now, spout, names, inlets, trenches, storm) for spout in downspouts)
        for name, cells in around.drain_cells(yard, inlets, trenches).items():
            drained[name] = storm.intensity * float(now.flow[cells].sum()) + sum(
                roof.flow for roof in roofs if roof.ends == "drain" and _reaches(yard, roof, cells)
            )
        arrows = _yard_arrows(yard)
    findings = told(storm, edges, walls, ponds, before, roofs, drained, trenches, _stays(sheet, names, flow))
    return Drainage(
        storm=storm,
        arrows=_arrows(sheet),
        yard_arrows=arrows,
        edges=edges,
        walls=walls,
        ponds=tuple(ponds),
        ponds_before=tuple(before),
        roofs=roofs,
        drains=drained,
        cell=None if yard is None else yard.cell,
        findings=(*findings, *_unseen(yard)),
    )


def _unseen(yard: Yard | None) -> tuple[Finding, ...]:
    return () if yard is not None else (find("slab", "yard-not-looked-at"),)


def _arrows(sheet: Sheet) -> tuple[tuple[XY, XY], ...]:
    """Return an arrow from the middle of each piece that falls."""
    out: list[tuple[XY, XY]] = []
    for piece in sheet.pieces:
        if piece.fall > 0.0:
            x, y = sheet.corners[list(piece.corners), :2].mean(axis=0).tolist()
            out.append(((x, y), (piece.down[0] * piece.fall, piece.down[1] * piece.fall)))
    return tuple(out)


def _yard_arrows(yard: Yard) -> tuple[tuple[XY, XY], ...]:
    """Return arrows down the yard (not on slabs) at regular places."""
    stride = max(1, round(ARROWS / 2 / yard.cell))
    rows, columns = slice(stride // 2, None, stride), slice(stride // 2, None, stride)
    z = yard.after[rows, columns]
    angle, slope = d_infinity(z, stride * yard.cell)
    bare = (yard.slab[rows, columns] < 0) & (yard.existing[rows, columns] < 0) & ~np.isnan(angle)
    bare[1::2, :], bare[:, 1::2] = False, False
    xs, ys = yard.xs[columns], yard.ys[rows]
    return tuple(
        (
            (float(xs[i]), float(ys[j])),
            (float(slope[j, i] * np.cos(angle[j, i])), float(slope[j, i] * np.sin(angle[j, i]))),
        )
        for j, i in np.argwhere(bare).tolist()
    )


def _sides_along(sheet: Sheet, trenches: Sequence[TrenchDrain]) -> dict[tuple[int, int], str]:
    """Return the sides that run along a trench drain, with its name."""
    out: dict[tuple[int, int], str] = {}
    for trench in trenches:
        line = shapely.linestrings(trench.line)
        near = shapely.distance(line, shapely.points(sheet.corners[:, :2])) < ON_DRAIN
        for k in range(len(sheet.pieces)):
            for p, q in sheet.sides(k):
                middle = (sheet.corners[p, :2] + sheet.corners[q, :2]) / 2
                if near[p] and near[q] and shapely.distance(line, shapely.points(middle)) < ON_DRAIN:
                    out[min(p, q), max(p, q)] = trench.name
    return out


def _drained(flow: SheetFlow, along: dict[tuple[int, int], str], storm: Storm) -> dict[str, float]:
    """Return the peak flow of the slabs' own rain into each trench drain [m3/s]."""
    out: dict[str, float] = {}
    for side, area in flow.drains.items():
        name = along[min(side), max(side)]
        out[name] = out.get(name, 0.0) + peak_flow(rules()["runoff-concrete"], storm.intensity, area)
    return out


def _edges(sheet: Sheet, slabs: tuple[Slab, ...], flow: SheetFlow, storm: Storm) -> tuple[EdgeFlow, ...]:
    """Return what leaves over each side of each outline, sides that shed nothing left out."""
    share, rough = rules()["runoff-concrete"], rules()["roughness-concrete"]
    owner = {side: k for k in range(len(sheet.pieces)) for side in sheet.sides(k)}
    sums: dict[tuple[int, str, str | None, XY, XY], list[float]] = {}
    for side, area in sorted(flow.rim.items()):
        piece = sheet.pieces[owner[side]]
        p, q = sheet.corners[side[0], :2], sheet.corners[side[1], :2]
        key = (piece.slab, *_outline_side(slabs[piece.slab], _middle(sheet, side)))
        dense = peak_flow(share, storm.intensity, flow.densest.get(side, 0.0))
        along = (q - p) / float(np.hypot(*(q - p)))
        fall = float(piece.down[0] * along[1] - piece.down[1] * along[0]) * piece.fall
        deep = sheet_depth(dense, max(fall, 0.0), rough) if dense > 0.0 else 0.0
        row = sums.setdefault(key, [0.0, 0.0])
        row[0], row[1] = row[0] + area, max(row[1], deep)
    return tuple(
        EdgeFlow(
            slabs[k].outline.name, kind, against, p, q, area, peak_flow(share, storm.intensity, area), deep
        )
        for (k, kind, against, p, q), (area, deep) in sums.items()
    )


def _outline_side(slab: Slab, at: XY) -> tuple[str, str | None, XY, XY]:
    """Return kind, neighbour and ends of the outline's side (or the opening) that lies nearest to `at`."""
    best: tuple[float, tuple[str, str | None, XY, XY]] | None = None
    for edge in slab.outline.edges:
        apart = _apart(edge, at)
        if best is None or apart < best[0]:
            best = (apart, (edge.kind, edge.against, edge.p, edge.q))
    for hole in slab.outline.holes:
        apart = float(shapely.distance(shapely.linearrings(hole.ring), shapely.points(at)))
        if best is None or apart < best[0]:
            best = (apart, ("opening", hole.name, hole.ring[0], hole.ring[0]))
    return best[1] if best else ("free", None, at, at)


def _apart(edge: Edge, at: XY) -> float:
    """Return how far a place lies from a side [m]; an arc counts where the place lies before its chord."""
    (px, py), (qx, qy) = edge.p, edge.q
    dx, dy, rx, ry = qx - px, qy - py, at[0] - px, at[1] - py
    if edge.centre is not None and edge.radius is not None and edge.bulge:
        off = abs(math.dist(at, edge.centre) - edge.radius)
        beyond = (dx * ry - dy * rx) * edge.bulge
        reach = math.dist(at, ((px + qx) / 2, (py + qy) / 2))
        limit = math.hypot(dx, dy) * (0.5 + abs(edge.bulge))
        before = beyond <= 1e-6 and reach <= limit
        return off if before else min(math.dist(at, edge.p), math.dist(at, edge.q))
    t = min(1.0, max(0.0, (rx * dx + ry * dy) / (dx * dx + dy * dy)))
    return math.hypot(rx - t * dx, ry - t * dy)


def _middle(sheet: Sheet, side: tuple[int, int]) -> XY:
    """Return the middle of a side [m]."""
    (px, py), (qx, qy) = sheet.corners[list(side), :2].tolist()
    return (px + qx) / 2, (py + qy) / 2


def _pools(
    sheet: Sheet, slabs: tuple[Slab, ...], inlets: Sequence[Inlet], along: dict[tuple[int, int], str]
) -> list[Pool]:
    """Return the pools on the slabs that are deep and wide enough to be told."""
    outlets = {v for side in along for v in side}
    for k, piece in enumerate(sheet.pieces):
        for side in sheet.sides(k):
            if side in sheet.beyond:
                continue
            if _outline_side(slabs[piece.slab], _middle(sheet, side))[0] != "wall":
                outlets |= set(side)
    for inlet in inlets:
        apart = np.hypot(*(sheet.corners[:, :2] - inlet.at).T)
        outlets |= set(np.flatnonzero(apart < AT_INLET).tolist())
    deep, wide = rules()["pond-deep"], rules()["pond-wide"]
    return [pool for pool in pools(sheet, outlets) if pool.depth >= deep and pool.area >= wide]


def _told_pool(pool: Pool, slab: str) -> Pond:
    return Pond("slab", slab, pool.at, pool.depth, pool.volume, pool.area, pool.ring, True)


def _stays(sheet: Sheet, names: list[str], flow: SheetFlow) -> list[tuple[str, str, str, float]]:
    """Return water that stays without being a pool: (what, slab, panel, area [m2])."""
    owner = {tuple(sorted(side)): k for k in range(len(sheet.pieces)) for side in sheet.sides(k)}
    out: list[tuple[str, str, str, float]] = []
    for end, area in flow.stays.items():
        if end[0] == "piece":
            k = int(end[1])
        elif end[0] in ("side", "dam"):
            k = owner[tuple(sorted((int(end[1]), int(end[2]))))]
        else:
            continue  # a low corner is a pool, or an inlet stands in it
        piece = sheet.pieces[k]
        out.append((str(end[0]), names[piece.slab], piece.panel, area))
    return out


def _walls(yard: Yard, was: Run, now: Run, ground: Ground, storm: Storm) -> tuple[WallWater, ...]:
    """Return the walls that get water, with what they got before."""
    count = len(ground.walls)
    before = around.to_walls(yard, yard.before, was, count)
    after = around.to_walls(yard, yard.after, now, count)
    return tuple(
        WallWater(wall.name, a, b, storm.intensity * a)
        for wall, a, b in zip(ground.walls, after.tolist(), before.tolist(), strict=True)
        if max(a, b) > 0.0
    )


def _not_twice(ponds: list[Pond], found: list[Pool], yard: Yard, was: Run) -> list[Pond]:
    """Return the raster's ponds without those that are pools of a slab's own, told new from old."""
    pools_at = shapely.union_all([shapely.polygons(p.ring) for p in found if len(p.ring) > 2])
    out: list[Pond] = []
    for pond in ponds:
        mine = shapely.distance(pools_at, shapely.points(pond.at)) < 2 * yard.cell if found else False
        if mine and pond.kind == "dammed" and _no_deeper(pond, found, yard):
            continue
        flat = yard.at(pond.at)
        stood = 0.0
        if flat is not None:
            stood = float((was.flood.level - yard.before).ravel()[flat])
        new = pond.kind == "dammed" or not stood > 0.5 * pond.depth
        out.append(Pond(pond.kind, pond.where, pond.at, pond.depth, pond.volume, pond.area, pond.ring, new))
    return out


def _no_deeper(pond: Pond, found: list[Pool], yard: Yard) -> bool:
    """Tell whether a pond on a slab is only the slab's own pool, not held higher by the ground."""
    apart = [float(np.hypot(*np.subtract(pool.at, pond.at))) for pool in found]
    return pond.depth <= found[int(np.argmin(apart))].depth + max(rules()["pond-deep"], 0.02 * yard.cell)


def _roof(
    yard: Yard,
    now: Run,
    spout: Downspout,
    names: list[str],
    inlets: Sequence[Inlet],
    trenches: Sequence[TrenchDrain],
    storm: Storm,
) -> RoofWater:
    """Follow a downspout's water over the yard."""
    takes = {c for cells in around.drain_cells(yard, inlets, trenches).values() for c in cells}
    flow = peak_flow(rules()["runoff-roof"], storm.intensity, spout.roof)
    flat = yard.at(spout.at)
    path, crosses, ends = [spout.at], [], "away"
    pond = now.flood.pond.ravel()
    beside = flat is not None and int(yard.wall.ravel()[flat]) >= 0
    for _ in range(ROOF_CELLS):
        if flat is None or flat == OUT:
            break
        path.append(yard.place(flat))
        slab = int(yard.slab.ravel()[flat])
        if slab >= 0 and names[slab] not in crosses:
            crosses.append(names[slab])
        at_wall = int(yard.wall.ravel()[flat]) >= 0
        if flat in takes:
            ends = "drain"
            break
        if at_wall and not beside:
            ends = "wall"
            break
        if pond[flat] >= 0 and float((now.flood.level - yard.after).ravel()[flat]) >= rules()["pond-deep"]:
            ends = "pond"
            break
        beside = beside and at_wall
        flat = int(now.flood.onward[flat])
    line = (
        shapely.get_coordinates(shapely.simplify(shapely.linestrings(path), yard.cell))
        if len(path) > 1
        else path
    )
    kept = tuple((float(x), float(y)) for x, y in line)
    return RoofWater(spout.name, kept, tuple(crosses), ends, flow)  # type: ignore[arg-type]


def _reaches(yard: Yard, roof: RoofWater, cells: list[int]) -> bool:
    """Tell whether a roof's water ends in one of these cells."""
    return yard.at(roof.path[-1]) in cells


__all__ = ["Downspout", "Drainage", "Inlet", "Storm", "TrenchDrain", "drain"]
