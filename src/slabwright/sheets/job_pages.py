"""The pages of a job's packet, in the order in which a crew needs them."""

from __future__ import annotations

from slabwright.measure import Quantity, write
from slabwright.result import Plan
from slabwright.sheets import job_blocks as blocks
from slabwright.sheets import job_tables as tables
from slabwright.sheets import job_tables_water as water
from slabwright.sheets.job_drawings import few_panels
from slabwright.sheets.job_pages_build import making
from slabwright.sheets.job_sheets import Sheets
from slabwright.sheets.pages import Block, FigureBlock, FindingBlock, Page, TextBlock
from slabwright.sheets.pour_pages import pour_pages
from slabwright.sheets.scene_net import net_exaggeration
from slabwright.sheets.words import word as say


def job_pages(plan: Plan, *, paper: str, lang: str = "en") -> tuple[Page, ...]:
    """Return the packet's pages: the shape, the making, the order, findings, and what it all rests on.

    A small job leaves out what nobody has to look at: where the rain goes when nothing stands in its way,
    and the readings when they agree. Their drawings and tables are in the files all the same.
    """
    sheets = Sheets(plan, paper, lang)
    calm = quiet_water(plan)
    rain = _shape(sheets, calm=calm)
    making(sheets, rain, calm=calm)
    sheets.pages += pour_pages(plan, paper=paper, lang=lang)
    if sound_readings(plan):
        sheets.add("findings-basis", FindingBlock(plan.findings, after=_short_basis(sheets)))
    else:
        sheets.add("findings", FindingBlock(plan.findings))
        _basis(sheets)
    return tuple(sheets.pages)


def quiet_water(plan: Plan) -> bool:
    """Return whether rain needs no sheet of its own: a small job, no roof, no drain, no water that stays."""
    written = plan.notes.water
    drains = (*written.downspouts, *written.inlets, *written.trench_drains)
    return few_panels(plan) and not (drains or plan.water.ponds or plan.water.roofs)


def sound_readings(plan: Plan) -> bool:
    """Return whether the readings need no sheet of their own: a small job, all of them used and agreeing."""
    fits = [fit for fit in (plan.survey.plane, plan.survey.levels) if fit is not None and fit.dof > 0]
    agree = all(fit.passed for fit in fits) and all(r.used for r in plan.survey.readings)
    return few_panels(plan) and agree


def _shape(sheets: Sheets, *, calm: bool) -> tuple[Block, ...]:
    """Add plan and heights; return what is known of the rain where it has no room with the heights."""
    plan, lang = sheets.plan, sheets.lang
    about = sheets.table(blocks.slabs(plan, lang))
    sheets.add("plan", *sheets.drawn("plan", *about, above=(FigureBlock(blocks.figures(plan, lang)),)))
    falls = TextBlock(blocks.falls(plan, lang), heading=say("falls", lang), style="list")
    grades = sheets.table(tables.grades(plan), big=True, groups=4)
    if not calm:
        sheets.add("heights", *sheets.drawn("heights", *grades, falls))
        return ()
    storm = TextBlock(blocks.storm_lines(plan, lang, drawn=False), style="list")
    flows = (*sheets.table(water.edges(plan, lang)), storm)
    both = sheets.beside((falls,), flows, 0.5)
    if sheets.spoils("heights", (*grades, falls), (*grades, *both)):
        sheets.add("heights", *sheets.drawn("heights", *grades, falls))
        return flows
    sheets.add("heights", *sheets.drawn("heights", *grades, *both))
    return ()


def _short_basis(sheets: Sheets) -> tuple[Block, ...]:
    """Return how well the readings agree, where they are, and what was taken."""
    plan, lang = sheets.plan, sheets.lang
    fits = TextBlock((*blocks.fit_lines(plan, lang), say("readings-where", lang)), style="list", small=True)
    return (fits, *sheets.table(tables.assumed_by_source(plan, lang), small=True))


def _basis(sheets: Sheets) -> None:
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
