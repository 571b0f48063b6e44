"""The shapes of a job in space, as JSON holds them: triangles, lines, arrows, words.

A corner is [x, y, z, more]: place and height [m] as in the plan, and what is added to the height after the
view has exaggerated it, so that a slab stays as thin and a wall as high as it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from slabwright.build.top import TopFacet, top_facets
from slabwright.ground.model import ExistingSlab, Floats
from slabwright.ground.surface import ground_height
from slabwright.ground.untyped import shapely
from slabwright.result import Plan
from slabwright.sheets.scene import height_text
from slabwright.slab.model import Slab

XY = tuple[float, float]
Corner = tuple[float, float, float, float]

AROUND = 2.5  # m of ground and walls shown round the work
WALL = 0.4  # m; walls are drawn so far above the work, so that they do not hide what lies behind
KERB = 0.1  # m, for an existing slab whose thickness is not known
STRIP = 0.1  # [m]
SLIVER = 1e-5  # m2
ARROW = 0.5  # m, of a water arrow
LOOKS_RIGHT = 0.12  # share of the work's length that its heights should take up in the view
FACTORS = (1, 2, 3, 5, 8, 10, 15, 20, 30)
MOST_ARROWS = 160
STEPS = 6  # in which an edge follows the ground beside it


def solid(plan: Plan) -> dict[str, Any]:
    """Return the shapes of a plan: {faces, lines, arrows, marks, base, factor, span, middle}.

    faces: {of: slab | side | bank | ground | there | house, p: three corners, panel?}; lines:
    {of: joint | edge | wall, p}; arrows: {on: slab | ground, p: [tail, tip]}; marks: {p, text, name};
    `base` is the height [m] from which the view exaggerates, `factor` how many times at first.
    """
    made: dict[str, list[Any]] = {"faces": [], "lines": [], "arrows": [], "marks": []}
    tops = [(slab, top_facets(slab)) for slab in plan.shaped.slabs]
    for slab, facets in tops:
        _slab(made, plan, slab, facets)
        _marks(made, plan, slab)
    window = _window(plan)
    for one in plan.ground.existing:
        _existing(made, one, window)
    _ground(made, plan, window)
    _walls(made, plan, window)
    _water(made, plan, tops)
    heights = [node.z for slab in plan.shaped.slabs for node in slab.height_plan.nodes]
    low, high = min(heights), max(heights)
    x0, y0, x1, y1 = window.bounds
    span = math.hypot(x1 - x0, y1 - y0)
    return {
        **made,
        "base": _mm(low),
        "factor": factor_for(high - low, span),
        "factors": FACTORS,
        "span": _mm(span),
        "middle": [_mm((x0 + x1) / 2), _mm((y0 + y1) / 2)],
    }


def factor_for(rise: float, span: float) -> int:
    """Return how many times heights are drawn at first, so that a rise [m] shows over a span [m]."""
    wanted = LOOKS_RIGHT * span / max(rise, 1e-3)
    return max((f for f in FACTORS if f <= wanted), default=1)


def _mm(value: float) -> float:
    """Return a length [m] to the millimetre: more is lost on a screen."""
    return round(float(value), 3)


def _corner(x: float, y: float, z: float, more: float = 0.0) -> Corner:
    return (_mm(x), _mm(y), _mm(z), _mm(more))


def _window(plan: Plan) -> Any:
    """Return the part of the site that is shown, as a shape."""
    rings = [shapely.Polygon(slab.outline.ring) for slab in plan.shaped.slabs]
    return shapely.box(*shapely.union_all(rings).buffer(AROUND).bounds)


def _height(facets: Sequence[TopFacet], at: XY) -> float:
    """Return the height [m] of a slab's top at a place on it or on its edge."""
    spot = shapely.Point(at)
    nearest = min(facets, key=lambda facet: shapely.Polygon(facet.ring).distance(spot))
    return nearest.height(*at)


