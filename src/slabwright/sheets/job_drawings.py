"""The drawings of a packet by key: what is there and what is wanted, each sheet what its task needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from slabwright.result import Plan
from slabwright.sheets import scene_build, scene_slab, scene_water
from slabwright.sheets.drawing import Drawing, Item, drawing
from slabwright.sheets.scene import slab_points, work_window
from slabwright.sheets.scene_net import net_items
from slabwright.sheets.scene_there import there
from slabwright.sheets.window import Window, window_round
from slabwright.sheets.words import word

# Sheets that are worked from with a spade or a stake in hand show what is buried; the others stay clear.
WITH_BURIED = ("plan", "set-out", "dig")
CORNER_REACH = 0.6  # of the work's longer side: a house corner nearer than this is shown on the plan


def job_drawings(plan: Plan, lang: str = "en") -> dict[str, Drawing]:
    """Return the drawings of the packet by key, in the order of its pages."""
    near, wide = work_window(plan), work_window(plan, anchors=True)
    system = plan.notes.units
    slabs = plan.shaped.slabs
    made: dict[str, Drawing] = {}

    rings = [slab.outline.ring for slab in slabs]

    def add(key: str, view: Window, *parts: Iterable[Item]) -> None:
        below = key in WITH_BURIED
        items: list[Item] = [*there(plan.ground, view, system=system, lang=lang, new=rings, below=below)]
        for slab in slabs:
            items += scene_slab.base_items(slab)
        for part in parts:
            items += part
        made[key] = drawing(
            f"{plan.name} - {key}", items, alt=word(f"alt-{key}", lang, title=plan.notes.title)
        )

    add(
        "plan",
        _plan_window(plan),
        (i for s in slabs for i in scene_slab.name_items(s, system=system)),
        (i for s in slabs for i in scene_slab.dimension_items(s, system=system)),
        (i for s in slabs for i in scene_slab.place_items(s, plan.ground, system=system)),
        (i for s in slabs for i in scene_slab.joint_items(s, system=system, lines_only=True)),
    )
    add("heights", near, _joint_lines(plan), (i for s in slabs for i in scene_slab.height_items(plan, s)))
    add("set-out", wide, scene_build.form_items(plan), scene_build.set_out_items(plan, wide))
    if plan.built.dig is not None:
        add("dig", near, scene_build.dig_items(plan))
    add(
        "joints",
        near,
        (i for s in slabs for i in scene_slab.joint_items(s, system=system, lang=lang)),
        scene_slab.joint_chains(plan),
    )
    if any(s.steel.bars for s in slabs):
        add(
            "steel",
            near,
            _joint_lines(plan),
            (i for s in slabs for i in scene_build.steel_items(s, system=system)),
        )
    if plan.water.arrows or plan.water.yard_arrows:
        add("water", near, scene_water.water_items(plan.water, near, system=system))
    net = tuple(net_items(plan))
    if net:
        made["net"] = drawing(f"{plan.name} - net", net, alt=word("alt-net", lang, title=plan.notes.title))
    return made


def _joint_lines(plan: Plan) -> Iterator[Item]:
    for slab in plan.shaped.slabs:
        yield from scene_slab.joint_items(slab, system=plan.notes.units, lines_only=True)


def _plan_window(plan: Plan) -> Window:
    """Return the window of the plan sheet: the work, and house corners near enough to be measured from."""
    shown = slab_points(plan)
    xs, ys = [x for x, _ in shown], [y for _, y in shown]
    reach = CORNER_REACH * max(max(xs) - min(xs), max(ys) - min(ys))
    for wall in plan.ground.walls:
        for x, y in (wall.p, wall.q):
            off_x = max(min(xs) - x, 0.0, x - max(xs))
            off_y = max(min(ys) - y, 0.0, y - max(ys))
            if max(off_x, off_y) <= reach:
                shown.append((x, y))
    return window_round(shown)
