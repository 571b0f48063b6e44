"""Heights that a slab must meet: existing slabs, doors, other new slabs, heights that the job fixes.

Each becomes a `Hold`: weights over grade nodes whose sum must lie between two heights. A thing that
cannot be held (a sill that was never shot, a slab that does not reach) is a finding.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from slabwright.findings import Finding, find
from slabwright.ground.model import DoorAt, Ground
from slabwright.measure import Quantity
from slabwright.notes.models import Fix, Meets
from slabwright.notes.spec import SlabSpec
from slabwright.slab.heights.limits import ON_EDGE, value
from slabwright.slab.heights.net import Net, Weights, weights_at
from slabwright.slab.heights.probes import Samples, samples
from slabwright.slab.heights.rows import Family, Floats, Ints
from slabwright.slab.model import XY, Outline

DRIVEN = ("driveway", "apron")


@dataclass(frozen=True, slots=True)
class Part:
    """One slab on its way to heights: `first` is the number of its first node in the whole problem.

    `samples` are where earth is weighed; `lawn` the corners on free edges, and the length [m] of free
    edge that each stands for.
    """

    spec: SlabSpec
    outline: Outline
    net: Net
    first: int
    samples: Samples
    lawn: tuple[Ints, Floats]


def part_of(spec: SlabSpec, outline: Outline, net: Net, first: int) -> Part:
    """Return the part of one slab with its samples and its free corners."""
    return Part(spec, outline, net, first, samples(net), _lawn_nodes(outline, net))


def _lawn_nodes(outline: Outline, net: Net) -> tuple[Ints, Floats]:
    bounded = [(e.p, e.q) for e in outline.edges if e.kind != "free"]
    master = {k for piece in net.pieces for k in piece.masters}
    at = net.xy[np.array(net.walk)].tolist()
    share = dict.fromkeys(net.walk, 0.0)
    for u, v, (ux, uy), (vx, vy) in zip(
        net.walk, net.walk[1:] + net.walk[:1], at, at[1:] + at[:1], strict=True
    ):
        middle = ((ux + vx) / 2, (uy + vy) / 2)
        if any(_off_segment(middle, p, q) <= ON_EDGE for p, q in bounded):
            continue
        half = math.hypot(vx - ux, vy - uy) / 2
        share[u] += half
        share[v] += half
    kept = [(k, length) for k, length in share.items() if k in master and length > 0]
    return np.array([k for k, _ in kept], dtype=np.int64), np.array([w for _, w in kept])


@dataclass(frozen=True, slots=True)
class Hold:
    """Weights over the problem's nodes whose sum must lie in [lo, hi] [m].

    `pull` is the height [m] wished inside that band, None for none. `pins` are the nodes that stand
    on the thing met.
    """

    weights: Weights
    lo: float
    hi: float
    family: Family
    pins: tuple[int, ...]
    pull: float | None = None


def on_walk(net: Net, p: XY) -> tuple[float, Weights]:
    """Return how far [m] p is from the slab's edge, and the weights of the edge's height nearest to it."""
    at = net.xy[np.array(net.walk)]
    step = np.roll(at, -1, axis=0) - at
    to = np.array(p) - at
    run = (step * step).sum(axis=1)
    ts = np.clip((to * step).sum(axis=1) / run, 0.0, 1.0)
    off = np.hypot(*(to - ts[:, None] * step).T)
    k = int(np.flatnonzero(off <= off.min() + 1e-9)[0])
    u, v, t = net.walk[k], net.walk[(k + 1) % len(net.walk)], float(ts[k])
    if t * (1 - t) < 1e-9:
        return float(off[k]), ((v if t > 0.5 else u,), (1.0,))
    return float(off[k]), ((u, v), (1 - t, t))


def locate(net: Net, p: XY) -> Weights | None:
    """Return the weights of the surface's height at p [m], None when p is off the slab."""
    off, weights = on_walk(net, p)
    if off < value("contact"):
        return weights
    for piece in net.pieces:
        ring = net.xy[list(piece.ring)]
        x, y = ring[:, 0] - p[0], ring[:, 1] - p[1]
        nx, ny = np.roll(x, -1), np.roll(y, -1)
        crossing = ((y > 0) != (ny > 0)) & ((x * ny - nx * y) * (ny - y) > 0)
        if np.count_nonzero(crossing) % 2:
            return weights_at(net, piece, *p)
    return None


def _shift(weights: Weights, first: int) -> Weights:
    return tuple(k + first for k in weights[0]), weights[1]


def _bad(code: str, part: Part, **values: str | int | Quantity) -> Finding:
    return find("slab", code, where=part.spec.name, line=part.spec.line, **values)


def _contact_nodes(part: Part, name: str, edge: tuple[XY, ...]) -> list[int]:
    """Return the nodes of the slab's outer edge that stand against an existing slab."""
    own = [e for e in part.outline.edges if e.kind == "existing" and e.against == name]
    lines = [(e.p, e.q) for e in own]
    reach = ON_EDGE
    if not lines:
        lines, reach = list(pairwise(edge)), value("reach-existing")
    found = []
    for k in part.net.walk:
        x, y = part.net.xy[k]
        if any(_off_segment((float(x), float(y)), p, q) <= reach for p, q in lines):
            found.append(k)
    return found


def _off_segment(s: XY, p: XY, q: XY) -> float:
    dx, dy = q[0] - p[0], q[1] - p[1]
    run = dx * dx + dy * dy
    t = min(1.0, max(0.0, ((s[0] - p[0]) * dx + (s[1] - p[1]) * dy) / run)) if run else 0.0
    return math.hypot(s[0] - p[0] - t * dx, s[1] - p[1] - t * dy)


