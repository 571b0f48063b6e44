"""Set-out: every corner, joint end and stake back on the ground, with ties, heights and checks."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from typing import Any

from slabwright.build.form_tables import is_formed
from slabwright.build.model import XY, Forms, SetOut, Stake
from slabwright.build.ring import (
    SAME,
    centroid,
    corners,
    height_inside,
    height_on,
    label_at,
    on_ring,
    turn,
)
from slabwright.build.strings import string_nails
from slabwright.build.swing import swings
from slabwright.build.tables import rule as table_rule
from slabwright.build.tables import table
from slabwright.build.ties import Obstacles, Tie, along_wall, at_anchor, best_ties
from slabwright.findings import Finding, find
from slabwright.ground import ground_height
from slabwright.ground.model import Ground
from slabwright.ground.untyped import shapely
from slabwright.measure import FOOT, Quantity
from slabwright.slab.model import Shaped, Slab
from slabwright.survey.instruments import instruments
from slabwright.survey.result import HeightOf, Point


@dataclass(frozen=True, slots=True)
class _Mark:
    """A place to set out: where on the ring it comes (side, distance along it [m]), label, kind."""

    side: int
    along: float
    at: XY
    label: str
    kind: str
    top: float | None


@cache
def _rules() -> dict[str, Any]:
    return dict(table("set_out")["rules"])


@cache
def rule(name: str) -> float:
    """Return one rule's value in SI; KeyError for an unknown name."""
    return table_rule("set_out", name)


def set_out(
    shaped: Shaped,
    forms: Forms,
    ground: Ground,
    points: Mapping[str, Point],
    *,
    heights: Mapping[str, HeightOf] | None = None,
    set_ups: Mapping[str, HeightOf] | None = None,
    anchors: Sequence[str] | None = None,
    unit: float = FOOT,
) -> SetOut:
    """Return what to set out, in walking order round each slab.

    points: the survey's, by name; heights: surveyed heights, for a bench; set_ups: lines of sight
    [m]; anchors: names to pull from, None takes house corners, corners of slabs that stay and the
    nails of a baseline; unit: the step of the three tape pulls at a square corner [m], a foot or half
    a metre. A mark with fewer than two usable anchors has no tie, which is a finding. Sources
    tie-strength, geometry.
    """
    lasting = [*anchor_names(ground, points), *_nails(shaped, ground, points)]
    names = sorted(set(anchors if anchors is not None else lasting))
    usable = [points[name] for name in names if name in points]
    obstacles = Obstacles(
        tuple((wall.p, wall.q) for wall in ground.walls),
        tuple((tree.at, tree.trunk / 2) for tree in ground.trees),
        ground.house_ring,
    )
    bench = _bench(heights or {}, names)
    marks = [(slab, mark) for slab in shaped.slabs for mark in _marks(slab, forms)]
    marks += [
        (slab, _Mark(0, 0.0, nail.at, nail.label, "nail", nail.top))
        for slab in shaped.slabs
        for nail in string_nails(slab, forms, obstacles, rule("string_off"))
    ]
    places = [mark.at for _, mark in marks]
    tape, reach = instruments()[str(_rules()["tape"]["is"])], rule("tape_reach")
    ties = best_ties(places, usable, obstacles, tape=tape, reach=reach, keep=rule("keep_pair"))
    ties = [
        at_anchor(place, usable, rule("at_anchor"))
        or along_wall(place, usable, obstacles.walls, tape=tape, reach=reach)
        or tie
        for place, tie in zip(places, ties, strict=True)
    ]
    rods = _rods([mark.top for _, mark in marks], set_ups or {})
    every = [
        _stake(slab, mark, tie, rod, (earth, ground.organic), bench)
        for (slab, mark), tie, rod, earth in zip(marks, ties, rods, _soil(places, ground), strict=True)
    ]
    stakes = tuple(stake for stake in every if stake.kind != "nail")
    return SetOut(
        stakes,
        tuple(line for slab in shaped.slabs for line in _diagonals(slab)),
        tuple(line for slab in shaped.slabs for line in _squares(slab, unit)),
        tuple(stake for stake in every if stake.kind == "nail"),
        _findings(shaped, stakes, ties[: len(stakes)], len(usable)),
        swings(shaped, usable, obstacles, tape=tape, reach=reach, keep=rule("keep_pair")),
    )


