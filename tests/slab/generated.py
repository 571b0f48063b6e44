"""Outlines and joints made up from a seed: rings and ribbons with arcs and rounded corners, cut anyhow."""

from __future__ import annotations

import math

import numpy as np
import shapely
from tests.slab import heights_cases as c

from slabwright.ground.model import Ground
from slabwright.notes.models import Vertex
from slabwright.notes.spec import SlabSpec
from slabwright.slab.model import XY, JointPlan, Outline, Panel
from slabwright.slab.outline import outline
from slabwright.slab.panels import Piece, subdivide

Made = tuple[SlabSpec, Outline, JointPlan, Ground]
LEAST_AREA, LEAST_SIDE = 0.2, 0.3  # m2, m: what no joint plan would leave smaller


def ring(rng: np.random.Generator) -> tuple[dict[str, XY], dict]:
    """Three to eight corners round a middle, some rounded, some sides bowed out."""
    while True:
        n = int(rng.integers(3, 9))
        turn = np.sort(rng.uniform(0, 2 * math.pi, n))
        gap = np.diff([*turn, turn[0] + 2 * math.pi])
        if gap.min() > 0.35 and gap.max() < 2.8:
            break
    reach = rng.uniform(1.5, 5.0, n)
    points = {
        f"p{k}": (float(reach[k] * math.cos(t)), float(reach[k] * math.sin(t))) for k, t in enumerate(turn)
    }
    corners = []
    for k in range(n):
        lot, extra = rng.random(), {}
        if lot < 0.2:
            extra = {"round": "1 ft"}
        elif lot < 0.35:
            p, q = points[f"p{(k - 1) % n}"], points[f"p{k}"]
            m = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
            bow = 1 + 0.1 * math.dist(p, q) / (math.hypot(*m) or 1)
            points[f"m{k}"] = (m[0] * bow, m[1] * bow)
            extra = {"arc_through": f"m{k}"}
        corners.append(Vertex(point=f"p{k}", **extra))
    return points, {"corners": tuple(corners), "use": "patio"}


def ribbon(rng: np.random.Generator) -> tuple[dict[str, XY], dict]:
    """A walk of one to four legs, straight or bent to an arc, with corners up to 70 deg."""
    way = rng.uniform(-3, 3)
    p, points, along = np.zeros(2), {"p0": (0.0, 0.0)}, [Vertex(point="p0")]
    for k in range(1, int(rng.integers(2, 6))):
        leg, extra = rng.uniform(2.5, 6), {}
        e = np.array([math.cos(way), math.sin(way)])
        before, p = p, p + leg * e
        points[f"p{k}"] = (float(p[0]), float(p[1]))
        if rng.random() < 0.3:
            m = (before + p) / 2 + 0.15 * leg * np.array([-e[1], e[0]]) * rng.choice([-1, 1])
            points[f"m{k}"] = (float(m[0]), float(m[1]))
            extra = {"arc_through": f"m{k}"}
        along.append(Vertex(point=f"p{k}", **extra))
        way += rng.uniform(-1.2, 1.2)
    return points, {"along": tuple(along), "width": float(rng.uniform(0.8, 1.6)), "use": "walk"}


def chords(rng: np.random.Generator, o: Outline) -> list[tuple[XY, ...]]:
    """Joints: for a ring a grid turned anyhow, for a ribbon lines square to it."""
    body = shapely.Polygon(o.ring)
    x0, y0, x1, y1 = body.bounds
    wanted = []
    if o.axis:
        line = shapely.LineString(o.axis)
        for s in np.arange(rng.uniform(0.7, 1.5), line.length - 0.6, rng.uniform(1.0, 1.6)):
            a, b = (np.array(line.interpolate(s + d).coords[0]) for d in (-0.01, 0.01))
            e = (b - a) / np.hypot(*(b - a))
            n = np.array([-e[1], e[0]]) * (o.width or 1)
            wanted.append(((a + b) / 2 - n, (a + b) / 2 + n))
    else:
        turn, far = rng.uniform(0, math.pi / 2), math.hypot(x1 - x0, y1 - y0)
        for way in (turn, turn + math.pi / 2):
            e, n = np.array([math.cos(way), math.sin(way)]), np.array([-math.sin(way), math.cos(way)])
            for s in np.arange(rng.uniform(0.4, 1.4) - far, far, rng.uniform(1.2, 2.2)):
                middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2]) + s * n
                wanted.append((middle - far * e, middle + far * e))
    found: list[tuple[XY, ...]] = []
    for p, q in wanted:
        cut = body.intersection(shapely.LineString([p, q]))
        parts = [part for part in shapely.get_parts(cut) if part.length > LEAST_SIDE]
        if o.axis and parts:  # of a walk that comes back on itself, only the leg that is meant
            at = shapely.Point((p + q) / 2)
            parts = [min(parts, key=at.distance)]
        found += [tuple((float(x), float(y)) for x, y in part.coords) for part in parts]
    return found


def small(piece: Piece) -> bool:
    return piece.area < LEAST_AREA or piece.short < LEAST_SIDE


def made(seed: int) -> Made:
    """A slab of which nothing is fixed, over ground that is a tilted plane; joints that make slivers go."""
    rng = np.random.default_rng(seed)
    points, asked = (ribbon if seed % 2 else ring)(rng)
    spec = c.spec("slab", **asked)
    tilt = rng.uniform(-0.04, 0.04, 2)
    g = c.ground(surface=c.plane_surface(float(tilt[0]), float(tilt[1]), 0.0))
    o, _ = outline(spec, points, g)
    lines = chords(rng, o)
    pieces = subdivide(o.ring, [], lines)
    while lines and any(small(piece) for piece in pieces):
        bad = shapely.union_all([shapely.Polygon(p.ring) for p in pieces if small(p)])
        near = max(
            range(len(lines)),
            key=lambda k: shapely.LineString(lines[k]).intersection(bad.buffer(1e-4)).length,
        )
        lines.pop(near)
        pieces = subdivide(o.ring, [], lines)
    panels = tuple(Panel(str(k + 1), p.ring, p.area, p.long, p.short) for k, p in enumerate(pieces))
    return spec, o, JointPlan((), panels, 0.0, 0.0, True, ()), g
