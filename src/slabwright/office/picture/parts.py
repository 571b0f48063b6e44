"""What each switch of the plan's picture shows: the same scenes as the sheets, in one window."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from slabwright.result import Plan
from slabwright.sheets import scene_access, scene_build, scene_dig, scene_slab, scene_water
from slabwright.sheets.drawing import Item
from slabwright.sheets.scene import work_window
from slabwright.sheets.scene_there import there
from slabwright.sheets.window import Window

BASE = "base"  # house, what is there, slabs, lines of joints: always shown
SWITCHES = ("sizes", "heights", "forms", "stakes", "joints", "steel", "dig", "water", "order", "buried")
AT_FIRST = frozenset({"sizes"})


@dataclass(frozen=True, slots=True)
class Part:
    """The items behind one switch; `key` is BASE or one of SWITCHES."""

    key: str
    items: tuple[Item, ...]


def parts(plan: Plan, lang: str = "en") -> tuple[Window, tuple[Part, ...]]:
    """Return the window [m on site] of the picture, and its parts; those without anything are left out."""
    view = work_window(plan, anchors=True)
    rings = [slab.outline.ring for slab in plan.shaped.slabs]
    system = plan.notes.units

    def seen(*, below: bool) -> list[Item]:
        return list(there(plan.ground, view, system=system, lang=lang, new=rings, below=below))

    stands = seen(below=False)
    already = set(stands)
    base: list[Item] = [*stands]
    for slab in plan.shaped.slabs:
        base += scene_slab.base_items(slab)
    for slab in plan.shaped.slabs:
        base += scene_slab.joint_items(slab, system=system, lines_only=True)
        base += scene_slab.name_items(slab, system=system)
    made: dict[str, Iterable[Item]] = dict(_made(plan, view, lang))
    made["buried"] = [item for item in seen(below=True) if item not in already]
    listed = [Part(BASE, tuple(base)), *(Part(key, tuple(made[key])) for key in SWITCHES)]
    return view, tuple(part for part in listed if part.items)


def _made(plan: Plan, view: Window, lang: str) -> Iterator[tuple[str, Iterable[Item]]]:
    slabs, system = plan.shaped.slabs, plan.notes.units

    def sizes() -> Iterator[Item]:
        for slab in slabs:
            yield from scene_slab.dimension_items(slab, system=system)
            yield from scene_slab.place_items(slab, plan.ground, system=system)

    def forms() -> Iterator[Item]:
        yield from scene_build.form_items(plan)
        for slab in slabs:
            yield from scene_build.thick_items(slab, system=system, lang=lang)

    def joints() -> Iterator[Item]:
        for slab in slabs:
            yield from scene_slab.joint_items(slab, system=system, lang=lang)
        yield from scene_slab.joint_chains(plan)

    def order() -> Iterator[Item]:
        if scene_access.access_shown(plan):
            yield from scene_access.access_items(plan, view)
            return
        for slab in slabs:
            yield from scene_slab.panel_items(slab)

    yield "sizes", sizes()
    yield "heights", (item for slab in slabs for item in scene_slab.height_items(plan, slab))
    yield "forms", forms()
    yield "stakes", scene_build.set_out_items(plan, view)
    yield "joints", joints()
    yield "steel", (i for s in slabs for i in scene_build.steel_items(s, system=system, lang=lang))
    yield "dig", scene_dig.dig_items(plan)
    yield "water", scene_water.water_items(plan.water, view, system=system)
    yield "order", order()
