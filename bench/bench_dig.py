"""Dig by panel on the triangulated ground, beside one ring at a time and beside a general overlay.

A slab of square panels with its form strip all round; ground of 30 shots (a house lot) and of 20,000
triangles (a scanned one). Peers give cut and fill of the panels only: the ground room's own volumes called
once a panel, and shapely's intersection with every triangle near (net volume only). Last column: a grid
of 1 ft squares taken at their middles, which is what a careful person does, and how far off it is.
"""

from __future__ import annotations

import numpy as np
import shapely

from slabwright.build.dig import plan_dig
from slabwright.build.top import top_facets
from slabwright.ground.model import Ground, Surface
from slabwright.ground.surface import ground_height, planes
from slabwright.ground.triangulate import triangulate
from slabwright.ground.volume import volumes_between
from slabwright.notes import Notes
from slabwright.notes.defaults import specify
from slabwright.slab.model import (
    Edge,
    Facet,
    HeightPlan,
    JointPlan,
    Node,
    Outline,
    Panel,
    Shaped,
    Slab,
    SteelPlan,
)
from timing import median_ms

FT = 0.3048
SIDE = 2.0  # [m] of a panel


def lot(shots: int, side: float, seed: int = 0) -> Surface:
    rng = np.random.default_rng(seed)
    xy = rng.uniform(0, side, (shots, 2))
    triangles, _ = triangulate(xy)
    z = 0.02 * xy[:, 0] - 0.01 * xy[:, 1] + rng.normal(0, 0.03, shots)
    hull = shapely.get_coordinates(shapely.orient_polygons(shapely.convex_hull(shapely.multipoints(xy))))
    return Surface(np.column_stack([xy, z]), triangles, tuple(map(tuple, hull[:-1])), ())


def slab_of(rows: int, columns: int, corner: float) -> Slab:
    x = corner + SIDE * np.arange(columns + 1)
    y = corner + SIDE * np.arange(rows + 1)
    nodes = [
        Node(f"{i}.{j}", float(u), float(v), float(0.02 * u - 0.005 * v), None)
        for j, v in enumerate(y)
        for i, u in enumerate(x)
    ]
    facets, panels = [], []
    for j in range(rows):
        for i in range(columns):
            k = j * (columns + 1) + i
            at = (k, k + 1, k + columns + 2, k + columns + 1)
            name = str(len(panels) + 1)
            facets.append(Facet(at, name))
            panels.append(Panel(name, tuple((nodes[n].x, nodes[n].y) for n in at), SIDE**2, SIDE, SIDE))
    ring = tuple(
        (float(u), float(v)) for u, v in ((x[0], y[0]), (x[-1], y[0]), (x[-1], y[-1]), (x[0], y[-1]))
    )
    edges = tuple(Edge(p, q, "free", None) for p, q in zip(ring, (*ring[1:], ring[0]), strict=True))
    slab = {"name": "pad", "use": "pad", "corners": ["A", "B", "C"]}
    (spec,) = specify(Notes.model_validate({"title": "bench", "slabs": [slab]}))
    flat = (0.0, 0.0)
    return Slab(
        spec,
        Outline("pad", ring, edges, (), (), None, SIDE**2 * len(panels), 2 * SIDE * (rows + columns)),
        JointPlan((), tuple(panels), 0.0, 0.0, True, ()),
        HeightPlan(tuple(nodes), tuple(facets), flat, flat, flat, True, {}, ()),
        SteelPlan("none", "", (), 0.0, 0.0, 0.0, 0.0, 0.0, 0, 0, ()),
    )


def by_ring(slab: Slab, surface: Surface) -> tuple[float, float]:
    """Cut and fill of the panels, the ground room asked once for each."""
    below = slab.spec.thickness + slab.spec.base
    got = [volumes_between(None, [(f.ring, f.plane)], surface, below) for f in top_facets(slab)]
    return sum(v.cut for v in got), sum(v.fill for v in got)


def by_overlay(slab: Slab, surface: Surface) -> float:
    """Net volume of the panels by a general overlay."""
    ground = shapely.polygons(surface.points[surface.triangles][:, :, :2])
    facets = top_facets(slab)
    who, which = shapely.STRtree(ground).query(shapely.polygons([f.ring for f in facets]))
    parts = shapely.intersection(shapely.polygons([f.ring for f in facets])[who], ground[which])
    full = shapely.area(parts) > 0
    centres = shapely.get_coordinates(shapely.centroid(parts[full]))
    tops = np.array([f.plane for f in facets])
    slope = (planes(surface.points, surface.triangles)[which] - tops[who])[full]
    depth = (slope[:, :2] * centres).sum(axis=1) + slope[:, 2] + slab.spec.thickness + slab.spec.base
    return float((shapely.area(parts[full]) * depth).sum())


def by_grid(slab: Slab, surface: Surface) -> float:
    """Cut of the panels from squares of 1 ft taken at their middles."""
    (x0, y0), (x1, y1) = slab.outline.ring[0], slab.outline.ring[2]
    nx, ny = round((x1 - x0) / FT), round((y1 - y0) / FT)
    u = x0 + (np.arange(nx) + 0.5) * (x1 - x0) / nx
    v = y0 + (np.arange(ny) + 0.5) * (y1 - y0) / ny
    xy = np.stack(np.meshgrid(u, v), axis=-1).reshape(-1, 2)
    depth = ground_height(surface, xy) - (0.02 * xy[:, 0] - 0.005 * xy[:, 1])
    depth += slab.spec.thickness + slab.spec.base
    return float(np.maximum(depth, 0).sum() * slab.outline.area / len(xy))


def main() -> None:
    print(
        f"{'panels':>7}{'triangles':>11}{'ours ms':>9}{'by rings':>13}{'ratio':>7}{'overlay':>9}{'ratio':>7}"
        f"{'grid off':>10}{'with map':>10}"
    )
    for shots, side, rows, columns in (
        (30, 20.0, 3, 4),
        (30, 40.0, 6, 10),
        (10_060, 40.0, 6, 10),
        (10_060, 40.0, 18, 18),
    ):
        surface, slab = lot(shots, side), slab_of(rows, columns, 2.0)
        empty: tuple[()] = ()
        ground = Ground(
            empty, empty, empty, empty, empty, empty, empty, surface, 0.0, "loam", "none", None, empty
        )
        job = Shaped((slab,), ())
        few = shots > 100
        ours = median_ms(lambda job=job, ground=ground: plan_dig(job, ground), 5 if few else 15)  # type: ignore[misc]
        drawn = median_ms(lambda job=job, ground=ground: plan_dig(job, ground, mapped=True), 3)  # type: ignore[misc]
        ring = median_ms(lambda s=slab, g=surface: by_ring(s, g), 1 if few else 5)  # type: ignore[misc]
        over = median_ms(lambda s=slab, g=surface: by_overlay(s, g), 3)  # type: ignore[misc]
        dig = plan_dig(job, ground)
        assert dig is not None
        cut, fill = by_ring(slab, surface)
        got = dig.cut - dig.over_dig
        assert abs(got - cut) < 1e-6 * cut, (got, cut)
        assert abs(cut - fill - by_overlay(slab, surface)) < 1e-6 * cut
        off = by_grid(slab, surface) / cut - 1
        print(
            f"{rows * columns:>7}{len(surface.triangles):>11,}{ours:>9.1f}{ring:>13.1f}{ring / ours:>7.1f}"
            f"{over:>9.1f}{over / ours:>7.1f}{off:>10.2%}{drawn:>10.1f}"
        )


if __name__ == "__main__":
    main()
