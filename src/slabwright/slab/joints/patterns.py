"""Plain layouts: so many even strips each way, between the joints that something asked for.

On slanted and curved outlines the search by rows can go on for long, for every panel has a shape of its
own. Then the plain layouts are all tried, evened and looked at, and the best of them is weighed against
the bound that the rows have proved.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise
from math import ceil

from slabwright.slab.joints.checks import ANGLE_SLACK, sharpest
from slabwright.slab.joints.lines import Line, Lines
from slabwright.slab.joints.rules import RATIO_SLACK, SPACING_SLACK, rules
from slabwright.slab.joints.sweep import Sweep
from slabwright.slab.model import Panel
from slabwright.slab.panels import Piece

MORE_STRIPS = 3  # strips beyond the fewest that hold the spacing
EVENED_MOST = 4  # of the layouts, the lightest before evening
SWAP_PASSES = 2
STRIP_LEAST = 0.3  # [m] no strip is planned narrower than this

Cut = Callable[[Sequence[Line]], tuple[list[Line], list[Piece]]]


def broken_price(pieces: Iterable[Piece | Panel], most: float, thin: float | None) -> float:
    """Return what panels beyond the spacing [m] or the shape [-] weigh [m of joint]."""
    total = 0.0
    for p in pieces:
        if p.long > most + SPACING_SLACK:
            total += rules().cost_long * p.long / most
        if thin is not None and p.long > (thin + RATIO_SLACK) * p.short:
            total += rules().cost_thin * min(3.0, p.long / (thin * p.short))
    return total


def shape_price(pieces: Iterable[Piece | Panel]) -> float:
    """Return what sharp corners and narrow panels weigh [m of joint]."""
    least, side = rules().corner - ANGLE_SLACK, rules().edge_least - SPACING_SLACK
    return sum(
        rules().cost_sharp * (sharpest(p.ring) < least) + rules().cost_short * (p.short < side)
        for p in pieces
    )


def fewest_asked(lines: Sequence[Line], needs: Mapping[int, int], *, main_only: bool = False) -> list[Line]:
    """Return of the lines that something asked for the cheapest that still meet every corner.

    needs: how many joints each corner or opening takes. Lines that carry on a neighbour's joint all stay.
    `main_only` prefers lines in the main directions.
    """
    kept = [ln for ln in lines if ln.why == "line-up" and ln.against is not None]
    left = dict(needs)
    for g in (g for ln in kept for g in ln.groups):
        left[g] = left.get(g, 0) - 1

    def key(ln: Line) -> tuple[bool, int, float]:
        return (main_only and ln.family == 2, -len(ln.groups), ln.cost)

    for ln in sorted(lines, key=key):
        if ln not in kept and any(left.get(g, 0) > 0 for g in ln.groups):
            kept.append(ln)
            for g in ln.groups:
                left[g] = left.get(g, 0) - 1
    return kept


def best_pattern(
    lines: Lines,
    sweep: Sweep,
    asked: Sequence[Line],
    most: float,
    thin: float | None,
    cut: Cut,
    quick: Callable[[Sequence[Line]], list[Piece]],
) -> tuple[list[Line], list[Piece], float]:
    """Return the plain layout of least weight: its lines, its panels, and the weight of rules it breaks.

    asked: the lines that something asked for, kept in every layout. cut: evens lines and cuts panels.
    quick: cuts them as they are.
    """
    tried: list[tuple[float, list[Line]]] = []
    for more_u in range(MORE_STRIPS + 1):
        for more_v in range(MORE_STRIPS + 1):
            offered = [*asked]
            for axis, more in ((0, more_u), (1, more_v)):
                for at in _strips(sweep, asked, axis, most, more):
                    numbers = lines.across(axis, at, "spacing")
                    offered += [lines.found[k] for k in numbers if lines.found[k] not in offered]
            pieces = quick(offered)
            broken = broken_price(pieces, most, thin) + shape_price(pieces)
            tried.append((sum(ln.cost for ln in offered) + broken, offered))
    best: tuple[float, list[Line], list[Piece], float] | None = None
    # evening takes longer than cutting, and seldom makes a heavy layout the lightest
    for _, offered in sorted(tried, key=lambda x: x[0])[:EVENED_MOST]:
        slid, pieces = cut(offered)
        broken = broken_price(pieces, most, thin) + shape_price(pieces)
        total = sum(ln.cost for ln in offered) + broken
        if best is None or total < best[0] - 1e-9:
            best = (total, slid, pieces, broken)
    assert best is not None
    return _pruned(best[1], best[2], best[3], asked, most, thin, cut)


def _strips(sweep: Sweep, asked: Sequence[Line], axis: int, most: float, more: int) -> list[float]:
    """Return the places of joints that make even strips between marks, `more` than the fewest in all."""
    at = [x for s in sweep.samples[axis] for x in (s.lo, s.hi)]
    marks = sorted({min(at), max(at), *(ln.at for ln in asked if ln.family == axis)}) if at else []
    gaps = [(a, b) for a, b in pairwise(marks) if b - a > STRIP_LEAST]
    counts = [max(1, ceil((b - a) / (most + SPACING_SLACK))) for a, b in gaps]
    for _ in range(more if gaps else 0):  # each further strip goes where strips are widest
        k = max(range(len(gaps)), key=lambda i: (gaps[i][1] - gaps[i][0]) / counts[i])
        counts[k] += 1
    return [a + (b - a) * k / n for (a, b), n in zip(gaps, counts, strict=True) for k in range(1, n)]


def _pruned(
    picked: list[Line],
    pieces: list[Piece],
    broken: float,
    asked: Sequence[Line],
    most: float,
    thin: float | None,
    cut: Cut,
) -> tuple[list[Line], list[Piece], float]:
    """Leave out, longest first, every joint that pays for itself when left out."""
    must = {(ln.p, ln.q) for ln in asked}
    for ln in sorted(picked, key=lambda x: -x.cost):
        if (ln.p, ln.q) in must:
            continue
        rest = [x for x in picked if x is not ln]
        slid, after = cut(rest)
        price = broken_price(after, most, thin) + shape_price(after)
        if price <= broken + ln.cost - 1e-9 and price <= broken:
            picked, pieces, broken = slid, after, price
    return picked, pieces, broken


def swapped(
    picked: list[Line],
    pieces: list[Piece],
    offered: Sequence[Line],
    weight: Callable[[Sequence[Line], Sequence[Piece]], float],
    cut: Cut,
) -> tuple[list[Line], list[Piece]]:
    """Try at each corner and opening the other joints that meet it, and keep what lightens the plan.

    weight: of lines and panels [m of joint]. Two passes, in the order of the lines.
    """
    best = weight(picked, pieces)
    for _ in range(SWAP_PASSES):
        before = best
        for ln in [x for x in picked if x.groups]:
            for other in offered:
                if not (other.groups >= ln.groups) or other in picked or ln not in picked:
                    continue
                slid, after = cut([x for x in picked if x is not ln] + [other])
                total = weight(slid, after)
                if total < best - 1e-9:
                    picked, pieces, best = slid, after, total
        if best >= before - 1e-9:
            break
    return picked, pieces
