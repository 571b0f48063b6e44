"""Finished heights of all slabs of a job: which touch, one program for each group, heights, findings."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from slabwright.findings import Finding, Level, find
from slabwright.ground.model import Ground
from slabwright.measure import step_of
from slabwright.notes.spec import SlabSpec
from slabwright.slab.heights.check import checks
from slabwright.slab.heights.conflict import Outcome, give_way
from slabwright.slab.heights.contact import hold_touching
from slabwright.slab.heights.drawn import Marks, drawn, slim
from slabwright.slab.heights.fixed import (
    Hold,
    Part,
    hold_door,
    hold_existing,
    hold_fix,
    hold_walls,
    part_of,
)
from slabwright.slab.heights.marks import between, choices, mark
from slabwright.slab.heights.net import build_net
from slabwright.slab.heights.price import price_notes, prices
from slabwright.slab.heights.problem import Problem, Shape, Site, build_problem, loosened
from slabwright.slab.heights.rows import Family, Floats
from slabwright.slab.heights.slips import sizes
from slabwright.slab.heights.solver import Solved, solve
from slabwright.slab.heights.surface import facets_of, falls, node_heights, nodes_of, ordered
from slabwright.slab.model import XY, HeightPlan, JointPlan, Outline
from slabwright.solving import Status

GRADE = step_of("height_difference")  # [m] heights are written to 1/8 in
Wanted = tuple[SlabSpec, Outline, JointPlan]


def parts_of(slabs: Sequence[Wanted]) -> tuple[Part, ...]:
    """Return the slabs with their grade nodes, numbered one after the other."""
    parts: list[Part] = []
    first = 0
    for spec, outline, plan in slabs:
        net = build_net(outline, plan)
        parts.append(part_of(spec, outline, net, first))
        first += len(net.xy)
    return tuple(parts)


def holds_of(
    part: Part, points: Mapping[str, XY], heights: Mapping[str, float], ground: Ground
) -> tuple[list[Hold], list[Finding]]:
    """Return everything that holds one slab's height, and what could not be held."""
    holds: list[Hold] = []
    found: list[Finding] = []
    for meets in part.spec.meets:
        if meets.existing is not None:
            more, bad = hold_existing(part, meets, ground)
            holds, found = holds + more, found + bad
        if meets.door is not None:
            more, bad = hold_door(part, meets, ground)
            holds, found = holds + more, found + bad
    for fix in part.spec.heights:
        more, bad = hold_fix(part, fix, points, heights)
        holds, found = holds + more, found + bad
    return holds + hold_walls(part, ground), found


def ground_under(
    parts: tuple[Part, ...], ground: Ground
) -> tuple[dict[str, Floats | None], dict[str, Floats | None]]:
    """Return the existing ground [m] at each slab's samples and at its free corners; None where unshot."""
    if ground.surface is None:
        none: dict[str, Floats | None] = {p.spec.name: None for p in parts}
        return none, none
    from slabwright.ground import ground_height

    spots = [p.samples.xy for p in parts] + [p.net.xy[p.lawn[0]] for p in parts]
    z = ground_height(ground.surface, np.concatenate(spots))
    cut = np.split(z, np.cumsum([len(s) for s in spots])[:-1])
    names = [p.spec.name for p in parts]
    return dict(zip(names, cut, strict=False)), dict(zip(names, cut[len(parts) :], strict=True))


def groups_of(parts: tuple[Part, ...], touching: list[tuple[int, int, Hold]]) -> list[list[int]]:
    """Return the slabs that must be solved together, by their places."""
    root = list(range(len(parts)))

    def top(k: int) -> int:
        while root[k] != k:
            k = root[k]
        return k

    for i, j, _ in touching:
        a, b = sorted((top(i), top(j)))
        root[b] = a
    groups: dict[int, list[int]] = {}
    for k in range(len(parts)):
        groups.setdefault(top(k), []).append(k)
    return list(groups.values())


