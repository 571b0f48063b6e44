"""The best joints of a slab of any shape: offer lines, cover every run, look at the panels, solve again."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from slabwright.notes.spec import JointSpec
from slabwright.slab.joints.body import Body, near
from slabwright.slab.joints.checks import MET
from slabwright.slab.joints.cover import GIVE_CORNER, Chosen, Cover, Row, choose, strip_rows, window_rows
from slabwright.slab.joints.even import evened
from slabwright.slab.joints.fans import centres, layouts
from slabwright.slab.joints.grid import grid_lines, rectangle
from slabwright.slab.joints.lines import Frame, Jambs, Line, Lines, asked_lines, frame_of
from slabwright.slab.joints.mend import mended
from slabwright.slab.joints.patterns import best_pattern, broken_price, fewest_asked, shape_price, swapped
from slabwright.slab.joints.refine import Wrong, angle_rows, offer_across, panel_rows, wrong_panels
from slabwright.slab.joints.rules import rules
from slabwright.slab.joints.stops import LineUp
from slabwright.slab.joints.sweep import Sweep, divide
from slabwright.slab.panels import Piece, subdivide
from slabwright.solving import Status

ROUNDS = 40  # searches before the plain layouts are tried; a square house job needs one to four
WORK_MOST = 900  # steps of the simplex method: about half a second; a count, so that runs repeat exactly
HARD_FROM = 4  # rounds after which the cover counts as a hard one
SLANTED_WORK = 60  # what a round takes besides on slanted and curved outlines
ROWS_MOST = 1500  # rows at which the search ends, for each round grows with them


@dataclass(frozen=True, slots=True)
class RingJoints:
    """Chosen lines, the panels they make, the search's answer, and neighbours not carried on."""

    lines: tuple[Line, ...]
    pieces: tuple[Piece, ...]
    frame: Frame
    proved: bool
    cost: float
    bound: float
    gave: tuple[str, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """Joints and the panels that they make."""

    lines: list[Line]
    pieces: list[Piece]


@dataclass(frozen=True, slots=True)
class Search:
    """The last cover's answer, the best plan so far, the bound [m of joint], and whether that is settled."""

    chosen: Chosen
    best: Plan
    bound: float
    settled: bool


@dataclass(frozen=True, slots=True)
class Task:
    """What the search works on: the body, the lines offered, its runs, spacing [m] and shape [-]."""

    body: Body
    lines: Lines
    sweep: Sweep
    most: float
    thin: float | None

    def cut(self, lines: Sequence[Line]) -> list[Piece]:
        """Return the panels that the lines make, good enough to weigh them."""
        return self.body.trial.cut([ln.path for ln in lines])

    def final(self, lines: Sequence[Line]) -> list[Piece]:
        """Return the panels that the lines make, with neighbours that share their corners exactly."""
        outline = self.body.outline
        return subdivide(outline.ring, [h.ring for h in outline.holes], [ln.path for ln in lines])

    def broken(self, pieces: Sequence[Piece]) -> float:
        """Return the weight of the rules that panels break [m of joint]."""
        return broken_price(pieces, self.most, self.thin)

    def weigh(self, lines: Sequence[Line], pieces: Sequence[Piece]) -> float:
        """Return the weight of a plan: joints, rules broken, sharp and narrow panels [m of joint]."""
        return sum(ln.cost for ln in lines) + self.broken(pieces) + shape_price(pieces)

    def weight(self, plan: Plan) -> float:
        """Return the weight of a plan [m of joint]."""
        return self.weigh(plan.lines, plan.pieces)

    def mend(self, plan: Plan) -> Plan:
        """Return a plan with short joints across its wrong panels, where that makes it lighter."""
        return Plan(*mended(plan.lines, plan.pieces, self.body, self.cut, self.most, self.thin))

    def even_cut(self, picked: Sequence[Line]) -> tuple[list[Line], list[Piece]]:
        """Return the lines evened and their panels; as they are where evening breaks a rule."""
        lines, pieces = list(picked), self.cut(picked)
        if not lines:
            return lines, pieces
        slid = evened(lines, pieces, self.lines, self.sweep, self.most, self.thin)
        after = self.cut(slid)
        if len(after) == len(pieces) and self.broken(after) <= self.broken(pieces):
            return slid, after
        return lines, pieces


def best_lines(body: Body, spec: JointSpec, doors: Sequence[Jambs], line_ups: Sequence[LineUp]) -> RingJoints:
    """Return the cheapest full-line joints that keep the rules, evened out, with the solver's bound.

    The proof holds for the lines offered, standing where they were offered: even divisions in the main
    directions, lines through corners, openings, jambs and neighbours' joints, and the lines that wrong
    panels asked for on the way. Evening may find a lighter plan than any of those; it then stands as proved
    too, for none of theirs is lighter.
    """
    frame = frame_of(body.outline)
    thin = spec.thin
    task = Task(body, Lines(body, frame), Sweep(body, frame), spec.span, thin)
    lines = task.lines
    must, carried = asked_lines(lines, doors, line_ups)
    plain = None if lines.found else rectangle(lines, body.outline)
    if plain is not None:
        grid = grid_lines(lines, plain, task.most, thin)
        cost = sum(ln.cost for ln in grid)
        return _result(task, spec, grid, (cost, cost, True), (), ())
    divide(lines, task.sweep, task.most, thin)
    needs = _needs(body, must)

    def base() -> Cover:
        cover = _cover(lines, must, carried, needs)
        window_rows(cover, task.sweep, task.most, thin)
        if thin is not None:
            strip_rows(cover, task.sweep, thin)
        return cover

    search = _search(task, base)
    best, bound = search.best, search.bound
    if not search.settled:
        best = _or_others(task, search, needs)
    best = _or_round(task, best)
    broken = task.broken(best.pieces)
    cost = sum(ln.cost for ln in best.lines)
    proved = not broken and cost <= bound + 1e-6
    kept = {(ln.p, ln.q) for ln in best.lines}
    left_out = {name for k, name in carried if name and (lines.found[k].p, lines.found[k].q) not in kept}
    weighed = (cost, min(bound, cost), proved)
    return _result(task, spec, best.lines, weighed, search.chosen.gave, sorted(left_out))


def _result(
    task: Task,
    spec: JointSpec,
    picked: Sequence[Line],
    weighed: tuple[float, float, bool],
    gave: Sequence[str],
    left_out: Sequence[str],
) -> RingJoints:
    """Return the record; `weighed`: cost and bound [m of joint], and whether they are proof."""
    if spec.every:
        picked = [ln if ln.fixed else replace(ln, why="crew-rule") for ln in picked]
    cost, bound, proved = weighed
    frame = task.lines.frame
    pieces = tuple(task.final(picked))
    return RingJoints(tuple(picked), pieces, frame, proved, cost, bound, tuple(gave), tuple(left_out))


def _search(task: Task, base: Callable[[], Cover]) -> Search:
    """Return the cheapest lines that hold all rows, after wrong panels have added theirs.

    base: makes the cover of the lines offered so far, with the rows that need no plan. When a wrong panel
    has brought new lines, all rows are made anew, for the new lines count in the old rows too. The search
    also ends when no plan of full lines can be lighter than one found with short joints in it.
    """
    lines = task.lines
    cover = base()
    seen: list[Wrong] = []
    sharp: list[tuple[int, ...]] = []
    short: Plan | None = None
    ceiling = float("inf")  # what the mended plan weighs in the cover's own terms
    work = 0
    for k in range(ROUNDS + 1):
        chosen = choose(cover, hard=k >= HARD_FROM)
        work += chosen.work + (0 if task.sweep.square else SLANTED_WORK)
        plan = Plan(*task.even_cut([lines.found[k] for k in chosen.numbers]))
        cost = sum(lines.found[k].cost for k in chosen.numbers)
        # what was paid for rows that gave is no joint: it is taken off the cost and off the bound alike
        paid = chosen.cost - cost if chosen.numbers else 0.0
        found = Search(chosen, plan, chosen.bound - paid, False)
        if not chosen.status.usable:
            return replace(found, best=short or plan)
        if short is not None and chosen.bound >= ceiling - 1e-6:
            return Search(chosen, short, ceiling - paid, True)
        more = angle_rows(chosen.numbers, lines, cover)
        sharp.append(chosen.numbers)
        if task.broken(plan.pieces):
            trial = task.mend(plan)
            total = sum(ln.cost for ln in trial.lines) + paid
            if not task.broken(trial.pieces) and total < ceiling:
                short, ceiling = trial, total
            raw = task.cut([lines.found[k] for k in chosen.numbers])
            wrong = wrong_panels(raw, chosen.numbers, task.most, task.thin)
            seen += wrong
            if offer_across(wrong, lines):
                cover = base()
                for numbers in sharp:
                    angle_rows(numbers, lines, cover)
                panel_rows(seen, lines, cover)
                more = True
            else:
                more = panel_rows(wrong, lines, cover) or more
        elif not more and chosen.status is Status.OPTIMAL:
            return replace(found, settled=True)
        if k == ROUNDS or not more or len(cover.rows) > ROWS_MOST or work > WORK_MOST:
            break
    if short is not None and task.weight(short) < task.weight(found.best):
        found = replace(found, best=short)
    return found


def _or_others(task: Task, search: Search, needs: Mapping[int, int]) -> Plan:
    """Return the best of what the search found and of the layouts that it does not know."""
    asked = [ln for ln in (task.lines.found[k] for k in search.chosen.numbers) if ln.fixed]
    corners = [ln for ln in task.lines.found if ln.groups]
    carried = [ln for ln in asked if ln.why == "line-up"]
    best = task.mend(search.best)
    tried: list[list[Line]] = []
    for kept in (
        asked,
        fewest_asked(asked, needs),
        fewest_asked([*carried, *corners], needs, main_only=True),
    ):
        if kept in tried:
            continue
        tried.append(kept)
        plain = best_pattern(task.lines, task.sweep, kept, task.most, task.thin, task.even_cut, task.cut)
        best = min(best, task.mend(Plan(plain[0], plain[1])), key=task.weight)
    full = all(ln.groups or ln.family < 2 or not ln.fixed for ln in best.lines)
    if full and task.weight(best) > sum(ln.cost for ln in best.lines) + 1e-9:
        swap = swapped(best.lines, best.pieces, task.lines.found, task.weigh, task.even_cut)
        best = min(best, task.mend(Plan(*swap)), key=task.weight)
    return best


def _or_round(task: Task, best: Plan) -> Plan:
    """Return the lightest of a plan and the round layouts, which the search does not know."""
    least = task.weight(best)
    for at in centres(task.body):
        for layout in layouts(task.body, at, task.most):
            if sum(ln.cost for ln in layout) >= least or not _meets(task.body, layout):
                continue
            plan = Plan(layout, task.cut(layout))
            weight = task.weight(plan)
            if weight < least - 1e-9:
                best, least = plan, weight
    return best


def _meets(body: Body, lines: Sequence[Line]) -> bool:
    """Say whether every inside corner is met by a joint."""
    ends = [xy for ln in lines for xy in (ln.p, ln.q)]
    return all(any(near(xy, c.at, MET) for xy in ends) for c in body.inside_corners)


def _needs(body: Body, must: Sequence[Sequence[int]]) -> dict[int, int]:
    """Return how many joints each inside corner (one) and round opening (two) takes, as far as offered."""
    corners = len(body.inside_corners)
    # a round opening draws a crack on both sides; a corner on one
    return {g: 1 if g < corners else min(2, len(n)) for g, n in enumerate(must) if n}


def _angled(lines: Lines, must: Sequence[int]) -> Iterator[tuple[tuple[int, int], tuple[int, ...]]]:
    """Yield two joints that meet a round opening at an angle, and the others that meet it."""
    for a, b in combinations(must, 2):
        one, other = lines.found[a], lines.found[b]
        if one.family != other.family:
            yield (a, b), tuple(n for n in must if n not in (a, b))


def _cover(
    lines: Lines, must: list[list[int]], carried: list[tuple[int, str]], needs: Mapping[int, int]
) -> Cover:
    """Return the cover with the rows of corners, openings and neighbours' joints."""
    cover = Cover(lines.found)
    for g, least in needs.items():
        cover.add(Row(tuple(must[g]), (), float(least), "inside corner", elastic=GIVE_CORNER))
    for g in needs:
        for both, others in _angled(lines, must[g]) if g >= len(lines.body.inside_corners) else ():
            cover.add(Row(others, both, -1.0, "straight on", give=rules().cost_angled))
    for k, _ in carried:
        cover.add(Row((k,), (), 1.0, "neighbour's joint", give=rules().cost_left_out))
    return cover
