"""The joint plan of one slab: what the surroundings ask for, the proved-best contraction joints, panels."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import hypot

from slabwright.findings import Finding, find
from slabwright.ground.model import Ground
from slabwright.notes.spec import SlabSpec
from slabwright.slab.joints import checks
from slabwright.slab.joints.body import CHORD_LEAST, Body
from slabwright.slab.joints.isolation import line_ups, surroundings
from slabwright.slab.joints.order import along_track, in_rows, named
from slabwright.slab.joints.ribbon import best_joints
from slabwright.slab.joints.ring import RingJoints, best_lines
from slabwright.slab.joints.rules import rules
from slabwright.slab.joints.track import Track
from slabwright.slab.model import XY, Joint, JointPlan, Outline
from slabwright.slab.panels import subdivide

HARD_ROWS = ("spacing", "inside corner", "least side")  # rows that give only when all cannot be held


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
    beside = tuple(neighbours)
    carried = line_ups(outline, ground, beside)
    around = surroundings(outline, spec)
    inner: list[Joint] = []
    found: list[Finding] = []
    track = Track(outline, spec.side, body) if outline.axis_edges and outline.width else None
    # a wide drive that bends has a corner too large for lanes: it is planned like any other shape
    if track is not None and (not track.bends or track.width <= spec.joints.most):
        made = best_joints(track, spec, carried)
        for s in made.stops:
            runs = track.clipped(s.right, s.left)
            inner += [_contraction(spec, (r.p, r.q), s.why, s.against) for r in runs]
        inner += [_contraction(spec, line, "spacing", None) for line in made.lanes]
        cost, bound, proved = made.cost, made.cost, made.held
        found += _left_out(spec, made.left_out)
        pieces = subdivide(outline.ring, [h.ring for h in outline.holes], _lines(inner))
        panels = named(pieces, along_track(track))
    else:
        ring = best_lines(body, spec, ground, carried)
        inner = [_contraction(spec, (ln.p, ln.q), ln.why, ln.against) for ln in ring.lines]
        cost, bound, proved = ring.cost, ring.bound, ring.proved
        panels = named(ring.pieces, in_rows(outline, ring.frame, ring.pieces))
        found += _search_findings(spec, ring)
    found += checks.rule_findings(spec)
    found += checks.making_findings((*inner, *around), spec, second=bool(beside))
    found += checks.panel_findings(panels, spec)
    found += checks.unmet_corners(body.inside_corners, inner, spec)
    return JointPlan(
        joints=(*inner, *around),
        panels=tuple(panels),
        cost=cost,
        bound=bound,
        proved=proved,
        findings=tuple(found),
    )


def _contraction(spec: SlabSpec, line: Sequence[XY], why: str, against: str | None) -> Joint:
    sawn = (rules().saw_from, rules().saw_to) if spec.joints.made == "sawn" else None
    return Joint(
        "contraction", tuple(line), spec.joints.depth, spec.joints.made, why, against, saw_between=sawn
    )


def _lines(joints: Iterable[Joint]) -> list[tuple[XY, ...]]:
    return [
        j.line
        for j in joints
        if hypot(j.line[-1][0] - j.line[0][0], j.line[-1][1] - j.line[0][1]) > CHORD_LEAST
    ]


def _search_findings(spec: SlabSpec, ring: RingJoints) -> list[Finding]:
    """Return what the search itself has to say: rules that gave, no proof, joints not carried on."""
    found = []
    if not ring.proved and ring.cost > ring.bound + 1e-6:
        found.append(checks.not_proved(spec, ring.cost, ring.bound, ", ".join(ring.gave) or "spacing"))
    clash = [n for n in ring.gave if n in HARD_ROWS]
    if clash:
        found.append(
            find("slab", "joints-rules-clash", where=spec.name, line=spec.line, rows=", ".join(clash))
        )
    return found + _left_out(spec, ring.left_out)


def _left_out(spec: SlabSpec, names: Sequence[str]) -> list[Finding]:
    """Return a note for each neighbour whose joint is not carried on."""
    return [find("slab", "joint-not-carried-on", where=spec.name, line=spec.line, of=name) for name in names]
