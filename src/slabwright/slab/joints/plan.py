"""The joint plan of one slab: what the surroundings ask for, the proved-best contraction joints, panels."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import hypot

from slabwright.findings import Finding
from slabwright.ground.model import Ground
from slabwright.notes.spec import SlabSpec
from slabwright.slab.joints import checks
from slabwright.slab.joints.body import CHORD_LEAST, Body
from slabwright.slab.joints.isolation import line_ups, surroundings
from slabwright.slab.joints.ribbon import best_joints
from slabwright.slab.joints.track import Track
from slabwright.slab.model import XY, Joint, JointPlan, Outline, Panel
from slabwright.slab.panels import Piece, subdivide


def plan_joints(
    outline: Outline, spec: SlabSpec, ground: Ground, neighbours: Iterable[JointPlan] = ()
) -> JointPlan:
    """Return the joints and panels of one slab, with cost, bound and findings.

    outline: shape [m]. spec: joint rule, thickness [m]. ground: existing slabs whose joints are carried
    on. neighbours: plans of new slabs that touch this one, whose joints are carried on too. Cost and
    bound are in metres of joint (see joints/rules.toml). Nothing is raised: a rule that cannot be kept is
    a finding that names the panel.
    """
    body = Body(outline)
    carried = line_ups(outline, ground, neighbours)
    around = surroundings(outline, spec)
    inner: list[Joint] = []
    if outline.axis_edges and outline.width:
        track = Track(outline, spec.side, body)
        made = best_joints(track, spec, carried)
        for s in made.stops:
            runs = track.clipped(s.right, s.left)
            inner += [_contraction(spec, (r.p, r.q), s.why, s.against) for r in runs]
        inner += [_contraction(spec, line, "spacing", None) for line in made.lanes]
        cost, bound = made.cost, made.cost
        found: list[Finding] = []

        def order(xy: XY) -> tuple[float, float]:
            leg, t, _ = track.nearest(xy)
            right, left = track.section(leg, t)
            ux, uy = (left[0] - right[0]) / track.width, (left[1] - right[1]) / track.width
            across = (xy[0] - right[0]) * ux + (xy[1] - right[1]) * uy
            return (round(track.station(leg, t), 3), -across)

        panels = _named(subdivide(outline.ring, [h.ring for h in outline.holes], _lines(inner)), order)
    else:
        raise NotImplementedError
    found += checks.rule_findings(spec)
    found += checks.panel_findings(panels, spec)
    found += checks.unmet_corners(body.inside_corners, inner, spec)
    return JointPlan(
        joints=(*inner, *around),
        panels=tuple(panels),
        cost=cost,
        bound=bound,
        proved=True,
        findings=tuple(found),
    )


def _contraction(spec: SlabSpec, line: Sequence[XY], why: str, against: str | None) -> Joint:
    return Joint("contraction", tuple(line), spec.joints.depth, spec.joints.made, why, against)


def _lines(joints: Iterable[Joint]) -> list[tuple[XY, ...]]:
    return [
        j.line
        for j in joints
        if hypot(j.line[-1][0] - j.line[0][0], j.line[-1][1] - j.line[0][1]) > CHORD_LEAST
    ]


def _named(pieces: list[Piece], order) -> list[Panel]:
    return [
        Panel(str(k), p.ring, p.area, p.long, p.short)
        for k, p in enumerate(sorted(pieces, key=lambda p: order(p.middle)), start=1)
    ]
