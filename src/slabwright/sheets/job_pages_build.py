"""The pages of the making: set-out, dig, joints and steel, forms, water, sprinklers, access, the order."""

from __future__ import annotations

from dataclasses import replace

from slabwright.sheets import job_blocks as blocks
from slabwright.sheets import job_tables_build as build
from slabwright.sheets import job_tables_steel as steel
from slabwright.sheets import job_tables_water as water
from slabwright.sheets import job_tables_yard as yard
from slabwright.sheets.job_layout import FULL
from slabwright.sheets.job_sheets import Sheets
from slabwright.sheets.pages import GUTTER_MM, Block, DrawingBlock, FigureBlock, SideBySide, TextBlock
from slabwright.sheets.table_blocks import HEADING_MM
from slabwright.sheets.words import word as say

SPRINKLER_SHARE = 0.8  # of a page's height, for the two maps of the lawn


def making(sheets: Sheets, rain: tuple[Block, ...], *, calm: bool) -> None:
    """Add the pages of the making; rain: what is to stand with the joints; calm: without a page for it."""
    ticks = _set_out(sheets)
    _dig(sheets)
    last = _lists(sheets)
    _joints(sheets, (*ticks, *rain), forms=() if last else _forms(sheets))
    if "steel" in sheets.drawings:
        text = TextBlock(blocks.steel_lines(sheets.plan, sheets.lang), style="list")
        sheets.add("steel", *sheets.drawn("steel", *_steel_lists(sheets, groups=2), text))
    if "water" in sheets.drawings and not calm:
        plan, lang = sheets.plan, sheets.lang
        flows = (*sheets.table(water.edges(plan, lang)), *sheets.table(water.ponds(plan, lang)))
        storm = TextBlock(blocks.storm_lines(plan, lang), style="list")
        sheets.add("water", *sheets.drawn("water", *flows, storm))
    _sprinklers(sheets)
    for key, content in last:
        sheets.add(key, *content)
    if not last:
        _access(sheets)
        _order(sheets)


def _set_out(sheets: Sheets) -> tuple[Block, ...]:
    """Two sheets: where the corners are, then what stands along each string with its checks.

    Return what has to be ticked off before forms are nailed, where that has no room beside the checks.
    """
    plan, lang = sheets.plan, sheets.lang
    ticks = TextBlock(
        tuple(say(f"check-set-out-{n}", lang) for n in range(1, 5)),
        heading=say("before-forms", lang),
        style="checks",
    )
    corners = sheets.table(build.corners(plan, lang), big=True)
    checks = sheets.table(build.checks(plan, lang), groups=3)
    drawn = sheets.drawn("set-out", *corners)
    strings = sheets.table(build.strings(plan, lang), groups=3)
    along = (*strings, *sheets.beside(checks, (ticks,), 0.45))
    if "set-out" in sheets.drawings and not sheets.spoils("set-out", corners, (*corners, *along)):
        sheets.add("set-out", *sheets.drawn("set-out", *corners, *along))  # few marks: one sheet does
        return ()
    if len(drawn) > 1 and isinstance(drawn[0], DrawingBlock) and drawn[0].share >= FULL:
        sheets.add("set-out", *drawn, *along)  # the corners have begun a page, which the strings go on
        return ()
    sheets.add("set-out", *drawn)
    if sheets.fits((*strings, *checks)) and not sheets.fits(along):
        sheets.add("set-out-strings", *strings, *checks)
        return (ticks,)
    sheets.add("set-out-strings", *along)
    return ()


def _dig(sheets: Sheets) -> None:
    plan, lang = sheets.plan, sheets.lang
    # the totals stand in the big figures
    panels = sheets.table(replace(build.dig(plan), total=None), groups=2)
    bands = sheets.table(build.dig_bands(plan))
    deep = TextBlock(blocks.dig_lines(plan, lang), style="list")
    dig = sheets.drawn(
        "dig",
        *sheets.beside(panels, bands, 0.66),
        *((deep,) if deep.paragraphs else ()),
        above=blocks.dig_figures(plan, lang),
    )
    sheets.add("dig", *dig)


def _joints(sheets: Sheets, more: tuple[Block, ...], forms: tuple[Block, ...]) -> None:
    plan, lang = sheets.plan, sheets.lang
    kinds, sizes = sheets.table(blocks.joint_kinds(plan, lang)), sheets.table(blocks.panel_sizes(plan))
    both = sheets.beside(kinds, sizes, 0.56)
    joined = "steel" not in sheets.drawings and any(s.steel.bars for s in plan.shaped.slabs)
    key = "joints" if forms else "joints-steel" if joined else "joints-only"
    sheets.add(key, *sheets.drawn("joints", *both, *more, after=forms))


def _forms(sheets: Sheets) -> tuple[Block, ...]:
    """Return runs of form and boards beside stakes and nails."""
    plan, lang = sheets.plan, sheets.lang
    lists = (*sheets.table(build.form_runs(plan, lang)), *sheets.table(build.boards(plan, lang)))
    return sheets.beside(lists, (_nails(sheets),), 0.5)


