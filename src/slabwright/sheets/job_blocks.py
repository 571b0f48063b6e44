"""The figures, lines and short tables of a job's pages: what stands beside the drawings."""

from __future__ import annotations

import math
from collections.abc import Iterable

from slabwright.build.order import bags_ask
from slabwright.build.says import spoken
from slabwright.measure import Both, Quantity, write
from slabwright.result import Plan
from slabwright.sheets.job_tables import JOINT_COLUMNS, joint_row
from slabwright.sheets.pages import Block, Figure, FigureBlock, TextBlock
from slabwright.sheets.scene_access import in_named_order
from slabwright.sheets.tables import Cell, Column, Table, written
from slabwright.sheets.words import word as say
from slabwright.slab.model import Slab
from slabwright.slab.thick_edges import concrete_in

TO_TIME = 300.0  # [s] what a time of work is rounded up to
NOTHING = 0.004  # [m3] half a hundredth of a yard: not worth a line
UNSEEN = 0.01  # share of a slip below which no other reading shows it


def figures(plan: Plan, lang: str) -> tuple[Figure, ...]:
    """Return the plan sheet's big figures: area, concrete, panels, and how many stops there are."""
    system = plan.notes.units
    area = sum(s.outline.area for s in plan.shaped.slabs)
    count = {level: sum(f.level == level for f in plan.findings) for level in ("stop", "caution")}
    panels = sum(len(s.joint_plan.panels) for s in plan.shaped.slabs)
    see = say("see-stops" if count["stop"] else "see-findings", lang) if plan.findings else ""
    return (
        Figure(say("area", lang), write(Quantity("area", area), system=system)),
        Figure(say("concrete", lang), _to_get(plan, lang)),
        Figure(say("panels", lang), str(panels)),
        Figure(say("stops-cautions", lang), f"{count['stop']} / {count['caution']}", see),
    )


def _to_get(plan: Plan, lang: str) -> str:
    """Return the concrete to get: bags where they do it, else the order."""
    order, system = plan.built.order, plan.notes.units
    if order.bags:
        return spoken(bags_ask(order.bags), "say", system=system, lang=lang)
    return write(Quantity("volume", order.order), system=system)


def slabs(plan: Plan, lang: str) -> Table:
    """Return what gets built: each slab with its thickness, base, finish, mix and steel."""
    return Table(
        "slabs",
        Both("What gets built", "Qué se construye"),
        (
            Column("name", "Slab", "Losa"),
            Column("use", "Use", "Uso"),
            Column("area", "Area", "Área", "area"),
            Column("thickness", "Thick", "Espesor", "inches"),
            Column("edge", "Thick edge", "Borde grueso"),
            Column("base", "Base under it", "Base debajo", "inches"),
            Column("strength", "Strength", "Resistencia", "pressure"),
            Column("finish", "Finish", "Acabado"),
            Column("steel", "Steel", "Acero"),
        ),
        tuple(
            (
                s.spec.name,
                say(f"use-{s.spec.use}", lang),
                s.outline.area,
                s.spec.thickness,
                _edge(plan, s, lang),
                s.spec.base,
                s.spec.strength,
                say(f"finish-{s.spec.finish}", lang),
                _steel(plan, s.steel.choice, s.steel.number, s.steel.spacing, lang),
            )
            for s in plan.shaped.slabs
        ),
    )


def _edge(plan: Plan, slab: Slab, lang: str) -> str:
    """Return how deep and wide a slab's thick edges are; empty where it has none."""
    if slab.thick is None:
        return ""
    sizes = (slab.thick.depth, slab.thick.width)
    return " x ".join(write(Quantity("inches", v), system=plan.notes.units, lang=lang) for v in sizes)


def _steel(plan: Plan, choice: str, number: str, spacing: float, lang: str) -> str:
    if choice in ("bars", "gfrp"):
        apart = write(Quantity("length", spacing), system=plan.notes.units)
        return f"{say(f'steel-{choice}', lang)} #{number} @ {apart}"
    return " ".join(filter(None, (say(f"steel-{choice}", lang), number if choice != "none" else "")))