def anchor_names(ground: Ground, points: Mapping[str, Point]) -> list[str]:
    """Return the names of points that will still be there: house corners, corners of slabs that stay."""
    lasting = [end for wall in ground.walls for end in (wall.p, wall.q)]
    names = {name for slab in ground.existing if slab.keeps_height for name in slab.names if name in points}
    for name, point in points.items():
        if any(math.dist((point.x, point.y), end) < SAME for end in lasting):
            names.add(name)
    return sorted(names)


def _nails(shaped: Shaped, ground: Ground, points: Mapping[str, Point]) -> list[str]:
    """Return the nails of a baseline that the dig leaves standing."""
    dug = [shapely.Polygon(slab.outline.ring).buffer(rule("nail_clear")) for slab in shaped.slabs]
    nails = [points[name] for name in ground.baseline if name in points]
    return [nail.name for nail in nails if not any(d.covers(shapely.Point(nail.x, nail.y)) for d in dug)]


def _marks(slab: Slab, forms: Forms) -> list[_Mark]:
    """Corners first, then joint ends and stakes that are not already a corner; in ring order."""
    edges = slab.outline.edges
    marks = [
        _mark(slab, (side, 0.0), at, label, "corner")
        for side, label, at in corners(slab, rule("corner_turn"))
    ]
    number = 0
    for joint in slab.joint_plan.joints:
        if joint.kind == "isolation" or len(joint.line) < 2:
            continue
        for end in (joint.line[0], joint.line[-1]):
            place = on_ring(edges, end)
            if place is None or any(math.dist(end, mark.at) < SAME for mark in marks):
                continue
            label = label_at(slab, end)
            if not label:
                number += 1
                label = f"J{number}"
            marks.append(_mark(slab, place, end, label, "joint end"))
    marks += _grade_marks(slab, marks)
    counts: Counter[int] = Counter()
    for stake in forms.stake_places:
        place = on_ring(edges, (stake.x, stake.y))
        if stake.slab != slab.spec.name or stake.kind == "corner" or place is None:
            continue
        counts[stake.run] += 1
        run = forms.runs[stake.run]
        ends = f"{run.a}-{run.b}" if run.a and run.b else f"run {stake.run + 1}"
        marks.append(_mark(slab, place, (stake.x, stake.y), f"{ends}.{counts[stake.run]}", stake.kind))
    marks.sort(key=lambda mark: (mark.side, mark.along))
    for hole in slab.outline.holes:
        if is_formed(hole.kind):
            at = centroid(hole.ring)
            marks.append(_Mark(len(edges), 0.0, at, hole.name, "opening", height_inside(slab, at)))
    return marks


def _grade_marks(slab: Slab, marks: Sequence[_Mark]) -> list[_Mark]:
    """Return the grade nodes on the ring that are no corner and no joint end: every height has its mark."""
    found = []
    for node in slab.height_plan.nodes:
        at = (node.x, node.y)
        place = on_ring(slab.outline.edges, at)
        new = node.label and not any(math.dist(at, mark.at) < SAME for mark in marks)
        if place is not None and new:
            found.append(_mark(slab, place, at, node.label, "grade"))
    return found


def _mark(slab: Slab, place: tuple[int, float], at: XY, label: str, kind: str) -> _Mark:
    return _Mark(*place, at, label, kind, height_on(slab, *place, at))


def _bench(heights: Mapping[str, HeightOf], names: Sequence[str]) -> HeightOf | None:
    """The surest surveyed height on an anchor; without one, the surest of all."""
    known = [heights[name] for name in names if name in heights] or list(heights.values())
    return min(known, key=lambda h: (h.sd, h.name), default=None)


def _rods(tops: Sequence[float | None], set_ups: Mapping[str, HeightOf]) -> list[tuple[str, float] | None]:
    """Read every top from the set-up that sees most of them; another only where that one cannot."""
    reach = rule("rod_reach")

    def seen(up: HeightOf) -> int:
        return sum(top is not None and 0.0 <= up.height - top <= reach for top in tops)

    order = sorted(set_ups.values(), key=lambda up: (-seen(up), up.sd, up.name))
    rods: list[tuple[str, float] | None] = []
    for top in tops:
        readings = [] if top is None else [(up.name, up.height - top) for up in order]
        rods.append(next((r for r in readings if 0.0 <= r[1] <= reach), None))
    return rods


