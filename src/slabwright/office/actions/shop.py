"""The shop's own page: who quotes, and the crew's kit and board pile that new jobs begin with."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from slabwright.measure import INCH, System
from slabwright.notes import Mistake, write_new
from slabwright.office.actions import audit
from slabwright.office.actions.edits import at, mistakes_of
from slabwright.office.actions.jobs import good_plan_of
from slabwright.office.models import Audit, Job, Person, Shop
from slabwright.office.planning import tree_of

FIELDS = ("name", "address", "phone", "licence", "language", "units", "currency", "zone", "place")
SINGLE = (
    "strike-off",
    "float",
    "bull-float",
    "broom",
    "joint-tool",
    "edger",
    "saw-depth",
    "barrows",
    "hose",
    "bar-stock",
)
SLACK = 1e-6  # [m] of a length that was computed
Boards = Counter[tuple[str, str]]
"""How many boards by size and by length as written."""


def kit_of(shop: Shop) -> dict[str, Any]:
    """Return the kit's record as plain texts and lists; {} where there is none."""
    kit = at(tree_of(f"title: x\n{shop.kit}"), ("kit",)) if shop.kit else None
    return dict(kit) if isinstance(kit, Mapping) else {}


def kit_text(kit: Mapping[str, Any]) -> str:
    """Return the kit as it stands in a job file, '' for an empty one."""
    held = {key: value for key, value in kit.items() if value}
    return write_new({"kit": held}) if held else ""


def kit_mistakes(text: str, units: str) -> tuple[Mistake, ...]:
    """Return what is wrong with a kit, by the reader of job files."""
    if not text:
        return ()
    wrong = mistakes_of(f"title: kit\nunits: {units}\n{text}")
    return tuple(one for one in wrong if one.field.startswith("kit"))


@transaction.atomic
def keep(*, person: Person, values: Mapping[str, str], kit: str) -> None:
    """Keep the shop's own data and its kit, which was read before."""
    shop = Shop.own()
    for field in FIELDS:
        setattr(shop, field, values[field])
    shop.kit = kit
    shop.save(update_fields=[*FIELDS, "kit"])
    audit.note("shop-changed", person=person, about=shop.name)


def _length(metres: float, system: System) -> str:
    """Return a board's length as the job file takes it, rounded down to what can be cut."""
    if system is System.METRIC:
        return f"{math.floor((metres + SLACK) * 1000)} mm"
    feet, inches = divmod(math.floor((metres + SLACK) / INCH), 12)
    return f"{feet}' {inches}" if inches else f"{feet}'"


def pile_of(kit: Mapping[str, Any]) -> Boards:
    """Return the boards of a kit."""
    pile: Boards = Counter()
    for one in kit.get("boards") or ():
        if isinstance(one, Mapping):
            count = str(one.get("count", "1"))
            pile[str(one.get("size", "")), str(one.get("length", ""))] += (
                int(count) if count.isdecimal() else 1
            )
    return pile


def boards_of(pile: Boards) -> list[dict[str, str]]:
    """Return boards as rows of the kit."""
    rows = sorted((size, length, count) for (size, length), count in pile.items() if count > 0)
    return [{"size": size, "length": length, "count": str(count)} for size, length, count in rows]


def came_back(job: Job) -> bool:
    """Return whether this job's boards were put back already."""
    return any(
        more.get("job") == job.code
        for more in Audit.objects.filter(what="boards-back").values_list("more", flat=True)
    )


def after_stripping(job: Job) -> tuple[Boards, Boards] | None:
    """Return what comes back of a job's forms, and what they took from the pile; None without a plan."""
    plan = good_plan_of(job)[0].plan
    if plan is None:
        return None
    forms, system = plan.built.forms, plan.notes.units
    back: Boards = Counter()
    for size, length, count in forms.returns:
        back[size, _length(length, system)] += count
    took: Boards = Counter()
    for board in forms.boards:
        if board.origin == "pile":
            took[board.size, _length(board.stock, system)] += 1
    return back, took


@transaction.atomic
def put_back(*, person: Person, job: Job) -> bool:
    """Put a job's boards on the shop's pile, once; False where that was done or nothing comes back."""
    shop = Shop.objects.select_for_update().get(pk=Shop.own().pk)
    made = after_stripping(job)
    if made is None or not made[0] or came_back(job):
        return False
    kit = kit_of(shop)
    pile = pile_of(kit)
    pile.subtract(made[1])
    pile = +pile  # what was never on the shop's pile cannot be missing from it
    pile.update(made[0])
    kit["boards"] = boards_of(pile)
    shop.kit = kit_text(kit)
    shop.save(update_fields=["kit"])
    count = sum(made[0].values())
    audit.note("boards-back", person=person, about=job.title, job=job.code, boards=count)
    return True