def _slab(made: dict[str, list[Any]], plan: Plan, slab: Slab, facets: Sequence[TopFacet]) -> None:
    thick = slab.spec.thickness
    for facet in facets:
        for ring in _triangles(shapely.Polygon(facet.ring)):
            corners = [_corner(x, y, facet.height(x, y)) for x, y in ring]
            made["faces"].append({"of": "slab", "p": corners, "panel": facet.panel})
    for outline in (slab.outline.ring, *(hole.ring for hole in slab.outline.holes)):
        tops = [(x, y, _height(facets, (x, y))) for x, y in outline]
        for (ax, ay, az), (bx, by, bz) in pairwise([*tops, tops[0]]):
            a, b = _corner(ax, ay, az), _corner(bx, by, bz)
            under = (_corner(bx, by, bz, -thick), _corner(ax, ay, az, -thick))
            made["faces"] += [{"of": "side", "p": [a, b, under[0]]}, {"of": "side", "p": [a, *under]}]
            made["lines"].append({"of": "edge", "p": [a, b]})
            made["faces"] += _bank(plan, under)
    for joint in slab.joint_plan.joints:
        line = [_corner(x, y, _height(facets, (x, y))) for x, y in joint.line]
        made["lines"].append({"of": "joint", "p": line})


def _bank(plan: Plan, under: Sequence[Corner]) -> Iterator[dict[str, Any]]:
    """Yield what lies between the underside of an edge and the ground beside it: base, or earth to cut."""
    if plan.ground.surface is None:
        return
    share = np.linspace(0.0, 1.0, STEPS + 1)[:, None]
    line = np.array(under[1]) * (1.0 - share) + np.array(under[0]) * share
    heights = ground_height(plan.ground.surface, line[:, :2])
    if not np.isfinite(heights).all():
        return
    over = [_corner(x, y, z, more) for x, y, z, more in line]
    on = [_corner(x, y, z) for (x, y, *_), z in zip(line, heights, strict=True)]
    for n in range(STEPS):
        yield {"of": "bank", "p": [over[n], over[n + 1], on[n + 1]]}
        yield {"of": "bank", "p": [over[n], on[n + 1], on[n]]}


def _marks(made: dict[str, list[Any]], plan: Plan, slab: Slab) -> None:
    for node in slab.height_plan.nodes:
        if not node.shape_only:
            at = _corner(node.x, node.y, node.z)
            made["marks"].append({"p": at, "text": height_text(plan, node.z), "name": node.label})


def _triangles(shape: Any) -> Iterator[tuple[XY, ...]]:
    """Yield triangles that cover a shape, holes left out."""
    for part in getattr(shape, "geoms", (shape,)):
        if part.geom_type != "Polygon" or part.area < SLIVER:
            continue
        for one in shapely.constrained_delaunay_triangles(part).geoms:
            yield tuple((x, y) for x, y in one.exterior.coords[:-1])


def _existing(made: dict[str, list[Any]], one: ExistingSlab, window: Any) -> None:
    if len(one.ring) < 3 or one.plane is None:
        return
    a, b, c = one.plane
    thick = one.thickness or KERB
    shape = shapely.make_valid(shapely.Polygon(one.ring)).intersection(window)
    for ring in _triangles(shape):
        made["faces"].append({"of": "there", "p": [_corner(x, y, a * x + b * y + c) for x, y in ring]})
    for part in getattr(shape, "geoms", (shape,)):
        if part.geom_type != "Polygon":
            continue
        for (px, py), (qx, qy) in pairwise(part.exterior.coords):
            p, q = _corner(px, py, a * px + b * py + c), _corner(qx, qy, a * qx + b * qy + c)
            under = [(*q[:3], _mm(-thick)), (*p[:3], _mm(-thick))]
            made["faces"] += [{"of": "there", "p": [p, q, under[0]]}, {"of": "there", "p": [p, *under]}]
            made["lines"].append({"of": "edge", "p": [p, q]})


