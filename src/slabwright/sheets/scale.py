"""Scale: which standard scale fits, where site metres fall on paper, and the bar that proves it.

Paper coordinates are millimetres from the frame's upper left corner, x to the right, y down.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from itertools import chain
from typing import Any

from slabwright.measure import System, read_length
from slabwright.sheets.drawing import Point
from slabwright.tables import table

MM_PER_M = 1000.0


@dataclass(frozen=True, slots=True)
class Scale:
    """A standard scale: paper is `of` times smaller than the site [-]; `says` is how a sheet states it."""

    of: float
    says: str

    @property
    def mm_per_m(self) -> float:
        """Millimetres on paper for a metre on site."""
        return MM_PER_M / self.of


@dataclass(frozen=True, slots=True)
class View:
    """Where a drawing falls on paper: scale, turn [rad], the site point [m] that lies at a paper point [mm].

    `turn` is how far the site is turned counter-clockwise before it is drawn; `width` and `height` are the
    frame's [mm].
    """

    scale: Scale
    turn: float
    site: Point
    paper: Point
    width: float
    height: float
    system: System = System.IMPERIAL

    def to_paper(self, at: Point) -> Point:
        """Return the paper point [mm, y down] of a site point [m]."""
        k = self.scale.mm_per_m
        c, s = math.cos(self.turn), math.sin(self.turn)
        dx, dy = at[0] - self.site[0], at[1] - self.site[1]
        return (self.paper[0] + k * (c * dx - s * dy), self.paper[1] - k * (s * dx + c * dy))

    def to_site(self, at: Point) -> Point:
        """Return the site point [m] of a paper point [mm, y down]."""
        k = self.scale.mm_per_m
        c, s = math.cos(self.turn), math.sin(self.turn)
        u, v = (at[0] - self.paper[0]) / k, (self.paper[1] - at[1]) / k
        return (self.site[0] + c * u + s * v, self.site[1] - s * u + c * v)


@dataclass(frozen=True, slots=True)
class Extent:
    """A site point [m] and the room [mm on paper] that what is drawn there needs: left, right, up, down."""

    at: Point
    left: float = 0.4
    right: float = 0.4
    up: float = 0.4
    down: float = 0.4


@dataclass(frozen=True, slots=True)
class Bar:
    """A scale bar: its cells' ends [m on site] from 0, its whole length [mm], and its written marks."""

    ends: tuple[float, ...]
    length: float
    marks: tuple[str, ...]


def _raw() -> dict[str, Any]:
    return table("sheets", "scales")


@cache
def scales(system: System) -> tuple[Scale, ...]:
    """Return the standard scales of a system of units, from large to small."""
    return tuple(Scale(row["of"], row["says"]) for row in _raw()[str(system)])


@cache
def papers() -> dict[str, tuple[float, float]]:
    """Return the sizes of paper by name: width and height [mm], upright."""
    return {name: (size[0], size[1]) for name, size in _raw()["paper"].items()}


