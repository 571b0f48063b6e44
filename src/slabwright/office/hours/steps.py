"""The day of the pour, quarter of an hour by quarter of an hour, in words: who does what, panel by panel."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from slabwright.office.hours.clock import day_and_clock
from slabwright.office.words import word
from slabwright.pourday.model import PanelWindow
from slabwright.result import Plan
from slabwright.sheets.pour_chart import LEFT_MM, RIGHT_MM, span
from slabwright.sheets.pour_clock import Round
from slabwright.sheets.pour_tables import at, told

STEP = 900.0  # [s]
ROUNDED: dict[str, Round] = {"placing": "up", "brooming": "down"}


@dataclass(frozen=True, slots=True)
class Step:
    """One moment: its clock in words, where it lies on the chart [mm], the crew, and each panel.

    `panels` are (key of the panel on the plan, its name, what it wants now, a short code of that).
    """

    clock: str
    x: float
    crew: str
    panels: tuple[tuple[str, str, str, str], ...]


def steps(plan: Plan, lang: str, *, wide: float) -> tuple[Step, ...]:
    """Return the moments that a chart `wide` [mm] shows, from the first placing to after the last broom."""
    pour, _ = told(plan)
    first, last = span(pour)
    count = round((last - first) / STEP)
    made = []
    for n in range(count + 1):
        clock = first + n * STEP
        x = LEFT_MM + n / count * (wide - LEFT_MM - RIGHT_MM)
        panels = tuple(_panels(plan, clock, lang))
        made.append(Step(at(plan, clock, lang), round(x, 2), _crew(plan, clock, panels, lang), panels))
    return tuple(made)


def step_at(plan: Plan, moment: datetime, count: int) -> int | None:
    """Return which of `count` steps a moment falls into, None on another day or outside of them."""
    pour, _ = told(plan)
    day, clock = day_and_clock(plan.notes, moment)
    n = math.floor((clock - span(pour)[0]) / STEP)
    return n if day == pour.date and 0 <= n < count else None


def _panels(plan: Plan, clock: float, lang: str) -> Iterator[tuple[str, str, str, str]]:
    pour, _ = told(plan)
    several = len({window.slab for window in pour.windows}) > 1
    for window in pour.windows:
        name = word("spot-panel", lang, name=window.panel)
        code, until = state_of(window, clock)
        # rounded so that nobody comes too late for it
        says = word(f"hour-{code}", lang, clock=at(plan, until, lang, ROUNDED.get(code, "near")))
        key = f"panel:{window.slab}:{window.panel}"
        yield key, f"{name}, {window.slab}" if several else name, says, code


def state_of(window: PanelWindow, clock: float) -> tuple[str, float | None]:
    """Return what a panel wants at a clock [s] on the likely day, and until when [s].

    coming, placing, waiting, edging, brooming, then curing once the broom is over.
    """
    ends = (
        ("coming", window.placed_at),
        ("placing", window.strike_off.likely),
        ("waiting", window.edge.likely),
        ("edging", window.broom.likely),
        ("brooming", window.broom_end.likely),
    )
    for code, end in ends:
        if end is None:  # it does not come to that within the weather given
            return "waiting" if code not in ("coming", "placing") else code, None
        if clock < end:
            return code, end
    return "curing", window.cure_on.likely


def _crew(plan: Plan, clock: float, panels: tuple[tuple[str, str, str, str], ...], lang: str) -> str:
    """Return who does what: placers while concrete comes, and what is ripe to be finished."""
    _, run = told(plan)
    day, trucks = run.crew.best.day, [arrives for arrives, _ in run.crew.trucks]
    names = {
        code: [name for _, name, _, own in panels if own == code]
        for code in ("placing", "edging", "brooming")
    }
    said = []
    bags = bool(plan.built.order.bags)  # mixed on site: no truck comes
    if trucks and clock < trucks[0]:
        key = "hour-batch-comes" if bags else "hour-truck-comes"
        said.append(word(key, lang, clock=at(plan, trucks[0], lang)))
    for n, arrives in enumerate(trucks, 1):
        if arrives <= clock < arrives + STEP and not bags:
            said.append(word("hour-truck-here", lang, n=n))
    if names["placing"]:
        said.append(word("hour-crew-place", lang, n=day.placing, what=", ".join(names["placing"])))
    finishers = day.people - day.placing if names["placing"] else day.people
    for code in ("brooming", "edging"):
        if names[code] and finishers > 0:
            said.append(word(f"hour-crew-{code}", lang, n=finishers, what=", ".join(names[code])))
            break  # what sets first goes first
    if not said:
        done = all(code == "curing" for *_, code in panels)
        said.append(word("hour-crew-done" if done else "hour-crew-wait", lang, n=day.people))
    return " ".join(said)
