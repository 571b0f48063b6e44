"""Form runs: where a slab needs a form, from corner to corner, straight or on a stated arc.

A run ends at a corner and where the finished heights break, because a board on edge bends sideways but
not up. A side against another new slab is formed once, with the slab that is listed first.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from slabwright.build.form_tables import (
    BoardSize,
    CurveForm,
    board_for,
    board_named,
    board_sizes,
    curve_for,
    is_formed,
    rule,
    tube_form,
)
from slabwright.build.model import XY, FormRun
from slabwright.build.ring import SAME, arc_of, centroid, height_inside, label_at, node_at, turn
from slabwright.slab.model import Edge, Hole, Node, Shaped, Slab
from slabwright.slab.thick_edges import edge_depth

LEVEL = 0.0087  # [rad] half a degree: sides that turn less are one straight


@dataclass(frozen=True, slots=True)
class Run:
    """A form run with what forming it needs.

    `bulge` as in slab.model.Edge; `turn` [rad] of an arc; `zp`, `zq` finished heights at its ends [m] or
    None; `past` [m] by which its board runs past the far corner to close it; `gap` [m] under the board.
    """

    form: FormRun
    bulge: float
    turn: float
    zp: float | None
    zq: float | None
    past: float
    gap: float
    board: BoardSize
    curve: CurveForm | None

    def at(self, along: float) -> XY:
        """Return the place [m] at a distance [m] along the run."""
        (x0, y0), (x1, y1) = self.form.p, self.form.q
        share = along / self.form.length
        if self.bulge == 0.0:
            return x0 + share * (x1 - x0), y0 + share * (y1 - y0)
        centre, radius, start = arc_of(self.form.p, self.form.q, self.bulge)
        angle = start + share * math.copysign(self.turn, self.bulge)
        return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)

    def height(self, along: float) -> float | None:
        """Return the finished height [m] at a distance [m] along the run, None when not known."""
        if self.zp is None or self.zq is None:
            return None
        return self.zp + (self.zq - self.zp) * along / self.form.length


def form_runs(shaped: Shaped) -> tuple[Run, ...]:
    """Return the form runs of a job: slab by slab its sides in ring order, bulkheads, openings."""
    order = {slab.spec.name: i for i, slab in enumerate(shaped.slabs)}
    runs: list[Run] = []
    for slab in shaped.slabs:
        formed = [_needs_form(edge, slab, order) for edge in slab.outline.edges]
        runs += _of_slab(slab, formed)
        runs += _bulkheads(slab)
        runs += [run for hole in slab.outline.holes if is_formed(hole.kind) for run in _opening(slab, hole)]
    return tuple(runs)


def _needs_form(edge: Edge, slab: Slab, order: dict[str, int]) -> bool:
    if edge.kind == "free":
        return True
    other = order.get(edge.against or "")
    return edge.kind == "slab" and (other is None or order[slab.spec.name] < other)


def _of_slab(slab: Slab, formed: Sequence[bool]) -> list[Run]:
    edges = slab.outline.edges
    chains = _chains(edges, formed)
    board, gap = board_for(edge_depth(slab))
    made: list[Run] = []
    for chain in chains:
        last = edges[chain[-1]]
        after = (chain[-1] + 1) % len(edges)
        past = board.thickness if formed[after] and len(edges) > 1 and _outward(last, edges[after]) else 0.0
        pieces = _straight(slab, [edges[i] for i in chain]) if last.bulge == 0.0 else [_arc(slab, last)]
        for i, (p, q, bulge, zp, zq) in enumerate(pieces):
            end = past if i == len(pieces) - 1 else 0.0
            made.append(_run(slab, (p, q), bulge, (zp, zq), end, (board, gap)))
    return made


def _chains(edges: Sequence[Edge], formed: Sequence[bool]) -> list[list[int]]:
    """Group sides that need a form: neighbours in one straight together, arcs alone."""
    chains: list[list[int]] = []
    for i, edge in enumerate(edges):
        if not formed[i]:
            continue
        joins = (
            chains
            and chains[-1][-1] == i - 1
            and edge.bulge == 0.0
            and edges[i - 1].bulge == 0.0
            and abs(turn(edges[i - 1], edge)) < LEVEL
        )
        if joins:
            chains[-1].append(i)
        else:
            chains.append([i])
    # The ring closes: a straight that passes its first corner is one run, begun in the last chain.
    if (
        len(chains) > 1
        and chains[0][0] == 0
        and chains[-1][-1] == len(edges) - 1
        and edges[0].bulge == edges[-1].bulge == 0.0
        and abs(turn(edges[-1], edges[0])) < LEVEL
    ):
        chains[0] = chains.pop() + chains[0]
    return chains


def _outward(before: Edge, after: Edge) -> bool:
    """Is the corner between two sides an outer one, where one board must run past the other?"""
    return turn(before, after) > rule("turn_at_corner")


_Piece = tuple[XY, XY, float, float | None, float | None]


def _straight(slab: Slab, edges: Sequence[Edge]) -> list[_Piece]:
    """Split a straight where the finished height leaves the line between its ends."""
    p, q = edges[0].p, edges[-1].q
    length = math.dist(p, q)
    on: list[tuple[float, float]] = []
    for node in slab.height_plan.nodes:
        along = ((node.x - p[0]) * (q[0] - p[0]) + (node.y - p[1]) * (q[1] - p[1])) / length
        off = ((node.x - p[0]) * (q[1] - p[1]) - (node.y - p[1]) * (q[0] - p[0])) / length
        if abs(off) < SAME and -SAME < along < length + SAME:
            on.append((min(length, max(0.0, along)), node.z))
    on.sort()
    if len(on) < 2:
        return [(p, q, 0.0, None, None)]
    if on[0][0] > SAME:
        on.insert(0, (0.0, on[0][1]))
    if on[-1][0] < length - SAME:
        on.append((length, on[-1][1]))
    kept = _breaks(on)
    pieces: list[_Piece] = []
    for (s, zs), (t, zt) in pairwise(kept):
        a, b = s / length, t / length
        ends = (
            (p[0] + a * (q[0] - p[0]), p[1] + a * (q[1] - p[1])),
            (p[0] + b * (q[0] - p[0]), p[1] + b * (q[1] - p[1])),
        )
        pieces.append((p if s <= SAME else ends[0], q if t >= length - SAME else ends[1], 0.0, zs, zt))
    return pieces


def _breaks(profile: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Keep the ends and every place farther off the line between kept places than a board would show."""
    (s0, z0), (s1, z1) = profile[0], profile[-1]
    if s1 - s0 < SAME:
        return [profile[0], profile[-1]]
    off = [abs(z - z0 - (z1 - z0) * (s - s0) / (s1 - s0)) for s, z in profile]
    worst = max(range(len(profile)), key=lambda i: off[i])
    if off[worst] <= rule("straight_within"):
        return [profile[0], profile[-1]]
    return _breaks(profile[: worst + 1])[:-1] + _breaks(profile[worst:])


