"""What a reading says of the points that it ties, once some of them have a place."""

from __future__ import annotations

import math
from collections.abc import Mapping

from slabwright.survey.loci import Locus, Place, apart
from slabwright.survey.net import Pull, Reading, RightAngle, SquareOff, Straight


def loci_of(reading: Reading, xy: Mapping[str, Place]) -> list[tuple[str, Locus]]:
    """Return what a reading says of its points that have no place yet, as (point, locus)."""
    if type(reading) is Pull:  # nearly all are
        a, b = reading.a, reading.b
        here, there = (a, b) if a in xy else (b, a)
        if here not in xy or there in xy:
            return []
        return [(there, Locus("circle", *xy[here], (here,), reading.length))]
    names = reading.points()
    if all(name in xy for name in names):
        return []
    match reading:
        case SquareOff():
            return square_off_loci(reading, xy)
        case RightAngle():
            return _corner_loci(reading, xy)
        case Straight():
            placed = [name for name in names if name in xy]
            if len(placed) < 2:
                return []
            a, b = placed[0], max(placed[1:], key=lambda n: apart(xy[n], xy[placed[0]]))
            line = _line(xy[a], xy[a], xy[b], (a, b))
            return [(name, line) for name in names if name not in xy]
        case _:
            return []


def square_off_loci(r: SquareOff, xy: Mapping[str, Place]) -> list[tuple[str, Locus]]:
    p, s, e = (xy.get(name) for name in (r.point, r.start, r.end))
    away = math.hypot(r.along, r.out)
    if s and e and not p:
        length = apart(s, e) or 1.0
        ux, uy = (e[0] - s[0]) / length, (e[1] - s[1]) / length
        at = (s[0] + r.along * ux + r.out * uy, s[1] + r.along * uy - r.out * ux)
        return [(r.point, Locus("place", *at, (r.start, r.end)))]
    found: list[tuple[str, Locus]] = []
    if s and not p:
        found.append((r.point, Locus("circle", *s, (r.start,), away)))
    if p and not s:
        found.append((r.start, Locus("circle", *p, (r.point,), away)))
    if s and p and not e and away > 0.0:
        # The line's direction, seen from its start, is the point's turned back by along and out.
        turn = math.atan2(p[1] - s[1], p[0] - s[0]) + math.atan2(r.out, r.along)
        ray = (s[0] + math.cos(turn), s[1] + math.sin(turn))
        found.append((r.end, _line(s, s, ray, (r.start, r.point))))
    return found


def _corner_loci(r: RightAngle, xy: Mapping[str, Place]) -> list[tuple[str, Locus]]:
    at, a, b = (xy.get(name) for name in (r.at, r.a, r.b))
    if at and (a or b) and not (a and b):
        arm, name, other = (a, r.a, r.b) if a else (b, r.b, r.a)
        assert arm is not None
        square = (at[0] - (arm[1] - at[1]), at[1] + (arm[0] - at[0]))
        return [(other, _line(at, at, square, (r.at, name)))]
    if a and b and not at:
        middle = ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)
        return [(r.at, Locus("circle", *middle, (r.a, r.b), apart(a, b) / 2.0))]
    return []


def _line(through: Place, a: Place, b: Place, by: tuple[str, ...]) -> Locus:
    length = apart(a, b) or 1.0
    return Locus("line", *through, by, 0.0, (b[0] - a[0]) / length, (b[1] - a[1]) / length)