def problems_of(
    slabs: Sequence[Wanted], points: Mapping[str, XY], heights: Mapping[str, float], ground: Ground
) -> tuple[list[Problem], dict[str, list[Finding]]]:
    """Return one problem for each group of slabs that touch, and findings by slab."""
    parts = parts_of(slabs)
    under, beside = ground_under(parts, ground)
    held = [holds_of(p, points, heights, ground) for p in parts]
    found = {p.spec.name: bad for p, (_, bad) in zip(parts, held, strict=True)}
    touching = hold_touching(parts)
    made = []
    for group in groups_of(parts, touching):
        own = tuple(parts[k] for k in group)
        holds = [h for k in group for h in held[k][0]] + [h for i, _, h in touching if i in group]
        if not any(math.isfinite(h.lo) and math.isfinite(h.hi) and h.family.kind != "slab" for h in holds):
            known = next((n for p in own for n in p.net.names.values() if n in heights), None)
            if ground.surface is None:
                code = "heights-nothing-fixes"
                found[own[0].spec.name].append(
                    find("slab", code, where=own[0].spec.name, line=own[0].spec.line)
                )
                holds.append(_anchor(own[0], heights, known))
        problem = build_problem(own, tuple(holds), Site(points, ground, under, beside))
        for shape in problem.shapes:
            found[shape.part.spec.name] += shape.aim.findings
        made.append(problem)
    return made, found


def _anchor(part: Part, heights: Mapping[str, float], name: str | None) -> Hold:
    """Return a hold at the slab's first corner, so that a slab that nothing fixes can be drawn at all."""
    node = next((k for k, n in part.net.names.items() if n == name), part.net.pieces[0].masters[0])
    h = heights.get(name, 0.0) if name is not None else 0.0
    family = Family("height", part.spec.name, name or "", "m", 0.0, part.spec.line)
    return Hold(((node + part.first,), (1.0,)), h, h, family, ())


def settled(problem: Problem, marks: Marks | None = None) -> tuple[Problem, Solved, Outcome]:
    """Return the heights of a problem, and the problem that they solve.

    It is another where limits that are only recommended cannot be kept: those then give first.
    """
    solved, outcome = _kept(problem, marks)
    if outcome is not None:
        return problem, solved, outcome
    wider = loosened(problem)
    if wider is not None and solved.status is Status.INFEASIBLE:
        return settled(wider, marks)
    outcome = give_way(problem, solved.status, sizes(marks.grade if marks is not None else GRADE))
    if marks is None or not outcome.solved:
        return problem, solved, outcome
    made = mark(problem, outcome.x, marks)
    # marks are no matter where one slip moves everything, nor the fall that was written where it is bent
    told = () if outcome.folded else between(problem, made, marks)
    told = tuple((slab, f) for slab, f in told if f.code != "given-fall-in-marks")
    return problem, solved, replace(outcome, x=made.x, findings=outcome.findings + told)


def outcome_of(problem: Problem, marks: Marks | None = None) -> tuple[Solved, Outcome]:
    """Return the proved heights, or the least bent ones with the limits that had to give.

    With `marks` the heights stand on them, as far as the limits let them.
    """
    return settled(problem, marks)[1:]


def _kept(problem: Problem, marks: Marks | None) -> tuple[Solved, Outcome | None]:
    """Return heights that keep every limit, None where there are none."""
    best: tuple[float, Solved, Outcome] | None = None
    for own in choices(problem, marks) if marks is not None else ():
        solved = solve(drawn(problem, own))
        if solved.status is not Status.OPTIMAL:
            break
        made = mark(problem, solved.z, own)
        off = float(made.passed.sum())
        if best is None or off < best[0] * (1 - 1e-6):
            best = off, solved, Outcome(made.x, frozenset(), between(problem, made, own))
        if off == 0.0:
            break
    if best is not None:
        return best[1], best[2]
    solved = solve(slim(problem.program))
    if solved.status is not Status.OPTIMAL:
        return solved, None
    if marks is None:
        return solved, Outcome(solved.z, frozenset(), ())
    made = mark(problem, solved.z, marks)
    return solved, Outcome(made.x, frozenset(), between(problem, made, marks))


