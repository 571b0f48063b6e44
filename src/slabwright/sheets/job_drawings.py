"""The drawings of a packet by key: what is there and what is wanted, each sheet what its task needs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from slabwright.result import Plan
from slabwright.sheets import scene_access, scene_build, scene_dig, scene_slab, scene_water, scene_yard
from slabwright.sheets.drawing import Drawing, Item, drawing
from slabwright.sheets.scene import slab_points, work_window
from slabwright.sheets.scene_net import net_items
from slabwright.sheets.scene_there import there
from slabwright.sheets.window import Window, window_round
from slabwright.sheets.words import word

# Sheets that are worked from with a spade or a stake in hand show what is buried; the others stay clear.
WITH_BURIED = ("plan", "set-out", "dig")
FEW_PANELS = 12
FEW_BARS = 8  # more than these would hide the joints
CORNER_REACH = 0.6  # of the work's longer side: a house corner nearer than this is shown on the plan


def job_drawings(plan: Plan, lang: str = "en") -> dict[str, Drawing]:
    """Return the drawings of the packet by key, in the order of its pages."""
    near, wide = work_window(plan), work_window(plan, anchors=True)
    system = plan.notes.units
    slabs = plan.shaped.slabs
    made: dict[str, Drawing] = {}

    rings = [slab.outline.ring for slab in slabs]
    thick = [i for s in slabs for i in scene_build.thick_items(s, system=system, lang=lang)]

    def add(key: str, view: Window, *parts: Iterable[Item], told: tuple[tuple[str, str], ...] = ()) -> None:
        below = key in WITH_BURIED
        items: list[Item] = [*there(plan.ground, view, system=system, lang=lang, new=rings, below=below)]
        for slab in slabs:
            items += scene_slab.base_items(slab)
        for part in parts:
            items += part
        made[key] = drawing(
            f"{plan.name} - {key}",
            items,
            alt=word(f"alt-{key}", lang, title=plan.notes.title),
            told=told,
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
        add("dig", near, scene_dig.dig_items(plan), thick, told=scene_dig.dig_told(plan, lang))
    joined = steel_on_joints(plan)
    bars = [i for s in slabs for i in scene_build.steel_items(s, system=system, lang=lang)]
    add(
        "joints",
        near,
        bars if joined else (),
        (i for s in slabs for i in scene_slab.joint_items(s, system=system, lang=lang)),
        scene_slab.joint_chains(plan),
        thick,
    )
    if bars and not joined:
        add("steel", near, _joint_lines(plan), bars)
    if plan.water.arrows or plan.water.yard_arrows:
        add("water", near, scene_water.water_items(plan.water, near, system=system))
    _yard(plan, add)
    net = tuple(net_items(plan))
    if net:
        made["net"] = drawing(f"{plan.name} - net", net, alt=word("alt-net", lang, title=plan.notes.title))
    return made


def few_panels(plan: Plan) -> bool:
    """Return whether a job is small: one slab of few panels."""
    return len(plan.shaped.slabs) == 1 and len(plan.shaped.slabs[0].joint_plan.panels) <= FEW_PANELS


def steel_on_joints(plan: Plan) -> bool:
    """Return whether the steel is so little that it is drawn with the joints."""
    steel = [slab.steel for slab in plan.shaped.slabs]
    count = sum(len(one.bars) + sum(len(row.at) for row in one.dowels) for one in steel)
    return few_panels(plan) and 0 < count <= FEW_BARS and not any(one.sheets for one in steel)


def _yard(plan: Plan, add: Callable[..., None]) -> None:
    """Add the sprinklers as they are and as they will be, and the ways of the concrete."""
    work = plan.built.sprinklers
    if work is not None:
        view = scene_yard.yard_window(work, [slab.outline.ring for slab in plan.shaped.slabs])
        # both against what the lawn gets now, so that the two can be held side by side
        mean = work.before.rate
        for key, cover, heads in (
            ("sprinklers-before", work.before, scene_yard.now_items(work, view)),
            ("sprinklers-after", work.after, scene_yard.later_items(work, view)),
        ):
            add(key, view, scene_yard.cover_items(cover, mean), heads)
    if scene_access.access_shown(plan):
        view = scene_access.access_window(plan)
        add("access", view, _joint_lines(plan), scene_access.access_items(plan, view))


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
