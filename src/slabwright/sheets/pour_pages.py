"""The pour day's sheets: tailgate card, hours, go or wait, and the customer's card. All of them forecast."""

from __future__ import annotations

from datetime import date

from slabwright.measure import Quantity, write
from slabwright.result import Plan
from slabwright.sheets import pour_tables as tables
from slabwright.sheets.pages import (
    Block,
    ChartBlock,
    Figure,
    FigureBlock,
    Page,
    SideBySide,
    TableBlock,
    TextBlock,
)
from slabwright.sheets.pour_chart import hours_chart
from slabwright.sheets.pour_clock import HOUR, day_text
from slabwright.sheets.tables import Table
from slabwright.sheets.words import word as say

CARS_DAYS = 7  # by custom in mild weather, where the forecast ends before (common practice)
CURE_DAYS = 7  # (common practice)
CHECKS = 8


def pour_pages(plan: Plan, *, paper: str, lang: str = "en") -> tuple[Page, ...]:
    """Return the pour's pages; none where no weather was given. Each says that it forecasts."""
    if plan.pour is None or plan.pour_run is None:
        return ()
    made = (
        ("card", _card(plan, lang)),
        ("hours", _hours(plan, lang)),
        ("go", _go(plan, lang)),
        ("care", _care(plan, lang)),
    )
    day = day_text(date.fromisoformat(plan.pour.date), lang)
    return tuple(Page(f"{say(f'page-pour-{key}', lang)}, {day}", blocks, paper=paper) for key, blocks in made)


def _forecast(plan: Plan, lang: str) -> TextBlock:
    pour, _ = tables.told(plan)
    return TextBlock((say("pour-forecast", lang, samples=pour.samples),))


def _table(plan: Plan, made: Table, *, big: bool = False, groups: int = 1, small: bool = False) -> TableBlock:
    """Return a table as a block, without the slab's name where there is only one."""
    one = len(plan.shaped.slabs) == 1
    keep = tuple(c.key for c in made.columns if not (one and c.key == "slab"))
    return TableBlock(made, big=big, groups=groups, small=small, columns=keep)


def figures(plan: Plan, lang: str) -> tuple[Figure, ...]:
    """Return the tailgate's big figures: first truck, concrete, first broom, and by when it is broomed."""
    pour, run = tables.told(plan)
    best, system = run.crew.best, plan.notes.units
    load = sum(volume for _, volume in run.crew.trucks)
    every = write(Quantity("duration", best.day.load_every), system=system, lang=lang)
    count = len(run.crew.trucks)
    broom = min(pour.windows, key=lambda w: w.broom.likely or float("inf"))
    end = min(pour.windows, key=lambda w: w.broom_end.early or float("inf"))
    day = day_text(date.fromisoformat(pour.date), lang)
    return (
        Figure(
            say("pour-first-truck", lang),
            tables.at(plan, best.day.start, lang),
            day if run.begun else say("pour-usual-start", lang),
        ),
        Figure(
            say("pour-concrete", lang),
            write(Quantity("volume", load), system=system, lang=lang),
            say("pour-loads", lang, count=count, every=every) if count > 1 else say("pour-one-load", lang),
        ),
        Figure(
            say("pour-broom-first", lang),
            tables.at(plan, broom.broom.likely, lang),
            say(
                "pour-panel-one",
                lang,
                panel=broom.panel,
                early=tables.at(plan, broom.broom.early, lang, "down"),
            ),
        ),
        Figure(
            say("pour-broom-end", lang),
            tables.at(plan, end.broom_end.early, lang, "down"),
            say("pour-panel-end", lang, panel=end.panel, likely=tables.at(plan, end.broom_end.likely, lang)),
        ),
    )


