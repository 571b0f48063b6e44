"""A drawing with its tables on one page: beside each other or stacked, whichever draws larger."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

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
    flat,
)
from slabwright.sheets.scale import fit
from slabwright.sheets.table_blocks import HEADING_MM, table_size

KEY_MM = 12.0  # two rows of the key
MARGIN_MM = 3.0  # as in furniture.compose
FIGURES_MM = 28.0
LINE_MM = 5.1  # a line of a list
TEXT_MM = 4.1  # its letters
SMALL = 0.78  # small letters by the usual ones
BETWEEN_MM = 2.4  # as page.typ sets blocks apart
LEAST_SIDE = 0.4  # of the width, for a drawing with tables beside it
LEAST_HIGH = 28.0  # mm, for what is drawn above its tables
FULL = 0.98
BOLDER = 1.04  # what a row of totals runs wider
WORTH_SMALLER = 1.4  # a drawing this much larger is worth smaller letters in its tables
WORTH = 1.6  # a drawing this much larger is worth a page of its own
WIDE = 1.6  # a drawing this many times as wide as high stands above its tables


def with_drawing(
    drawing: Drawing,
    blocks: Sequence[Block],
    *,
    paper: str,
    system: System,
    lang: str,
    bearing: float | None = 0.0,
    above: Sequence[Block] = (),
    after: Sequence[Block] = (),
    worth: float = WORTH,
) -> tuple[Block, ...]:
    """Return a page's blocks: a drawing and what belongs to it, on one page where they fit.

    above: blocks over the whole width that come first; after: blocks that come last, on the same page
    where that leaves the drawing large enough. A drawing that would become too small with its tables
    beside or below it gets a page of its own before them: one that is `worth` times larger there.
    """
    page = Page("", paper=paper).body()
    high = page[1] - sum(block_height(b, page[0], system=system, lang=lang) for b in above)

    limit = worth * scale_in(drawing, page[0], FULL * high, system)
    best = _best_of(drawing, (*blocks, *after), page[0], high, system, lang)
    left_over: Sequence[Block] = ()
    if after and best.best > limit:
        best, left_over = _best_of(drawing, blocks, page[0], high, system, lang), after
    share = FULL * high / page[1]
    if best.best > limit:
        alone = DrawingBlock(drawing, share, bearing=bearing, snug=True)
        return (*above, alone, *blocks, *after)
    if best.stacked < best.side or (best.stacked == best.side and _aspect(drawing) >= WIDE):
        below = sum(block_height(b, page[0], system=system, lang=lang) for b in best.blocks)
        top = DrawingBlock(drawing, share * (high - below) / high, bearing=bearing, snug=True)
        return (*above, top, *best.blocks, *left_over)
    one = DrawingBlock(drawing, share, bearing=bearing)
    left = page[0] - best.need - GUTTER_MM
    beside = SideBySide((one,), tuple(flat(best.blocks)), left / (page[0] - GUTTER_MM))
    return (*above, beside, *left_over)


def shrinks(
    drawing: Drawing, few: Sequence[Block], many: Sequence[Block], *, paper: str, system: System, lang: str
) -> float:
    """Return how many times smaller [-] a drawing becomes with many blocks on its page than with few."""
    wide, high = Page("", paper=paper).body()
    less, more = (_best_of(drawing, listed, wide, high, system, lang).best for listed in (few, many))
    return more / less if math.isfinite(less) else 1.0


@dataclass(frozen=True, slots=True)
class _Option:
    """Blocks with the scales [-] that a drawing gets above them and beside them, and their width [mm]."""

    blocks: tuple[Block, ...]
    stacked: float
    side: float
    need: float

    @property
    def best(self) -> float:
        """Return the larger of both scales: the smaller figure."""
        return min(self.stacked, self.side)


def _best_of(
    drawing: Drawing, listed: Sequence[Block], wide: float, high: float, system: System, lang: str
) -> _Option:
    """Return big letters, or plain ones where they let the drawing become much larger."""
    big, plain = (
        _Option(tuple(chosen), *_scales(drawing, chosen, wide, high, system, lang))
        for chosen in (listed, [_plainer(b) for b in listed])
    )
    return big if big.best <= WORTH_SMALLER * plain.best else plain


def _scales(
    drawing: Drawing, blocks: Sequence[Block], wide: float, high: float, system: System, lang: str
) -> tuple[float, float, float]:
    """Return how many times smaller a drawing is set above blocks, and beside them, and their width [mm]."""
    below = sum(block_height(b, wide, system=system, lang=lang) for b in blocks)
    stacked = scale_in(drawing, wide, high - below, system)
    listed = flat(blocks)
    need = max((_natural(b, wide, system, lang) for b in listed), default=0.0)
    beside = sum(block_height(b, need, system=system, lang=lang) for b in listed)
    left = wide - need - GUTTER_MM
    side = (
        scale_in(drawing, left, FULL * high, system)
        if beside <= high and left >= LEAST_SIDE * wide
        else math.inf
    )
    return stacked, side, need


def scale_in(drawing: Drawing, wide: float, high: float, system: System) -> float:
    """Return how many times smaller a drawing is set in a width and height [mm], with key and strip."""
    room = high - STRIP_MM - KEY_MM
    if room < LEAST_HIGH:
        return math.inf
    return fit(extents(drawing), width=wide, height=room, system=system, margin=MARGIN_MM).scale.of


def _plainer(block: Block) -> Block:
    return replace(block, big=False) if isinstance(block, TableBlock) else block


def block_height(block: Block, wide: float, *, system: System, lang: str) -> float:
    """Return about how high [mm] a block becomes in a width [mm]; for choosing a layout, not for setting."""
    match block:
        case TableBlock():
            return BETWEEN_MM + table_size(block, wide=wide, system=system, lang=lang)[1]
        case TextBlock():
            part = SMALL if block.small else 1.0
            lines = sum(math.ceil(part * width(p, TEXT_MM) / max(1.0, wide - 10.0)) for p in block.paragraphs)
            return BETWEEN_MM + (HEADING_MM if block.heading else 0.0) + part * LINE_MM * lines
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
