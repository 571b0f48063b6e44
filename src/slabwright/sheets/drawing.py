"""The one drawing model: what is on the drawing, in metres on site; nothing about files or pages.

x runs east, y runs north (up on the sheet when the view is not turned). Sizes of letters, offsets of
dimensions and heads of arrows are millimetres on paper, so that they stay readable at every scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

from slabwright.sheets.styles import layers

Point: TypeAlias = tuple[float, float]
LabelMode: TypeAlias = Literal["beside", "inside", "along"]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line from `a` to `b` [m]. `style` names a line style; empty means the layer's own."""

    layer: str
    a: Point
    b: Point
    style: str = ""


@dataclass(frozen=True, slots=True)
class Polyline:
    """A line through `points` [m], n x 2, n >= 2; closed joins the last to the first."""

    layer: str
    points: tuple[Point, ...]
    closed: bool = False
    style: str = ""


@dataclass(frozen=True, slots=True)
class Area:
    """An area inside `rings` [m], holes by the even-odd rule, with a fill colour and a hatch.

    `fill` names a palette colour, `tint` says how much of it is printed over white [-], `hatch` names
    a hatch, and `outline` a line style; each is left out when empty.
    """

    layer: str
    rings: tuple[tuple[Point, ...], ...]
    fill: str = ""
    tint: float = 0.35
    hatch: str = ""
    outline: str = ""


@dataclass(frozen=True, slots=True)
class Arc:
    """An arc about `centre` [m] of `radius` [m], counter-clockwise from `start` to `end` [rad]."""

    layer: str
    centre: Point
    radius: float
    start: float = 0.0
    end: float = 2.0 * math.pi
    style: str = ""

    @property
    def full(self) -> bool:
        """Whether the arc is a whole circle."""
        return abs(self.end - self.start) >= 2.0 * math.pi - 1e-9


@dataclass(frozen=True, slots=True)
class Text:
    """Words at a place `at` [m].

    mode 'beside': set clear of the point; 'inside': centred on it and moved as little as can be within
    `room` [m]; 'along': on the upper side of a line at `angle` [rad, counter-clockwise from east].
    `size` names a letter size or is the em height [mm]; `weight` is 400, 600 or 700; `halo` clears the
    lines behind; a lower `rank` is placed first.
    """

    layer: str
    at: Point
    text: str
    mode: LabelMode = "inside"
    angle: float = 0.0
    size: str | float = "label"
    weight: int = 400
    halo: bool = True
    room: float = 0.0
    rank: int = 5


@dataclass(frozen=True, slots=True)
class Dimension:
    """A measured length between `a` and `b` [m], drawn `offset` [mm on paper] to the left of a towards b.

    With `along` [rad, from east] the length is measured in that direction instead of straight from a to
    b. The text stands on the line's upper side and reads from the bottom or from the right.
    """

    layer: str
    a: Point
    b: Point
    text: str
    offset: float = 9.0
    along: float | None = None
    size: str | float = "figure"
    rank: int = 2


@dataclass(frozen=True, slots=True)
class Arrow:
    """An arrow from `a` to `b` [m]; with `length` [mm on paper] it starts at a and only points to b."""

    layer: str
    a: Point
    b: Point
    text: str = ""
    length: float | None = None
    style: str = ""
    size: str | float = "label"
    rank: int = 4


@dataclass(frozen=True, slots=True)
class Marker:
    """A small sign at `at` [m] of a kind in `markers.SIGNS`: 'stake', 'shot', 'head', 'fixed' and so on.

    `text` is set beside it, if possible towards `side` [rad, counter-clockwise from east], such as the
    outside of a form; `size` and `weight` are those of the letters; `angle` [rad] turns the sign.
    """

    layer: str
    at: Point
    kind: str
    text: str = ""
    size: str | float = "label"
    weight: int = 400
    angle: float = 0.0
    side: float | None = None
    rank: int = 3


Item: TypeAlias = Line | Polyline | Area | Arc | Text | Dimension | Arrow | Marker


@dataclass(frozen=True, slots=True)
class Drawing:
    """Items in model metres, a name, and `alt`: what is shown, in words, for those who cannot see it.

    `told` are the key's words for what only this drawing has, by their keys ('key-hatch-depth-1').
    """

    name: str
    items: tuple[Item, ...] = ()
    alt: str = ""
    layer_set: frozenset[str] = field(default_factory=lambda: frozenset(layers()))
    told: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        """Refuse items on layers that the table does not have."""
        known = set(layers())
        for item in self.items:
            if item.layer not in known:
                raise ValueError(
                    f"layer {item.layer!r} is not in styles.toml; take one of {', '.join(layers())}"
                )

    def shown(self) -> tuple[Item, ...]:
        """Return the items of the chosen layers in drawing order, stable within a layer."""
        order = {name: rank for rank, name in enumerate(layers())}
        return tuple(
            sorted((i for i in self.items if i.layer in self.layer_set), key=lambda i: order[i.layer])
        )


def drawing(
    name: str, items: Iterable[Item], *, alt: str = "", told: tuple[tuple[str, str], ...] = ()
) -> Drawing:
    """Return a drawing of `items` with every layer shown; `told` as in `Drawing`."""
    return Drawing(name, tuple(items), alt, told=told)


def only(whole: Drawing, *names: str, name: str = "", alt: str = "") -> Drawing:
    """Return the same drawing with just the layers `names` shown; ValueError for a name that is no layer."""
    for wanted in names:
        if wanted not in layers():
            raise ValueError(f"layer {wanted!r} is not in styles.toml; take one of {', '.join(layers())}")
    return replace(whole, name=name or whole.name, alt=alt or whole.alt, layer_set=frozenset(names))


def rectangle(layer: str, x: float, y: float, width: float, height: float, *, style: str = "") -> Polyline:
    """Return a closed rectangle with its lower left corner at (x, y), sides `width` and `height` [m]."""
    corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    return Polyline(layer, corners, True, style)


def strip(
    layer: str,
    points: Iterable[Point],
    *,
    fill: str = "",
    hatch: str = "",
    outline: str = "",
    tint: float = 0.35,
) -> Area:
    """Return an area with a single ring of `points` [m]."""
    return Area(layer, (tuple(points),), fill, tint, hatch, outline)