def falls(plan: Plan, lang: str) -> tuple[str, ...]:
    """Return the falls of each slab in words, each value once."""
    lines = []
    for slab in plan.shaped.slabs:
        h = slab.height_plan
        parts = [
            f"{say(key, lang)} {_span(plan, pair, lang)}"
            for key, pair in (("fall-across", h.across), ("fall-along", h.along), ("fall-total", h.total))
        ]
        lines.append(f"{slab.spec.name}: {'; '.join(parts)}")
    return (*lines, say("fall-arrows", lang))


def _span(plan: Plan, pair: tuple[float, float], lang: str) -> str:
    """Return a range of falls, once where both ends are written alike."""
    system = plan.notes.units
    shown = [write(Quantity("slope", abs(v)), system=system, lang=lang) for v in sorted(pair, key=abs)]
    return shown[0] if shown[0] == shown[1] else " … ".join(shown)


def joint_kinds(plan: Plan, lang: str) -> Table:
    """Return joints that are alike in one row, with how many there are."""
    heap: dict[tuple[str, ...], tuple[Cell, ...]] = {}
    count: dict[tuple[str, ...], int] = {}
    system = plan.notes.units
    for slab in plan.shaped.slabs:
        for joint in slab.joint_plan.joints:
            row = (slab.spec.name, *joint_row(joint, lang))
            kinds = ("text", *(c.kind for c in JOINT_COLUMNS))
            key = tuple(written(v, k, system=system, lang=lang) for v, k in zip(row, kinds, strict=True))
            heap.setdefault(key, row)
            count[key] = count.get(key, 0) + 1
    return Table(
        "joint-kinds",
        Both("Joints", "Juntas"),
        (Column("slab", "Slab", "Losa"), Column("count", "Joints", "Juntas", "count"), *JOINT_COLUMNS),
        tuple((row[0], count[key], *row[1:]) for key, row in heap.items()),
    )


def panel_sizes(plan: Plan) -> Table:
    """Return panels of one size in one row, by their numbers in placing order."""
    system = plan.notes.units
    heap: dict[tuple[str, str, str, str], tuple[list[str], float, float, float]] = {}
    for slab in plan.shaped.slabs:
        for panel in slab.joint_plan.panels:
            long, short = (write(Quantity("length", v), system=system) for v in (panel.long, panel.short))
            volume = concrete_in(slab, panel.ring, panel.area)
            each = write(Quantity("volume", volume), system=system)
            names, *_ = heap.setdefault(
                (slab.spec.name, long, short, each), ([], panel.long, panel.short, volume)
            )
            names.append(panel.name)
    return Table(
        "panel-sizes",
        Both("Panels, in placing order", "Paños, en orden de colado"),
        (
            Column("slab", "Slab", "Losa"),
            Column("panels", "Panels", "Paños"),
            Column("long", "Long side", "Lado largo", "length"),
            Column("short", "Short side", "Lado corto", "length"),
            Column("concrete", "Concrete each", "Concreto c/u", "volume"),
        ),
        tuple(
            (slab, ", ".join(_runs(names)), long, short, each)
            for (slab, *_), (names, long, short, each) in heap.items()
        ),
    )


