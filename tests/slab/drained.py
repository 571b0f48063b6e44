"""Small finished slabs for the tests of drainage."""

from __future__ import annotations

import numpy as np
import shapely

from slabwright.slab.model import Edge, Facet, HeightPlan, Hole, JointPlan, Node, Outline, Slab


class Spec:
    """Stands in for a slab's specification, of which drainage reads the name alone."""

    def __init__(self, name):
        self.name = name


def slab(facets, *, name="slab", kinds=None, against=None, holes=()):
    """A slab from facets, each a list of (x, y, z); `kinds` gives a rim side's kind by (p, q) rounded."""
    nodes, index, made = [], {}, []
    for number, facet in enumerate(facets):
        ring = []
        for x, y, z in facet:
            key = (round(x, 6), round(y, 6), round(z, 6))
            if key not in index:
                index[key] = len(nodes)
                nodes.append(Node(str(len(nodes)), float(x), float(y), float(z), None))
            ring.append(index[key])
        made.append(Facet(tuple(ring), str(number + 1)))
    whole = shapely.union_all([shapely.polygons([p[:2] for p in f]) for f in facets])
    whole = shapely.orient_polygons(whole)
    ring = [tuple(map(float, p)) for p in whole.exterior.coords[:-1]]
    edges = []
    for p, q in zip(ring, ring[1:] + ring[:1], strict=True):
        kind = next((k for test, k in (kinds or []) if test(p) and test(q)), "free")
        edges.append(Edge(p, q, kind, (against or {}).get(kind)))
    rings = tuple(Hole(n, "post", tuple(r), None) for n, r in holes)
    outline = Outline(name, tuple(ring), tuple(edges), rings, (), None, whole.area, whole.length)
    plan = HeightPlan(tuple(nodes), tuple(made), (0, 0), (0, 0), (0, 0), True, {}, ())
    return Slab(Spec(name), outline, JointPlan((), (), 0, 0, True, ()), plan, None)


def terrain(seed, nx=4, ny=3, rough=0.05, fall=(0.02, -0.01)):
    """A grid of triangles with random heights, 1 m cells."""
    rng = np.random.default_rng(seed)
    z = rng.normal(0, rough, (ny + 1, nx + 1))
    z += np.add.outer(fall[1] * np.arange(ny + 1), fall[0] * np.arange(nx + 1))
    facets = []
    for j in range(ny):
        for i in range(nx):
            a, b, c, d = ((i + di, j + dj, z[j + dj, i + di]) for di, dj in ((0, 0), (1, 0), (1, 1), (0, 1)))
            facets += [[a, b, c], [a, c, d]] if rng.random() < 0.5 else [[a, b, d], [b, c, d]]
    return slab(facets)


def plane(corners, a, b, c=0.0):
    """Corners (x, y) with heights on a plane."""
    return [(x, y, a * x + b * y + c) for x, y in corners]


def box(x0, y0, x1, y1):
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
