"""What collects the pages of one packet: drawings with what belongs to them, tables, stacks side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from slabwright.result import Plan
from slabwright.sheets.drawing import Drawing
from slabwright.sheets.extent import extents
from slabwright.sheets.furniture import STRIP_MM
from slabwright.sheets.job_drawings import few_panels, job_drawings
from slabwright.sheets.job_layout import FULL, MARGIN_MM, WORTH, block_height, scale_in, shrinks, with_drawing
from slabwright.sheets.key import height as key_height
from slabwright.sheets.key import lay_out
from slabwright.sheets.pages import GUTTER_MM, Block, DrawingBlock, Page, SideBySide, TableBlock
from slabwright.sheets.scale import Scale, fit
from slabwright.sheets.scene import datum_name
from slabwright.sheets.tables import Table
from slabwright.sheets.words import word as say

SHARES = (0.48, 0.44, 0.4)  # of the width, for the left one of two stacks of tables
PAIR_SHARES = (*SHARES, 0.36)
KEPT_TABLES = 0.97  # of a page's height, for tables that are to stay on one page
KEPT = 0.7  # of a page's height: what is lower than that is not broken over two pages
SMALLER = 2.1  # how many times smaller a drawing may be to save a page of its own
SPOILT = 1.5  # what becomes so many times smaller has lost more than a line of a table is worth
SKETCH = 3.0  # the same for one that only shows which way things go


class Sheets:
    """Collects the pages of one packet."""

    def __init__(self, plan: Plan, paper: str, lang: str) -> None:
        self.plan, self.paper, self.lang = plan, paper, lang
        self.system = plan.notes.units
        self.drawings = job_drawings(plan, lang)
        self.pages: list[Page] = []
        self.body = Page("", paper=paper).body()

    def add(self, key: str, *content: Block) -> None:
        """Add a page, unless it has nothing on it."""
        title = say(f"page-{key}", self.lang, datum=datum_name(self.plan))
        if content:
            self.pages.append(Page(title, content, paper=self.paper, key=key))

    def drawn(
        self, key: str, *content: Block, above: tuple[Block, ...] = (), after: tuple[Block, ...] = ()
    ) -> tuple[Block, ...]:
        """Return a drawing with what belongs to it; without the drawing just that."""
        one: Drawing | None = self.drawings.get(key)
        if one is None:
            return (*above, *content, *after)
        return with_drawing(
            one,
            content,
            paper=self.paper,
            system=self.system,
            lang=self.lang,
            bearing=self.plan.notes.place.bearing,
            above=above,
            after=after,
            worth=SMALLER if few_panels(self.plan) else WORTH,
        )

    def table(
        self, made: Table, *, groups: int = 1, big: bool = False, small: bool = False
    ) -> tuple[Block, ...]:
        """Return a table as a block, without columns that say nothing; none when it has no rows."""
        if not made.rows:
            return ()
        keep = tuple(c.key for n, c in enumerate(made.columns) if self._tells(made, n))
        return (TableBlock(made, big=big, small=small, columns=keep, groups=groups),)

    def beside(self, left: tuple[Block, ...], right: tuple[Block, ...], share: float) -> tuple[Block, ...]:
        """Return two stacks beside each other, kept on one page where they are low enough."""
        if not (left and right):
            return (*left, *right)
        made = SideBySide(left, right, share)
        return (replace(made, keep=self.height(made) < KEPT * self.body[1]),)

    def shared(
        self, left: tuple[Block, ...], right: tuple[Block, ...], *, above: tuple[Block, ...] = ()
    ) -> SideBySide:
        """Return two stacks beside each other on one page: the right one wider or smaller if need be."""
        small = tuple(replace(b, small=True) if isinstance(b, TableBlock) else b for b in right)
        made = [SideBySide(left, part, share) for part in (right, small) for share in SHARES]
        return next((one for one in made if self.fits((*above, one))), made[0])

    def spoils(self, key: str, few: tuple[Block, ...], many: tuple[Block, ...]) -> bool:
        """Return whether a drawing becomes too small with many blocks on its page instead of few."""
        one = self.drawings[key]
        by = shrinks(one, few, many, paper=self.paper, system=self.system, lang=self.lang)
        return by > SPOILT

    def fits(self, listed: Sequence[Block]) -> bool:
        """Return whether blocks below each other stay on one page."""
        return sum(self.height(b) for b in listed) <= KEPT_TABLES * self.body[1]

    def paired(
        self, left: tuple[Block, ...], right: tuple[Block, ...], loose: tuple[Block, ...] = ()
    ) -> SideBySide | None:
        """Return two stacks beside each other in their usual letters; None where they need two pages.

        loose: blocks that go below the lower stack, each in turn.
        """
        wide = self.body[0] - GUTTER_MM
        for share in PAIR_SHARES:
            stacks, widths = [list(left), list(right)], (wide * share, wide * (1.0 - share))
            for block in loose:
                low = [
                    sum(self._height(b, w) for b in (*stack, block))
                    for stack, w in zip(stacks, widths, strict=True)
                ]
                stacks[low.index(min(low))].append(block)
            made = SideBySide(tuple(stacks[0]), tuple(stacks[1]), share)
            if self.fits((made,)):
                return made
        return None

    def column(
        self, key: str, left: tuple[Block, ...], below: tuple[Block, ...], *, above: tuple[Block, ...] = ()
    ) -> SideBySide | None:
        """Return blocks with a drawing and what belongs below it on their right; None where it is too small.

        above: blocks over the whole width of the page.
        """
        one = self.drawings[key]
        wide, high = self.body
        free = KEPT_TABLES * high - sum(self.height(b) for b in above)
        alone = scale_in(one, wide, FULL * high, self.system)
        for share in SHARES:
            right = (wide - GUTTER_MM) * (1.0 - share)
            if sum(self._height(b, wide - GUTTER_MM - right) for b in left) > free:
                continue
            room = free - sum(self._height(b, right) for b in below)
            if scale_in(one, right, room, self.system) <= SKETCH * alone < math.inf:
                put = DrawingBlock(one, room / high, bearing=self.plan.notes.place.bearing, snug=True)
                return SideBySide(left, (put, *below), share)
        return None

    def one_scale(self, keys: Sequence[str], wide: float, high: float) -> Scale:
        """Return the largest scale at which each drawing fits a width and height [mm], its key with it."""
        found = []
        for key in keys:
            one = self.drawings[key]
            room = high - STRIP_MM - key_height(lay_out(one, width=wide, lang=self.lang))
            found.append(
                fit(extents(one), width=wide, height=room, system=self.system, margin=MARGIN_MM).scale
            )
        return max(found, key=lambda scale: scale.of)

    def height(self, block: Block) -> float:
        """Return about how high [mm] a block becomes on this paper."""
        return self._height(block, self.body[0])

    def _height(self, block: Block, wide: float) -> float:
        return block_height(block, wide, system=self.system, lang=self.lang)

    def _tells(self, made: Table, n: int) -> bool:
        cells = {row[n] for row in made.rows}
        if made.columns[n].key == "slab":
            return len(self.plan.shaped.slabs) > 1
        return bool(cells - {None, "", 0.0})
