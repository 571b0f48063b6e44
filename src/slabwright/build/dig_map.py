"""The cut-depth map: where the dig is how deep, as bands between even depths.

Depth is linear over each cell of the overlay, so a band's piece of a cell is cut out exactly. A ground of
very many triangles is looked at on a grid of its heights instead, for a map on paper shows no more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from slabwright.build.earth import Row
from slabwright.build.model import DigBand, DigMap
from slabwright.build.tables import rule, table
from slabwright.ground import ground_height
from slabwright.ground.model import XY, Floats, Surface
from slabwright.ground.prisms import Overlay, Plane, keep, overlay
from slabwright.ground.untyped import shapely
from slabwright.measure import System, read

MOST_CELLS = 2000  # more cells than this are not drawn one by one
GRID = 16  # squares of the grid on the longer side of the dig, where there are more
SEAM = 5  # decimals of a metre to which corners are rounded, so that neighbours join without a seam
SNAP = 1e-4  # [m] corners that turn less are left out
LEVEL = 1e-9  # [m] a depth this near to a step is on it
SPECK = 1e-4  # [m2] a band's part smaller than this is not drawn

Piece = tuple[int, Sequence[XY], Plane]


def map_dig(
    rows: Sequence[Row],
    pieces: Sequence[Piece],
    cells: Overlay,
    surface: Surface,
    *,
    organic: float,
    system: System,
) -> DigMap | None:
    """Return the depth of dig over all slabs and form strips as bands; None where nothing is dug.

    rows: the owners of the pieces; cells: the pieces over the ground's surface; organic: sod and topsoil
    [m], the least depth anywhere; system: whose steps are taken.
    """
    if not len(cells.owner):
        return None
    if len(cells.owner) > MOST_CELLS:
        cells = overlay(pieces, coarse(surface, cells.corners.reshape(-1, 2)))
    under = np.array([row.under for row in rows])
    depth = np.maximum(organic, cells.above + under[cells.owner, None])
    low, high = float(depth.min()), float(depth.max())
    step = _step(low, high, system)
    last = max(1, math.ceil(high / step - LEVEL / step))
    first = min(math.floor(low / step + LEVEL / step), last - 1)
    shapes = np.concatenate([cells.corners, depth[..., None]], axis=2)
    bands = []
    for k in range(first, last):
        area = _between(shapes, k * step, (k + 1) * step, top=k == last - 1)
        rings = _rings(area)
        if rings:
            bands.append(DigBand(k * step, (k + 1) * step, float(shapely.area(area)), tuple(rings)))
    return DigMap(step, low, high, tuple(bands))


def coarse(surface: Surface, places: Floats) -> Surface:
    """Return a surface on a grid of heights of another, over where places (n, 2) [m] lie."""
    low, high = places.min(axis=0), places.max(axis=0)
    side = max(float((high - low).max()) / GRID, SNAP)
    nx, ny = (max(1, math.ceil(float(run) / side - LEVEL)) for run in high - low)
    x, y = np.meshgrid(low[0] + side * np.arange(nx + 1), low[1] + side * np.arange(ny + 1))
    xy = np.column_stack([x.ravel(), y.ravel()])
    z = ground_height(surface, xy)
    k = (np.arange(ny)[:, None] * (nx + 1) + np.arange(nx)).ravel()
    one, two = np.column_stack([k, k + 1, k + nx + 2]), np.column_stack([k, k + nx + 2, k + nx + 1])
    (x0, y0), (x1, y1) = xy[0].tolist(), xy[-1].tolist()
    hull = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    return Surface(np.column_stack([xy, z]), np.concatenate([one, two]), hull, ())


def _step(low: float, high: float, system: System) -> float:
    """Return the finest step [m] that gives no more bands than the rule."""
    steps = [read("length", text) for text in table("earth")["map_steps"][system.value]]
    most = rule("earth", "map_bands")
    return next((s for s in steps if math.ceil(high / s) - math.floor(low / s) <= most), steps[-1])


def _between(shapes: Floats, low: float, high: float, *, top: bool) -> object:
    """Return where the third coordinate of triangles (n, 3, 3) lies between two values.

    What is level at `high` belongs to the band above, unless there is none.
    """
    z = shapes[..., 2]
    mine = (z.max(axis=1) >= low - LEVEL) & (
        z.min(axis=1) <= high + LEVEL if top else z.min(axis=1) < high - LEVEL
    )
    shapes = shapes[mine]
    counts = np.full(len(shapes), 3)
    for sign, level in ((1.0, low - LEVEL), (-1.0, high + LEVEL)):
        shapes, counts = keep(shapes, counts, sign * (shapes[..., 2] - level))
        shapes, counts = shapes[counts >= 3], counts[counts >= 3]
    cells = shapely.polygons(np.round(shapes[..., :2], SEAM))
    try:
        joined: object = shapely.union_all(cells)
    except shapely.errors.GEOSException:
        # Needles of a far-fetched surface turn over when rounded; on a grid of points they are united safely.
        joined = shapely.union_all(shapely.make_valid(cells), grid_size=10.0**-SEAM)
    return joined


def _rings(area: object) -> list[tuple[XY, ...]]:
    """Return the rings of an area, not closed; corners that do not turn are left out."""
    rings: list[tuple[XY, ...]] = []
    for part in shapely.get_parts(shapely.simplify(area, SNAP)):
        if shapely.get_type_id(part) == 3 and shapely.area(part) > SPECK:
            rings += [
                tuple((float(x), float(y)) for x, y in shapely.get_coordinates(ring)[:-1])
                for ring in shapely.get_rings(part)
            ]
    return rings
