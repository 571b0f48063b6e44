"""Plane readings as rows of equations: what each should read, and how it leans on each point.

Up to three points a row, two columns a point. Rows stand in groups by kind, so that values and
derivatives are a few array expressions whatever the size of the net.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.survey.instruments import Instrument, instruments
from slabwright.survey.net import Known, Net, Pull, Reading, RightAngle, SquareOff, Straight

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NEAR = 1e-3  # [m] points nearer than this give a line no direction
KINDS = ("pull", "along", "out", "right", "straight", "x", "y")


@dataclass(frozen=True, slots=True)
class Tag:
    """Which reading a row comes from: kind is one of KINDS, 'rod', 'difference' or 'height'."""

    reading: Reading
    kind: str
    written: str


@dataclass(frozen=True, slots=True)
class PlaneRows:
    """Rows of the plane net, grouped in the order of KINDS.

    names: points; trio (m, 3): point numbers, -1 for none; value, sd (m,) in [m], corners in [rad];
    ends: where each group stops; groups: of each kind that has rows its name, rows and point numbers.
    """

    names: tuple[str, ...]
    index: Mapping[str, int]
    tags: tuple[Tag, ...]
    trio: Ints
    value: Floats
    sd: Floats
    ends: tuple[int, ...]
    groups: tuple[tuple[str, slice, Ints, Ints, Ints], ...]

    def group(self, kind: str) -> slice:
        """Return the rows of one kind."""
        k = KINDS.index(kind)
        return slice(self.ends[k - 1] if k else 0, self.ends[k])


def class_of(net: Net, reading: Reading) -> Instrument:
    """Return the reading's instrument class; one that is not known counts as the reading's usual."""
    name = reading.instrument or reading.default_instrument()
    found = net.classes.get(name) or instruments().get(name)
    return found or instruments()[reading.default_instrument()]


def _row_sds(net: Net, reading: Reading) -> tuple[float, ...]:
    """Return the sd [m or rad] of every row that this reading makes."""
    if reading.sd is not None:
        return (reading.sd, reading.sd)
    tool = class_of(net, reading)
    if isinstance(reading, SquareOff):
        # A square-off swung a little off square moves the point along the wall, not away from it.
        return (
            math.hypot(tool.sd(reading.along), tool.swing * reading.out),
            tool.sd(reading.out),
        )
    length = reading.length if isinstance(reading, Pull) else 0.0
    return (tool.sd(length),)


_Raw = tuple[Tag, tuple[str, ...], float, float]


def _rows_of(net: Net, reading: Reading) -> list[tuple[int, _Raw]]:
    """Return the reading's rows as (group, (tag, points, value, sd))."""
    sds = _row_sds(net, reading)
    match reading:
        case Pull():
            return [(0, (Tag(reading, "pull", reading.written), reading.points(), reading.length, sds[0]))]
        case SquareOff():
            ends = reading.points()
            along, out = Tag(reading, "along", reading.written), Tag(reading, "out", reading.written_out)
            return [(1, (along, ends, reading.along, sds[0])), (2, (out, ends, reading.out, sds[1]))]
        case RightAngle():
            return [(3, (Tag(reading, "right", ""), reading.points(), 0.0, sds[0]))]
        case Straight():
            first, *between, last = reading.line_of
            tag = Tag(reading, "straight", "")
            return [(4, (tag, (mid, first, last), 0.0, sds[0])) for mid in between]
        case Known(sd=float() as sd):
            x, y = Tag(reading, "x", reading.written), Tag(reading, "y", reading.written)
            return [(5, (x, (reading.point,), reading.x, sd)), (6, (y, (reading.point,), reading.y, sd))]
        case _:
            return []


