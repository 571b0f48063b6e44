"""Dig volumes beside shapely, a general geometry library: overlay by intersection, mean depth by centroid.

Net volume only, since a general overlay does not split a prism at its zero line. And a closed form: the
textbook pond, a frustum 10 x 6 m at the top, 6 x 2 m at the floor and 2 m deep, by the prismoid.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from slabwright.ground.model import Surface
from slabwright.ground.prisms import overlay
from slabwright.ground.shots import surface_from
from slabwright.ground.surface import planes


def by_shapely(ring: list[tuple[float, float]], plane: tuple[float, float, float], surface: Surface) -> float:
    """Net volume [m3] of the ground above a plane inside a ring that lies within the shots."""
    slab = shapely.Polygon(ring)
    total = 0.0
    for corners, ground in zip(
        surface.points[surface.triangles], planes(surface.points, surface.triangles), strict=True
    ):
        shared = slab.intersection(shapely.Polygon(corners[:, :2]))
        if shared.area > 0:
            a, b, c = ground - np.array(plane)
            total += shared.area * (a * shared.centroid.x + b * shared.centroid.y + c)
    return total


@pytest.mark.parametrize("seed", range(6))
def test_net_volume(seed: int) -> None:
    rng = np.random.default_rng(seed)
    corners = [(0, 0), (12, 0), (12, 12), (0, 12)]
    xy = np.vstack([corners, rng.uniform(0, 12, (20, 2))])
    surface, _ = surface_from({f"G{k}": (*p, float(rng.normal(0, 0.2))) for k, p in enumerate(xy)})
    assert surface is not None
    ring = [(2.0, 1.5), (9.0, 2.5), (10.5, 8.0), (6.0, 6.5), (3.0, 10.0)]  # with a re-entrant corner
    plane = (0.02, -0.01, float(rng.normal(0, 0.1)))
    cells = overlay([(0, ring, plane)], surface)
    cut, fill = cells.volumes(1, np.zeros(1))
    assert cut[0] - fill[0] == pytest.approx(by_shapely(ring, plane, surface), abs=1e-9)
    assert cells.areas(1)[0] == pytest.approx(shapely.Polygon(ring).area, rel=1e-9)


def test_frustum_by_the_prismoid() -> None:
    """h / 6 (A1 + 4 Am + A2) = 2 / 6 (60 + 4 x 32 + 12) = 66.667 m3."""
    ground = np.array([(-20.0, -20.0, 0.0), (20.0, -20.0, 0.0), (20.0, 20.0, 0.0), (-20.0, 20.0, 0.0)])
    surface = Surface(
        ground, np.array([[0, 1, 2], [0, 2, 3]]), tuple((x, y) for x, y, _ in ground), ("",) * 4
    )
    top = [(-5.0, -3.0), (5.0, -3.0), (5.0, 3.0), (-5.0, 3.0)]
    low = [(-3.0, -1.0), (3.0, -1.0), (3.0, 1.0), (-3.0, 1.0)]
    pieces = [(0, low, (0.0, 0.0, -2.0))]
    slopes = [(0.0, -1.0, -3.0), (1.0, 0.0, -5.0), (0.0, 1.0, -3.0), (-1.0, 0.0, -5.0)]
    for k, plane in enumerate(slopes):
        ring = [top[k], top[(k + 1) % 4], low[(k + 1) % 4], low[k]]
        pieces.append((0, ring, plane))
    cut, fill = overlay(pieces, surface).volumes(1, np.zeros(1))
    assert cut[0] == pytest.approx(66.667, abs=0.0005)
    assert fill[0] == pytest.approx(0.0, abs=1e-12)
