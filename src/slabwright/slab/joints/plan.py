"""The joint plan of one slab: what the surroundings ask for, the proved-best contraction joints, panels."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import dist

from slabwright.findings import Finding, find
from slabwright.ground.model import Ground
from slabwright.notes.spec import JointSpec, SlabSpec
from slabwright.slab.joints import checks
from slabwright.slab.joints.body import CHORD_LEAST, Body
from slabwright.slab.joints.isolation import line_ups, surroundings
from slabwright.slab.joints.lines import Jambs
from slabwright.slab.joints.mend import stops_inside
from slabwright.slab.joints.order import along_track, in_rows, named
from slabwright.slab.joints.patterns import broken_price, shape_price
from slabwright.slab.joints.ribbon import best_joints
from slabwright.slab.joints.ring import RingJoints, best_lines
from slabwright.slab.joints.rules import rules
from slabwright.slab.joints.stages import staged
from slabwright.slab.joints.stops import LineUp
from slabwright.slab.joints.track import Track
from slabwright.slab.model import XY, Joint, JointPlan, Outline, Panel
from slabwright.slab.panels import subdivide
from slabwright.solving import remembered

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
    made = _best(outline, spec, ground, body, carried)
    inner, panels, found = staged(made.joints, made.panels, body, spec)
    found = [*made.findings, *found]
    stops = sum(any(stops_inside(body, j.line[k]) for k in (0, -1)) for j in inner)
    if stops:
        found.append(find("slab", "joints-stop", where=spec.name, line=spec.line, count=stops))
    found += checks.rule_findings(spec)
    found += checks.making_findings((*inner, *around), spec, second=bool(beside))
    found += checks.panel_findings(panels, spec)
    found += checks.unmet_corners(body.inside_corners, inner, spec)
    found += checks.angled_openings(outline.holes, inner, panels, spec)
    return JointPlan(
        joints=(*inner, *around),
        panels=tuple(panels),
        cost=made.cost,
        bound=made.bound,
        proved=made.proved,
        findings=tuple(found),
    )


@dataclass(frozen=True, slots=True)
class _Made:
    """Joints inside the slab, panels in placing order, cost and bound [m of joint], proof, findings."""

    joints: list[Joint]
    panels: list[Panel]
    cost: float
    bound: float
    proved: bool
    findings: list[Finding]


def _best(outline: Outline, spec: SlabSpec, ground: Ground, body: Body, carried: Sequence[LineUp]) -> _Made:
    """Return the joints along a ribbon, or of any shape; of a wide ribbon that bends the lighter of both."""
    track = Track(outline, spec.side, body) if outline.axis_edges and outline.width else None
    if track is None:
        return _any_shape(outline, spec, ground, carried)
    along = _along(outline, spec, track, carried)
    # a wide drive that bends has a corner that may be too large for lanes
    if not track.bends or track.width <= spec.joints.most or _broken(along, spec) == 0.0:
        return along
    other = _any_shape(outline, spec, ground, carried)
    return min(along, other, key=lambda m: m.cost + _broken(m, spec))


def _broken(made: _Made, spec: SlabSpec) -> float:
    """Return what the panels of a plan weigh beyond its joints [m of joint]."""
    return broken_price(made.panels, spec.joints.span, spec.joints.thin) + shape_price(made.panels)


def _long_or_thin(made: _Made, spec: SlabSpec) -> bool:
    """Say whether a panel is beyond the spacing or the shape."""
    return broken_price(made.panels, spec.joints.span, spec.joints.thin) > 0.0


def _along(outline: Outline, spec: SlabSpec, track: Track, carried: Sequence[LineUp]) -> _Made:
    """Return the joints square to a ribbon's line, and its lanes."""
    made = best_joints(track, spec, carried)
    inner: list[Joint] = []
    for s in made.stops:
        runs = track.clipped(s.right, s.left)
        inner += [_contraction(spec, (r.p, r.q), s.why, s.against) for r in runs]
    inner += [_contraction(spec, line, "spacing", None) for line in made.lanes]
    pieces = subdivide(outline.ring, [h.ring for h in outline.holes], _lines(inner))
    panels = named(pieces, along_track(track))
    result = _Made(inner, panels, made.cost, made.cost, made.held, _left_out(spec, made.left_out))
    # the search takes a bend's corner for wider than its panels may come out; what counts is the panels
    return result if made.held else replace(result, proved=not _long_or_thin(result, spec))


@remembered(64)
def _ring_lines(
    outline: Outline, spec: JointSpec, doors: tuple[Jambs, ...], carried: tuple[LineUp, ...]
) -> RingJoints:
    return best_lines(Body(outline), spec, doors, carried)


def _any_shape(outline: Outline, spec: SlabSpec, ground: Ground, carried: Sequence[LineUp]) -> _Made:
    """Return the joints of a slab of any shape."""
    doors = tuple(((d.p, d.q), d.name) for d in ground.doors)
    ring = _ring_lines(outline, spec.joints, doors, tuple(carried))
    inner = [_contraction(spec, ln.path, ln.why, ln.against) for ln in ring.lines]
    panels = named(ring.pieces, in_rows(outline, ring.frame, ring.pieces))
    return _Made(inner, panels, ring.cost, ring.bound, ring.proved, _search_findings(spec, ring))


def _contraction(spec: SlabSpec, line: Sequence[XY], why: str, against: str | None) -> Joint:
    sawn = (rules().saw_from, rules().saw_to) if spec.joints.made == "sawn" else None
    return Joint(
        "contraction", tuple(line), spec.joints.depth, spec.joints.made, why, against, saw_between=sawn
    )


def _lines(joints: Iterable[Joint]) -> list[tuple[XY, ...]]:
    return [j.line for j in joints if sum(dist(a, b) for a, b in pairwise(j.line)) > CHORD_LEAST]


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
