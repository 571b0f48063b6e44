"""How much paper each item needs round its site points, so that a scale can be chosen before drawing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from slabwright.sheets.drawing import (
    Arc,
    Area,
    Arrow,
    Dimension,
    Drawing,
    Item,
    Line,
    Marker,
    Polyline,
    Text,
)
from slabwright.sheets.lettering import block, label, size_for
from slabwright.sheets.markers import sign
from slabwright.sheets.scale import Extent
from slabwright.sheets.styles import letter_size, part


def _text_block(text: str, size: str | float, weight: int) -> tuple[float, float]:
    height = size_for(text, letter_size(size) if isinstance(size, str) else size)
    return block(label(text, height, weight=weight), height, weight=weight)


def _round(at: tuple[float, float], half_w: float, half_h: float) -> Extent:
    return Extent(at, half_w, half_w, half_h, half_h)


def _of_dimension(item: Dimension, turn: float) -> Iterator[Extent]:
    _, high = _text_block(item.text, item.size, 600) if item.text.strip() else (0.0, 0.0)
    along = math.atan2(item.b[1] - item.a[1], item.b[0] - item.a[0]) if item.along is None else item.along
    if item.along is not None:
        run = math.cos(along) * (item.b[0] - item.a[0]) + math.sin(along) * (item.b[1] - item.a[1])
        along += math.pi if run < 0.0 else 0.0
    side = 1.0 if item.offset >= 0.0 else -1.0
    # Out to the far side of the text, whichever side of the line it stands on.
    reach = abs(item.offset) + high + part("extension-over") + part("dimension-gap")
    x = -math.sin(along + turn) * side * reach
    y = math.cos(along + turn) * side * reach
    slack = part("extension-over") + 0.5
    for at in (item.a, item.b):
        yield Extent(
            at, max(slack, -x + slack), max(slack, x + slack), max(slack, y + slack), max(slack, -y + slack)
        )


def _of_item(item: Item, turn: float) -> Iterator[Extent]:
    match item:
        case Line():
            yield from (Extent(item.a), Extent(item.b))
        case Polyline():
            yield from map(Extent, item.points)
        case Area():
            yield from (Extent(p) for ring in item.rings for p in ring)
        case Arc():
            # The whole circle is kept in view only when the whole circle is drawn.
            steps = 24 if item.full else max(2, math.ceil(abs(item.end - item.start) / math.radians(15.0)))
            for n in range(steps + 1):
                t = item.start + (item.end - item.start) * n / steps
                yield Extent(
                    (item.centre[0] + item.radius * math.cos(t), item.centre[1] + item.radius * math.sin(t))
                )
        case Dimension():
            yield from _of_dimension(item, turn)
        case Arrow():
            yield Extent(item.a)
            yield Extent(item.b) if item.length is None else _round(item.a, item.length, item.length)
        case Marker():
            reach = sign(item.kind).reach
            high = _text_block(item.text, item.size, item.weight)[1] if item.text.strip() else 0.0
            yield _round(item.at, reach + 0.5, reach + 0.5 + high)
        case Text():
            wide, high = _text_block(item.text, item.size, item.weight) if item.text.strip() else (0.0, 0.0)
            yield _round(item.at, wide / 2.0 + 0.5, high / 2.0 + 0.5)


def extents(items: Drawing | Iterable[Item], *, turn: float = 0.0) -> list[Extent]:
    """Return the extents of a drawing's shown items when the site is turned by `turn` [rad]."""
    listed = items.shown() if isinstance(items, Drawing) else items
    return [one for item in listed for one in _of_item(item, turn)]
