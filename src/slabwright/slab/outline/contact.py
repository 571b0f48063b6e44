"""Which sides of an outline lie against a wall, an existing slab or another new slab."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot

from slabwright.measure import Quantity
from slabwright.slab.model import XY, Edge
from slabwright.slab.outline import curves
from slabwright.slab.outline.curves import Kind

TOUCH = 0.0254  # a side within an inch of a wall or slab is poured against it (filler fills the gap)
TOUCH_LEAST = 0.0762  # a touch shorter than 3 in is a corner that meets, not a side against
SLANT_MOST = 0.1  # sine: a side that runs away by more than 1 in 10 is not against

TOUCH_SHOWN = Quantity("length", TOUCH)


@dataclass(frozen=True, slots=True)
class Against:
    """One straight line that a side may lie against, and what it belongs to."""

    kind: Kind
    name: str
    p: XY
    q: XY


def runs_of(kind: Kind, name: str, line: Sequence[XY]) -> list[Against]:
    """Return a polyline [m] as lines to lie against."""
    return [Against(kind, name, a, b) for a, b in pairwise(line) if curves.dist(a, b) > curves.SAME_PLACE]


def touching(e: Edge, a: Against) -> tuple[float, float] | None:
    """Return the shares (t0, t1) [-] of a straight side that lie within an inch of the line, or None."""
    run = curves.length(e)
    ux, uy = curves.heading(e, 0.5)
    far = hypot(a.q[0] - a.p[0], a.q[1] - a.p[1])
    if run < curves.SAME_PLACE or abs(ux * (a.q[1] - a.p[1]) - uy * (a.q[0] - a.p[0])) / far > SLANT_MOST:
        return None
    spots = []
    for x, y in (a.p, a.q):
        dx, dy = x - e.p[0], y - e.p[1]
        spots.append((dx * ux + dy * uy, ux * dy - uy * dx))
    (s0, h0), (s1, h1) = sorted(spots)
    slope = (h1 - h0) / (s1 - s0)
    lo, hi = max(0.0, s0), min(run, s1)
    if abs(slope) > 1e-12:
        at = sorted(s0 + (side - h0) / slope for side in (-TOUCH, TOUCH))
        lo, hi = max(lo, at[0]), min(hi, at[1])
    elif abs(h0) > TOUCH:
        return None
    if hi - lo < min(TOUCH_LEAST, 0.9 * run):
        return None
    # a few millimetres short of a corner is that corner: no sliver of free edge
    lo, hi = (0.0 if lo < TOUCH else lo), (run if run - hi < TOUCH else hi)
    return lo / run, hi / run


def label(edges: Iterable[Edge], lines: Sequence[Against]) -> list[Edge]:
    """Return the sides split where contact begins and ends, each labelled by what it lies against.

    Earlier lines win over later ones, so pass existing slabs before the walls that they lie under.
    """
    out: list[Edge] = []
    for e in edges:
        out += _label_arc(e, lines) if e.radius is not None else _label_straight(e, lines)
    return out


def _label_straight(e: Edge, lines: Sequence[Against]) -> list[Edge]:
    spans: list[tuple[float, float, Against]] = []
    for a in lines:
        span = touching(e, a)
        if span is None:
            continue
        for lo, hi in _left_free(span, spans):
            if (hi - lo) * curves.length(e) >= min(TOUCH_LEAST, 0.9 * curves.length(e)):
                spans.append((lo, hi, a))
    if not spans:
        return [e]
    out: list[Edge] = []
    at = 0.0
    for lo, hi, a in sorted(spans, key=lambda s: s[0]):
        if lo > at + 1e-9:
            out.append(curves.part(e, at, lo))
        mark = replace(curves.part(e, lo, hi), kind=a.kind, against=a.name)
        last = out[-1] if out else None
        if last and last.kind == mark.kind and last.against == mark.against and lo <= at + 1e-9:
            out[-1] = replace(last, q=mark.q, names=(last.names[0], mark.names[1]))
        else:
            out.append(mark)
        at = hi
    if at < 1.0 - 1e-9:
        out.append(curves.part(e, at, 1.0))
    return out


def _left_free(
    span: tuple[float, float], taken: Sequence[tuple[float, float, Against]]
) -> list[tuple[float, float]]:
    """Return what is left of a span after those already taken."""
    free = [span]
    for lo, hi, _ in taken:
        free = [(a, b) for x, y in free for a, b in ((x, min(y, lo)), (max(x, hi), y)) if b - a > 1e-9]
    return free


def _label_arc(e: Edge, lines: Sequence[Against]) -> list[Edge]:
    """Label an arc by its chords: neighbours against the same thing are one piece of the arc."""
    count = max(8, len(curves.flatten(e)))
    marks = []
    for k in range(count):
        x, y = curves.point_at(e, (k + 0.5) / count)
        marks.append(next((a for a in lines if _near(a, x, y)), None))
    spans: list[tuple[int, int, Against | None]] = []
    for k, a in enumerate(marks):
        same = spans and _key(spans[-1][2]) == _key(a)
        if same:
            spans[-1] = (spans[-1][0], k + 1, a)
        else:
            spans.append((k, k + 1, a))
    out = []
    for lo, hi, a in spans:
        piece = curves.part(e, lo / count, hi / count) if len(spans) > 1 else e
        # a wall that a curve only kisses is no side against it
        along = a is not None and curves.length(piece) >= 2 * TOUCH_LEAST
        out.append(replace(piece, kind=a.kind, against=a.name) if a is not None and along else piece)
    return _merged(out) if len(spans) > 1 else out


def _merged(pieces: list[Edge]) -> list[Edge]:
    """Join neighbouring pieces of one arc that have the same label."""
    out = [pieces[0]]
    for e in pieces[1:]:
        last = out[-1]
        if (last.kind, last.against) != (e.kind, e.against):
            out.append(e)
            continue
        joined = curves.bulge_through(last.p, last.q, e.q)
        out[-1] = replace(last, q=e.q, bulge=joined, names=(last.names[0], e.names[1]))
    return out


def _key(a: Against | None) -> tuple[str, str] | None:
    return None if a is None else (a.kind, a.name)


def _near(a: Against, x: float, y: float) -> bool:
    dx, dy = a.q[0] - a.p[0], a.q[1] - a.p[1]
    t = min(1.0, max(0.0, ((x - a.p[0]) * dx + (y - a.p[1]) * dy) / (dx * dx + dy * dy)))
    return hypot(a.p[0] + t * dx - x, a.p[1] + t * dy - y) <= TOUCH