def _arc(slab: Slab, edge: Edge) -> _Piece:
    return edge.p, edge.q, edge.bulge, _z(slab.height_plan.nodes, edge.p), _z(slab.height_plan.nodes, edge.q)


def _z(nodes: Sequence[Node], at: XY) -> float | None:
    node = node_at(nodes, at)
    return None if node is None else node.z


def _run(
    slab: Slab,
    ends: tuple[XY, XY],
    bulge: float,
    heights: tuple[float | None, float | None],
    past: float,
    own: tuple[BoardSize, float],
    *,
    inside: bool = False,
) -> Run:
    p, q = ends
    board, gap = own
    turned = abs(4.0 * math.atan(bulge))
    radius = math.dist(p, q) / (2.0 * math.sin(turned / 2.0)) if bulge else None
    tube, tube_under = tube_form()
    small = inside and radius is not None and radius < tube_under
    curve = None if radius is None else tube if small else curve_for(radius)
    size, material = board.name, "2x board"
    if curve is not None:
        material = curve.material
        deep = slab.spec.thickness if inside else edge_depth(slab)
        if curve.cut == "1x":
            board = _one_by(deep)
            size, gap = board.name, max(0.0, deep - board.height)
        elif curve.cut in ("strip", "tube"):
            size, gap = curve.material, 0.0
            board = BoardSize(curve.material, curve.thickness, deep)
    form = FormRun(
        slab=slab.spec.name,
        a=label_at(slab, p),
        b=label_at(slab, q),
        p=p,
        q=q,
        length=math.dist(p, q) if radius is None else radius * turned,
        radius=radius,
        board=size,
        material=material,
    )
    return Run(form, bulge, turned, heights[0], heights[1], past, gap, board, curve)


def _one_by(thickness: float) -> BoardSize:
    boards = [b for b in board_sizes() if b.name.startswith("1x")]
    fits = [b for b in boards if b.height >= thickness - rule("gap") - 1e-9]
    return fits[0] if fits else boards[-1]


def _bulkheads(slab: Slab) -> list[Run]:
    """A formed construction joint inside a slab gets a board across, of the slab's own size.

    A joint to another slab is a side of both, and formed as such.
    """
    own = board_for(slab.spec.thickness)
    made = []
    for joint in slab.joint_plan.joints:
        if joint.kind == "construction" and joint.against is None and len(joint.line) > 1:
            ends = (joint.line[0], joint.line[-1])
            nodes = slab.height_plan.nodes
            made.append(_run(slab, ends, 0.0, (_z(nodes, ends[0]), _z(nodes, ends[1])), 0.0, own))
    return made


def _opening(slab: Slab, hole: Hole) -> list[Run]:
    """An opening is formed from inside: a round one in two half turns, another side by side."""
    own = board_for(slab.spec.thickness)
    top = height_inside(slab, centroid(hole.ring))
    if hole.radius is None:
        sides = zip(hole.ring, (*hole.ring[1:], hole.ring[0]), strict=True)
        return [_run(slab, side, 0.0, (top, top), 0.0, own, inside=True) for side in sides]
    x, y = centroid(hole.ring)
    left, right = (x - hole.radius, y), (x + hole.radius, y)
    # A ring round an opening runs clockwise: each half turns to the right.
    return [
        _run(slab, ends, -1.0, (top, top), 0.0, own, inside=True) for ends in ((left, right), (right, left))
    ]


def face_height(run: Run) -> float:
    """Return the height [m] of form that faces the concrete on a run."""
    named = run.curve is None or run.curve.cut in ("1x", "2x")
    return board_named(run.form.board).height if named else run.board.height
