"""A drawing with its tables on one page: beside each other or stacked, whichever draws larger."""

from __future__ import annotations

import math
from collections.abc import Sequence

from slabwright.measure import System
from slabwright.sheets.drawing import Drawing
from slabwright.sheets.extent import extents
from slabwright.sheets.furniture import STRIP_MM
from slabwright.sheets.lettering import width
from slabwright.sheets.pages import (
    GUTTER_MM,
    Block,
    DrawingBlock,
    FigureBlock,
    Page,
    SideBySide,
    TableBlock,
    TextBlock,
)
from slabwright.sheets.scale import fit
from slabwright.sheets.table_blocks import HEADING_MM, table_size

KEY_MM = 12.0  # two rows of the key
MARGIN_MM = 3.0  # as in furniture.compose
FIGURES_MM = 27.0
LINE_MM = 6.6  # a line of a list
TEXT_MM = 4.1  # its letters
SMALL = 0.78  # small letters by the usual ones
LEAST_SIDE = 0.4  # of the width, for a drawing with tables beside it
LEAST_HIGH = 45.0  # mm, for a drawing with tables below it
FULL = 0.98
BOLDER = 1.04  # what a row of totals runs wider
WORTH = 1.4  # a drawing this much larger is worth a page of its own
WIDE = 1.6  # a drawing this many times as wide as high stands above its tables


def with_drawing(
    drawing: Drawing,
    blocks: Sequence[Block],
    *,
    paper: str,
    system: System,
    lang: str,
    bearing: float = 0.0,
    above: Sequence[Block] = (),
) -> tuple[Block, ...]:
    """Return a page's blocks: a drawing and what belongs to it, on one page where they fit.

    above: blocks over the whole width that come first. A drawing that would become too small with its
    tables beside or below it gets a page of its own before them.
    """
    wide, high = Page("", paper=paper).body()
    high -= sum(block_height(b, wide, system=system, lang=lang) for b in above)
    below = sum(block_height(b, wide, system=system, lang=lang) for b in blocks)
    need = max((_natural(b, wide, system, lang) for b in blocks), default=0.0)
    left = wide - need - GUTTER_MM
    beside = sum(block_height(b, need, system=system, lang=lang) for b in blocks)

    def scale(room_wide: float, room_high: float) -> float:
        room = room_high - STRIP_MM - KEY_MM
        if room_wide < LEAST_SIDE * wide or room < LEAST_HIGH - STRIP_MM:
            return math.inf
        return fit(extents(drawing), width=room_wide, height=room, system=system, margin=MARGIN_MM).scale.of

    whole = scale(wide, FULL * high)
    stacked = scale(wide, high - below)
    side = scale(left, FULL * high) if beside <= high else math.inf
    share = FULL * high / Page("", paper=paper).body()[1]
    if min(stacked, side) > WORTH * whole or math.isinf(min(stacked, side)):
        return (*above, DrawingBlock(drawing, share, bearing=bearing, snug=True), *blocks)
    if stacked < side or (stacked == side and _aspect(drawing) >= WIDE):
        share *= (high - below) / high
        return (*above, DrawingBlock(drawing, share, bearing=bearing, snug=True), *blocks)
    one = DrawingBlock(drawing, share, bearing=bearing)
    return (*above, SideBySide((one,), tuple(blocks), left / (wide - GUTTER_MM)))


def block_height(block: Block, wide: float, *, system: System, lang: str) -> float:
    """Return about how high [mm] a block becomes in a width [mm]; for choosing a layout, not for setting."""
    match block:
        case TableBlock():
            return table_size(block, wide=wide, system=system, lang=lang)[1]
        case TextBlock():
            part = SMALL if block.small else 1.0
            lines = sum(math.ceil(part * width(p, TEXT_MM) / max(1.0, wide - 10.0)) for p in block.paragraphs)
            return (HEADING_MM if block.heading else 0.0) + part * LINE_MM * lines
        case FigureBlock():
            return FIGURES_MM
        case SideBySide():
            halves = (block.left, wide * block.share), (block.right, wide * (1.0 - block.share))
            return max(sum(block_height(b, w, system=system, lang=lang) for b in part) for part, w in halves)
        case _:
            return 0.0


def _natural(block: Block, wide: float, system: System, lang: str) -> float:
    """Return how wide [mm] a block wants to be beside a drawing."""
    if isinstance(block, TableBlock):
        return BOLDER * table_size(block, wide=wide, system=system, lang=lang)[0] + 2.0
    return 0.3 * wide if isinstance(block, TextBlock) else wide


def _aspect(drawing: Drawing) -> float:
    at = [one.at for one in extents(drawing)]
    xs, ys = [x for x, _ in at], [y for _, y in at]
    return (max(xs) - min(xs)) / max(1e-6, max(ys) - min(ys))
