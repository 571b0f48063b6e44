"""The pour day's sheets: tailgate card, hours, go or wait, and the customer's card. All of them forecast."""

from __future__ import annotations

from datetime import date

from slabwright.build.order import bags_ask
from slabwright.build.says import spoken
from slabwright.findings import Finding, Level
from slabwright.measure import DAY, HOUR, Quantity, write
from slabwright.pourday.crew_model import standard_error
from slabwright.pourday.model import Band, DayAdvice
from slabwright.result import Plan
from slabwright.sheets import pour_tables as tables
from slabwright.sheets.job_layout import block_height
from slabwright.sheets.pages import (
    Block,
    ChartBlock,
    Figure,
    FigureBlock,
    FindingBlock,
    Page,
    SideBySide,
    TableBlock,
    TextBlock,
)
from slabwright.sheets.pour_chart import hours_chart
from slabwright.sheets.pour_clock import clock_text, day_text
from slabwright.sheets.tables import Table
from slabwright.sheets.words import word as say
from slabwright.tables import table, value_of

CHECKS = 8
FEW_PLACES = 2
IN_ROW = 4  # days beside each other
CHART_LEAST, CHART_MOST = 0.55, 0.85  # of a page's height
WARNINGS = 3  # on the card; the findings sheet has all
FILLED = ("weather-bridged", "weather-rain-holes", "weather-sun-holes", "weather-same-days")
"""Findings of weather that is not as it was given: every sheet names them."""


def pour_pages(plan: Plan, *, paper: str, lang: str = "en") -> tuple[Page, ...]:
    """Return the pour's pages; none where no weather was given. Each says that it forecasts."""
    if plan.pour is None or plan.pour_run is None:
        return ()
    made = (
        ("card", _card(plan, lang)),
        ("hours", _hours(plan, lang, paper)),
        ("bands", _bands(plan, lang)),
        ("go", _go(plan, lang)),
        ("care", _care(plan, lang)),
    )
    day = day_text(date.fromisoformat(plan.pour.date), lang)
    return tuple(
        Page(f"{say(f'page-pour-{key}', lang)}, {day}", blocks, paper=paper, key=f"pour-{key}")
        for key, blocks in made
    )


def pour_findings(plan: Plan, *, paper: str, lang: str = "en") -> Page:
    """Return the sheet of what the pour's weather, crew and concrete make worth saying."""
    found = tuple(f for f in plan.findings if f.room == "pourday")
    return Page(say("page-findings", lang), (FindingBlock(found),), paper=paper)


def _forecast(plan: Plan, lang: str) -> TextBlock:
    return TextBlock((" ".join(forecast_lines(plan, lang)),))  # one paragraph: the card fills its sheet


