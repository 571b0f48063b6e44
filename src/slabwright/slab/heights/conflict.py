"""When no surface keeps every limit: what conflicts, what must give, and ways out that were shown to work."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from slabwright.findings import Finding, Value, find
from slabwright.measure import INCH, Quantity
from slabwright.notes.spec import SlabSpec
from slabwright.slab.heights.check import told
from slabwright.slab.heights.limits import EQUAL_HEIGHT, EQUAL_SLOPE, LEVEL_SLOPE, value
from slabwright.slab.heights.problem import Problem, stretched
from slabwright.slab.heights.relax import (
    Cure,
    bent_families,
    conflict,
    fewest,
    least_bent,
    shift,
    widen,
    without,
)
from slabwright.slab.heights.rows import Family, Floats, Program
from slabwright.slab.heights.slips import Slip, likely
from slabwright.slab.heights.solver import Solved, solve
from slabwright.slab.heights.steps import flight
from slabwright.solving import Status

WAYS = 4  # the most that are worth reading
SLOPES = frozenset(
    {"house", "across-least", "across-most", "across-given", "along-most", "total-most", "break", "twist"}
)
DRAINED = frozenset({"house", "across-least", "across-given"})  # what a drain at the wall makes needless


@dataclass(frozen=True, slots=True)
class Outcome:
    """Heights to show (the program's columns), families that were bent, and findings by slab."""

    x: Floats
    gave: frozenset[int]
    findings: tuple[tuple[str, Finding], ...]
    solved: bool = True
    folded: bool = False  # one misread height explains the conflict: its stop stands for all


def give_way(problem: Problem, status: Status, slips: tuple[float, ...] = ()) -> Outcome:
    """Return the least bent heights of a problem that no heights solve, with the conflict explained.

    `status` is the solver's; anything but 'infeasible' is reported as not solved. `slips` are the sizes
    [m] by which a height may have been misread.
    """
    program = problem.program
    first = problem.shapes[0].part.spec
    bent = least_bent(program)
    if status is not Status.INFEASIBLE or bent.status is not Status.OPTIMAL:
        x = bent.z if bent.status is Status.OPTIMAL else np.zeros(program.columns)
        note = find("slab", "heights-not-solved", where=first.name, line=first.line, status=status.value)
        return Outcome(x, _gave(problem, x), ((first.name, note),), solved=False)
    members = conflict(program, bent)
    cures = fewest(program, members, bent)
    x = _shown(program, cures, bent)
    gave = _gave(problem, x)
    if not gave:  # nothing is passed by more than what counts as equal: every limit is kept
        return Outcome(x, gave, ())
    misread = [] if _small(program, cures) else likely(problem, slips)
    found = list(_said(problem, members, cures, misread))
    found += [(slab, f) for slab, f in ways_out(problem, members, cures, misread)]
    return Outcome(x, gave, tuple(found), folded=bool(misread))


def _shown(program: Program, cures: list[Cure], bent: Solved) -> Floats:
    """Return the heights to draw: slopes are bent before anything that is there already is missed."""
    for one in cures:
        if all(program.families[k].kind in SLOPES for k, _ in one.gives):
            return one.solved.z
    eased = widen(program, bent_families(program, bent))
    return eased.solved.z if eased is not None else bent.z


def _small(program: Program, cures: list[Cure]) -> bool:
    """Return whether a lip that may stay is enough at one height: then nothing need have been misread."""
    ones = [one.gives[0] for one in cures if len(one.gives) == 1]
    heights = [(program.families[k], by) for k, by in ones if program.families[k].kind == "existing"]
    return any(abs(by) + f.limit <= value("lip-upright") + EQUAL_HEIGHT for f, by in heights)


def _gave(problem: Problem, x: Floats) -> frozenset[int]:
    """Return the families that heights x do not keep."""
    program = problem.program
    excess = program.excess(x)
    limit = np.array([EQUAL_HEIGHT if f.unit == "m" else EQUAL_SLOPE for f in program.families] + [np.inf])
    return frozenset(int(k) for k in np.unique(program.family[excess > limit[program.family]]) if k >= 0)


def spec_of(problem: Problem, slab: str) -> SlabSpec:
    """Return the spec of one of the problem's slabs; StopIteration for a name that it has not."""
    return next(s.part.spec for s in problem.shapes if s.part.spec.name == slab)


def _amount(family: Family, by: float) -> Quantity:
    return Quantity("inches" if family.unit == "m" else "slope", abs(by))


def _said(
    problem: Problem, members: tuple[int, ...], cures: list[Cure], misread: Sequence[Slip] = ()
) -> Iterable[tuple[str, Finding]]:
    """Return the stop finding of the conflict, and a finding for each limit that takes part in it."""
    families = problem.program.families
    slabs = sorted({families[k].slab for k in members}) or [problem.shapes[0].part.spec.name]
    most = len(cures[0].gives) if cures else 0
    where = ", ".join(slabs)
    line = families[members[0]].line if members else None
    counts = {"count": len(members), "fewest": most}
    for slip in misread[:1]:
        code = "heights-slip-low" if slip.by > 0 else "heights-slip-high"
        by = Quantity("inches", abs(slip.by))
        yield slabs[0], find("slab", code, where=where, line=line, point=slip.name, by=by, **counts)
    if not misread:
        yield slabs[0], find("slab", "heights-conflict", where=where, line=line, **counts)
    for k in members:
        f = families[k]
        kind = "inches" if f.unit == "m" else "slope"
        values: dict[str, Value] = {"thing": f.who or f.slab, "limit": Quantity(kind, f.limit)}
        code = told(f"conflict-{f.kind}", f.kind, spec_of(problem, f.slab))
        yield f.slab, find("slab", code, where=f.slab, line=f.line, **values)


def ways_out(
    problem: Problem, members: tuple[int, ...], cures: list[Cure], misread: Sequence[Slip] = ()
) -> list[tuple[str, Finding]]:
    """Return ranked ways out, each re-solved with everything else held; a likely slip comes first."""
    families = problem.program.families
    ranked: list[tuple[float, str, Finding]] = []
    own = problem.shapes[0].part.spec if not members else spec_of(problem, families[members[0]].slab)
    for k, slip in enumerate(misread):
        code = "way-slip-low" if slip.by > 0 else "way-slip-high"
        words: dict[str, Value] = {"point": slip.name, "by": Quantity("inches", abs(slip.by))}
        row = find("slab", code, where=own.name, line=own.line, **words)
        ranked.append((k - len(misread), own.name, row))
    for one in cures:
        if len(one.gives) == 1:
            ranked += _single(problem, *one.gives[0])
    ranked += _together(problem, members, {k for one in cures for k, _ in one.gives if len(one.gives) == 1})
    for k in members:
        if families[k].kind == "along-most":
            ranked += _longer(problem, k, cures)
    for slab in sorted({families[k].slab for k in members if families[k].kind in DRAINED}):
        ranked += _drain(problem, slab)
    ranked.sort(key=lambda row: (row[0], row[1], row[2].code))
    out = [(slab, f) for _, slab, f in ranked[:WAYS]]
    if not out:
        name = problem.shapes[0].part.spec
        out = [(name.name, find("slab", "way-none", where=name.name, line=name.line))]
    return [(slab, replace(f, values={**f.values, "rank": n + 1})) for n, (slab, f) in enumerate(out)]


def _single(problem: Problem, k: int, by: float) -> list[tuple[float, str, Finding]]:
    """Return the way out that one family offers by giving `by`, with its rank (low is better)."""
    f = problem.program.families[k]
    part = next(s.part for s in problem.shapes if s.part.spec.name == f.slab)
    amount = abs(by)
    if f.kind == "existing":  # what was allowed already is part of the lip
        amount += f.limit
        by = math.copysign(amount, by)
    rank = amount / (0.25 * INCH) if f.unit == "m" else amount / 0.005
    words: dict[str, Value] = {"thing": f.who or f.slab, "by": _amount(f, by)}
    code: str | None = None
    if f.kind in ("existing", "slab"):
        words |= flight(amount).values
        code = "way-lip" if amount <= value("lip-upright") else ("way-step-down" if by < 0 else "way-step-up")
    elif f.kind == "height":
        code = "way-lower" if by < 0 else "way-raise"
    elif f.kind == "door":
        down = f.limit - by
        words["down"] = Quantity("inches", down)
        if 0 <= down <= value("sill-drop-other"):
            code = "way-door"
        elif down > 0:
            least = value("sill-drop")
            words |= {"least": Quantity("inches", least), "deep": Quantity("inches", value("landing-depth"))}
            words |= flight(down - least).values
            code = "way-landing"
    elif f.kind not in ("siding", "sill"):
        to = f.limit + by if f.kind not in ("across-least", "house") else f.limit - by
        words["to"] = Quantity("slope", to)
        if f.kind == "twist":
            words["to"] = Quantity("inches", to * _widest(problem, f.slab))
        ramp = f.kind == "along-most" and value("running-accessible") < f.limit + by
        if ramp and part.spec.use in ("walk", "landing"):
            code = "way-ramp" if f.limit + by <= value("running-ramp") + EQUAL_SLOPE else None
        elif f.kind != "house":
            code = told(f"way-{f.kind}", f.kind, part.spec)
            if f.kind == "across-least" and abs(to) < LEVEL_SLOPE:
                code = "way-across-least-level"
        rank += 2.0  # a limit is bent after a small step was offered
    if code is None:
        return []
    return [(rank, f.slab, find("slab", code, where=f.slab, line=f.line, **words))]


def _widest(problem: Problem, slab: str) -> float:
    """Return what twist is spread on in a slab's largest panel [m2]."""
    own = next(s for s in problem.shapes if s.part.spec.name == slab)
    return float(own.probes.twist_area.max())


def _longer(problem: Problem, k: int, cures: list[Cure]) -> list[tuple[float, str, Finding]]:
    """Return the way out of a longer run: the slab stretched along its line until its fall is allowed."""
    f = problem.program.families[k]
    by = next((c.gives[0][1] for c in cures if len(c.gives) == 1 and c.gives[0][0] == k), None)
    part = next(s.part for s in problem.shapes if s.part.spec.name == f.slab)
    if by is None or len(part.outline.axis) != 2 or len(problem.shapes) > 1:
        return []
    factor = (f.limit + by) / f.limit * (1 + 1e-6)
    if factor > 4 or solve(stretched(problem, factor).program).status is not Status.OPTIMAL:
        return []
    run = float(np.hypot(*np.subtract(part.outline.axis[1], part.outline.axis[0])))
    words = {"more": Quantity("length", (factor - 1) * run), "run": Quantity("length", factor * run)}
    return [(3.0 + 4 * (factor - 1), f.slab, find("slab", "way-longer", where=f.slab, line=f.line, **words))]


def _together(
    problem: Problem, members: tuple[int, ...], singles: set[int]
) -> list[tuple[float, str, Finding]]:
    """Return the way out of moving all heights that the job fixes on a slab by one amount."""
    program = problem.program
    out: list[tuple[float, str, Finding]] = []
    for slab in sorted({program.families[k].slab for k in members if program.families[k].kind == "height"}):
        own = tuple(k for k, f in enumerate(program.families) if f.slab == slab and f.kind == "height")
        if len(own) < 2 or singles & set(own):
            continue
        moved = shift(program, own)
        if moved is not None:
            by = moved.gives[0][1]
            code = "way-all-lower" if by < 0 else "way-all-raise"
            line = program.families[own[0]].line
            words = {"by": Quantity("inches", abs(by))}
            rank = abs(by) / (0.25 * INCH)
            out.append((rank, slab, find("slab", code, where=slab, line=line, **words)))
    return out


def _drain(problem: Problem, slab: str) -> list[tuple[float, str, Finding]]:
    """Return the way out of a trench drain along the walls of a slab: it need not fall away from them."""
    families = problem.program.families
    walls = [f for f in families if f.slab == slab and f.kind == "house" and f.limit > 0]
    freed = frozenset(k for k, f in enumerate(families) if f.slab == slab and f.kind in DRAINED)
    if not walls or solve(without(problem.program, freed)).status is not Status.OPTIMAL:
        return []
    names = ", ".join(f.who for f in walls)
    return [(6.0, slab, find("slab", "way-drain", where=slab, line=walls[0].line, wall=names))]
