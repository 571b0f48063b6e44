"""The new layout of sprinklers beside new slabs: what is in the way, what is set instead, what it waters."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from slabwright.build.model_yard import LineFlow, SprinklerHead, SprinklerPlan
from slabwright.build.sprinklers.choose import Chosen, Task, choose
from slabwright.build.sprinklers.cover import coverage, on_paving, step_for, together
from slabwright.build.sprinklers.figures import Floats, own_rate, rates
from slabwright.build.sprinklers.parts import parts_list
from slabwright.build.sprinklers.pipes import crossings
from slabwright.build.sprinklers.places import SLACK, Choice, choices
from slabwright.build.sprinklers.say import layout_findings
from slabwright.build.sprinklers.yard import Yard, assume_lawn, cells, disk, lay_out, read_heads, setback
from slabwright.build.tables import rule
from slabwright.findings import Finding, find
from slabwright.ground.model import XY, Ground
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity
from slabwright.notes.models import Notes
from slabwright.slab.model import Shaped
from slabwright.solving import Status

BEHIND = 0.1  # [m]
CELLS = 120  # cells of lawn that the choice is made on; the maps are finer


def plan_sprinklers(
    shaped: Shaped, ground: Ground, notes: Notes, points: Mapping[str, XY] | None = None
) -> SprinklerPlan | None:
    """Return the sprinklers as they should stand beside the new slabs; None where none were written.

    shaped: the slabs; ground: heads, pipes, walls, slabs that are there; notes: heads, lines and lawns as
    written; points: places by name (x, y) [m], for the lawns' corners. Heads that the slabs leave alone
    stay as they are; the others are turned, moved or capped and new ones added, so that lawn that was
    watered stays watered, no line gives more than it can, and paving and walls stay dry. Sources
    sprinkler-rate, christiansen-1942, wedge-pattern, spray-flows, head-setback, water-rule-24.
    """
    yard = lay_out(shaped, ground, notes, points or {})
    if yard is None or not ground.heads:
        return None
    heads, found = read_heads(notes, ground, yard)
    if not heads:
        return None
    if not yard.written:
        yard = assume_lawn(yard, heads)
        found.append(find("build", "sprinkler-lawn-taken"))
    found += _off_lawn(heads, yard)
    off, strict = setback(notes), notes.off_paving == "strict"
    hit = in_the_way(heads, yard, off=off, strict=strict)
    lines = _limits(heads, notes)
    found += [
        find("build", "sprinkler-line-limit", where=one.name, most=Quantity("flow", one.flow_most))
        for one in lines
        if not one.known and hit
    ]
    made, removed, chosen = _layout(heads, hit, yard, lines, off=off, strict=strict)
    pipes, said = crossings(shaped, ground, notes, made)
    found += said
    step = step_for(float(shapely.area(yard.lawn_now)))
    plan = SprinklerPlan(
        heads=made,
        removed=removed,
        crossings=pipes,
        before=coverage(heads, yard.lawn_now, yard.slabs, step=step),
        after=coverage(made, yard.lawn, yard.slabs, step=step),
        lines=tuple(replace(one, flow_after=_use(made, one.name)) for one in lines),
        parts=parts_list(made, removed, pipes, notes.units),
        kept_off=off,
        cost=chosen.cost,
        bound=chosen.bound,
        proved=chosen.status is Status.OPTIMAL,
        found=heads,
    )
    found += layout_findings(heads, hit, yard, plan, strict=strict)
    return replace(plan, findings=tuple(found))


def in_the_way(heads: Sequence[SprinklerHead], yard: Yard, *, off: float, strict: bool) -> tuple[int, ...]:
    """Return the indices of heads that stand in or too near a new slab, or spray over it.

    off: distance kept from paving [m]; strict: watering within that distance counts as spraying over.
    """
    near = shapely.buffer(yard.slabs, off - SLACK, join_style="mitre")
    kept_dry = near if strict else yard.slabs
    spill = rule("yard", "spill")
    return tuple(
        k
        for k, head in enumerate(heads)
        if shapely.intersects(near, shapely.points(head.x, head.y)) or on_paving([head], kept_dry) > spill
    )


def _off_lawn(heads: Sequence[SprinklerHead], yard: Yard) -> list[Finding]:
    if not yard.written:
        return []
    lawn = shapely.buffer(shapely.union(yard.lawn_now, yard.slabs), 2 * rule("yard", "off_custom"))
    off = [h for h in heads if not shapely.intersects(lawn, shapely.points(h.x, h.y))]
    return [
        find(
            "build",
            "sprinkler-off-lawn",
            where=head.name,
            away=Quantity("length", float(shapely.distance(yard.lawn_now, shapely.points(head.x, head.y)))),
        )
        for head in off
    ]


def _use(heads: Sequence[SprinklerHead], line: str) -> float:
    return math.fsum(head.flow for head in heads if head.hangs_on == line)


def _limits(heads: Sequence[SprinklerHead], notes: Notes) -> tuple[LineFlow, ...]:
    """Return what each line uses and may use: as written, else no more than it uses now."""
    most = {row.line: row.most for row in notes.sprinkler_lines if row.most}
    out = []
    for name in sorted({head.hangs_on for head in heads}):
        used = _use(heads, name)
        limit = most.get(name)
        out.append(LineFlow(name, used, used, limit if limit is not None else used, limit is not None))
    return tuple(out)


def _layout(
    heads: tuple[SprinklerHead, ...],
    hit: Sequence[int],
    yard: Yard,
    lines: Sequence[LineFlow],
    *,
    off: float,
    strict: bool,
) -> tuple[tuple[SprinklerHead, ...], tuple[SprinklerHead, ...], Chosen]:
    """Return heads as they should stand, heads to cap, and the solver's answer."""
    if not hit:
        return heads, (), Chosen((), 0.0, 0.0, Status.OPTIMAL)
    fixed = [head for k, head in enumerate(heads) if k not in hit]
    scale = {one.name: _line_rate(heads, one.name) for one in lines}
    options = [
        Choice(replace(c.head, flow=c.head.flow * scale[c.head.hangs_on]), c.place, c.own)
        for c in choices(heads, hit, yard, off=off, strict=strict)
    ]
    # a head waters next to nothing behind itself: the strip between it and the slab is not asked for
    dry = shapely.buffer(yard.slabs, off + BEHIND, join_style="mitre")
    task = _task(heads, fixed, hit, options, shapely.difference(yard.lawn, dry), lines)
    chosen = choose(task)
    picked = [options[j] for j in chosen.picked]
    turned = [replace(c.head, name=heads[c.own].name, change="turned") for c in picked if c.own is not None]
    stay = {c.own for c in picked if c.own is not None}
    gone = [heads[k] for k in hit if k not in stay]
    moved, removed = _move(gone, [c.head for c in picked if c.own is None], heads)
    order = {head.name: k for k, head in enumerate(heads)}
    made = sorted([*fixed, *turned, *moved], key=lambda h: (order.get(h.name, len(heads)), h.name))
    return tuple(made), removed, chosen


