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
    ends: where each group stops.
    """

    names: tuple[str, ...]
    index: Mapping[str, int]
    tags: tuple[Tag, ...]
    trio: Ints
    value: Floats
    sd: Floats
    ends: tuple[int, ...]

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
    trio = np.full((len(rows), 3), -1, dtype=np.int64)
    for k, raw in enumerate(rows):
        for j, name in enumerate(raw[1]):
            trio[k, j] = index[name]
    ends: list[int] = []
    for group_rows in groups:
        ends.append((ends[-1] if ends else 0) + len(group_rows))
    return PlaneRows(
        names=tuple(names),
        index=index,
        tags=tuple(raw[0] for raw in rows),
        trio=trio,
        value=np.array([raw[2] for raw in rows]),
        sd=np.array([raw[3] for raw in rows]),
        ends=tuple(ends),
    )


def predict(rows: PlaneRows, xy: Floats) -> tuple[Floats, Floats]:
    """Return what every row should read (m,) at points xy (n, 2) [m], and its derivatives (m, 6).

    Derivatives are by x, y of the row's first, second and third point, [-] or [rad/m].
    """
    m = len(rows.value)
    value, coef = np.zeros(m), np.zeros((m, 6))
    p, q, r = (xy[rows.trio[:, k]] for k in range(3))
    at = rows.group("pull")
    if at.stop > at.start:
        d = p[at] - q[at]
        value[at] = np.hypot(d[:, 0], d[:, 1])
        coef[at, 0:2] = d / np.maximum(value[at], NEAR)[:, None]
        coef[at, 2:4] = -coef[at, 0:2]
    for kind in ("along", "out", "straight"):
        at = rows.group(kind)
        if at.stop > at.start:
            value[at], coef[at] = _from_line(p[at], q[at], r[at], sideways=kind != "along")
    at = rows.group("right")
    if at.stop > at.start:
        value[at], coef[at] = _square(p[at], q[at], r[at])
    for kind, k in (("x", 0), ("y", 1)):
        at = rows.group(kind)
        value[at] = p[at, k]
        coef[at, k] = 1.0
    return value, coef


def _from_line(p: Floats, s: Floats, e: Floats, *, sideways: bool) -> tuple[Floats, Floats]:
    """Return how far p lies along the line s-e, or to the right hand of it, with derivatives.

    Arrays (k, 2) [m] in; (k,) [m] and (k, 6) [-] out, derivatives by p, s, e.
    """
    w, d = e - s, p - s
    length = np.maximum(np.hypot(w[:, 0], w[:, 1]), NEAR)[:, None]
    u = w / length
    n = np.stack([u[:, 1], -u[:, 0]], axis=1)
    axis, other = (n, u) if sideways else (u, n)
    value = np.einsum("ij,ij->i", axis, d)
    # Turning the line: du = n (n.dw)/L, and dn = -u (n.dw)/L.
    turn = np.einsum("ij,ij->i", other, d)[:, None] * n / length
    by_e = -turn if sideways else turn
    return value, np.concatenate([axis, -axis - by_e, by_e], axis=1)


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
