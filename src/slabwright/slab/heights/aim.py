"""Which way water should go on each panel, and which walls a panel must fall away from.

A ribbon's own directions are along its line and square to it; a ring's are away from the wall in
front of which a panel lies (or where the job says) and square to that.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from slabwright.findings import Finding, find
from slabwright.ground.model import Ground, Wall
from slabwright.notes.spec import SlabSpec
from slabwright.slab.heights.limits import ON_EDGE, value
from slabwright.slab.heights.net import Net
from slabwright.slab.model import XY, Outline

Floats = NDArray[np.float64]
FLAT_GROUND = 0.002  # [-] ground flatter than this shows no way to fall


@dataclass(frozen=True, slots=True)
class Aim:
    """Directions at the probes of a slab, one row a probe.

    `down` (n, 2): unit vector of the wanted cross fall; `long` (n, 2): square to it.
    """

    down: Floats
    long: Floats
    findings: tuple[Finding, ...]


def normal_of(wall: Wall) -> XY:
    """Return the unit vector that points from a wall out into the yard."""
    dx, dy = wall.q[0] - wall.p[0], wall.q[1] - wall.p[1]
    run = math.hypot(dx, dy)
    return (dy / run, -dx / run)


def before_wall(wall: Wall, p: XY) -> float | None:
    """Return how far [m] p stands out in front of the wall; None when it is behind or past its ends."""
    dx, dy = wall.q[0] - wall.p[0], wall.q[1] - wall.p[1]
    run = math.hypot(dx, dy)
    along = ((p[0] - wall.p[0]) * dx + (p[1] - wall.p[1]) * dy) / run
    nx, ny = normal_of(wall)
    out = (p[0] - wall.p[0]) * nx + (p[1] - wall.p[1]) * ny
    return out if out > 0 and 0 <= along <= run else None


def _axis_at(axis: tuple[XY, ...], p: XY) -> tuple[XY, float]:
    """Return the axis' unit direction nearest to p, and p's signed distance left of it [m]."""
    best: tuple[float, XY, float] | None = None
    for a, b in pairwise(axis):
        dx, dy = b[0] - a[0], b[1] - a[1]
        run = math.hypot(dx, dy)
        if run < 1e-9:
            continue
        t = min(1.0, max(0.0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / run**2))
        off = math.hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy)
        left = (dx * (p[1] - a[1]) - dy * (p[0] - a[0])) / run
        if best is None or off < best[0] - 1e-9:
            best = off, (dx / run, dy / run), left
    return (best[1], best[2]) if best else ((1.0, 0.0), 0.0)


def _straddles(outline: Outline, net: Net) -> bool:
    """Return whether some panel lies on both sides of a ribbon's line, so that no crown can fold there."""
    for piece in net.pieces:
        left = [_axis_at(outline.axis, (float(net.xy[k, 0]), float(net.xy[k, 1])))[1] for k in piece.masters]
        if min(left) < -ON_EDGE and max(left) > ON_EDGE:
            return True
    return False


def _ground_way(samples: Floats, ground_z: Floats | None) -> XY | None:
    """Return the direction in which the ground falls under a slab, or None where it shows none."""
    if ground_z is None or len(ground_z) < 3:
        return None
    a = np.column_stack([samples - samples.mean(axis=0), np.ones(len(samples))])
    (gx, gy, _), *_ = np.linalg.lstsq(a, ground_z, rcond=None)
    steep = math.hypot(gx, gy)
    return (-gx / steep, -gy / steep) if steep > FLAT_GROUND else None


def _nearest_wall(ground: Ground, p: XY, reach: float) -> Wall | None:
    found = [(d, w.name, w) for w in ground.walls if (d := before_wall(w, p)) is not None and d <= reach]
    return min(found)[2] if found else None


