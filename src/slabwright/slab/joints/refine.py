"""What only a finished plan shows: panels too long or too thin, joints that cross at a sharp angle.

Each is turned into rows that forbid it for every plan, and into new lines where none is at hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import acos, ceil, hypot, pi

import numpy as np

from slabwright.ground.untyped import shapely
from slabwright.slab.joints.body import off_line
from slabwright.slab.joints.checks import ANGLE_SLACK
from slabwright.slab.joints.cover import Cover, Floats, Row, crossings, ends
from slabwright.slab.joints.lines import LINE_LEAST, Line, Lines
from slabwright.slab.joints.rules import RATIO_SLACK, SPACING_SLACK, rules
from slabwright.slab.model import XY
from slabwright.slab.panels import Piece

BESIDE = 0.001  # [m] a joint this near a panel's side is that side
OUTWARD = (0.0, 0.15)  # [m] how much wider a thin strip is taken, to forbid its likes in one row
NEW_LINE_APART = 0.05  # [m] no new line is offered nearer than this to one that crosses the panel already


@dataclass(frozen=True, slots=True)
class Wrong:
    """A panel that breaks a rule in some plan: its joints' numbers, and the limit [m] that it passes."""

    piece: Piece
    long: bool
    limit: float
    chosen: tuple[int, ...]


def wrong_panels(
    pieces: Sequence[Piece], chosen: Sequence[int], most: float, thin: float | None
) -> list[Wrong]:
    """Return the panels that are longer than `most` [m] or than `thin` [-] times their width."""
    found = []
    for piece in pieces:
        long = piece.long > most + SPACING_SLACK
        slim = thin is not None and piece.long > (thin + RATIO_SLACK) * piece.short
        if long or slim:
            limit = most if long else (thin or 1.0) * piece.short
            found.append(Wrong(piece, long, limit, tuple(chosen)))
    return found


def offer_across(wrong: Sequence[Wrong], lines: Lines) -> bool:
    """Offer lines that would divide each wrong panel within its limit; say whether any is new."""
    before = len(lines.found)
    for w in wrong:
        _offer_across(w.piece, lines, w.limit)
    return len(lines.found) > before


def panel_rows(wrong: Sequence[Wrong], lines: Lines, cover: Cover) -> bool:
    """Add the rows that forbid wrong panels and their likes; say whether any is new."""
    xy = ends(lines.found)
    rows = False
    for w in wrong:
        rows = _rows_for(w.piece, w.long, w.limit, w.chosen, lines, xy, cover) or rows
    return rows


def panel_axis(piece: Piece) -> tuple[XY, XY, XY]:
    """Return the middle line of a panel's smallest rectangle: its ends [m] and unit direction."""
    box = shapely.get_coordinates(shapely.oriented_envelope(shapely.Polygon(piece.ring)))
    if hypot(*(box[1] - box[0])) < hypot(*(box[2] - box[1])):
        box = np.roll(box[:4], -1, axis=0)[[0, 1, 2, 3]]
    a, b = (box[0] + box[3]) / 2, (box[1] + box[2]) / 2
    far = hypot(*(b - a))
    return (float(a[0]), float(a[1])), (float(b[0]), float(b[1])), ((b - a) / far).tolist()


def _offer_across(piece: Piece, lines: Lines, limit: float) -> None:
    """Offer lines square to a panel's long way that would divide it evenly within the limit."""
    a, b, (ux, uy) = panel_axis(piece)
    n = max(2, ceil(piece.long / (max(limit, LINE_LEAST) + SPACING_SLACK)))
    have = crossings(ends(lines.found), a, b)
    have = have[~np.isnan(have)]
    for k in range(1, n):
        at = piece.long * k / n
        if len(have) and np.abs(have - at).min() < NEW_LINE_APART:
            continue
        xy = (a[0] + ux * at, a[1] + uy * at)
        for r in lines.body.runs(xy, -uy, ux):
            if r.t0 < 0.0 < r.t1 and r.length >= LINE_LEAST:
                lines.offer(r, "aspect")


def _rows_for(
    piece: Piece,
    long: bool,
    limit: float,
    chosen: Sequence[int],
    lines: Lines,
    xy: Floats,
    cover: Cover,
) -> bool:
    """Add the rows of one wrong panel: its strip must be crossed, unless a joint beside it goes."""
    a, _, (ux, uy) = panel_axis(piece)
    beside = [] if long else [k for k in chosen if _lies_beside(lines.found[k], piece, ux, uy)]
    run = next((r for r in lines.body.runs(a, ux, uy) if r.t0 <= piece.long / 2 <= r.t1), None)
    lo, hi = (run.t0, run.t1) if run is not None else (0.0, piece.long)
    for k in beside:  # the strip reaches only as far as the joints that make it
        spans = sorted((x - a[0]) * ux + (y - a[1]) * uy for x, y in (lines.found[k].p, lines.found[k].q))
        lo, hi = max(lo, spans[0]), min(hi, spans[1])
    if long:
        lo, hi = 0.0, piece.long
    lo, hi = min(lo, 0.0), max(hi, piece.long)
    p, q = (a[0] + ux * lo, a[1] + uy * lo), (a[0] + ux * hi, a[1] + uy * hi)
    t = crossings(xy, p, q)
    along = np.abs((xy[:, 2] - xy[:, 0]) * ux + (xy[:, 3] - xy[:, 1]) * uy)
    steep = along < 0.87 * np.hypot(xy[:, 2] - xy[:, 0], xy[:, 3] - xy[:, 1])
    hit = np.nonzero(~np.isnan(t) & steep)[0]
    added = False
    for out in (0.0,) if long else OUTWARD:
        # a strip wider by `out` on both sides is still too thin for this longer limit
        reach = limit + (0.0 if long else 2 * out * limit / piece.short)
        if reach >= hi - lo - SPACING_SLACK:
            break
        groups = [_like(lines.found[k], piece, lines, (ux, uy), out) for k in beside]
        added = _window_rows(cover, hit.tolist(), t, (reach, hi - lo), groups, long) or added
    return added


