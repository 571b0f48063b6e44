"""The survey's one stage: a net of readings in, points and heights with their uncertainty out."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from slabwright.findings import Finding, find
from slabwright.survey.extra import extra_pulls, extra_sights
from slabwright.survey.givens import without_given, wrong_givens
from slabwright.survey.levels import level_net
from slabwright.survey.net import Net, Pull
from slabwright.survey.plane import PlaneNet, plane_net
from slabwright.survey.report import fit_of, heights_of, points_of, table
from slabwright.survey.result import ExtraPull, Fit, HeightOf, Loose, Point, ReadingFit, Slip, Survey, ellipse
from slabwright.survey.rows import Tag
from slabwright.survey.saying import fit_findings, slip_findings
from slabwright.survey.searching import (
    Found,
    best_sides,
    open_sides,
    plane_without,
    search,
    side_guesses,
    wrong_sides,
)
from slabwright.survey.slips import linear_without, suspicious
from slabwright.survey.solve import Problem, Solution, refresh, solve
from slabwright.survey.vet import ROOM, length, vet

FLAT = math.sin(math.radians(30.0))  # `weak-ties`: ties should cross at 30 to 150 degrees

PROPOSED = 2  # extra pulls that get a finding each
LISTED = 8  # names that a finding lists before it says '...'

REASONS = {
    "apart": "stands-apart",
    "one-tie": "hangs-on-one-tie",
    "cannot-reach": "cannot-reach",
    "in-line": "in-line",
    "open": "not-enough",
}


@dataclass(frozen=True, slots=True)
class _Half:
    """The plane or the heights, solved."""

    fit: Fit | None
    readings: tuple[ReadingFit, ...]
    loose: tuple[Loose, ...]
    findings: tuple[Finding, ...]
    slips: tuple[Slip, ...] = ()
    extra: tuple[ExtraPull, ...] = ()


def adjust(net: Net, *, look_for_slips: bool = True) -> Survey:
    """Return the site as its readings say, by least squares of the whole net.

    net: readings in [m] and [rad]. look_for_slips: name the reading that looks wrong when a net
    fails its test, and compute without it when it is the only one that explains the failure.
    Never raises for what was read: what cannot be used or determined becomes a finding, and the
    rest is solved. Method: weighted observation equations (`ghilani-wolf`), data snooping
    (`baarda-1968`).
    """
    clean, vetted = vet(net)
    points, plane = _plane(clean, look_for_slips)
    heights, set_ups, datum, levels = _levels(clean, look_for_slips)
    return Survey(
        points=points,
        heights=heights,
        set_ups=set_ups,
        readings=plane.readings + levels.readings,
        plane=plane.fit,
        levels=levels.fit,
        datum=datum,
        loose=plane.loose + levels.loose,
        slips=plane.slips + levels.slips,
        extra=plane.extra + levels.extra,
        findings=vetted + plane.findings + levels.findings,
    )


def _plane(net: Net, look_for_slips: bool) -> tuple[dict[str, Point], _Half]:
    """Return the points, and the plane's test, table and findings."""
    if not (net.pulls or net.square_offs or net.right_angles or net.straights or net.knowns):
        return {}, _Half(None, (), (), ())
    made = plane_net(net)
    solution = made.solution
    if look_for_slips:
        made, solution = best_sides(net, made, solution)
    loose = tuple(Loose(name, "plan", *why) for name, why in made.loose.items())
    findings = _loose_findings(net, loose) + _sides_assumed(net, made, solution)
    found = Found(made.problem, solution, ())
    if look_for_slips:
        found = search(
            made.rows.tags,
            made.problem,
            solution,
            lambda problem, known, row: plane_without(net, made, problem, known, row),
            lambda: side_guesses(net, made),
        )
        turned = [slip.points[0] for slip in found.slips if slip.part == "side" and slip.set_aside]
        if turned:
            made = plane_net(net, flips=frozenset(turned))
            found = Found(made.problem, made.solution, found.slips)
    # Trials leave the equations factored elsewhere; this puts the answer's covariances back.
    refresh(found.problem, found.solution)
    if not found.solution.settled:
        findings += (find(ROOM, "not-settled"),)
    points = points_of(made, found.solution)
    if look_for_slips:
        found = replace(found, slips=(*found.slips, *wrong_sides(net, points, found.slips)))
    half = _half("pulls", made.rows.tags, made.problem, solution, found)
    extra = extra_pulls(net, replace(made, problem=found.problem), found.solution)
    findings += half.findings + _weak_ties(made, points) + _extra_findings(extra)
    return points, replace(half, loose=loose, findings=findings, extra=extra)


def _half(what: str, tags: tuple[Tag, ...], problem: Problem, written: Solution, found: Found) -> _Half:
    """Return the test, the table and the findings of a searched net."""
    fit = fit_of(found.problem, found.solution, (written.statistic, max(problem.dof, 0)))
    rows = tuple(table(tags, found.problem, found.solution, written))
    findings = slip_findings(found.slips)
    if not found.slips or found.slips[-1].set_aside:
        findings += fit_findings(what, fit, rows)
    return _Half(fit, rows, (), findings, found.slips)


