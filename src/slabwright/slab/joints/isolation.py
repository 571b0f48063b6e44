"""Joints that the surroundings ask for: filler against walls, slabs and posts; formed joints between pours.

Source: `nrmca-cip6` (isolation at walls, columns, posts and other slabs).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import hypot

from slabwright.ground.model import Ground
from slabwright.notes.spec import SlabSpec
from slabwright.slab.joints.rules import rules
from slabwright.slab.joints.stops import LineUp
from slabwright.slab.model import XY, Edge, Joint, JointPlan, Outline
from slabwright.slab.outline import curves

NO_FILLER = ("tree",)  # open ground round a trunk: nothing to be kept apart from


def surroundings(outline: Outline, spec: SlabSpec) -> list[Joint]:
    """Return isolation joints, full depth with filler, and the construction joint to another new slab."""
    out = []
    for group in _groups(outline.edges):
        first = group[0]
        if first.kind == "free":
            continue
        line = (*(xy for e in group for xy in curves.flatten(e)), group[-1].q)
        if first.kind == "slab":
            out.append(
                Joint("construction", line, spec.thickness, "formed", "meets", first.against, doweled=True)
            )
        else:
            why = "wall" if first.kind == "wall" else "meets"
            out.append(Joint("isolation", line, spec.thickness, "filler", why, first.against))
    for h in outline.holes:
        if h.kind in NO_FILLER:
            continue
        why = {"post": "post", "existing": "meets"}.get(h.kind, "opening")
        out.append(Joint("isolation", (*h.ring, h.ring[0]), spec.thickness, "filler", why, h.name))
    return out


def _groups(edges: Sequence[Edge]) -> list[list[Edge]]:
    """Return runs of sides that follow each other along the same thing; a corner keeps a run whole."""
    out: list[list[Edge]] = []
    for e in edges:
        if out and (out[-1][-1].kind, out[-1][-1].against) == (e.kind, e.against):
            out[-1].append(e)
        else:
            out.append([e])
    same = len(out) > 1 and (out[0][0].kind, out[0][0].against) == (out[-1][0].kind, out[-1][0].against)
    if same:
        out[0] = out.pop() + out[0]
    return out


def line_ups(outline: Outline, ground: Ground, neighbours: Iterable[JointPlan]) -> list[LineUp]:
    """Return the ends of joints in slabs next door that reach this slab's edge, to be carried on."""
    found: list[LineUp] = []
    for s in ground.existing:
        for a, b in s.joints:
            found += _ends(outline.edges, (a, b), s.name, "existing")
    for plan in neighbours:
        for j in plan.joints:
            if j.kind == "contraction" or (j.kind == "construction" and j.against is None):
                found += _ends(outline.edges, j.line, "", "slab")
    return found


def _ends(edges: Sequence[Edge], line: Sequence[XY], name: str, kind: str) -> list[LineUp]:
    out = []
    for end, inner in ((line[0], line[1]), (line[-1], line[-2])):
        best: tuple[float, XY, str] | None = None
        for e in edges:
            if e.kind != kind or (name and e.against != name):
                continue
            t = curves.share_at(e, end)
            if not 0.0 <= t <= 1.0:
                continue
            at = curves.point_at(e, t)
            off = curves.dist(at, end)
            if off <= rules().line_up and (best is None or off < best[0]):
                best = (off, at, e.against or name)
        far = hypot(end[0] - inner[0], end[1] - inner[1])
        if best is not None and far > 0.0:
            heading = ((end[0] - inner[0]) / far, (end[1] - inner[1]) / far)
            out.append(LineUp(best[1], heading, best[2]))
    return out