def _line_rate(heads: Sequence[SprinklerHead], line: str) -> float:
    """Return the middle rate [m/s] of a line's heads over their sectors: what new nozzles are matched to."""
    return float(np.median([own_rate(head) for head in heads if head.hangs_on == line]))


def _task(
    heads: Sequence[SprinklerHead],
    fixed: Sequence[SprinklerHead],
    hit: Sequence[int],
    options: Sequence[Choice],
    lawn: Any,
    lines: Sequence[LineFlow],
) -> Task:
    """Return the choice as arrays over cells of the lawn that the heads in the way water now."""
    places, area = _in_need([heads[k] for k in hit], lawn)
    wanted = together(heads, places)
    goal = np.minimum(wanted, float(wanted.mean()) if wanted.size else 0.0)
    goal = np.maximum(goal, 1e-12)
    names = [one.name for one in lines]
    rate = np.zeros((len(places), len(options)))
    for j, option in enumerate(options):
        rate[:, j] = rates(option.head, places) / goal
    return Task(
        place=np.array([c.place for c in options], dtype=np.int64),
        own=np.array([-1 if c.own is None else c.own for c in options], dtype=np.int64),
        line=np.array([names.index(c.head.hangs_on) for c in options], dtype=np.int64),
        flow=np.array([c.head.flow for c in options]),
        rate=rate,
        there=together(fixed, places) / goal,
        area=area,
        in_way=len(hit),
        room=np.array([one.flow_most - _use(fixed, one.name) for one in lines]),
    )


def _in_need(hit: Sequence[SprinklerHead], lawn: Any) -> tuple[Floats, float]:
    """Return middles (n, 2) of lawn watered now by heads in the way, about CELLS, and a cell's area."""
    there = shapely.intersection(lawn, shapely.union_all([disk(head) for head in hit]))
    if shapely.is_empty(there):
        return np.empty((0, 2)), 0.0
    step = math.sqrt(float(shapely.area(there)) / CELLS)
    middles, _, _, inside = cells(there, step)
    places = middles[inside]
    reached = together(hit, places) > 0
    return places[reached], step**2


def _move(
    gone: Sequence[SprinklerHead], wanted: Sequence[SprinklerHead], heads: Sequence[SprinklerHead]
) -> tuple[list[SprinklerHead], tuple[SprinklerHead, ...]]:
    """Carry heads that must go to the places wanted, least way in all; buy the rest, cap what is over."""
    from scipy.optimize import linear_sum_assignment

    if not wanted:
        return [], tuple(gone)
    way = np.array([[math.hypot(w.x - g.x, w.y - g.y) for w in wanted] for g in gone])
    pairs = list(zip(*linear_sum_assignment(way), strict=True)) if len(gone) else []
    carried = {int(w): gone[int(g)] for g, w in pairs}
    names = {head.name for head in heads}
    fresh = (f"new {k}" for k in range(1, len(wanted) + len(names) + 1) if f"new {k}" not in names)
    made = [
        replace(
            head,
            name=carried[k].name,
            change="moved",
            shift=float(math.hypot(head.x - carried[k].x, head.y - carried[k].y)),
        )
        if k in carried
        else replace(head, name=next(fresh), change="new")
        for k, head in enumerate(wanted)
    ]
    kept = {head.name for head in carried.values()}
    return made, tuple(head for head in gone if head.name not in kept)