def _levels(net: Net, look_for_slips: bool) -> tuple[dict[str, HeightOf], dict[str, HeightOf], str, _Half]:
    """Return the heights, the set-ups' lines of sight, the datum, and the heights' test and table."""
    made = level_net(net)
    if made is None:
        return {}, {}, "", _Half(None, (), (), ())
    solution = solve(made.problem)
    found = Found(made.problem, solution, ())
    given: tuple[Slip, ...] = ()
    if look_for_slips and suspicious(made.problem, solution):
        given = wrong_givens(net)
        if given and given[0].set_aside:
            made = level_net(without_given(net, given[0])) or made
            solution = solve(made.problem)
        if not given or given[0].set_aside:
            found = search(made.tags, made.problem, solution, linear_without)
        else:
            found = Found(made.problem, solution, ())
        found = replace(
            found, slips=(*given, *(replace(slip, group=slip.group + len(given)) for slip in found.slips))
        )
    refresh(found.problem, found.solution)
    heights, set_ups = heights_of(made, found.solution)
    half = _half("heights", made.tags, made.problem, solution, found)
    loose = tuple(Loose(name, "height", "apart") for group in made.loose for name in group)
    findings = tuple(
        find(ROOM, "height-apart", where=group[0], points=", ".join(group), datum=made.datum)
        for group in made.loose
    )
    extra = extra_sights(net, made, found.solution)
    findings += half.findings + _extra_findings(extra)
    return heights, set_ups, made.datum, replace(half, loose=loose, findings=findings, extra=extra)


def _loose_findings(net: Net, loose: tuple[Loose, ...]) -> tuple[Finding, ...]:
    """Return a finding for every point that cannot be placed."""
    if net.frame is None and len({known.point for known in net.knowns}) < 2:
        return (find(ROOM, "no-frame"),)
    return tuple(
        find(
            ROOM,
            REASONS[one.reason],
            where=one.name,
            point=one.name,
            by=", ".join(one.by) or "-",
            gap=length(one.gap),
        )
        for one in loose
    )


def _weak_ties(made: PlaneNet, points: dict[str, Point]) -> tuple[Finding, ...]:
    """Return a finding for every point whose only two ties cross flat."""
    index = made.rows.index
    pulls: dict[str, list[str]] = {}
    others: set[str] = set()
    for tag in made.rows.tags:
        if isinstance(tag.reading, Pull):
            a, b = tag.reading.a, tag.reading.b
            pulls.setdefault(a, []).append(b)
            pulls.setdefault(b, []).append(a)
        else:
            others.update(tag.reading.points())
    found: list[Finding] = []
    for name, ends in pulls.items():
        if name in others or len(ends) != 2 or (made.place[index[name]] < 0).any():
            continue
        at, (one, two) = points[name], (points[end] for end in ends)
        ax, ay, bx, by = one.x - at.x, one.y - at.y, two.x - at.x, two.y - at.y
        sine = abs(ax * by - ay * bx) / max(math.hypot(ax, ay) * math.hypot(bx, by), 1e-12)
        if sine < FLAT:
            spread = length(2.0 * ellipse(at).a)
            where = ", ".join(ends)
            found.append(find(ROOM, "weak-tie", where=name, point=name, by=where, spread=spread))
    return tuple(found)


def _sides_assumed(net: Net, made: PlaneNet, solution: Solution) -> tuple[Finding, ...]:
    """Return a note for every point whose side nothing but the yard's convention tells."""
    found: list[Finding] = []
    for name in open_sides(net, made, solution):
        by = ", ".join(dict.fromkeys(end for locus in made.first.loci[name] for end in locus.by))
        found.append(find(ROOM, "side-assumed", where=name, point=name, by=by))
    return tuple(found)


def _extra_findings(extra: tuple[ExtraPull, ...]) -> tuple[Finding, ...]:
    """Return cautions for what nothing checks: the most telling pulls one by one, the rest together."""
    codes = {
        "tape": "nothing-checks-tape",
        "more": "nothing-checks-more",
        "none": "nothing-checks",
        "level": "nothing-checks-rod",
    }
    first = [one for one in extra if one.what == "tape"][:PROPOSED]
    later = [one for one in extra if one.what == "more" or (one.what == "tape" and one not in first)]
    rest = tuple(dict.fromkeys(name for one in later for name in one.shows))
    told = first + ([ExtraPull("more", "", "", rest)] if rest else [])
    told += [one for one in extra if one.what in ("none", "level")]
    found: list[Finding] = []
    for one in told:
        names = ", ".join(one.shows[:LISTED]) + (", …" if len(one.shows) > LISTED else "")
        where = names if len(one.shows) <= 3 else ""  # a long list is said once
        found.append(find(ROOM, codes[one.what], where=where, readings=names, a=one.a, b=one.b))
    return tuple(found)