def _soil(places: Sequence[XY], ground: Ground) -> list[float | None]:
    if ground.surface is None or not places:
        return [None] * len(places)
    return [float(z) for z in ground_height(ground.surface, list(places))]


def _stake(
    slab: Slab,
    mark: _Mark,
    tie: Tie | None,
    rod: tuple[str, float] | None,
    soil: tuple[float | None, float],
    bench: HeightOf | None,
) -> Stake:
    """Return a mark with its heights; soil: the ground's height and how deep its sod goes [m]."""
    earth, sod = soil
    top = 0.0 if mark.top is None else mark.top
    known = mark.top is not None
    foot = top - slab.spec.thickness - slab.spec.base
    return Stake(
        label=mark.label,
        slab=slab.spec.name,
        x=mark.at[0],
        y=mark.at[1],
        top=top,
        kind=mark.kind,
        tie_a=None if tie is None else tie.a,
        tie_b=None if tie is None or tie.b[0] == tie.a[0] else tie.b,  # at an anchor there is no second
        tie_sd=None if tie is None else tie.sd,
        rod=rod,
        ground=earth,
        dig=max(sod, earth - foot) if known and earth is not None else None,
        down=(bench.name, bench.height - top) if known and bench is not None else None,
    )


def _diagonals(slab: Slab) -> list[tuple[str, str, str, float]]:
    """Both diagonals of a four-cornered slab; of another the two longest between corners not neighbours."""
    named = [(label, at) for _, label, at in corners(slab, rule("corner_turn"))]
    lines = [
        (math.dist(p, q), a, b)
        for (i, (a, p)), (j, (b, q)) in combinations(enumerate(named), 2)
        if j - i > 1 and (i, j) != (0, len(named) - 1)
    ]
    lines = [line for line in lines if line[0] <= rule("tape_reach")]
    longest = sorted(lines, key=lambda line: (-line[0], line[1], line[2]))[:2]
    return [(slab.spec.name, a, b, length) for length, a, b in longest]


def _squares(slab: Slab, unit: float) -> list[tuple[str, str, float, float, float]]:
    """At each square corner of straight sides: 3, 4 and 5 times the largest step that the sides hold."""
    edges = slab.outline.edges
    found = []
    for side, label, _ in corners(slab, rule("corner_turn")):
        before, after = edges[side - 1], edges[side]
        square = abs(abs(turn(before, after)) - math.pi / 2) <= rule("square_within")
        if before.bulge or after.bulge or not square:
            continue
        short, long = sorted((math.dist(before.p, before.q), math.dist(after.p, after.q)))
        step = min(math.floor(short / (3 * unit)), math.floor(long / (4 * unit)))
        if step >= 1:
            legs = (3 * step * unit, 4 * step * unit, 5 * step * unit)
            found.append((slab.spec.name, label, *legs))
    return found


def _findings(
    shaped: Shaped, stakes: Sequence[Stake], ties: Sequence[Tie | None], anchors: int
) -> tuple[Finding, ...]:
    found: list[Finding] = []
    loose = [stake for stake, tie in zip(stakes, ties, strict=True) if tie is None]
    if anchors < 2:
        found.append(find("build", "set-out-no-anchors", anchors=anchors))
    elif loose:
        shown = ", ".join(f"{stake.slab} {stake.label}" for stake in loose[:6])
        found.append(
            find(
                "build",
                "set-out-no-tie",
                count=len(loose),
                stakes=shown + (" ..." if len(loose) > 6 else ""),
                reach=Quantity("length", rule("tape_reach")),
            )
        )
    weak_below = rule("weak_angle")
    weak = [
        (tie.sd, stake, tie)
        for stake, tie in zip(stakes, ties, strict=True)
        if tie is not None and not weak_below <= tie.angle <= math.pi - weak_below
    ]
    if weak:
        sd, stake, tie = max(weak, key=lambda w: w[0])
        found.append(
            find(
                "build",
                "set-out-weak",
                where=f"{stake.slab} {stake.label}",
                count=len(weak),
                angle=Quantity("angle", tie.angle),
                sd=Quantity("fine_length", sd),
            )
        )
    found += [
        find("build", "set-out-no-heights", where=slab.spec.name)
        for slab in shaped.slabs
        if not slab.height_plan.nodes
    ]
    return tuple(found)