def _window_rows(
    cover: Cover,
    hit: Sequence[int],
    t: Floats,
    reach_of: tuple[float, float],
    groups: Sequence[Sequence[int]],
    long: bool,
) -> bool:
    """Add a row for each window of a strip: crossed, unless one of its two sides is gone."""
    reach, far = reach_of
    minus = tuple(sorted({k for g in groups for k in g}))
    added = False
    for start in (0.0, *sorted(float(t[k]) for k in hit)):
        end = start + reach
        if end >= far - SPACING_SLACK:
            break
        plus = tuple(k for k in hit if start + 1e-6 < t[k] <= end + SPACING_SLACK)
        give = 3 * max((cover.lines[k].cost for k in plus if k < len(cover.lines)), default=0.0) + 5.0
        row = Row(plus, minus, 1.0 - len(groups), "panel length" if long else "panel shape", elastic=give)
        if plus or minus:
            added = cover.add(row) or added
    return added


def _like(line: Line, piece: Piece, lines: Lines, heading: XY, out: float) -> list[int]:
    """Return the lines that would make the same side of the strip as this one, or a narrower strip.

    They lie from `out` [m] outside the line to less than a panel's least side from there inwards, so
    that no plan holds two of them and their sum counts as one.
    """
    if line.family == 2:
        return [lines.found.index(line)]
    ux, uy = heading
    side = (piece.middle[0] - line.p[0]) * -uy + (piece.middle[1] - line.p[1]) * ux
    inward = 1.0 if side > 0 else -1.0
    lo, hi = sorted((x - line.p[0]) * ux + (y - line.p[1]) * uy for x, y in (line.p, line.q))
    like = []
    room = rules().edge_least - 2 * SPACING_SLACK
    for k, other in enumerate(lines.found):
        if other.family != line.family:
            continue
        if other.fixed and other is not line:
            continue
        off = ((other.p[0] - line.p[0]) * -uy + (other.p[1] - line.p[1]) * ux) * inward
        o_lo, o_hi = sorted((x - line.p[0]) * ux + (y - line.p[1]) * uy for x, y in (other.p, other.q))
        if -out - 1e-6 <= off < room - out and o_lo <= lo + 1e-3 and o_hi >= hi - 1e-3:
            like.append(k)
    return like


def _lies_beside(line: Line, piece: Piece, ux: float, uy: float) -> bool:
    """Say whether a joint makes one of the long sides of a panel."""
    far = line.length
    dx, dy = (line.q[0] - line.p[0]) / far, (line.q[1] - line.p[1]) / far
    if abs(dx * ux + dy * uy) < 0.8:
        return False
    ring = piece.ring
    for k in range(len(ring)):
        a, b = ring[k - 1], ring[k]
        if hypot(b[0] - a[0], b[1] - a[1]) < LINE_LEAST / 2:
            continue
        if off_line(a, line.p, dx, dy) < BESIDE and off_line(b, line.p, dx, dy) < BESIDE:
            t = ((a[0] + b[0]) / 2 - line.p[0]) * dx + ((a[1] + b[1]) / 2 - line.p[1]) * dy
            if -BESIDE < t < far + BESIDE:
                return True
    return False


def angle_rows(chosen: Sequence[int], lines: Lines, cover: Cover) -> bool:
    """Add rows against pairs of chosen joints that cross, or meet inside, at a sharp angle."""
    least = rules().corner - ANGLE_SLACK
    added = False
    askew = [k for k in chosen if lines.found[k].family == 2]
    for i in askew:
        a = lines.found[i]
        for j in chosen:
            if j == i or (lines.found[j].family == 2 and j < i):
                continue
            b = lines.found[j]
            if _sharp(a, b) >= least or not _meet(a, b):
                continue
            # the price of one sharp crossing, so that it gives only where nothing else will do
            row = Row((), (min(i, j), max(i, j)), -1.0, "sharp crossing", give=2 * rules().cost_sharp)
            added = cover.add(row) or added
    return added


def _sharp(a: Line, b: Line) -> float:
    """Return the sharper angle [rad] between two lines."""
    dot = (a.q[0] - a.p[0]) * (b.q[0] - b.p[0]) + (a.q[1] - a.p[1]) * (b.q[1] - b.p[1])
    return min(pi / 2, acos(min(1.0, abs(dot) / (a.length * b.length))))


def _meet(a: Line, b: Line) -> bool:
    """Say whether two lines cross or touch."""
    return bool(shapely.dwithin(shapely.LineString([a.p, a.q]), shapely.LineString([b.p, b.q]), BESIDE))
