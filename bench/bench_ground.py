"""The ground's heights and volumes beside general-purpose libraries, in one run.

.venv/bin/python bench/bench_ground.py
"""

from __future__ import annotations

import numpy as np
import shapely
from scipy.interpolate import LinearNDInterpolator

from slabwright.ground.model import Surface
from slabwright.ground.shots import surface_from
from slabwright.ground.surface import grid_heights, ground_height, planes
from slabwright.ground.triangulate import triangulate
from slabwright.ground.volume import volumes_between
from timing import median_ms

FT = 0.3048


def rough(count: int, side: float, seed: int = 0) -> Surface:
    rng = np.random.default_rng(seed)
    xy = rng.uniform(0, side, (count, 2))
    triangles, _ = triangulate(xy)
    hull = shapely.get_coordinates(shapely.orient_polygons(shapely.convex_hull(shapely.multipoints(xy))))
    return Surface(
        np.column_stack([xy, rng.normal(0, 0.1, count)]), triangles, tuple(map(tuple, hull[:-1])), ()
    )


def by_overlay(facets: list, surface: Surface, offset: float) -> float:
    """Net volume by a general overlay: intersect every pair, then mean depth at the fan's corners."""
    ground = shapely.polygons(surface.points[surface.triangles][:, :, :2])
    slabs = shapely.polygons(np.array([f[0] for f in facets]))
    who, which = shapely.STRtree(ground).query(slabs)
    parts = shapely.intersection(slabs[who], ground[which])
    centres = shapely.get_coordinates(shapely.centroid(parts))
    full = shapely.area(parts) > 0
    slope = planes(surface.points, surface.triangles)[which] - np.array([f[1] for f in facets])[who]
    slope = slope[full]
    depth = (slope[:, :2] * centres[: len(full)][: full.sum()]).sum(axis=1) + slope[:, 2] + offset
    return float((shapely.area(parts)[full] * depth).sum())


def main() -> None:
    rows: list[tuple[str, float, float, str]] = []
    surface = rough(10_060, 40.0)
    count = len(surface.triangles)
    plane = (0.01, 0.0, 0.0)
    panels = [
        ([(i, j), (i + 2.0, j), (i + 2.0, j + 2.0), (i, j + 2.0)], plane)
        for i in np.arange(1.0, 39, 2)
        for j in np.arange(1.0, 39, 2)
    ]
    rows.append(
        (
            f"cut and fill, {count:,} triangles under 361 panels",
            median_ms(lambda: volumes_between(None, panels, surface, 0.1), 7),
            median_ms(lambda: by_overlay(panels, surface, 0.1), 3),
            "shapely intersection, net volume only",
        )
    )
    got = volumes_between(None, panels, surface, 0.1)
    assert abs(got.cut - got.fill - by_overlay(panels, surface, 0.1)) < 1e-6 * got.fill

    shots = {
        f"G{k}": (float(x), float(y), float(x * 0.02 - y * 0.01))
        for k, (x, y) in enumerate(np.random.default_rng(1).uniform(0, 30, (30, 2)))
    }
    xs, ys = np.arange(0.5, 400) * 0.25 * FT, np.arange(0.5, 600) * 0.25 * FT
    lot = surface_from(shots)[0]
    assert lot is not None
    linear = LinearNDInterpolator(lot.points[:, :2], lot.points[:, 2])
    grid = np.stack(np.meshgrid(xs, ys), axis=-1)
    rows.append(
        (
            "heights on a 400 x 600 raster, 30 shots",
            median_ms(lambda: grid_heights(lot, xs, ys), 7),
            median_ms(lambda: linear(grid), 3),
            "scipy LinearNDInterpolator, no heights beyond the shots",
        )
    )
    places = np.random.default_rng(2).uniform(0, 40, (100_000, 2))
    linear_many = LinearNDInterpolator(surface.points[:, :2], surface.points[:, 2])
    rows.append(
        (
            f"heights at 100,000 places, {count:,} triangles",
            median_ms(lambda: ground_height(surface, places), 3),
            median_ms(lambda: linear_many(places), 3),
            "scipy LinearNDInterpolator",
        )
    )
    print(f"{'what':54} {'ours ms':>9} {'peer ms':>9} {'peer/ours':>9}  peer")
    for what, ours, peer, name in rows:
        print(f"{what:54} {ours:9.2f} {peer:9.2f} {peer / ours:9.2f}  {name}")
    print(f"surface from 30 shots: {median_ms(lambda: surface_from(shots), 30):.2f} ms")
    few = places[:60] * 0.7
    print(f"heights at 60 places of it: {median_ms(lambda: ground_height(lot, few), 30):.2f} ms")
    patio = [([(2.0, 2.0), (9.0, 2.0), (9.0, 7.0), (2.0, 7.0)], plane)]
    took = median_ms(lambda: volumes_between(patio[0][0], patio, lot, 0.1), 30)
    print(f"volumes of one patio over it: {took:.2f} ms")


if __name__ == "__main__":
    main()
