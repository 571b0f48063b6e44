"""What to say about a joint plan: each rule that a panel or the crew's own spacing departs from."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import acos, atan2, ceil, cos, hypot, pi, radians, sin

from slabwright.findings import Finding, find
from slabwright.measure import Quantity
from slabwright.notes.defaults import DEPTH_SLACK, joint_depth, joint_spacing
from slabwright.notes.spec import SlabSpec
from slabwright.slab.joints.body import InsideCorner
from slabwright.slab.joints.rules import RATIO_SLACK, SPACING_SLACK, rules
from slabwright.slab.model import XY, Hole, Joint, Panel

ANGLE_SLACK = 0.01  # [rad] half a degree under the custom is the custom
MET = 0.012  # [m] a joint that ends within half an inch of a corner meets it
TABLE_SLACK = 0.02  # [-] 100 mm of concrete is the table's 4 in
BENT = radians(135.0)  # two joints that turn by more than 45 degrees at an opening leave a bent panel


def _ratio(value: float) -> Quantity:
    return Quantity("ratio", value)


def _length(value: float) -> Quantity:
    return Quantity("length", value)


def panel_findings(panels: Sequence[Panel], spec: SlabSpec) -> list[Finding]:
    """Return a finding per rule for the panels that break it, the worst one named."""
    found = []
    rule = spec.joints
    asked = rule.every is not None
    long = [p for p in panels if p.long > rule.most + SPACING_SLACK]
    if long:
        worst = max(long, key=lambda p: p.long)
        code = "crew-spacing-long" if asked else "panel-too-long"
        found.append(
            find(
                "slab",
                code,
                where=f"{spec.name}, panel {worst.name}",
                line=spec.line,
                count=len(long),
                long=_length(worst.long),
                most=_length(rule.most),
                every=_length(rule.span),
            )
        )
    thin = [p for p in panels if p.long > (rule.aspect_most + RATIO_SLACK) * p.short]
    if thin:
        worst = max(thin, key=lambda p: p.long / p.short)
        found.append(
            find(
                "slab",
                "crew-spacing-thin" if asked else "panel-too-thin",
                where=f"{spec.name}, panel {worst.name}",
                line=spec.line,
                count=len(thin),
                ratio=_ratio(worst.long / worst.short),
                most=_ratio(rule.aspect_most),
                long=_length(worst.long),
                short=_length(worst.short),
                every=_length(rule.span),
            )
        )
    return found + _small_panels(panels, spec)


def _small_panels(panels: Sequence[Panel], spec: SlabSpec) -> list[Finding]:
    """Return findings for panels with a sharp corner, and for panels too narrow to hold together."""
    found = []
    sharp = [(a, p) for p in panels for a in [sharpest(p.ring)] if a < rules().corner - ANGLE_SLACK]
    if sharp:
        angle, worst = min(sharp, key=lambda s: s[0])
        found.append(
            find(
                "slab",
                "panel-sharp",
                where=f"{spec.name}, panel {worst.name}",
                line=spec.line,
                count=len(sharp),
                angle=Quantity("angle", angle),
                least=Quantity("angle", rules().corner),
            )
        )
    narrow = [p for p in panels if p.short < rules().edge_least - SPACING_SLACK]
    if narrow and len(panels) > 1:
        worst = min(narrow, key=lambda p: p.short)
        found.append(
            find(
                "slab",
                "panel-narrow",
                where=f"{spec.name}, panel {worst.name}",
                line=spec.line,
                count=len(narrow),
                short=_length(worst.short),
                least=_length(rules().edge_least),
            )
        )
    return found


def rule_findings(spec: SlabSpec) -> list[Finding]:
    """Return findings on the joint rule itself: its spacing against the published one, and its depth."""
    found = []
    table = joint_spacing(spec.thickness, spec.aggregate, spec.slump)[0]
    if spec.joints.most > table * (1 + TABLE_SLACK):
        found.append(
            find(
                "slab",
                "spacing-over-table",
                where=spec.name,
                line=spec.line,
                most=_length(spec.joints.most),
                table=_length(table),
                thickness=_length(spec.thickness),
            )
        )
    least = joint_depth(spec.thickness)[0]
    if spec.joints.depth < least - DEPTH_SLACK:
        found.append(
            find(
                "slab",
                "joint-shallow",
                where=spec.name,
                line=spec.line,
                depth=_length(spec.joints.depth),
                least=_length(least),
                thickness=_length(spec.thickness),
            )
        )
    return found


def making_findings(joints: Sequence[Joint], spec: SlabSpec, *, second: bool) -> list[Finding]:
    """Return notes on how joints are made: when to saw, and the bars across a construction joint.

    `second`: the slab next door is planned already, so the bars between them are counted here, once.
    """
    found = []
    if any(j.saw_between for j in joints):
        found.append(
            find(
                "slab",
                "saw-when",
                where=spec.name,
                line=spec.line,
                first=Quantity("duration", rules().saw_from),
                last=Quantity("duration", rules().saw_to),
            )
        )
    for j in joints:
        if j.doweled and (second or j.against is None):
            far = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(j.line))
            found.append(
                find(
                    "slab",
                    "joint-ties",
                    where=spec.name,
                    line=spec.line,
                    of=j.against or spec.name,
                    count=max(2, ceil(far / rules().ties_apart - 1e-6)),
                    apart=_length(rules().ties_apart),
                )
            )
    return found


def unmet_corners(corners: Sequence[InsideCorner], joints: Sequence[Joint], spec: SlabSpec) -> list[Finding]:
    """Return a finding for each corner that turns in and that no joint meets."""
    found = []
    for c in corners:
        met = any(
            hypot(x - c.at[0], y - c.at[1]) <= MET
            for j in joints
            if j.kind != "isolation"
            for x, y in (j.line[0], j.line[-1])
        )
        if not met:
            found.append(find("slab", "corner-unmet", where=spec.name, line=spec.line, of=c.of or spec.name))
    return found


def angled_openings(
    holes: Sequence[Hole], joints: Sequence[Joint], panels: Sequence[Panel], spec: SlabSpec
) -> list[Finding]:
    """Return a finding for each round opening where two joints meet at an angle, with the panel it bends."""
    found = []
    for h in holes:
        if h.radius is None:
            continue
        x, y = (sum(p[k] for p in h.ring) / len(h.ring) for k in (0, 1))
        ways = [
            atan2(p[1] - y, p[0] - x)
            for j in joints
            if j.kind != "isolation"
            for p in (j.line[0], j.line[-1])
            if hypot(p[0] - x, p[1] - y) <= h.radius + MET
        ]
        turn = (ways[1] - ways[0]) % (2 * pi) if len(ways) == 2 else pi
        if abs(turn - pi) <= pi - BENT:
            continue
        # the panel is on the side of the larger angle
        middle = ways[0] + turn / 2 + (pi if turn < pi else 0.0)
        reach = h.radius + 2 * MET
        at = (x + reach * cos(middle), y + reach * sin(middle))
        panel = next((p.name for p in panels if _inside(at, p.ring)), "")
        found.append(
            find(
                "slab",
                "panel-round-opening",
                where=f"{spec.name}, panel {panel}" if panel else spec.name,
                line=spec.line,
                of=h.name,
            )
        )
    return found


def _inside(at: XY, ring: Sequence[XY]) -> bool:
    """Say whether a point lies inside a ring."""
    inside = False
    for (ax, ay), (bx, by) in zip(ring, (*ring[1:], ring[0]), strict=True):
        if (ay > at[1]) != (by > at[1]) and at[0] < ax + (bx - ax) * (at[1] - ay) / (by - ay):
            inside = not inside
    return inside


def not_proved(spec: SlabSpec, cost: float, bound: float, rows: str) -> Finding:
    """Return the finding that the search stopped before its proof, with cost and bound."""
    return find(
        "slab",
        "joints-not-proved",
        where=spec.name,
        line=spec.line,
        cost=_length(cost),
        bound=_length(max(0.0, bound)),
        rows=rows,
    )


def sharpest(ring: Sequence[XY]) -> float:
    """Return the sharpest inside angle [rad] of a ring, flattened curves counted as curves."""
    best = pi
    n = len(ring)
    for k in range(n):
        a, b, c = ring[k - 1], ring[k], ring[(k + 1) % n]
        ux, uy, vx, vy = a[0] - b[0], a[1] - b[1], c[0] - b[0], c[1] - b[1]
        far = hypot(ux, uy) * hypot(vx, vy)
        if far < 1e-12 or ux * vy - uy * vx > 0:  # ccw: a corner that turns in is not a sharp one
            continue
        best = min(best, acos(max(-1.0, min(1.0, (ux * vx + uy * vy) / far))))
    return best