def who(plan: Plan, lang: str) -> tuple[str, ...]:
    """Return who does what, in lines."""
    _, run = tables.told(plan)
    best = run.crew.best
    rest = best.day.people - best.day.placing
    place = say(
        "pour-who-place" if rest else "pour-who-place-all",
        lang,
        placing=best.day.placing,
        people=best.day.people,
    )
    lines = [place]
    if rest:
        lines.append(say("pour-who-rest", lang, rest=rest))
    lines.append(say("pour-who-after", lang, clock=tables.at(plan, best.placed_by, lang)))
    lines.append(say("pour-who-done", lang, clock=tables.at(plan, best.done_by, lang)))
    error = tables.chance(run.crew.error)
    lines.append(say("pour-lost", lang, chance=tables.chance(best.late_chance), error=error))
    if run.crew.stop_after is not None:
        turn = run.crew.turns[run.crew.stop_after - 1] if run.crew.stop_after else None
        key = "pour-stop-after" if turn else "pour-stop-none"
        lines.append(say(key, lang, panel=turn.panel if turn else ""))
    lines.append(say("pour-who-water", lang))
    return tuple(lines)


def _card(plan: Plan, lang: str) -> tuple[Block, ...]:
    _, run = tables.told(plan)
    work = TextBlock(who(plan, lang), heading=say("pour-who", lang), style="list")
    checks = TextBlock(
        tuple(say(f"pour-check-{n}", lang) for n in range(1, CHECKS + 1)),
        heading=say("pour-before", lang),
        style="checks",
    )
    lorries: tuple[Block, ...] = ()
    if len(run.crew.trucks) > 1:
        lorries = (TableBlock(tables.trucks(plan, lang), groups=2),)
    return (
        FigureBlock(figures(plan, lang)),
        _table(plan, tables.card(plan, lang), big=True),
        SideBySide((work, *lorries), (checks,), 0.5),
        _forecast(plan, lang),
    )


def _hours(plan: Plan, lang: str) -> tuple[Block, ...]:
    pour, _ = tables.told(plan)
    one = tables.worst(pour)
    heading = say("pour-chart-heading", lang, panel=one.panel, slab=one.slab)
    return (
        ChartBlock(hours_chart(plan, lang), 0.84, heading),
        _forecast(plan, lang),
        _table(plan, tables.hours(plan, lang)),
        _table(plan, tables.bands(plan, lang)),
    )


def _go(plan: Plan, lang: str) -> tuple[Block, ...]:
    _, run = tables.told(plan)
    days: Block = TextBlock((say("pour-day-none", lang),))
    if run.days:
        days = TableBlock(tables.days(plan, lang), big=True)
    out: Block = TextBlock((say("pour-ways-none", lang),))
    if run.ways:
        out = TableBlock(tables.ways(plan, lang))
    return (
        days,
        TextBlock((say("pour-day-says", lang),)),
        out,
        TableBlock(tables.starts(plan, lang)),
        _forecast(plan, lang),
    )


def _care(plan: Plan, lang: str) -> tuple[Block, ...]:
    pour, _ = tables.told(plan)
    lines = tuple(say(f"care-do-{n}", lang, days=CURE_DAYS) for n in range(1, 7))
    return (
        FigureBlock(tuple(_ready(plan, name, lang) for name in ("walk", "drive", "strip"))),
        TextBlock(lines, heading=say("care-do", lang), style="list"),
        TextBlock((say("care-forecast", lang, samples=pour.samples),)),
        TextBlock((say("care-signed", lang),)),
    )


def _ready(plan: Plan, name: str, lang: str) -> Figure:
    """Return when all of it may be stripped, walked or driven on: late on purpose, or the custom."""
    pour, _ = tables.told(plan)
    bands = [getattr(w, name) for w in pour.windows]
    label = say(f"care-{name}", lang)
    if all(b.late is not None for b in bands):
        last = max(bands, key=lambda b: b.late)
        likely = tables.at(plan, max(b.likely for b in bands), lang, "up", HOUR)
        return Figure(
            label, tables.at(plan, last.late, lang, "up", HOUR), say("care-likely", lang, likely=likely)
        )
    if name == "drive":
        return Figure(label, say("care-unknown-drive", lang, days=CARS_DAYS), say("care-custom", lang))
    return Figure(label, say("care-unknown", lang), say("care-ends", lang))
