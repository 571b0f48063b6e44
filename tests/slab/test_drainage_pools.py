"""Standing water on the finished surface."""

from __future__ import annotations

import numpy as np
import pytest
from tests.slab.drained import slab, terrain

from slabwright.ground.surface import paint
from slabwright.slab.drainage.grid import flood
from slabwright.slab.drainage.mesh import sheet_of
from slabwright.slab.drainage.pools import pools


def rim(sheet):
    return {v for k in range(len(sheet.pieces)) for s in sheet.sides(k) if s not in sheet.beyond for v in s}


def bowl(edge):
    """Four triangles down to the middle of a square whose corners have these heights."""
    ring = [(x, y, z) for (x, y), z in zip([(0, 0), (4, 0), (4, 4), (0, 4)], edge, strict=True)]
    return slab([[p, q, (2, 2, 0.0)] for p, q in zip(ring, ring[1:] + ring[:1], strict=True)])


def test_a_pyramid_of_water():
    sheet = sheet_of([bowl([0.3] * 4)])
    (pool,) = pools(sheet, rim(sheet))
    assert (pool.at, pool.depth, pool.level) == ((2.0, 2.0), 0.3, 0.3)
    assert pool.volume == pytest.approx(16 * 0.3 / 3)
    assert pool.area == pytest.approx(16.0)


def test_it_spills_at_the_lowest_corner():
    sheet = sheet_of([bowl([0.3, 0.1, 0.3, 0.3])])
    (pool,) = pools(sheet, rim(sheet))
    assert pool.level == pytest.approx(0.1)
    # cut off at a third, the pyramid with corners at .3 leaves (1/3)^2 of its area; one corner lies lower
    assert 16 / 9 < pool.area < 16
    assert pool.volume < pool.area * pool.depth


def test_what_is_open_is_no_pool():
    sheet = sheet_of([bowl([0.3] * 4)])
    (low,) = np.flatnonzero(sheet.corners[:, 2] == 0.0).tolist()
    assert pools(sheet, rim(sheet) | {low}) == ()
    assert pools(sheet, ()) == ()


def test_walls_all_round_but_one_corner():
    sheet = sheet_of([bowl([0.3, 0.2, 0.4, 0.5])])
    highest = int(np.argmax(sheet.corners[:, 2]))
    (pool,) = pools(sheet, {highest})
    assert pool.level == pytest.approx(0.5)
    assert pool.area == pytest.approx(16.0)


@pytest.mark.parametrize("seed", range(5))
def test_random_sheets_against_a_fine_raster(seed):
    """The raster's own flood of the same surface, cells of 2 cm."""
    made = terrain(seed, 5, 4, rough=0.1, fall=(0.0, 0.0))
    sheet = sheet_of([made])
    found = pools(sheet, rim(sheet))
    xs, ys = np.arange(0.0, 5.001, 0.02), np.arange(0.0, 4.001, 0.02)
    z = np.full((len(ys), len(xs)), np.nan)
    for piece in sheet.pieces:
        paint(z, xs, ys, sheet.corners[list(piece.corners), :2], np.array(piece.plane))
    opened = np.zeros(z.shape, dtype=bool)
    opened[[0, -1], :], opened[:, [0, -1]] = True, True
    got = flood(z, 0.02, opened)
    depth = got.level - z
    assert depth.sum() * 0.02**2 == pytest.approx(sum(p.volume for p in found), rel=0.02, abs=1e-3)
    assert depth.max() == pytest.approx(max((p.depth for p in found), default=0.0), abs=0.004)
    assert len(found) > 0
