"""The order in which panels are placed, and so numbered."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from slabwright.slab.joints.lines import Frame
from slabwright.slab.joints.track import Track
from slabwright.slab.model import XY, Outline, Panel
from slabwright.slab.outline import curves
from slabwright.slab.panels import Piece

Key = Callable[[XY], tuple[float, float]]


def named(pieces: Sequence[Piece], key: Key) -> list[Panel]:
    """Return the pieces as panels '1', '2', ... by the key of their middles."""
    ordered = sorted(pieces, key=lambda p: key(p.middle))
    return [Panel(str(k), p.ring, p.area, p.long, p.short, p.holes) for k, p in enumerate(ordered, start=1)]


def along_track(track: Track) -> Key:
    """Order by station along a ribbon, then from its left side to its right."""

    def key(xy: XY) -> tuple[float, float]:
        leg, t, _ = track.nearest(xy)
        right, left = track.section(leg, t)
        ux, uy = (left[0] - right[0]) / track.width, (left[1] - right[1]) / track.width
        return (round(track.station(leg, t), 2), -((xy[0] - right[0]) * ux + (xy[1] - right[1]) * uy))

    return key


def in_rows(outline: Outline, frame: Frame, pieces: Sequence[Piece]) -> Key:
    """Order in rows away from the wall (so that no one is shut in against it), else along the long way."""
    walls = [e for e in outline.edges if e.kind in ("wall", "existing") and e.radius is None]
    uv = [frame.uv(xy) for xy in outline.ring]
    if walls:
        far = max(walls, key=lambda e: (e.kind == "wall", curves.length(e)))
        ux, uy = curves.heading(far, 0.5)
        rows_along_v = abs(ux * frame.u[0] + uy * frame.u[1]) > 0.7
        start = frame.uv(curves.point_at(far, 0.5))[1 if rows_along_v else 0]
        middle = sum(m[1 if rows_along_v else 0] for m in uv) / len(uv)
        sign = 1.0 if middle >= start else -1.0
    else:
        spread = [max(c[k] for c in uv) - min(c[k] for c in uv) for k in (0, 1)]
        rows_along_v = spread[1] > spread[0]
        sign = 1.0
    row_axis = 1 if rows_along_v else 0
    places = sorted({sign * frame.uv(p.middle)[row_axis] for p in pieces})
    gap = 0.5 * min((p.short for p in pieces), default=1.0)
    rows: list[float] = []
    for s in places:  # a new row begins where middles leave a gap
        if not rows or s - rows[-1] > gap:
            rows.append(s)

    def key(xy: XY) -> tuple[float, float]:
        at = frame.uv(xy)
        row = sum(r <= sign * at[row_axis] + 1e-9 for r in rows)
        return (float(row), at[1 - row_axis])

    return key