def plan_heights(
    slabs: Sequence[Wanted],
    points: Mapping[str, XY],
    heights: Mapping[str, float],
    ground: Ground,
    *,
    grade: float = GRADE,
    datum: float = 0.0,
) -> tuple[HeightPlan, ...]:
    """Return finished heights of every slab, in the order given.

    `points` are named places [m], `heights` named heights [m] above the datum; slopes in the result
    are plain ratios, heights and coordinates m. Slabs that share an edge are solved together. Heights
    stand on whole marks, every `grade` [m] (1/8 in; 0 for exact heights) up and down from `datum` [m],
    but for those that are fixed and those that follow from others (source: own-setting). When
    no surface keeps every limit, `feasible` is False, the heights are those that bend the limits
    least, and each bent limit is a stop finding; where one reading that looks misread explains them all,
    one stop says so. ValueError when a slab has no panel.
    """
    if not slabs:
        return ()
    problems, found = problems_of(slabs, points, heights, ground)
    made: dict[str, HeightPlan] = {}
    marks = Marks(grade, datum) if grade > 0 else None
    solved = [settled(problem, marks) for problem in problems]
    by_slab = {shape.part.spec.name: made for made in solved for shape in made[0].shapes}
    taken: set[str] = set()
    number = 0
    for spec, _, _ in slabs:
        problem, answer, outcome = by_slab[spec.name]
        shape = next(s for s in problem.shapes if s.part.spec.name == spec.name)
        own, number = _one(shape, problem, answer, outcome, ground, taken, number)
        extra = tuple(found[spec.name]) + tuple(f for s, f in outcome.findings if s == spec.name)
        made[spec.name] = _with(own, extra)
    return tuple(made[spec.name] for spec, _, _ in slabs)


def _unfolded(outcome: Outcome, found: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return findings on the heights; where one slip explains why they pass limits, without those stops."""
    return tuple(f for f in found if f.level is not Level.STOP) if outcome.folded else found


def _with(plan: HeightPlan, extra: tuple[Finding, ...]) -> HeightPlan:
    return replace(plan, findings=extra + plan.findings)


def _one(
    shape: Shape,
    problem: Problem,
    solved: Solved,
    outcome: Outcome,
    ground: Ground,
    taken: set[str],
    number: int,
) -> tuple[HeightPlan, int]:
    part = shape.part
    z = node_heights(part, problem, outcome.x)
    found = falls(shape, z)
    order = ordered(part.net)
    fixed: dict[int, str] = {}
    for hold in problem.holds:
        for k in hold.pins:
            if part.first <= k < part.first + len(part.net.xy):
                fixed.setdefault(k - part.first, hold.family.who)
    nodes, number = nodes_of(part.net, z, order, fixed, taken, number)
    feasible = outcome.solved and not any(
        part.spec.name in (f.slab, f.who if f.kind == "slab" else "")
        for f in (problem.program.families[k] for k in outcome.gave)
    )
    proved = solved.status is Status.OPTIMAL
    price = prices(problem, solved, part.spec.name) if proved else {}
    notes = price_notes(problem, solved, part.spec.name) if proved else ()
    plan = HeightPlan(
        nodes=nodes,
        facets=facets_of(part.net, order),
        across=(float(found.across.min()), float(found.across.max())),
        along=(float(found.along.min()), float(found.along.max())),
        total=(float(found.total.min()), float(found.total.max())),
        feasible=feasible,
        price=price,
        findings=_unfolded(outcome, checks(shape, problem, z, found, ground, outcome.x, outcome.gave))
        + notes,
    )
    return plan, number