def _nails(sheets: Sheets) -> TextBlock:
    heading = say("stakes-and-nails", sheets.lang)
    return TextBlock(blocks.form_lines(sheets.plan, sheets.lang), heading=heading, style="list")


def _steel_lists(sheets: Sheets, *, groups: int) -> tuple[Block, ...]:
    plan, lang = sheets.plan, sheets.lang
    return (
        *sheets.table(steel.bars(plan, lang), groups=groups),
        *sheets.table(steel.bar_cuts(plan, lang), groups=groups),
        *sheets.table(steel.bends(plan, lang)),
        *sheets.table(steel.dowels(plan, lang)),
        *sheets.table(steel.mesh_sheets(plan)),
    )


def _lists(sheets: Sheets) -> list[tuple[str, tuple[Block, ...]]]:
    """Return by key the sheets from which a small job is cut, bought, ordered and placed.

    One to cut and buy from, one to call the plant from and place by, or one for all; none where they would
    be more.
    """
    plan, lang = sheets.plan, sheets.lang
    plant = (*sheets.table(build.order(plan, lang)), *blocks.balance(plan, lang))
    figures = FigureBlock(blocks.order_figures(plan, lang))
    get = _to_get(sheets)
    if get is None:
        return []
    key = "get" if "steel" in sheets.drawings else "get-steel"
    if "access" in sheets.drawings:
        sums = TextBlock(blocks.access_lines(plan, lang), style="list")
        below = (*sheets.table(yard.haul_runs(plan, lang)), sums)
        place = sheets.column("access", plant, below, above=(figures,))
        return [] if place is None else [(key, (get,)), ("place", (figures, place))]
    whole = _to_get(sheets, *plant)
    if whole is not None and sheets.fits((figures, whole)):
        return [("get-order", (figures, whole))]
    return [(key, (get,)), ("order-only", (figures, *plant))] if sheets.fits((figures, *plant)) else []


def _to_get(sheets: Sheets, *more: Block) -> SideBySide | None:
    """Return what to cut beside what to buy, and more, where it stays on one page; None where it does not."""
    plan, lang = sheets.plan, sheets.lang
    cut = (*sheets.table(build.form_runs(plan, lang)), *sheets.table(build.boards(plan, lang)))
    loose: list[Block] = [*more, _nails(sheets)]
    if "steel" not in sheets.drawings:
        cut += _steel_lists(sheets, groups=1)
        loose.append(TextBlock(blocks.steel_lines(plan, lang), style="list"))
    return sheets.paired(cut, sheets.table(build.materials(plan, lang)), tuple(loose)) if cut else None


def _sprinklers(sheets: Sheets) -> None:
    """The lawn as it is watered beside how it will be, then what to do and to buy."""
    plan, lang = sheets.plan, sheets.lang
    if plan.built.sprinklers is None:
        return
    wide, high = (sheets.body[0] - GUTTER_MM) / 2.0, SPRINKLER_SHARE * sheets.body[1] - HEADING_MM
    # both at one scale, so that they can be held against each other
    scale = sheets.one_scale(("sprinklers-before", "sprinklers-after"), wide, high)
    left, right = (
        DrawingBlock(
            sheets.drawings[f"sprinklers-{key}"],
            SPRINKLER_SHARE,
            scale=scale,
            bearing=plan.notes.place.bearing,
            heading=say(word, lang),
            snug=True,
        )
        for key, word in (("before", "now"), ("after", "later"))
    )
    figures = sheets.table(yard.watering(plan, lang))
    sheets.add("sprinklers", SideBySide((left,), (right,), 0.5), *figures)
    pipes = (*sheets.table(yard.crossings(plan, lang)), *sheets.table(yard.lines(plan, lang)))
    what = sheets.beside(sheets.table(yard.heads(plan, lang)), sheets.table(yard.parts(plan, lang)), 0.5)
    sheets.add("sprinkler-work", *what, *pipes)


def _access(sheets: Sheets) -> None:
    if "access" in sheets.drawings:
        plan, lang = sheets.plan, sheets.lang
        ways = sheets.table(yard.hauls(plan, lang), groups=2)
        sums = TextBlock(blocks.access_lines(plan, lang), style="list")
        sheets.add("access", *sheets.drawn("access", *ways, sums))


def _order(sheets: Sheets) -> None:
    plan, lang = sheets.plan, sheets.lang
    plant = (*sheets.table(build.order(plan, lang)), *blocks.balance(plan, lang))
    shops = sheets.table(build.materials(plan, lang))
    figures = FigureBlock(blocks.order_figures(plan, lang))
    if shops:
        sheets.add("order", figures, sheets.shared(plant, shops, above=(figures,)))
    else:
        sheets.add("order", figures, *plant)