def hold_existing(part: Part, meets: Meets, ground: Ground) -> tuple[list[Hold], list[Finding]]:
    """Return the holds of a slab at an existing one: flush, within a lip, or a step down."""
    name = meets.existing or ""
    there = next((e for e in ground.existing if e.name == name), None)
    if there is None:
        return [], [_bad("heights-existing-unknown", part, thing=name)]
    nodes = _contact_nodes(part, name, there.edge)
    if not nodes:
        return [], [_bad("heights-not-touching", part, thing=name)]
    step = meets.step or 0.0
    give = meets.lip if meets.lip is not None else (0.0 if step else value("flush-give"))
    family = Family("existing", part.spec.name, name, "m", give, part.spec.line)
    holds = []
    for k in nodes:
        h = there.height_on_edge(float(part.net.xy[k, 0]), float(part.net.xy[k, 1]))
        if h is None:
            return [], [_bad("heights-existing-unshot", part, thing=name)]
        h -= step
        at = k + part.first
        pull = h if meets.lip is None and not step else None
        holds.append(Hold(((at,), (1.0,)), h - give, h + give, family, (at,), pull))
    return holds, []


def door_run(part: Part, door: DoorAt) -> list[tuple[Weights, tuple[int, ...]]]:
    """Return the places of the slab's edge at a door: its jambs and the nodes between them."""
    (px, py), (qx, qy) = door.p, door.q
    run = math.hypot(qx - px, qy - py)
    places: list[tuple[Weights, tuple[int, ...]]] = []
    for jamb in (door.p, door.q):
        off, weights = on_walk(part.net, jamb)
        if off <= value("reach-existing"):
            places.append((_shift(weights, part.first), ()))
    walk = np.array(part.net.walk)
    x, y = part.net.xy[walk].T
    along = ((x - px) * (qx - px) + (y - py) * (qy - py)) / run
    off = np.abs((x - px) * (qy - py) - (y - py) * (qx - px)) / run
    between = (off <= value("reach-existing")) & (along > ON_EDGE) & (along < run - ON_EDGE)
    nodes = [k + part.first for k in walk[between].tolist()]
    return places + [(((k,), (1.0,)), (k,)) for k in nodes]


def hold_door(part: Part, meets: Meets, ground: Ground) -> tuple[list[Hold], list[Finding]]:
    """Return the holds at a door: so far below its sill, 1 1/2 in when the job does not say."""
    name = meets.door or ""
    door = next((d for d in ground.doors if d.name == name), None)
    if door is None or door.sill is None:
        return [], [_bad("heights-sill-unknown", part, thing=name)]
    places = door_run(part, door)
    if not places:
        return [], [_bad("heights-not-touching", part, thing=name)]
    down = meets.down if meets.down is not None else value("sill-drop")
    family = Family("door", part.spec.name, name, "m", down, part.spec.line)
    top = door.sill - down
    return [Hold(w, top, top, family, pins) for w, pins in places], []


def hold_fix(
    part: Part, fix: Fix, points: Mapping[str, XY], heights: Mapping[str, float]
) -> tuple[list[Hold], list[Finding]]:
    """Return the hold of a height that the job fixes at a named point."""
    named = next((k for k, name in part.net.names.items() if name == fix.at), None)
    at: Weights | None = ((named,), (1.0,)) if named is not None else None
    if at is None and fix.at in points:
        at = locate(part.net, points[fix.at])
    if at is None:
        return [], [_bad("heights-fix-off-slab", part, point=fix.at)]
    other = fix.below or fix.above or fix.at
    if other not in heights:
        return [], [_bad("heights-fix-unshot", part, point=fix.at, other=other)]
    h = heights[other] + (-fix.by if fix.below else fix.by)
    family = Family("height", part.spec.name, fix.at, "m", fix.give, part.spec.line)
    weights = _shift(at, part.first)
    return [Hold(weights, h - fix.give, h + fix.give, family, weights[0] if len(at[0]) == 1 else ())], []


def hold_walls(part: Part, ground: Ground) -> list[Hold]:
    """Return the holds that keep a slab below the siding and below the sills of doors it passes."""
    holds = []
    lines = [(e.p, e.q) for e in part.outline.edges if e.kind == "wall"]
    by_wall = [
        k
        for k in part.net.walk
        if any(
            _off_segment((float(part.net.xy[k, 0]), float(part.net.xy[k, 1])), p, q) <= ON_EDGE
            for p, q in lines
        )
    ]
    if ground.siding_bottom is not None and ground.siding in ("wood", "stucco"):
        clear = value(f"siding-{ground.siding}")
        family = Family("siding", part.spec.name, "", "m", clear, part.spec.line)
        for k in by_wall:
            at = k + part.first
            holds.append(Hold(((at,), (1.0,)), -math.inf, ground.siding_bottom - clear, family, ()))
    met = {m.door for m in part.spec.meets}
    if by_wall and part.spec.use not in DRIVEN:
        for door in ground.doors:
            if door.name in met or door.sill is None:
                continue
            clear = value("sill-drop")
            family = Family("sill", part.spec.name, door.name, "m", clear, part.spec.line)
            holds += [Hold(w, -math.inf, door.sill - clear, family, ()) for w, _ in door_run(part, door)]
    return holds


def resolve_height(net: Net, p: XY, z: np.ndarray) -> float:
    """Return the height [m] of the slab's edge nearest to p, with node heights z (n,) [m]."""
    _, (ids, weights) = on_walk(net, p)
    return float(sum(w * z[k] for k, w in zip(ids, weights, strict=True)))
