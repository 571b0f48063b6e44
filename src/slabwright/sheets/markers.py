"""The small signs of a drawing, as outlines in millimetres on paper (y down), our own.

Each is told from the others by its shape alone, filled or open.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from slabwright.sheets.drawing import Point


@dataclass(frozen=True, slots=True)
class Sign:
    """A marker: strokes and filled shapes [mm], circles as (x, y, radius [mm], filled), reach [mm]."""

    strokes: tuple[tuple[Point, ...], ...] = ()
    solids: tuple[tuple[Point, ...], ...] = ()
    circles: tuple[tuple[float, float, float, bool], ...] = ()
    reach: float = 1.2


def _square(half: float) -> tuple[Point, ...]:
    return ((-half, -half), (half, -half), (half, half), (-half, half), (-half, -half))


def _half_disc(radius: float) -> tuple[Point, ...]:
    turns = [math.radians(-90.0 + 15.0 * n) for n in range(13)]
    return tuple((radius * math.cos(t), radius * math.sin(t)) for t in turns)


_TRIANGLE: tuple[Point, ...] = ((-1.5, 1.1), (1.5, 1.1), (0.0, -1.6), (-1.5, 1.1))

SIGNS: dict[str, Sign] = {
    # a stake is a solid square, as wood driven into the ground
    "stake": Sign(solids=(_square(0.95),), reach=1.2),
    # a shot is where the rod's foot stood
    "shot": Sign(strokes=(((-1.3, 0.0), (1.3, 0.0)), ((0.0, -1.3), (0.0, 1.3))), reach=1.3),
    "head": Sign(strokes=(((-1.5, 0.0), (1.5, 0.0)),), circles=((0.0, 0.0, 1.5, False),), reach=1.6),
    # what becomes of a head: another nozzle half filled, moved or new filled, capped crossed out
    "head-turned": Sign(
        strokes=(((0.0, -1.5), (0.0, 1.5)),),
        solids=(_half_disc(1.5),),
        circles=((0.0, 0.0, 1.5, False),),
        reach=1.6,
    ),
    "head-moved": Sign(circles=((0.0, 0.0, 1.5, True),), reach=1.6),
    "head-new": Sign(
        strokes=(((-2.4, 0.0), (2.4, 0.0)), ((0.0, -2.4), (0.0, 2.4))),
        circles=((0.0, 0.0, 1.5, True),),
        reach=2.4,
    ),
    "head-capped": Sign(
        strokes=(((-1.7, -1.7), (1.7, 1.7)), ((-1.7, 1.7), (1.7, -1.7))),
        circles=((0.0, 0.0, 1.5, False),),
        reach=1.8,
    ),
    # a mixer from above: cab, drum, and the chute's end
    "truck": Sign(
        strokes=(
            ((-4.0, -1.8), (2.2, -1.8), (2.2, 1.8), (-4.0, 1.8), (-4.0, -1.8)),
            ((2.2, -1.3), (4.2, -1.3), (4.2, 1.3), (2.2, 1.3)),
        ),
        circles=((-1.0, 0.0, 1.4, False), (0.0, 0.0, 0.5, True)),
        reach=4.4,
    ),
    "nail": Sign(circles=((0.0, 0.0, 0.7, True),), reach=0.8),
    "post": Sign(strokes=(_square(1.3), ((-1.3, -1.3), (1.3, 1.3)), ((-1.3, 1.3), (1.3, -1.3))), reach=1.5),
    # a fixed height: a level line with a solid triangle standing on it point down
    "fixed": Sign(
        strokes=(((-2.2, 0.0), (2.2, 0.0)),), solids=(((-1.3, -2.2), (1.3, -2.2), (0.0, 0.0)),), reach=2.2
    ),
    "corner": Sign(strokes=(_TRIANGLE,), circles=((0.0, 0.2, 0.35, True),), reach=1.7),
    "tree": Sign(
        strokes=tuple(
            (
                (0.5 * math.cos(t), 0.5 * math.sin(t)),
                (2.0 * math.cos(t), 2.0 * math.sin(t)),
            )
            for t in (math.radians(60.0 * n) for n in range(6))
        ),
        circles=((0.0, 0.0, 2.4, False),),
        reach=2.5,
    ),
    "point": Sign(circles=((0.0, 0.0, 0.9, False),), reach=1.0),
    "set-up": Sign(strokes=(_TRIANGLE, ((0.0, -1.6), (0.0, 1.1))), reach=1.7),
}


def sign(kind: str) -> Sign:
    """Return the sign of a marker kind; ValueError names the kinds there are."""
    try:
        return SIGNS[kind]
    except KeyError:
        raise ValueError(f"no marker {kind!r}; take one of {', '.join(SIGNS)}") from None


def turned(points: tuple[Point, ...], at: Point, angle: float) -> tuple[Point, ...]:
    """Return a sign's points [mm] turned by angle [rad, counter-clockwise as seen], set at a place [mm]."""
    c, s = math.cos(angle), math.sin(angle)
    return tuple((at[0] + x * c + y * s, at[1] - x * s + y * c) for x, y in points)
