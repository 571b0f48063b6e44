"""The pages of a job's packet, in the order in which a crew needs them."""

from __future__ import annotations

from slabwright.measure import Quantity, System, write
from slabwright.result import Plan
from slabwright.sheets import job_tables as tables
from slabwright.sheets.drawing import Drawing, drawing, only
from slabwright.sheets.pages import (
    Block,
    DrawingBlock,
    Figure,
    FigureBlock,
    FindingBlock,
    Page,
    TableBlock,
    TextBlock,
)
from slabwright.sheets.scene import datum_name, whole, work_window
from slabwright.sheets.words import word as say

BACKGROUND = ("ground", "existing", "house", "services")


def job_drawings(plan: Plan, lang: str = "en") -> dict[str, Drawing]:
    """Return the drawings of the packet by key: one drawing, of which each sheet shows some layers."""
    every = drawing(plan.name, whole(plan, lang), alt=say("alt-plan", lang, title=plan.notes.title))
    wide = drawing(plan.name, whole(plan, lang, work_window(plan, anchors=True)))

    def layers(key: str, *names: str) -> Drawing:
        return only(
            wide if key == "set-out" else every,
            *BACKGROUND,
            *names,
            name=key,
            alt=say(f"alt-{key}", lang, title=plan.notes.title),
        )

    made = {
        "plan": layers("plan", "slab", "dimensions", "notes"),
        "heights": layers("heights", "slab", "heights", "water"),
        "set-out": layers("set-out", "slab", "forms", "stakes", "set-out"),
        "joints": layers("joints", "slab", "joints", "order"),
    }
    if any(s.steel.bars for s in plan.shaped.slabs):
        made["steel"] = layers("steel", "slab", "steel", "joints")
    return made


def job_pages(plan: Plan, *, paper: str, lang: str = "en") -> tuple[Page, ...]:
    """Return the packet's pages: plan, heights, set-out, joints, steel, dig, order, findings, readings."""
    drawings = job_drawings(plan, lang)
    system = plan.notes.units

    def page(key: str, *blocks: Block) -> Page:
        return Page(say(f"page-{key}", lang, datum=datum_name(plan)), blocks, paper=paper)

    bearing = plan.notes.place.north
    pages = [
        page("plan", FigureBlock(_figures(plan, lang)), DrawingBlock(drawings["plan"], 0.8, bearing=bearing)),
        page(
            "heights",
            DrawingBlock(drawings["heights"], 0.98, bearing=bearing),
            TableBlock(tables.grades(plan), big=True),
        ),
        page(
            "set-out",
            DrawingBlock(drawings["set-out"], 0.98, bearing=bearing),
            TableBlock(tables.stakes(plan), big=True),
            *_diagonals(plan, lang),
            TextBlock(
                tuple(say(f"check-set-out-{n}", lang) for n in range(1, 5)),
                heading=say("before-forms", lang),
                style="checks",
            ),
        ),
        page("dig", *_dig(plan, lang), *_forms(plan, lang)),
        page(
            "joints",
            DrawingBlock(drawings["joints"], 0.98, bearing=bearing),
            TableBlock(tables.joints(plan, lang)),
            TableBlock(tables.panels(plan)),
        ),
    ]
    if "steel" in drawings:
        pages.append(
            page(
                "steel", DrawingBlock(drawings["steel"], 0.98, bearing=bearing), TableBlock(tables.bars(plan))
            )
        )
    pages += [
        page(
            "order",
            FigureBlock(_order_figures(plan, lang, system)),
            TableBlock(tables.order(plan), big=True),
            TableBlock(tables.materials(plan)),
        ),
        page("findings", FindingBlock(plan.findings)),
        page(
            "basis",
            TableBlock(tables.assumed(plan)),
            TableBlock(tables.readings(plan)),
            TableBlock(tables.points(plan)),
        ),
    ]
    return tuple(pages)


def _figures(plan: Plan, lang: str) -> tuple[Figure, ...]:
    system = plan.notes.units
    area = sum(s.outline.area for s in plan.shaped.slabs)
    order = plan.built.order
    stops = sum(f.level == "stop" for f in plan.findings)
    return (
        Figure(say("area", lang), write(Quantity("area", area), system=system)),
        Figure(say("concrete", lang), write(Quantity("volume", order.order), system=system)),
        Figure(say("panels", lang), str(sum(len(s.joint_plan.panels) for s in plan.shaped.slabs))),
        Figure(say("stops", lang), str(stops), say("see-findings", lang) if plan.findings else ""),
    )


def _order_figures(plan: Plan, lang: str, system: System) -> tuple[Figure, ...]:
    order = plan.built.order
    loads = " + ".join(write(Quantity("volume", v), system=system) for v in order.loads)
    chance = write(Quantity("percent", order.chance_short), system=system)
    return (
        Figure(say("order", lang), write(Quantity("volume", order.order), system=system), loads),
        Figure(
            say("need", lang),
            write(Quantity("volume", order.need), system=system),
            f"± {write(Quantity('volume', order.sd), system=system)}",
        ),
        Figure(say("chance-short", lang), chance, say("chance-short-below", lang)),
    )


def _diagonals(plan: Plan, lang: str) -> tuple[Block, ...]:
    system = plan.notes.units
    lines = tuple(
        f"{slab}: {a} - {b}  {write(Quantity('fine_length', length), system=system)}"
        for slab, a, b, length in plan.built.set_out.diagonals
    )
    return (TextBlock(lines, heading=say("diagonals", lang), style="list"),) if lines else ()


def _dig(plan: Plan, lang: str) -> tuple[Block, ...]:
    work, system = plan.built.dig, plan.notes.units
    if work is None:
        return (TextBlock((say("no-ground", lang),)),)
    figures = (
        Figure(
            say("spoil", lang), write(Quantity("volume", work.spoil_loose), system=system), say("loose", lang)
        ),
        Figure(
            say("base", lang),
            write(Quantity("volume", work.base_loose), system=system),
            write(Quantity("mass", work.base_mass), system=system),
        ),
        Figure(
            say("over-dig", lang),
            write(Quantity("volume", work.over_dig), system=system),
            say("in-bank", lang),
        ),
    )
    return (FigureBlock(figures), TableBlock(tables.dig(plan)))


def _forms(plan: Plan, lang: str) -> tuple[Block, ...]:
    forms, system = plan.built.forms, plan.notes.units
    lines = (
        say(
            "form-stakes",
            lang,
            count=forms.stakes,
            length=write(Quantity("inches", forms.stake_length), system=system),
            spacing=write(Quantity("length", forms.stake_spacing), system=system),
        ),
        say("form-nails", lang, count=forms.nails),
        say("form-release", lang),
    )
    return (
        TableBlock(tables.form_runs(plan)),
        TableBlock(tables.boards(plan, lang)),
        TextBlock(lines, heading=say("stakes-and-nails", lang), style="list"),
    )
