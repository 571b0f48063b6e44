"""Even panels: a linear program that slides the chosen joints without changing which there are.

Joints that something asked for stay where they are. Between them, on every run, the widest and the
narrowest panel are brought together, within the limits of spacing and of a panel's least side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from slabwright.slab.joints.cover import Floats
from slabwright.slab.joints.lines import LINE_LEAST, Frame, Line, Lines
from slabwright.slab.joints.rules import SPACING_SLACK, rules
from slabwright.slab.joints.solver import Rows, solve
from slabwright.slab.joints.sweep import Sample, Sweep
from slabwright.slab.panels import Piece
from slabwright.solving import Status

TOGETHER = 0.001  # [m] pieces of one line on both sides of an opening move together
ROUNDING = 1e-5  # [m] a panel slid to its limit stays within it however it is cut
SAMPLES_MOST = 60  # runs in each direction on slanted and curved outlines
FILLED = 0.7  # [-] of its box that a panel must fill for its shape to be guided
TOO_THIN = 1000.0  # weight per metre of length beyond the allowed shape: given up last
SPREAD_SHARE = 0.01  # a little weight on the widest panel itself breaks ties towards small panels


def evened(
    chosen: Sequence[Line],
    pieces: Sequence[Piece],
    lines: Lines,
    sweep: Sweep,
    most: float,
    thin: float | None,
) -> list[Line]:
    """Return the chosen lines slid to even places; the lines themselves when there is nothing to gain.

    pieces: the panels as the lines now cut them; those that nearly fill their box in the main directions keep
    their length within `thin` [-] times their width where sliding can do it. most: spacing [m].
    """
    model = Rows()
    of: dict[tuple[int, int], int] = {}
    column: list[int | None] = []
    for ln in chosen:
        key = (ln.family, round(ln.at / TOGETHER))
        if ln.family == 2 or ln.fixed:
            column.append(None)
            continue
        if key not in of:
            lo, hi = _room(ln, lines.frame, sweep)
            of[key] = model.col(0.0, lo, hi)
        else:
            lo, hi = _room(ln, lines.frame, sweep)
            model.low[of[key]] = max(model.low[of[key]], lo)
            model.high[of[key]] = min(model.high[of[key]], hi)
        column.append(of[key])
    if not of:
        return list(chosen)
    _sequences(chosen, column, model, sweep, most)
    if thin is not None:
        _shapes(pieces, of, lines.frame, model, thin)
    answer = solve(model)
    if answer.status is not Status.OPTIMAL:
        return list(chosen)
    return [
        ln if k is None else _slid(ln, float(answer.x[k]), lines)
        for ln, k in zip(chosen, column, strict=True)
    ]


def _room(ln: Line, frame: Frame, sweep: Sweep) -> tuple[float, float]:
    """Return how far a line may slide [m] before an end passes a corner."""
    one, two = frame.uv(ln.p), frame.uv(ln.q)
    k = 1 - ln.family
    lo, hi = min(one[k], two[k]) - 0.01, max(one[k], two[k]) + 0.01
    low, high = -1e9, 1e9
    for xy in sweep.turns:
        at = frame.uv(xy)
        if lo <= at[k] <= hi:
            if at[1 - k] <= ln.at - 1e-6:
                low = max(low, at[1 - k])
            elif at[1 - k] >= ln.at + 1e-6:
                high = min(high, at[1 - k])
    return min(ln.at, low), max(ln.at, high)


def _sequences(
    chosen: Sequence[Line], column: Sequence[int | None], model: Rows, sweep: Sweep, most: float
) -> None:
    """Add, for every run, the rows of its panels' widths between joints that may not move."""
    done: set[tuple[tuple[int, float], ...]] = set()
    for axis in (0, 1):
        samples = sweep.samples[axis]
        if not sweep.square:  # neighbouring runs differ little, and the panels are looked at afterwards
            samples = samples[:: max(1, len(samples) // SAMPLES_MOST)]
        if not samples:
            continue
        spots = _spots(chosen, sweep.frame, samples, axis)
        order = np.argsort(spots, axis=1, kind="stable")  # nan comes last
        counts = (~np.isnan(spots)).sum(axis=1)
        for s, own, where, count in zip(samples, spots, order, counts, strict=True):
            # a stop is a column that moves, or a place that does not (-1)
            stops: list[tuple[int, float]] = [(-1, round(s.lo, 4))]
            for k in where[:count].tolist():
                c = column[k]
                stops.append((-1, round(s.lo + float(own[k]), 4)) if c is None else (c, 0.0))
            stops.append((-1, round(s.hi, 4)))
            start = 0
            for k in range(1, len(stops)):
                if stops[k][0] == -1:
                    part = tuple(stops[start : k + 1])
                    if len(part) > 2 and part not in done:
                        done.add(part)
                        _spread(part, model, most)
                    start = k


def _spots(chosen: Sequence[Line], frame: Frame, samples: Sequence[Sample], axis: int) -> Floats:
    """Return how far along each sample run [m] each line crosses it, shape (runs, lines); nan where not."""
    uv = np.array([(*frame.uv(ln.p), *frame.uv(ln.q)) for ln in chosen])
    along, level = uv[:, [axis, 2 + axis]], uv[:, [1 - axis, 3 - axis]]
    runs = np.array([(s.level, s.lo, s.hi) for s in samples])
    ha, hb = level[None, :, 0] - runs[:, None, 0], level[None, :, 1] - runs[:, None, 0]
    hit = (np.minimum(ha, hb) <= 1e-4) & (np.maximum(ha, hb) >= -1e-4) & (np.abs(ha - hb) > 0.01)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = along[None, :, 0] + (along[:, 1] - along[:, 0])[None, :] * ha / (ha - hb) - runs[:, None, 1]
    inside = hit & (at > 1e-6) & (at < (runs[:, 2] - runs[:, 1])[:, None] - 1e-6)
    return np.where(inside, at, np.nan)


def _spread(part: tuple[tuple[int, float], ...], model: Rows, most: float) -> None:
    wide = model.col(1.0 + SPREAD_SHARE, 0.0, float("inf"))
    narrow = model.col(-1.0, 0.0, float("inf"))
    for (a, at), (b, bt) in pairwise(part):
        terms: dict[int, float] = {}
        known = 0.0
        if b >= 0:
            terms[b] = 1.0
        else:
            known += bt
        if a >= 0:
            terms[a] = terms.get(a, 0.0) - 1.0
        else:
            known -= at
        if not terms or all(v == 0.0 for v in terms.values()):
            continue
        inf = float("inf")
        model.row({**terms, wide: -1.0}, -inf, -known, "widest")
        model.row({**terms, narrow: -1.0}, -known, inf, "narrowest")
        model.row(
            dict(terms),
            min(rules().edge_least, most) / 2 - known,
            most + SPACING_SLACK - ROUNDING - known,
            "limits",
        )


def _shapes(
    pieces: Sequence[Piece], of: dict[tuple[int, int], int], frame: Frame, model: Rows, thin: float
) -> None:
    """Add, for every panel that nearly fills its box in the frame, its length within `thin` widths."""
    for piece in pieces:
        uv = [frame.uv(xy) for xy in piece.ring]
        sides = [f([c[k] for c in uv]) for k in (0, 1) for f in (min, max)]
        wide, high = sides[1] - sides[0], sides[3] - sides[2]
        if piece.area < FILLED * wide * high:
            continue
        # a slanted or rounded panel's own sides differ from its box's; the difference is taken as fixed
        own = (piece.long, piece.short) if wide >= high else (piece.short, piece.long)
        spans = []
        for family in (0, 1):
            terms: dict[int, float] = {}
            known = own[family] - (wide, high)[family]
            for sign, at in ((-1.0, sides[2 * family]), (1.0, sides[2 * family + 1])):
                k = of.get((family, round(at / TOGETHER)))
                if k is None:
                    known += sign * at
                else:
                    terms[k] = terms.get(k, 0.0) + sign
            spans.append((terms, known))
        for (long, kl), (short, ks) in (spans, spans[::-1]):
            row = dict(long)
            for k, v in short.items():
                row[k] = row.get(k, 0.0) - thin * v
            if row:
                row[model.col(TOO_THIN, 0.0, float("inf"))] = -1.0
                model.row(row, -float("inf"), thin * ks - kl, "shape")


def _slid(ln: Line, at: float, lines: Lines) -> Line:
    """Return the line cut anew at its new place: the run that overlaps the old one most."""
    f = lines.frame
    start, direction = (f.xy(at, 0.0), f.v) if ln.family == 0 else (f.xy(0.0, at), f.u)
    k = 1 - ln.family
    lo, hi = sorted((f.uv(ln.p)[k], f.uv(ln.q)[k]))
    runs = [r for r in lines.body.runs(start, *direction) if r.length >= LINE_LEAST]
    best = max(runs, key=lambda r: min(hi, r.t1) - max(lo, r.t0), default=None)
    if best is None or min(hi, best.t1) <= max(lo, best.t0):
        return ln
    return replace(ln, p=best.p, q=best.q, at=at)
