"""The best joints of a slab of any shape: offer lines, cover every run, look at the panels, solve again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from slabwright.ground.model import Ground
from slabwright.notes.spec import SlabSpec
from slabwright.slab.joints.body import Body
from slabwright.slab.joints.cover import GIVE_CORNER, Chosen, Cover, Row, choose, strip_rows, window_rows
from slabwright.slab.joints.even import evened
from slabwright.slab.joints.grid import grid_lines, rectangle
from slabwright.slab.joints.lines import Frame, Line, Lines, asked_lines, frame_of
from slabwright.slab.joints.patterns import best_pattern, broken_price, fewest_asked, shape_price, swapped
from slabwright.slab.joints.refine import angle_rows, panel_rows
from slabwright.slab.joints.rules import rules
from slabwright.slab.joints.solver import Status
from slabwright.slab.joints.stops import LineUp
from slabwright.slab.joints.sweep import Sweep, divide
from slabwright.slab.panels import Piece, subdivide

ROUNDS = 14  # searches before the plain layouts are tried; a square house job needs one to four
ROUNDS_SLANTED = 8  # where every panel has a shape of its own, more rounds seldom bring the proof
ROWS_MORE = 300  # rows that looking at panels may add before that, for each search grows with them


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
class Task:
    """What the search works on: the body, the lines offered, its runs, spacing [m] and shape [-]."""

    body: Body
    lines: Lines
    sweep: Sweep
    most: float
    thin: float | None

    def cut(self, lines: Sequence[Line]) -> list[Piece]:
        """Return the panels that the lines make."""
        outline = self.body.outline
        return subdivide(outline.ring, [h.ring for h in outline.holes], [(ln.p, ln.q) for ln in lines])

    def broken(self, pieces: Sequence[Piece]) -> float:
        """Return the weight of the rules that panels break [m of joint]."""
        return broken_price(pieces, self.most, self.thin)

    def weight(self, lines: Sequence[Line], pieces: Sequence[Piece]) -> float:
        """Return the weight of a plan: joints, rules broken, sharp and narrow panels [m of joint]."""
        return sum(ln.cost for ln in lines) + self.broken(pieces) + shape_price(pieces)

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


def best_lines(body: Body, spec: SlabSpec, ground: Ground, line_ups: Sequence[LineUp]) -> RingJoints:
    """Return the cheapest full-line joints that keep the rules, evened out, with the solver's bound.

    The proof holds for the lines offered, standing where they were offered: even divisions in the main
    directions, lines through corners, openings, jambs and neighbours' joints, and the lines that wrong
    panels asked for on the way. Evening may find a lighter plan than any of those; it then stands as proved
    too, for none of theirs is lighter.
    """
    frame = frame_of(body.outline)
    thin = None if spec.joints.every else (spec.joints.aspect_most or rules().aspect_most)
    task = Task(body, Lines(body, frame), Sweep(body, frame), spec.joints.every or spec.joints.most, thin)
    lines = task.lines
    must, carried = asked_lines(lines, ground, line_ups)
    plain = None if lines.found else rectangle(lines, body.outline)
    if plain is not None:
        grid = grid_lines(lines, plain, task.most, thin)
        cost = sum(ln.cost for ln in grid)
        return _result(task, spec, grid, task.cut(grid), (cost, cost, True), (), ())
    divide(lines, task.sweep, task.most, thin)
    needs = _needs(body, must)
    cover = _cover(lines, must, carried, needs)
    window_rows(cover, task.sweep, task.most, thin)
    if thin is not None:
        strip_rows(cover, task.sweep, thin)
    chosen, picked, pieces = _search(task, cover)
    broken = task.broken(pieces)
    # what was paid for rows that gave is no joint: it is taken off the cost and off the bound alike
    cost = sum(lines.found[k].cost for k in chosen.numbers)
    bound = chosen.bound - (chosen.cost - cost) if chosen.numbers else chosen.bound
    proved = chosen.status is Status.OPTIMAL and not broken
    if not proved:
        picked, pieces, cost = _or_plain(task, chosen, picked, pieces, needs)
        broken = task.broken(pieces)
        proved = not broken and chosen.status is Status.OPTIMAL and cost <= bound + 1e-6
    kept = {(ln.p, ln.q) for ln in picked}
    left_out = {name for k, name in carried if name and (lines.found[k].p, lines.found[k].q) not in kept}
    return _result(
        task, spec, picked, pieces, (cost, min(bound, cost), proved), chosen.gave, sorted(left_out)
    )


def _result(
    task: Task,
    spec: SlabSpec,
    picked: Sequence[Line],
    pieces: Sequence[Piece],
    weighed: tuple[float, float, bool],
    gave: Sequence[str],
    left_out: Sequence[str],
) -> RingJoints:
    """Return the record; `weighed`: cost and bound [m of joint], and whether they are proof."""
    if spec.joints.every:
        picked = [ln if ln.fixed else replace(ln, why="crew-rule") for ln in picked]
    cost, bound, proved = weighed
    frame = task.lines.frame
    return RingJoints(tuple(picked), tuple(pieces), frame, proved, cost, bound, tuple(gave), tuple(left_out))


def _search(task: Task, cover: Cover) -> tuple[Chosen, list[Line], list[Piece]]:
    """Return the cheapest lines that hold all rows, after wrong panels have added theirs."""
    lines = task.lines
    chosen = choose(cover)
    first_rows = len(cover.rows)
    picked, pieces = task.even_cut([lines.found[k] for k in chosen.numbers])
    for _ in range(ROUNDS if task.sweep.square else ROUNDS_SLANTED):
        if chosen.status in (Status.NOTHING, Status.INFEASIBLE):
            break
        more = angle_rows(chosen.numbers, lines, cover)
        if task.broken(pieces):
            raw = task.cut([lines.found[k] for k in chosen.numbers])
            wrong, fresh = panel_rows(raw, chosen.numbers, lines, cover, task.most, task.thin)
            more = more or wrong
            if fresh:
                cover.lines = lines.found
                window_rows(cover, task.sweep, task.most, task.thin)
        if not more or len(cover.rows) > first_rows + ROWS_MORE:
            break
        chosen = choose(cover)
        picked, pieces = task.even_cut([lines.found[k] for k in chosen.numbers])
    return chosen, picked, pieces


def _or_plain(
    task: Task, chosen: Chosen, picked: list[Line], pieces: list[Piece], needs: Mapping[int, int]
) -> tuple[list[Line], list[Piece], float]:
    """Return the better of what the search found and the best plain layout, and its weight."""
    asked = [ln for ln in (task.lines.found[k] for k in chosen.numbers) if ln.fixed]
    corners = [ln for ln in task.lines.found if ln.groups]
    carried = [ln for ln in asked if ln.why == "line-up"]
    best = (picked, pieces) if chosen.numbers else ([], task.cut([]))
    tried: list[list[Line]] = []
    for kept in (
        asked,
        fewest_asked(asked, needs),
        fewest_asked([*carried, *corners], needs, main_only=True),
    ):
        if kept in tried:
            continue
        tried.append(kept)
        plain = best_pattern(task.lines, task.sweep, kept, task.most, task.thin, task.even_cut)
        if task.weight(*plain[:2]) < task.weight(*best) - 1e-9:
            best = (plain[0], plain[1])
    best = swapped(*best, task.lines.found, task.weight, task.even_cut)
    return best[0], best[1], sum(ln.cost for ln in best[0])


def _needs(body: Body, must: Sequence[Sequence[int]]) -> dict[int, int]:
    """Return how many joints each inside corner (one) and round opening (two) takes, as far as offered."""
    corners = len(body.inside_corners)
    # a round opening draws a crack on both sides; a corner on one
    return {g: 1 if g < corners else min(2, len(n)) for g, n in enumerate(must) if n}


def _cover(
    lines: Lines, must: list[list[int]], carried: list[tuple[int, str]], needs: Mapping[int, int]
) -> Cover:
    """Return the cover with the rows of corners, openings and neighbours' joints."""
    cover = Cover(lines.found)
    for g, least in needs.items():
        cover.add(Row(tuple(must[g]), (), float(least), "inside corner", elastic=GIVE_CORNER))
    for k, _ in carried:
        cover.add(Row((k,), (), 1.0, "neighbour's joint", give=rules().cost_left_out))
    return cover
