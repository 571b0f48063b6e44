"""Where a pour stops for the day: joints that run from edge to edge become doweled construction joints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot

from slabwright.findings import Finding, find
from slabwright.ground.untyped import shapely
from slabwright.notes.spec import SlabSpec
from slabwright.slab.joints.body import Body, off_line
from slabwright.slab.model import XY, Joint, Panel

SAW = 1e-4  # [m] half the width of the cut that tells on which side of a joint a panel lies
IN_LINE = 0.002  # [m] pieces of joint on one line are one bulkhead


@dataclass(frozen=True, slots=True)
class Bulkhead:
    """Joints in one line, by number, and the panels on each side of it, by number."""

    joints: tuple[int, ...]
    sides: tuple[frozenset[int], ...]


def staged(
    joints: Sequence[Joint], panels: Sequence[Panel], body: Body, spec: SlabSpec
) -> tuple[list[Joint], list[Panel], list[Finding]]:
    """Return the joints with the day's stops made construction joints, and panels renumbered day by day.

    joints: those inside the slab. panels: in placing order. No more than `spec.joints.stop_after` panels
    are placed in a day where a joint from edge to edge allows it; each stop takes the joint that leaves
    the most of the day's panels before it. A day that no joint can end in time is a finding.
    """
    most = spec.joints.stop_after
    if most is None or len(panels) <= most:
        return list(joints), list(panels), []
    heads = _bulkheads(joints, panels, body)
    days: list[frozenset[int]] = []
    stops: set[int] = set()
    left = [frozenset(range(len(panels)))]
    while left:
        part = left.pop(0)
        halves = [(half, h) for h in heads for s in h.sides for half in [s & part] if half and half != part]
        if len(part) <= most or not halves:
            days.append(part)
            continue
        fits = [x for x in halves if len(x[0]) <= most]
        # the most panels that fit in a day, of those the ones first in placing order; else halve the part
        half, head = (
            min(fits, key=lambda x: (-len(x[0]), sum(x[0])))
            if fits
            else min(halves, key=lambda x: (abs(2 * len(x[0]) - len(part)), sum(x[0])))
        )
        stops |= set(head.joints)
        left = [half, part - half, *left]
    made = [_stop(j, spec) if k in stops else j for k, j in enumerate(joints)]
    ordered = [panels[k] for day in days for k in sorted(day)]
    found = []
    worst = max(len(day) for day in days)
    if worst > most:
        found.append(find("slab", "day-too-long", where=spec.name, line=spec.line, count=worst, most=most))
    named = [replace(p, name=str(k)) for k, p in enumerate(ordered, start=1)]
    return made, named, found


def _stop(joint: Joint, spec: SlabSpec) -> Joint:
    return replace(
        joint,
        kind="construction",
        depth=spec.thickness,
        made="formed",
        doweled=spec.joints.dowels in ("construction", "both"),
        saw_between=None,
    )


def _bulkheads(joints: Sequence[Joint], panels: Sequence[Panel], body: Body) -> list[Bulkhead]:
    """Return every line of joints that cuts the slab in two or more, with the panels of each part."""
    spots = shapely.point_on_surface([shapely.Polygon(p.ring, list(p.holes)) for p in panels])
    out = []
    for group in _in_line(joints):
        cut = shapely.union_all([shapely.buffer(shapely.LineString(joints[k].line), SAW) for k in group])
        parts = shapely.get_parts(shapely.difference(body.polygon, cut))
        sides = tuple(
            frozenset(k for k, inside in enumerate(shapely.contains(part, spots)) if inside) for part in parts
        )
        sides = tuple(s for s in sides if s)
        if len(sides) > 1:
            out.append(Bulkhead(group, sides))
    return out


def _in_line(joints: Sequence[Joint]) -> list[tuple[int, ...]]:
    """Return the numbers of joints, those on one straight line together."""
    groups: list[list[int]] = []
    for k, j in enumerate(joints):
        if j.kind != "contraction":
            continue
        same = next((g for g in groups if _same_line(joints[g[0]].line, j.line)), None)
        if same is None:
            groups.append([k])
        else:
            same.append(k)
    return [tuple(g) for g in groups]


def _same_line(one: Sequence[XY], other: Sequence[XY]) -> bool:
    if len(one) != 2 or len(other) != 2:
        return False
    far = hypot(one[1][0] - one[0][0], one[1][1] - one[0][1])
    ux, uy = (one[1][0] - one[0][0]) / far, (one[1][1] - one[0][1]) / far
    return all(off_line(xy, one[0], ux, uy) < IN_LINE for xy in other)