def _runs(names: Iterable[str]) -> list[str]:
    """Return '1 - 4' for 1, 2, 3, 4; names that are no numbers stay as they are."""
    runs: list[list[str]] = []
    for name in names:
        last = runs[-1][-1] if runs else ""
        if name.isdigit() and last.isdigit() and int(name) == int(last) + 1:
            runs[-1].append(name)
        else:
            runs.append([name])
    return [f"{run[0]} - {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs]


def dig_figures(plan: Plan, lang: str) -> tuple[Block, ...]:
    """Return the dig's big figures, or the line that says why there are none."""
    work, system = plan.built.dig, plan.notes.units
    if work is None:
        return (TextBlock((say("no-ground", lang),)),)

    def volume(v: float) -> str:
        return write(Quantity("volume", v), system=system)

    return (
        FigureBlock(
            (
                Figure(say("cut", lang), volume(work.cut), say("in-bank", lang)),
                Figure(say("spoil", lang), volume(work.spoil_loose), say("loose", lang)),
                Figure(
                    say("base", lang),
                    volume(work.base_loose),
                    write(Quantity("mass", work.base_mass), system=system),
                ),
            )
        ),
    )


def dig_lines(plan: Plan, lang: str) -> tuple[str, ...]:
    """Return the dig in words: what the depths count, layers, over-dig, topsoil to keep, time by hand."""
    work, system = plan.built.dig, plan.notes.units
    if work is None:
        return ()

    def shown(kind: str, v: float) -> str:
        return write(Quantity(kind, v), system=system, lang=lang)

    last = say("dig-lifts" if work.lifts > 1 else "dig-lift", lang, lifts=work.lifts)
    if work.hand_time is not None:
        least, most = (shown("duration", math.ceil(t / TO_TIME) * TO_TIME) for t in work.hand_time)
        last += " " + say("dig-hand", lang, least=least, most=most)
    beside: tuple[str, ...] = ()
    if min(work.over_dig, work.backfill) >= NOTHING:
        over, keep = shown("volume", work.over_dig), shown("volume", work.backfill)
        beside = (say("dig-over", lang, over=over, keep=keep),)
    return (say("dig-depths", lang), *beside, last)


def form_lines(plan: Plan, lang: str) -> tuple[str, ...]:
    """Return stakes, nails, braces and release in words, and what goes back on the pile."""
    forms, system = plan.built.forms, plan.notes.units
    lines = [
        say(
            "form-stakes",
            lang,
            count=forms.stakes,
            length=write(Quantity("inches", forms.stake_length), system=system),
            spacing=write(Quantity("length", forms.stake_spacing), system=system),
        ),
        say("form-nails", lang, count=forms.nails),
    ]
    if forms.braces:
        lines.append(say("form-braces", lang, count=forms.braces))
    if forms.butts:
        lines.append(say("form-butts", lang, count=forms.butts))
    lines.append(say("form-release", lang))
    if forms.returns:
        back = ", ".join(
            f"{n} x {size} {write(Quantity('length', long), system=system)}"
            for size, long, n in forms.returns
        )
        lines.append(say("form-returns", lang, back=back))
    return tuple(lines)


def steel_lines(plan: Plan, lang: str) -> tuple[str, ...]:
    """Return chairs, ties, laps and doses in words, for each kind of steel and for fibre."""
    system = plan.notes.units
    lines = [
        say(
            "steel-sits",
            lang,
            chairs=lot.chairs,
            ties=lot.ties,
            laps=lot.laps,
            lap=write(Quantity("inches", lot.lap), system=system),
            mass=write(Quantity("mass", lot.mass), system=system),
        )
        for lot in plan.built.steel
    ]
    for slab in plan.shaped.slabs:
        if slab.steel.choice == "fiber":
            dose = write(Quantity("density", slab.steel.dose), system=system)
            lines.append(say("steel-dose", lang, slab=slab.spec.name, dose=dose))
        elif slab.steel.bars:
            lines.append(say("steel-depth", lang, slab=slab.spec.name, depth=_layers(plan, slab, lang)))
    if not lines:
        lines.append(say("steel-no", lang))
    return tuple(lines)


def _layers(plan: Plan, slab: Slab, lang: str) -> str:
    """Return each layer's depth with the way its bars run, where two layers cross."""
    (x0, y0), (x1, y1) = max(((e.p, e.q) for e in slab.outline.edges), key=lambda side: math.dist(*side))
    ways: dict[str, set[str]] = {}
    for bar in slab.steel.bars:
        (ax, ay), (bx, by) = bar.line[0], bar.line[-1]
        along, across = (
            (bx - ax) * (x1 - x0) + (by - ay) * (y1 - y0),
            (bx - ax) * (y1 - y0) - (by - ay) * (x1 - x0),
        )
        depth = write(Quantity("inches", bar.depth), system=plan.notes.units)
        ways.setdefault(depth, set()).add("bars-long" if abs(along) >= abs(across) else "bars-cross")
    if len(ways) < 2 or any(len(way) > 1 for way in ways.values()):
        return ", ".join(ways)
    return ", ".join(f"{depth} ({say(way, lang)})" for depth, (way,) in sorted(ways.items()))


def access_lines(plan: Plan, lang: str) -> tuple[str, ...]:
    """Return where the truck stands, how many trips there are and how long they take, the pump's line."""
    work, system = plan.built.access, plan.notes.units

    def shown(kind: str, v: float) -> str:
        return write(Quantity(kind, v), system=system, lang=lang)

    chuted = any(haul.way == "chute" for haul in work.hauls)
    stand = "access-stand" if chuted else "access-stand-only"
    lines = [say(stand, lang, stand=work.stand_name, reach=shown("length", work.reach))]
    if work.trips:
        time = sum(haul.time for haul in work.hauls if haul.trips)
        up = shown("duration", math.ceil(time / TO_TIME) * TO_TIME)
        lines.append(say("access-sum", lang, trips=work.trips, pushers=work.pushers, time=up))
    if work.hose > 0.0:
        left = shown("volume", work.hose_volume)
        lines.append(say("access-hose", lang, hose=shown("length", work.hose), left=left))
    lines.append(say("access-order" if in_named_order(work) else "access-order-panel", lang))
    return tuple(lines)


def storm_lines(plan: Plan, lang: str, *, drawn: bool = True) -> tuple[str, ...]:
    """Return which rain the water sheet is drawn for; not drawn: which its figures are for."""
    storm, system = plan.water.storm, plan.notes.units
    rain = write(Quantity("rain", storm.intensity), system=system)
    key = "storm" if drawn else "storm-only"
    return (say(key, lang, rain=rain, time=write(Quantity("duration", storm.duration), system=system)),)


def order_figures(plan: Plan, lang: str) -> tuple[Figure, ...]:
    """Return the order's big figures: the order, what the job likely takes, the chance of running short."""
    order, system = plan.built.order, plan.notes.units
    if order.bags:
        likely = write(Quantity("volume", order.need), system=system)
        return (Figure(say("order", lang), _to_get(plan, lang)), Figure(say("need", lang), likely))
    listed = [write(Quantity("volume", v), system=system) for v in order.loads]
    loads = " + ".join(listed) if len(listed) > 1 else say("one-load", lang)
    likely = write(Quantity("volume", order.need), system=system)
    give = write(Quantity("volume", order.need_sd), system=system)
    chance = (
        say("chance-under", lang)
        if order.chance_short < 0.001
        else write(Quantity("percent", order.chance_short), system=system)
    )
    below = say("chance-short-below", lang) if order.balance else ""
    return (
        Figure(say("order", lang), write(Quantity("volume", order.order), system=system), loads),
        Figure(say("need", lang), likely, f"± {give}"),
        Figure(say("chance-short", lang), chance, below),
    )


def balance(plan: Plan, lang: str) -> tuple[Block, ...]:
    """Return how the last load is worked out by phone, where there is more than one."""
    call, system = plan.built.order.balance, plan.notes.units
    if call is None:
        return ()

    def shown(kind: str, v: float) -> str:
        return write(Quantity(kind, v), system=system, lang=lang)

    lines = (
        say(
            "balance-when",
            lang,
            placed=shown("volume", call.placed),
            filled=shown("area", call.filled_area),
            open=shown("area", call.open_area),
        ),
        say("balance-how", lang, allowance=shown("volume", call.allowance), call=shown("volume", call.call)),
    )
    return (TextBlock(lines, heading=say("balance", lang), style="steps"),)


def fit_lines(plan: Plan, lang: str) -> tuple[str, ...]:
    """Return in words how well the readings agree, and how many nothing checks."""
    lines = []
    for key, fit in (("fit-plane", plan.survey.plane), ("fit-levels", plan.survey.levels)):
        if fit is not None and fit.dof > 0:
            verdict = say("fit-agrees" if fit.passed else "fit-fails", lang)
            lines.append(
                say(key, lang, checks=fit.dof, sum=f"{fit.statistic:.1f}", limit=f"{fit.limit:.1f}")
                + f" {verdict}"
            )
    real = [r for r in plan.survey.readings if r.part not in ("straight", "x", "y")]
    unseen = sum(r.used and r.redundancy < UNSEEN for r in real)
    aside = sum(not r.used for r in real)
    lines.append(say("fit-unseen", lang, unseen=unseen, all=len(real), aside=aside))
    return tuple(lines)