def _ground(made: dict[str, list[Any]], plan: Plan, window: Any) -> None:
    """Add the ground round the slabs as it is now: its shots as triangles, carried on past them."""
    surface = plan.ground.surface
    if surface is None:
        return
    covered = [shapely.Polygon(s.outline.ring) for s in plan.shaped.slabs]
    covered += [shapely.make_valid(shapely.Polygon(e.ring)) for e in plan.ground.existing if len(e.ring) > 2]
    if plan.ground.house_ring:
        covered.append(shapely.make_valid(shapely.Polygon(plan.ground.house_ring)))
    bare = window.difference(shapely.union_all(covered))
    # a strip too thin to stand on, as between a wall and the edge of what is shown, is no ground to show
    bare = bare.buffer(-STRIP / 2, join_style="mitre").buffer(STRIP / 2, join_style="mitre")
    own = [shapely.Polygon(surface.points[list(t), :2]) for t in surface.triangles]
    inside = shapely.union_all(own)
    # beyond the shots the ground goes on as `ground_height` carries it; a coarse net follows that
    pieces = [*own, *(cell.difference(inside) for cell in _cells(window))]
    for piece in pieces:
        for ring in _triangles(piece.intersection(bare)):
            heights = ground_height(surface, np.array(ring))
            if np.isfinite(heights).all():
                corners = [_corner(x, y, z) for (x, y), z in zip(ring, heights, strict=True)]
                made["faces"].append({"of": "ground", "p": corners})


def _cells(window: Any, count: int = 8) -> Iterator[Any]:
    x0, y0, x1, y1 = window.bounds
    xs, ys = np.linspace(x0, x1, count + 1), np.linspace(y0, y1, count + 1)
    for left, right in pairwise(xs):
        for low, high in pairwise(ys):
            yield shapely.box(left, low, right, high)


def _walls(made: dict[str, list[Any]], plan: Plan, window: Any) -> None:
    """Add the walls near the work, from the lowest top of the slabs to above the highest."""
    tops = [node.z for slab in plan.shaped.slabs for node in slab.height_plan.nodes]
    foot, head = min(tops), max(tops)
    for wall in plan.ground.walls:
        if math.dist(wall.p, wall.q) == 0.0:
            continue
        part = shapely.LineString((wall.p, wall.q)).intersection(window)
        if part.geom_type != "LineString" or part.length == 0.0:
            continue
        (px, py), (qx, qy) = part.coords[0], part.coords[-1]
        p, q = _corner(px, py, foot), _corner(qx, qy, foot)
        over_q, over_p = _corner(qx, qy, head, WALL), _corner(px, py, head, WALL)
        made["faces"] += [{"of": "house", "p": [p, q, over_q]}, {"of": "house", "p": [p, over_q, over_p]}]
        made["lines"].append({"of": "wall", "p": [p, q, over_q, over_p, p]})


def _water(made: dict[str, list[Any]], plan: Plan, tops: Iterable[tuple[Slab, Sequence[TopFacet]]]) -> None:
    """Add arrows down the fall: on slabs along their tops, in the yard along the ground."""
    every = [facet for _, facets in tops for facet in facets]
    for (x, y), way in plan.water.arrows[:MOST_ARROWS]:
        run = math.hypot(*way)
        if run > 0.0:
            tip = (x + ARROW * way[0] / run, y + ARROW * way[1] / run)
            ends = [_corner(px, py, _height(every, (px, py))) for px, py in ((x, y), tip)]
            made["arrows"].append({"on": "slab", "p": ends})
    surface = plan.ground.surface
    if surface is None:
        return
    x0, y0, x1, y1 = _window(plan).bounds
    for (x, y), way in _thinned(plan.water.yard_arrows, (x1 - x0) / 14):
        run = math.hypot(*way)
        if run == 0.0 or not (x0 <= x <= x1 and y0 <= y <= y1):
            continue
        ends_xy = np.array([(x, y), (x + ARROW * way[0] / run, y + ARROW * way[1] / run)])
        heights: Floats = ground_height(surface, ends_xy)
        if np.isfinite(heights).all():
            both = [_corner(px, py, z) for (px, py), z in zip(ends_xy, heights, strict=True)]
            made["arrows"].append({"on": "ground", "p": both})


def _thinned(arrows: Sequence[tuple[XY, XY]], apart: float) -> Iterator[tuple[XY, XY]]:
    """Yield the first arrow of each square with sides `apart` [m]."""
    taken: set[tuple[int, int]] = set()
    for start, way in arrows:
        cell = (math.floor(start[0] / apart), math.floor(start[1] / apart))
        if cell not in taken:
            taken.add(cell)
            yield start, way
