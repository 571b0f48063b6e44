"""The whole yard as a raster: ground, existing and new slabs, walls that hold water back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from slabwright.ground import grid_heights
from slabwright.ground.model import Floats, Ground
from slabwright.ground.surface import covered, lay, paint
from slabwright.ground.untyped import shapely
from slabwright.slab.drainage.grid import OUT, Bools, Flood, Ints, arrivals, flood
from slabwright.slab.drainage.house import behind
from slabwright.slab.drainage.mesh import Sheet
from slabwright.slab.drainage.model import Inlet, Pond, TrenchDrain
from slabwright.slab.drainage.rain import rules
from slabwright.slab.model import XY

CELL = 0.0762  # [m] 3 in
MOST_CELLS = 400_000
AROUND = 3.048  # [m] looked at beyond slabs: the 10 ft in which the ground must fall from a house


@dataclass(frozen=True, slots=True)
class Yard:
    """Rasters (ny, nx) over cell centres `xs`, `ys` [m].

    `slab` and `existing` number the slab under a cell, -1 for none; `wall` the wall beside it. `house`
    cells hold water back.
    """

    xs: Floats
    ys: Floats
    cell: float
    before: Floats
    after: Floats
    slab: Ints
    existing: Ints
    house: Bools
    wall: Ints

    def place(self, flat: int) -> XY:
        """Return the centre of a cell by flat index."""
        j, i = divmod(int(flat), len(self.xs))
        return float(self.xs[i]), float(self.ys[j])

    def at(self, place: XY) -> int | None:
        """Return the cell that holds a place, by flat index; None outside."""
        i = round((place[0] - float(self.xs[0])) / self.cell)
        j = round((place[1] - float(self.ys[0])) / self.cell)
        inside = 0 <= i < len(self.xs) and 0 <= j < len(self.ys)
        return j * len(self.xs) + i if inside else None


@dataclass(frozen=True, slots=True)
class Run:
    """What water does on one state of the yard; `flow` is C times the area that arrives [m2], by cell."""

    flood: Flood
    flow: Floats
    own: Floats


def yard_of(sheet: Sheet, ground: Ground, cell: float = CELL) -> Yard | None:
    """Return the yard as rasters, None when no ground was shot.

    The raster covers slabs with 10 ft around them and all shots; cells grow where there would be too many.
    """
    if ground.surface is None:
        return None
    slabs = sheet.corners[:, :2]
    near = np.vstack([slabs - AROUND, slabs + AROUND]) if len(slabs) else np.empty((0, 2))
    others = [np.array(e.edge) for e in ground.existing if e.edge]
    every = np.vstack([near, np.array(ground.surface.hull), *others])
    low, high = every.min(axis=0), every.max(axis=0)
    cell = max(cell, float(np.sqrt(np.prod(high - low) / MOST_CELLS)))
    nx, ny = (max(3, int(np.ceil(s / cell))) for s in (high - low).tolist())
    xs, ys = low[0] + cell * (np.arange(nx) + 0.5), low[1] + cell * (np.arange(ny) + 0.5)
    before = grid_heights(ground.surface, xs, ys)
    existing, slab = (np.full((ny, nx), -1, dtype=np.int64) for _ in range(2))
    for k, there in enumerate(ground.existing):
        if there.ring and there.plane is not None:
            for corners in _triangles(there.ring):
                cells = covered(xs, ys, corners)
                lay(before, xs, ys, cells, np.array(there.plane))
                np.copyto(existing[cells[:2]], k, where=cells[2])
    after = before.copy()
    for piece in sheet.pieces:
        cells = covered(xs, ys, sheet.corners[list(piece.corners), :2])
        lay(after, xs, ys, cells, np.array(piece.plane))
        np.copyto(slab[cells[:2]], piece.slab, where=cells[2])
    house = _house(ground, xs, ys) & (slab < 0)
    before[house], after[house] = np.nan, np.nan
    return Yard(xs, ys, cell, before, after, slab, existing, house, _beside(house, ground, xs, ys))


def _triangles(ring: Sequence[XY]) -> Floats:
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(shapely.polygons(ring)))
    out: Floats = shapely.get_coordinates(shapely.orient_polygons(parts)).reshape(-1, 4, 2)[:, :3]
    return out


def _house(ground: Ground, xs: Floats, ys: Floats) -> Bools:
    """Return the cells that lie inside the house, or behind its walls when it is open."""
    low, high = (float(xs[0]), float(ys[0])), (float(xs[-1]), float(ys[-1]))
    shape = shapely.polygons(ground.house_ring) if ground.house_ring else behind(ground.walls, low, high)
    out = np.full((len(ys), len(xs)), np.nan)
    for polygon in shapely.get_parts(shape):
        if polygon.geom_type == "Polygon" and not polygon.is_empty:
            for corners in _triangles(shapely.get_coordinates(polygon.exterior)[:-1].tolist()):
                paint(out, xs, ys, corners, np.zeros(3))
    inside: Bools = ~np.isnan(out)
    return inside


def _beside(house: Bools, ground: Ground, xs: Floats, ys: Floats) -> Ints:
    """Return the number of the nearest wall for each cell that touches the house, -1 elsewhere."""
    padded = np.pad(house, 1)
    touching = np.zeros_like(house)
    for dj in (0, 1, 2):
        for di in (0, 1, 2):
            touching |= padded[dj : dj + house.shape[0], di : di + house.shape[1]]
    touching &= ~house
    out = np.full(house.shape, -1, dtype=np.int64)
    j, i = np.nonzero(touching)
    if not len(j) or not ground.walls:
        return out
    places = np.column_stack([xs[i], ys[j]])
    apart = []
    for wall in ground.walls:
        p, d = np.array(wall.p), np.subtract(wall.q, wall.p)
        t = np.clip((places - p) @ d / max(float(d @ d), 1e-12), 0.0, 1.0)
        apart.append(np.hypot(*(places - p - t[:, None] * d).T))
    # a house that was not measured all round has other sides than its walls: those are too far from any wall
    best, near = np.argmin(apart, axis=0), np.min(apart, axis=0) < 2.0 * (xs[1] - xs[0])
    out[j[near], i[near]] = best[near]
    return out


def run(
    yard: Yard,
    z: Floats,
    soil: str,
    inlets: Sequence[Inlet] = (),
    trenches: Sequence[TrenchDrain] = (),
    *,
    new: bool,
) -> Run:
    """Return what water does on heights `z` of the yard; `new` counts the new slabs as concrete."""
    opened = np.zeros(z.shape, dtype=np.bool_)
    opened[[0, -1], :], opened[:, [0, -1]] = True, True
    for cells in drain_cells(yard, inlets, trenches).values():
        opened.ravel()[cells] = True
    opened &= ~np.isnan(z)
    share = np.full(z.shape, rules()[f"runoff-{soil}"])
    share[yard.existing >= 0] = rules()["runoff-concrete"]
    if new:
        share[yard.slab >= 0] = rules()["runoff-concrete"]
    own = np.where(np.isnan(z), 0.0, share * yard.cell**2).ravel()
    water = flood(z, yard.cell, opened)
    return Run(water, arrivals(water.onward, own), own)


def drain_cells(yard: Yard, inlets: Sequence[Inlet], trenches: Sequence[TrenchDrain]) -> dict[str, list[int]]:
    """Return the cells of each inlet and trench drain, by its name."""
    out: dict[str, list[int]] = {}
    for inlet in inlets:
        flat = yard.at(inlet.at)
        out[inlet.name] = [] if flat is None else [flat]
    for trench in trenches:
        line = shapely.linestrings(trench.line)
        steps = np.arange(0.0, line.length + yard.cell / 2, yard.cell / 2)
        places = shapely.get_coordinates(shapely.line_interpolate_point(line, steps)).tolist()
        found = [yard.at((x, y)) for x, y in places]
        out[trench.name] = sorted({flat for flat in found if flat is not None})
    return out


def to_walls(yard: Yard, z: Floats, water: Run, count: int) -> Floats:
    """Return C times the area that sheds to each of `count` walls [m2].

    Counted where water steps down onto a cell beside a wall from one that is not beside any; on level
    ground nobody can tell which way it runs.
    """
    beside = yard.wall.ravel() >= 0
    onward = water.flood.onward
    steps = np.flatnonzero((onward != OUT) & ~beside & beside[onward])
    drop = z.ravel()[steps] - z.ravel()[onward[steps]]
    steps = steps[drop > rules()["level"] * yard.cell]
    total = np.zeros(count)
    np.add.at(total, yard.wall.ravel()[onward[steps]], water.flow[steps])
    return total


def ponds(
    yard: Yard, z: Floats, water: Run, slab_names: Sequence[str], walls: Sequence[str], *, new: bool
) -> list[Pond]:
    """Return the ponds that are deep and wide enough to be told, deepest first.

    `new` tells whether `z` has the new slabs in it; only then can a pond lie on one.
    """
    owner = water.flood.pond.ravel()
    wet = np.flatnonzero(owner >= 0)
    depth = (water.flood.level - z).ravel()
    numbers, which = np.unique(owner[wet], return_inverse=True)
    most = np.zeros(len(numbers))
    np.maximum.at(most, which, depth[wet])
    area = np.bincount(which, minlength=len(numbers)) * yard.cell**2
    volume = np.bincount(which, weights=depth[wet], minlength=len(numbers)) * yard.cell**2
    told = np.flatnonzero((most >= rules()["pond-deep"]) & (area >= rules()["pond-wide"]))
    found: list[Pond] = []
    for k in told[np.argsort(-most[told])].tolist():
        cells = wet[which == k]
        deepest = cells[np.argmax(depth[cells])]
        slab = int(yard.slab.ravel()[deepest]) if new else -1
        wall = yard.wall.ravel()[cells].max()
        where = slab_names[slab] if slab >= 0 else walls[int(wall)] if wall >= 0 else ""
        kind: Literal["dammed", "yard"] = "dammed" if slab >= 0 else "yard"
        told_of = float(most[k]), float(volume[k]), float(area[k])
        found.append(Pond(kind, where, yard.place(int(deepest)), *told_of, outline(yard, cells), new))
    return found


def outline(yard: Yard, cells: Ints) -> tuple[XY, ...]:
    """Return the outline of cells, rows of cells taken as one box each, smoothed by half a cell."""
    nx, half = len(yard.xs), yard.cell / 2
    cells = np.sort(cells)
    starts = np.flatnonzero(np.diff(cells, prepend=-2) != 1)
    starts = np.unique(np.concatenate([starts, np.flatnonzero(cells % nx == 0)]))
    last = np.append(starts[1:], len(cells)) - 1
    x0, x1 = yard.xs[cells[starts] % nx] - half, yard.xs[cells[last] % nx] + half
    y = yard.ys[cells[starts] // nx]
    whole = shapely.union_all(shapely.box(x0 - 1e-6, y - half - 1e-6, x1 + 1e-6, y + half + 1e-6))
    if whole.geom_type != "Polygon":
        whole = max(shapely.get_parts(whole), key=shapely.area)
    ring = shapely.get_coordinates(shapely.simplify(shapely.orient_polygons(whole).exterior, yard.cell))
    return tuple((float(px), float(py)) for px, py in ring[:-1])
