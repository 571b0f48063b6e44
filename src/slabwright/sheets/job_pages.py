"""The pages of a job's packet, in the order in which a crew needs them."""

from __future__ import annotations

from dataclasses import replace

from slabwright.measure import Quantity, write
from slabwright.result import Plan
from slabwright.sheets import job_blocks as blocks
from slabwright.sheets import job_tables as tables
from slabwright.sheets import job_tables_build as build
from slabwright.sheets import job_tables_water as water
from slabwright.sheets.drawing import Drawing
from slabwright.sheets.job_drawings import job_drawings
from slabwright.sheets.job_layout import FULL, block_height, with_drawing
from slabwright.sheets.pages import (
    Block,
    DrawingBlock,
    FigureBlock,
    FindingBlock,
    Page,
    SideBySide,
    TableBlock,
    TextBlock,
)
from slabwright.sheets.pour_pages import pour_pages
from slabwright.sheets.scene import datum_name
from slabwright.sheets.scene_net import net_exaggeration
from slabwright.sheets.tables import Table
from slabwright.sheets.words import word as say

SHARES = (0.48, 0.44, 0.4)  # of the width, for the left one of two stacks of tables
KEPT_TABLES = 0.97  # of a page's height, for tables that are to stay on one page
KEPT = 0.7  # of a page's height: what is lower than that is not broken over two pages


class _Sheets:
    """Collects the pages of one packet."""

    def __init__(self, plan: Plan, paper: str, lang: str) -> None:
        self.plan, self.paper, self.lang = plan, paper, lang
        self.system = plan.notes.units
        self.drawings = job_drawings(plan, lang)
        self.pages: list[Page] = []

    def add(self, key: str, *content: Block) -> None:
        """Add a page, unless it has nothing on it."""
        title = say(f"page-{key}", self.lang, datum=datum_name(self.plan))
        if content:
            self.pages.append(Page(title, content, paper=self.paper))

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
            bearing=self.plan.notes.place.north,
            above=above,
            after=after,
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
        wide, high = Page("", paper=self.paper).body()
        low = self._height(made, wide) < KEPT * high
        return (replace(made, keep=low),)

    def shared(
        self, left: tuple[Block, ...], right: tuple[Block, ...], *, above: tuple[Block, ...] = ()
    ) -> SideBySide:
        """Return two stacks beside each other on one page: the right one wider or smaller if need be."""
        wide, high = Page("", paper=self.paper).body()
        high = KEPT_TABLES * high - sum(self._height(b, wide) for b in above)
        small = tuple(replace(b, small=True) if isinstance(b, TableBlock) else b for b in right)
        made = [SideBySide(left, part, share) for part in (right, small) for share in SHARES]
        return next((one for one in made if self._height(one, wide) <= high), made[0])

    def _height(self, block: Block, wide: float) -> float:
        return block_height(block, wide, system=self.system, lang=self.lang)

    def _tells(self, made: Table, n: int) -> bool:
        cells = {row[n] for row in made.rows}
        if made.columns[n].key == "slab":
            return len(self.plan.shaped.slabs) > 1
        return bool(cells - {None, "", 0.0})


def job_pages(plan: Plan, *, paper: str, lang: str = "en") -> tuple[Page, ...]:
    """Return the packet's pages: the shape, the making, the order, findings, and what it all rests on."""
    sheets = _Sheets(plan, paper, lang)
    _shape(sheets)
    _making(sheets)
    _order(sheets)
    sheets.pages += pour_pages(plan, paper=paper, lang=lang)
    sheets.add("findings", FindingBlock(plan.findings))
    _basis(sheets)
    return tuple(sheets.pages)


def _shape(sheets: _Sheets) -> None:
    plan, lang = sheets.plan, sheets.lang
    about = sheets.table(blocks.slabs(plan, lang))
    sheets.add("plan", *sheets.drawn("plan", *about, above=(FigureBlock(blocks.figures(plan, lang)),)))
    falls = TextBlock(blocks.falls(plan, lang), heading=say("falls", lang), style="list")
    grades = sheets.table(tables.grades(plan), big=True, groups=4)
    sheets.add("heights", *sheets.drawn("heights", *grades, falls))