def forecast_lines(plan: Plan, lang: str) -> tuple[str, ...]:
    """Return what every sheet ends with: that it forecasts, and what of its weather was made up."""
    pour, _ = tables.told(plan)
    filled = [f for f in plan.findings if f.room == "pourday" and f.code in FILLED]
    return (
        say("pour-forecast", lang, samples=pour.samples),
        *(f.text(system=plan.notes.units, lang=lang).what for f in filled),
    )


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
    end = min(pour.windows, key=lambda w: w.broom_end.likely or float("inf"))
    day = day_text(date.fromisoformat(pour.date), lang)
    bags = plan.built.order.bags  # mixed on site: no truck comes
    if bags:
        come = spoken(bags_ask(bags), "say", system=system, lang=lang)
    else:
        come = say("pour-loads", lang, count=count, every=every) if count > 1 else say("pour-one-load", lang)
    return (
        Figure(
            say("pour-first-batch" if bags else "pour-first-truck", lang),
            tables.at(plan, best.day.start, lang),
            day if run.begun else say("pour-usual-start", lang),
        ),
        Figure(
            say("pour-concrete", lang),
            write(Quantity("volume", load), system=system, lang=lang),
            come,
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
            tables.at(plan, end.broom_end.likely, lang, "down"),
            say(
                "pour-panel-end",
                lang,
                panel=end.panel,
                early=tables.at(plan, end.broom_end.early, lang, "down"),
            ),
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
        lines.append(say("pour-who-rest" if rest > 1 else "pour-who-rest-one", lang, rest=rest))
    lines.append(say("pour-who-after", lang, clock=tables.at(plan, best.placed_by, lang)))
    lines.append(say("pour-who-done", lang, clock=tables.at(plan, best.done_by, lang)))
    lines.append(
        say(
            "pour-lost",
            lang,
            chance=tables.chance(best.late_chance),
            error=tables.error(run.crew.error),
            samples=run.crew.samples,
        )
    )
    if run.crew.stop_after is not None:
        turn = run.crew.turns[run.crew.stop_after - 1] if run.crew.stop_after else None
        key = "pour-stop-after" if turn else "pour-stop-none"
        lines.append(say(key, lang, panel=turn.panel if turn else ""))
    lines += covers(plan, lang)
    lines.append(say("pour-who-water", lang))
    return tuple(lines)


def covers(plan: Plan, lang: str) -> tuple[str, ...]:
    """Return what goes over the slab or round it and when, and what it is cured with, in lines."""
    _, run = tables.told(plan)
    lines = [
        say(
            "pour-cover" if one.off is None else "pour-cover-off",
            lang,
            cover=say(f"cover-{one.cover}", lang),
            on=tables.at(plan, one.on, lang),
            off=tables.at(plan, one.off, lang),
        )
        for one in run.protections
    ]
    if run.cure != "compound":
        lines.append(say("pour-cure", lang, cover=say(f"cover-{run.cure}", lang)))
    if run.mix.set_factor != 1.0:
        lines.append(say("pour-set-seen", lang))
    return tuple(lines)


def learned(plan: Plan, lang: str) -> tuple[str, ...]:
    """Return what was seen during the pour and what it makes of the rest of the day; nothing before."""
    _, run = tables.told(plan)
    if run.updated is None:
        return ()
    got = run.updated
    first = run.crew.turns[0]
    seen = "; ".join(
        say(
            f"pour-seen-{one.what}",
            lang,
            panel=f"{one.slab}, {one.panel}" if one.slab else one.panel or first.panel,
            clock=tables.at(plan, one.clock, lang, to=60.0),
        )
        for one in got.seen
    )
    shift = round(abs(got.later_by) / 300.0) * 300.0
    key = "later" if got.later_by >= 0.0 else "sooner"
    return (
        say(
            f"pour-updated-{key if shift else 'same'}",
            lang,
            seen=seen,
            shift=write(Quantity("duration", shift), system=plan.notes.units, lang=lang),
            now=tables.chance(got.late_chance),
            before=tables.chance(got.late_before),
        ),
    )


def warnings(plan: Plan, lang: str) -> tuple[str, ...]:
    """Return the gravest things that stand against this pour, each kind once, with what to do."""
    pour, run = tables.told(plan)
    kinds: dict[str, Finding] = {}
    for level in (Level.STOP, Level.CAUTION):
        for one in (*(run.updated.findings if run.updated else ()), *pour.findings, *run.crew.findings):
            if one.level is level:
                kinds.setdefault(one.code, one)
    lines = []
    most = WARNINGS - 1 if run.updated else WARNINGS  # what was learned takes room of its own
    for one in list(kinds.values())[:most]:
        text = one.text(system=plan.notes.units, lang=lang)
        where = f"{_where(text.where, plan, lang)}: " if text.where else ""
        lines.append(f"{say(one.level.value, lang)}. {where}{text.what} {text.do}")
    if len(kinds) > most:
        lines.append(say("pour-more-warnings", lang, count=len(kinds) - most))
    return tuple(lines)


def _where(where: str, plan: Plan, lang: str) -> str:
    """Return where something was found, in few words where it is many panels."""
    pour, _ = tables.told(plan)
    parts = where.split("; ")
    if len(parts) <= FEW_PLACES:
        return where
    if len(parts) == len(pour.windows):
        return say("pour-every-panel", lang)
    return say("pour-so-many-panels", lang, count=len(parts))


def _card(plan: Plan, lang: str) -> tuple[Block, ...]:
    _, run = tables.told(plan)
    against = warnings(plan, lang)
    work = TextBlock(who(plan, lang), heading=say("pour-who", lang), style="list")
    checks = TextBlock(
        tuple(say(f"pour-check-{n}", lang) for n in range(1, CHECKS + 1)),
        heading=say("pour-before", lang),
        style="checks",
    )
    lorries: tuple[Block, ...] = ()
    if len(run.crew.trucks) > 1:
        lorries = (TableBlock(tables.trucks(plan, lang), groups=2),)
    news = learned(plan, lang)
    # once it has begun, what is to be checked before it only takes room from what was learned
    beside: Block = work if news else SideBySide((work, *lorries), (checks,), 0.5)
    return (
        *((TextBlock(news, heading=say("pour-updated", lang)),) if news else ()),
        FigureBlock(figures(plan, lang)),
        *((TextBlock(against, style="list"),) if against else ()),
        _table(plan, tables.card(plan, lang), big=True),
        TextBlock((say("pour-fast", lang),)),
        beside,
        *(lorries if news else ()),
        _forecast(plan, lang),
    )


def _hours(plan: Plan, lang: str, paper: str) -> tuple[Block, ...]:
    pour, _ = tables.told(plan)
    one = tables.worst(pour)
    heading = say("pour-chart-heading", lang, panel=one.panel, slab=one.slab)
    below = (_table(plan, tables.hours(plan, lang)), _forecast(plan, lang))
    wide, high = Page("", paper=paper).body()
    # the estimate is meant for choosing a layout and is generous: some of it is not used
    taken = 0.84 * sum(block_height(b, wide, system=plan.notes.units, lang=lang) for b in below)
    share = min(CHART_MOST, max(CHART_LEAST, (high - taken) / high))
    return (ChartBlock(hours_chart(plan, lang), share, heading), *below)


def _bands(plan: Plan, lang: str) -> tuple[Block, ...]:
    return (
        _table(plan, tables.bands(plan, lang)),
        _table(plan, tables.care(plan, lang)),
        _forecast(plan, lang),
    )


def _go(plan: Plan, lang: str) -> tuple[Block, ...]:
    _, run = tables.told(plan)
    shown = tuple(_verdict(plan, d, lang) for d in run.days)
    rows = tuple(FigureBlock(shown[n : n + IN_ROW]) for n in range(0, len(shown), IN_ROW))
    out: Block = TextBlock((say("pour-ways-begun" if run.updated else "pour-ways-none", lang),))
    if run.ways:
        out = TableBlock(tables.ways(plan, lang))
    says = say("pour-day-says" if shown else "pour-day-none", lang)
    starts = tables.starts(plan, lang)
    dark = any(row[-1] for row in starts.rows)
    keep = tuple(c.key for c in starts.columns if dark or c.key != "dark")
    return (
        *rows,
        TextBlock((says,)),
        out,
        TableBlock(starts, columns=keep),
        TextBlock(_sure(plan, lang)),
        _forecast(plan, lang),
    )


def _sure(plan: Plan, lang: str) -> tuple[str, ...]:
    """Return how far the chances of this page can be trusted: one standard error, at the most."""
    _, run = tables.told(plan)
    lines = []
    if run.ways:
        few = run.ways[0].weather_samples
        chances = [c for w in run.ways for c in (w.shrink_chance, w.frost_chance)]
        lines.append(
            say(
                "pour-sure-ways",
                lang,
                crew=tables.error(max(w.error for w in run.ways)),
                days=run.ways[0].samples,
                weather=tables.error(max(standard_error(c, few) for c in chances)),
                few=few,
            )
        )
    most = tables.error(max(row.error for row in (*run.starts, run.crew.best)))
    return (*lines, say("pour-sure-starts", lang, error=most, samples=run.crew.samples))


def _verdict(plan: Plan, one: DayAdvice, lang: str) -> Figure:
    why = ", ".join(tables.reason(code, lang) for code in one.reasons) or say("pour-day-fine", lang)
    start = write(Quantity("clock", one.begins), system=plan.notes.units, lang=lang)
    return Figure(
        day_text(date.fromisoformat(one.date), lang),
        say(f"pour-day-{one.advice}", lang),
        say("pour-day-start", lang, start=start, why=why),
    )


def _care(plan: Plan, lang: str) -> tuple[Block, ...]:
    pour, _ = tables.told(plan)
    lines = tuple(say(f"care-do-{n}", lang) for n in range(1, 6))
    keep = [
        Figure(
            say(f"care-{key}", lang),
            say("care-days", lang, days=round(least(key) / DAY)),
            say(f"care-{key}-below", lang),
        )
        for key in ("cure", "salt")
    ]
    return (
        FigureBlock(tuple(_ready(plan, name, lang) for name in ("walk", "drive"))),
        FigureBlock((*keep, _ready(plan, "strip", lang))),
        TextBlock(lines, heading=say("care-do", lang), style="list"),
        TextBlock((say("care-forecast", lang, samples=pour.samples),)),
        TextBlock((say("care-signed", lang),)),
    )


def least(key: str) -> float:
    """Return what custom keeps to at the least [s after placing]: strip, walk, drive, cure or salt."""
    return value_of(table("sheets", "pour")["care"][key])


def _ready(plan: Plan, name: str, lang: str) -> Figure:
    """Return when all of it may be stripped, walked or driven on: late on purpose, never before custom."""
    pour, _ = tables.told(plan)
    bands: list[Band] = [getattr(w, name) for w in pour.windows]
    custom = max(w.placed_at for w in pour.windows) + least(name)
    lates, likelies = [b.late for b in bands], [b.likely for b in bands]

    def shown(clock: float) -> str:
        return clock_text(clock, pour.date, system=plan.notes.units, lang=lang, to=HOUR, how="up", dated=True)

    unknown = any(t is None for t in (*lates, *likelies))
    if unknown and pour.cold.needed:  # custom speaks of mild weather
        return Figure(say(f"care-{name}", lang), say("care-ask", lang), say("care-ask-below", lang))
    if unknown:
        return Figure(say(f"care-{name}", lang), shown(custom), say("care-ends", lang))
    late = max(t for t in lates if t is not None)
    likely = max(t for t in likelies if t is not None)
    below = say("care-likely", lang, likely=shown(likely), least=shown(custom))
    return Figure(say(f"care-{name}", lang), shown(max(late, custom)), below)