def _beyond(system: System) -> Iterable[Scale]:
    """Yield ever smaller scales after the last standard one, so that even a farm fits."""
    last = scales(system)[-1].of
    for step in range(1, 40):
        of = last * (2, 5, 10)[(step - 1) % 3] * 10 ** ((step - 1) // 3)
        says = f"1\" = {of / 12:,.0f}'" if system is System.IMPERIAL else f"1:{of:.0f}"
        yield Scale(of, says)


@dataclass(frozen=True, slots=True)
class _Cloud:
    """Extents turned as they will be drawn, near the origin: x right, y down [m], and their rooms [mm]."""

    x: list[float]
    y: list[float]
    left: list[float]
    right: list[float]
    up: list[float]
    down: list[float]

    def spread(self, k: float) -> tuple[float, float, float, float]:
        """Return least and largest x and y on paper [mm] at k [mm/m]."""
        return (
            min(k * x - r for x, r in zip(self.x, self.left, strict=True)),
            max(k * x + r for x, r in zip(self.x, self.right, strict=True)),
            min(k * y - r for y, r in zip(self.y, self.up, strict=True)),
            max(k * y + r for y, r in zip(self.y, self.down, strict=True)),
        )


def _clouds(listed: list[Extent], home: Point, turn: float, margin: float) -> tuple[_Cloud, _Cloud]:
    """Return the extents with their rooms and a margin [mm], and the bare points."""
    c, s = math.cos(turn), math.sin(turn)
    x = [c * (e.at[0] - home[0]) - s * (e.at[1] - home[1]) for e in listed]
    y = [-s * (e.at[0] - home[0]) - c * (e.at[1] - home[1]) for e in listed]
    rooms = (
        [e.left + margin for e in listed],
        [e.right + margin for e in listed],
        [e.up + margin for e in listed],
        [e.down + margin for e in listed],
    )
    none = [0.0] * len(listed)
    return _Cloud(x, y, *rooms), _Cloud(x, y, none, none, none, none)


def fit(
    extents: Iterable[Extent],
    *,
    width: float,
    height: float,
    system: System = System.IMPERIAL,
    turn: float = 0.0,
    scale: Scale | None = None,
    margin: float = 0.0,
) -> View:
    """Return the view with the largest standard scale at which all extents fit a frame [mm], centred.

    width, height: the frame [mm]. turn: how far the site is turned counter-clockwise [rad]. scale: a scale
    to use as given, whether or not it fits. margin: more room round every extent [mm]. Raises ValueError
    when there is nothing to draw, or when no scale makes it fit.
    """
    listed = list(extents)
    if width <= 0.0 or height <= 0.0:
        raise ValueError(f"a frame of {width:.0f} x {height:.0f} mm is too small for any drawing")
    if not listed:
        raise ValueError("nothing to draw: the drawing has no items on its shown layers")
    if not all(math.isfinite(e.at[0]) and math.isfinite(e.at[1]) for e in listed):
        raise ValueError("a drawing holds a point that is not a number")
    # The whole is brought near 0, 0 first: far from the origin the last digits would be lost.
    home = listed[0].at

    def view(choice: Scale, spread: tuple[float, float, float, float]) -> View:
        left, right, up, down = spread
        paper = (width / 2.0 - (left + right) / 2.0, height / 2.0 - (up + down) / 2.0)
        return View(choice, turn, home, paper, width, height, system)

    # Where the letters alone are too much for the frame, the points still get their scale: letters that
    # then find no place are handed back by number.
    for cloud in _clouds(listed, home, turn, margin):
        if scale is not None:
            return view(scale, cloud.spread(scale.mm_per_m))
        for choice in chain(scales(system), _beyond(system)):
            spread = cloud.spread(choice.mm_per_m)
            if spread[1] - spread[0] <= width and spread[3] - spread[2] <= height:
                return view(choice, spread)
    raise ValueError(f"a frame of {width:.0f} x {height:.0f} mm is too small for what is drawn")


def bar(scale: Scale, system: System, *, longest: float = 60.0) -> Bar:
    """Return a scale bar of four equal cells of round length, at most `longest` [mm] on paper."""
    site = longest / scale.mm_per_m  # how much site length [m] the bar may show
    if system is System.IMPERIAL:
        foot = read_length("1 ft")
        # Below a foot a cell, round figures are inches.
        unit, name = (foot, "'") if site >= 4.0 * foot else (foot / 12.0, '"')
    else:
        unit, name = read_length("1 m"), " m"
    room = site / unit / 4.0
    ten = 10.0 ** math.floor(math.log10(room))
    cell = max(step * ten for step in (1.0, 2.0, 5.0) if step * ten <= room * (1.0 + 1e-12))
    ends = tuple(cell * i * unit for i in range(5))
    marks = tuple(f"{cell * i:g}{name if i == 4 else ''}" for i in range(5))
    return Bar(ends, 4.0 * cell * unit * scale.mm_per_m, marks)


def north(view: View) -> float:
    """Return where north points on paper, in degrees clockwise from straight up."""
    return -math.degrees(view.turn) % 360.0