def plane_rows(net: Net, names: Sequence[str]) -> PlaneRows:
    """Return the rows of all plane readings whose points are all among `names`."""
    index = {name: k for k, name in enumerate(names)}
    groups: list[list[_Raw]] = [[] for _ in KINDS]
    kinds: tuple[Sequence[Reading], ...] = (
        net.pulls,
        net.square_offs,
        net.right_angles,
        net.straights,
        net.knowns,
    )
    for readings in kinds:
        for reading in readings:
            for group, raw in _rows_of(net, reading):
                if all(name in index for name in raw[1]):
                    groups[group].append(raw)
    rows = [raw for group in groups for raw in group]
    spans = [[index[name] for name in raw[1]] for raw in rows]
    trio = np.array([(*span, -1, -1)[:3] for span in spans], dtype=np.int64).reshape(-1, 3)
    ends: list[int] = []
    for group_rows in groups:
        ends.append((ends[-1] if ends else 0) + len(group_rows))
    split: list[tuple[str, slice, Ints, Ints, Ints]] = []
    for kind, start, end in zip(KINDS, [0, *ends], ends, strict=False):
        if end > start:
            p, q, r = (trio[start:end, k].copy() for k in range(3))
            split.append((kind, slice(start, end), p, q, r))
    return PlaneRows(
        names=tuple(names),
        index=index,
        tags=tuple(raw[0] for raw in rows),
        trio=trio,
        value=np.array([raw[2] for raw in rows]),
        sd=np.array([raw[3] for raw in rows]),
        ends=tuple(ends),
        groups=tuple(split),
    )


def predict(rows: PlaneRows, xy: Floats) -> tuple[Floats, Floats]:
    """Return what every row should read (m,) at points xy (n, 2) [m], and its derivatives (m, 6).

    Derivatives are by x, y of the row's first, second and third point, [-] or [rad/m].
    """
    m = len(rows.value)
    value, coef = np.zeros(m), np.zeros((m, 6))
    for kind, at, p, q, r in rows.groups:
        if kind == "pull":
            d = xy.take(p, axis=0) - xy.take(q, axis=0)
            long = np.sqrt((d * d).sum(axis=1))
            value[at] = long
            d /= np.maximum(long, NEAR)[:, None]
            coef[at, 0:2] = d
            coef[at, 2:4] = -d
        elif kind == "out":
            # Along and out of one square-off lean on the same points: one pass serves both groups.
            (value[rows.group("along")], coef[rows.group("along")]), (value[at], coef[at]) = _from_line(
                xy[p], xy[q], xy[r]
            )
        elif kind == "straight":
            value[at], coef[at] = _from_line(xy[p], xy[q], xy[r])[1]
        elif kind == "right":
            value[at], coef[at] = _square(xy[p], xy[q], xy[r])
        elif kind != "along":
            k = int(kind == "y")
            value[at] = xy[p, k]
            coef[at, k] = 1.0
    return value, coef


def _from_line(p: Floats, s: Floats, e: Floats) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
    """Return how far p lies along the line s-e, and to the right hand of it, each with derivatives.

    Arrays (k, 2) [m] in; (k,) [m] and (k, 6) [-] out, derivatives by p, s, e.
    """
    w, d = e - s, p - s
    length = np.maximum(np.sqrt(w[:, 0] ** 2 + w[:, 1] ** 2), NEAR)[:, None]
    u = w / length
    n = np.empty_like(u)
    n[:, 0], n[:, 1] = u[:, 1], -u[:, 0]
    along, out = (u * d).sum(axis=1), (n * d).sum(axis=1)
    # Turning the line: du = n (n.dw)/L, and dn = -u (n.dw)/L.
    lean = n / length
    by_e, by_e_out = out[:, None] * lean, -along[:, None] * lean
    return (
        (along, np.concatenate([u, -u - by_e, by_e], axis=1)),
        (out, np.concatenate([n, -n - by_e_out, by_e_out], axis=1)),
    )


def _square(c: Floats, a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """Return how far the corner at c between a and b is from square [rad], with derivatives.

    The sine of (90 deg - corner); its difference from the angle is of third order.
    """
    da, db = a - c, b - c
    la = np.maximum(np.hypot(da[:, 0], da[:, 1]), NEAR)[:, None]
    lb = np.maximum(np.hypot(db[:, 0], db[:, 1]), NEAR)[:, None]
    ua, ub = da / la, db / lb
    value = np.einsum("ij,ij->i", ua, ub)
    by_a = (ub - value[:, None] * ua) / la
    by_b = (ua - value[:, None] * ub) / lb
    return value, np.concatenate([-by_a - by_b, by_a, by_b], axis=1)