def _making(sheets: _Sheets) -> None:
    _set_out(sheets)
    plan, lang = sheets.plan, sheets.lang
    # the totals stand in the big figures
    panels = sheets.table(replace(build.dig(plan), total=None), groups=3)
    deep = TextBlock(blocks.dig_lines(plan, lang), style="list")
    dig = sheets.drawn(
        "dig", *panels, *((deep,) if deep.paragraphs else ()), above=blocks.dig_figures(plan, lang)
    )
    nails = TextBlock(blocks.form_lines(plan, lang), heading=say("stakes-and-nails", lang), style="list")
    lists = (*sheets.table(build.form_runs(plan)), *sheets.table(build.boards(plan, lang)))
    forms = sheets.beside(lists, (nails,), 0.5)
    sheets.add("dig", *dig)
    kinds, sizes = sheets.table(blocks.joint_kinds(plan, lang)), sheets.table(blocks.panel_sizes(plan))
    both = sheets.beside(kinds, sizes, 0.56)
    sheets.add("joints", *sheets.drawn("joints", *both, after=forms))
    lists = (
        *sheets.table(build.bars(plan, lang), groups=2),
        *sheets.table(build.bar_cuts(plan, lang), groups=2),
    )
    bends = sheets.table(build.bends(plan, lang))
    text = TextBlock(blocks.steel_lines(plan, lang), style="list")
    sheets.add("steel", *sheets.drawn("steel", *lists, *bends, text))
    flows = (*sheets.table(water.edges(plan, lang)), *sheets.table(water.ponds(plan, lang)))
    if "water" in sheets.drawings:
        storm = TextBlock(blocks.storm_lines(plan, lang), style="list")
        sheets.add("water", *sheets.drawn("water", *flows, storm))


def _set_out(sheets: _Sheets) -> None:
    """Two sheets: where the corners are with their checks, then what stands along each string."""
    plan, lang = sheets.plan, sheets.lang
    ticks = TextBlock(
        tuple(say(f"check-set-out-{n}", lang) for n in range(1, 5)),
        heading=say("before-forms", lang),
        style="checks",
    )
    corners = sheets.table(build.corners(plan, lang), big=True)
    checks = sheets.table(build.checks(plan, lang), groups=3)
    drawn = sheets.drawn("set-out", *corners)
    both = sheets.beside(checks, (ticks,), 0.45)
    along = (*sheets.table(build.strings(plan, lang), groups=3), *both)
    if len(drawn) > 1 and isinstance(drawn[0], DrawingBlock) and drawn[0].share >= FULL:
        sheets.add("set-out", *drawn, *along)  # the corners have begun a page, which the strings go on
        return
    sheets.add("set-out", *drawn)
    sheets.add("set-out-strings", *along)


def _order(sheets: _Sheets) -> None:
    plan, lang = sheets.plan, sheets.lang
    plant = (*sheets.table(build.order(plan, lang)), *blocks.balance(plan, lang))
    shops = sheets.table(build.materials(plan, lang))
    figures = FigureBlock(blocks.order_figures(plan, lang))
    if shops:
        sheets.add("order", figures, sheets.shared(plant, shops, above=(figures,)))
    else:
        sheets.add("order", figures, *plant)


def _basis(sheets: _Sheets) -> None:
    plan, lang = sheets.plan, sheets.lang
    times = write(Quantity("count", float(net_exaggeration(plan))), system=sheets.system)
    lines = (*blocks.fit_lines(plan, lang), say("ellipses", lang, times=times))
    points = sheets.table(tables.points(plan), small=True, groups=3)
    sheets.add("net", *sheets.drawn("net", *points, TextBlock(lines, style="list", small=True)))
    unseen = TextBlock((tables.unchecked(plan, lang),), heading=say("unchecked", lang), small=True)
    sheets.add(
        "basis",
        *sheets.table(tables.readings(plan, lang, checked=True), small=True, groups=4),
        *((unseen,) if unseen.paragraphs[0] else ()),
        *sheets.table(tables.assumed_by_source(plan, lang), small=True),
    )