def _ribbon_sign(
    spec: SlabSpec, outline: Outline, points: Mapping[str, XY], ground: Ground, way: XY | None
) -> tuple[float, str | None]:
    """Return +1 (falls left of the line) or -1 (right), and the code of a finding if it was guessed."""
    toward = spec.fall.toward
    axis = outline.axis
    if toward in ("left", "right"):
        return (1.0 if toward == "left" else -1.0), None
    if toward is not None and toward in points:
        return (1.0 if _axis_at(axis, points[toward])[1] > 0 else -1.0), None
    middle = axis[len(axis) // 2] if len(axis) > 2 else tuple((a + b) / 2 for a, b in zip(*axis, strict=True))
    (ex, ey), _ = _axis_at(axis, (middle[0], middle[1]))
    code = None if toward is None else "heights-toward-unknown"
    wall = _nearest_wall(ground, (middle[0], middle[1]), value("house-reach"))
    for v in (normal_of(wall) if wall else None, way):
        if v is not None and abs(-ey * v[0] + ex * v[1]) > 0.3:
            return math.copysign(1.0, -ey * v[0] + ex * v[1]), code
    return -1.0, code or "heights-way-guessed"


def _ring_way(
    spec: SlabSpec, outline: Outline, points: Mapping[str, XY], middle: XY, way: XY | None, wall: Wall | None
) -> tuple[XY, str | None]:
    """Return the slab's own unit direction of fall, and the code of a finding if it was guessed."""
    toward = spec.fall.toward
    if toward in ("left", "right"):
        return ((-1.0, 0.0) if toward == "left" else (1.0, 0.0)), None
    if toward is not None and toward in points:
        raw = (points[toward][0] - middle[0], points[toward][1] - middle[1])
        return _square_to_edge(outline, raw), None
    code = None if toward is None else "heights-toward-unknown"
    if wall is not None:
        return normal_of(wall), code
    if way is not None:
        return _square_to_edge(outline, way), code
    longest = max(outline.edges, key=lambda e: (round(math.dist(e.p, e.q), 6), e.p))
    dx, dy = longest.q[0] - longest.p[0], longest.q[1] - longest.p[1]
    run = math.hypot(dx, dy)
    return (dy / run, -dx / run), code or "heights-way-guessed"


def _square_to_edge(outline: Outline, v: XY) -> XY:
    """Return the outward normal of the straight edge that v points at most nearly, if within 45 deg."""
    run = math.hypot(*v) or 1.0
    v = (v[0] / run, v[1] / run)
    best, score = v, math.cos(math.pi / 4)
    for e in outline.edges:
        length = math.dist(e.p, e.q)
        if e.bulge or length < 1e-6:
            continue
        n = ((e.q[1] - e.p[1]) / length, -(e.q[0] - e.p[0]) / length)
        fit = n[0] * v[0] + n[1] * v[1]
        if fit > score + 1e-9:
            best, score = n, fit
    return best


def aim(
    spec: SlabSpec,
    outline: Outline,
    net: Net,
    probes: Floats,
    owner: NDArray[np.int64],
    points: Mapping[str, XY],
    ground: Ground,
    samples: Floats,
    ground_z: Floats | None,
) -> Aim:
    """Return the directions of fall at the probes of one slab.

    `probes` (n, 2) [m], `owner` (n,) the piece of each; `samples` (k, 2) [m] with the ground's
    heights there (k,) [m] or None.
    """
    way = _ground_way(samples, ground_z)
    crowned = False
    down, long = np.empty((len(probes), 2)), np.empty((len(probes), 2))
    reach = value("house-reach")
    if outline.axis:
        sign, code = _ribbon_sign(spec, outline, points, ground, way)
        crowned = spec.fall.crown and not _straddles(outline, net)
        for k, p in enumerate(probes):
            (ex, ey), left = _axis_at(outline.axis, (float(p[0]), float(p[1])))
            side = math.copysign(1.0, left) if crowned else sign
            down[k], long[k] = (-ey * side, ex * side), (ex, ey)
    else:
        total = sum(p.area for p in net.pieces)
        mx = sum(p.centroid[0] * p.area for p in net.pieces) / total
        my = sum(p.centroid[1] * p.area for p in net.pieces) / total
        own, code = _ring_way(spec, outline, points, (mx, my), way, _any_wall(ground, net, reach))
        given = spec.fall.toward is not None and code is None
        by_piece = []
        for piece in net.pieces:
            wall = None if given else _nearest_wall(ground, piece.centroid, reach)
            by_piece.append(normal_of(wall) if wall else own)
        down[:] = np.array(by_piece)[owner]
        long[:] = np.column_stack([-down[:, 1], down[:, 0]])
    level = spec.fall.across == 0 and spec.fall.across_least <= 0  # nobody asked for a cross fall
    codes = [code] if code and not (level and code == "heights-way-guessed") else []
    if spec.fall.crown and not (outline.axis and crowned):
        codes.append("crown-no-joint")
    return Aim(
        down,
        long,
        tuple(find("slab", c, where=spec.name, line=spec.line) for c in codes),
    )


def _any_wall(ground: Ground, net: Net, reach: float) -> Wall | None:
    """Return the wall that most of the slab's area lies in front of, within reach."""
    share: dict[str, float] = {}
    for piece in net.pieces:
        wall = _nearest_wall(ground, piece.centroid, reach)
        if wall is not None:
            share[wall.name] = share.get(wall.name, 0.0) + piece.area
    if not share:
        return None
    best = max(share, key=lambda k: (share[k], k))
    return next(w for w in ground.walls if w.name == best)
