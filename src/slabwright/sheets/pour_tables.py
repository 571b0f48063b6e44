"""The tables of the pour's sheets: panels, bands, trucks, hours, days, starts and ways out."""

from __future__ import annotations

from datetime import date

from slabwright.measure import HOUR, Both, Quantity, write
from slabwright.pourday.model import Band, PanelWindow, PourDay
from slabwright.result import Plan, PourRun
from slabwright.sheets.pour_clock import Round, band_text, clock_text, day_text
from slabwright.sheets.tables import Cell, Column, Table
from slabwright.sheets.words import word as say
from slabwright.sheets.words import words


def told(plan: Plan) -> tuple[PourDay, PourRun]:
    """Return the pour and how it is run; ValueError where no weather was given."""
    if plan.pour is None or plan.pour_run is None:
        raise ValueError("no weather was given, so there is no pour to show")
    return plan.pour, plan.pour_run


def at(plan: Plan, clock: float | None, lang: str, how: Round = "near", to: float = 300.0) -> str:
    """Return a clock of the pour as it is said; a dash where it is not known."""
    pour, _ = told(plan)
    return clock_text(clock, pour.date, system=plan.notes.units, lang=lang, to=to, how=how)


def band(plan: Plan, one: Band, lang: str, to: float = 300.0) -> str:
    """Return a band of the pour as it is said."""
    pour, _ = told(plan)
    return band_text(one, pour.date, system=plan.notes.units, lang=lang, to=to)


def chance(share: float) -> str:
    """Return a chance [-] as a person says it: whole percents, never a bare 0 or 100."""
    if share < 0.005:
        return "< 1 %"
    return "> 99 %" if share > 0.995 else f"{100 * share:.0f} %"


def error(share: float) -> str:
    """Return a standard error [-] of a chance in percent, to a place that says something."""
    return f"± {100 * share:.1f} %" if share < 0.0095 else f"± {100 * share:.0f} %"


def card(plan: Plan, lang: str) -> Table:
    """Return the panels in placing order: when each is placed, edged and broomed, and by when."""
    pour, run = told(plan)
    rows: list[tuple[Cell, ...]] = []
    for window, turn in zip(pour.windows, run.crew.turns, strict=True):
        rows.append(
            (
                window.slab,
                window.panel,
                at(plan, window.placed_at, lang),
                at(plan, window.sheen_gone.likely, lang),
                at(plan, window.edge.likely, lang),
                at(plan, window.broom.likely, lang),
                at(plan, window.broom_end.likely, lang, "down"),
                at(plan, window.edge.early, lang, "down"),
                at(plan, window.broom_end.early, lang, "down"),
                chance(turn.late_chance),
            )
        )
    return Table(
        "pour-panels",
        Both("Panel by panel, in placing order", "Paño por paño, en orden de colado"),
        (
            Column("slab", "Slab", "Losa"),
            Column("panel", "Panel", "Paño"),
            Column("placed", "Place", "Colar"),
            Column("sheen", "Water gone", "Sin agua"),
            Column("edge", "Edge, joint", "Voltear, juntas"),
            Column("broom", "Broom from", "Escobillar desde"),
            Column("end", "Too late", "Demasiado tarde"),
            Column("edge-fast", "Fast day: edge", "Día rápido: voltear"),
            Column("end-fast", "Fast day: too late", "Día rápido: tarde"),
            Column("late", "Chance of loss", "Riesgo de perderlo"),
        ),
        tuple(rows),
    )


def bands(plan: Plan, lang: str) -> Table:
    """Return by panel the earliest and latest of each step, nine days in ten; the saw's where one is used."""
    pour, _ = told(plan)
    sawn = any(j.made == "sawn" for s in plan.shaped.slabs for j in s.joint_plan.joints)
    saws = (
        Column("saw-early", "Early saw", "Corte temprano"),
        Column("saw", "Common saw", "Cortadora común"),
    )
    return Table(
        "pour-bands",
        Both("Earliest to latest, nine days in ten", "De la primera a la última, nueve de diez días"),
        (
            Column("slab", "Slab", "Losa"),
            Column("panel", "Panel", "Paño"),
            Column("sheen", "Water gone", "Sin agua"),
            Column("edge", "Edge, joint", "Voltear, juntas"),
            Column("broom", "Broom from", "Escobillar desde"),
            Column("end", "Too late to broom", "Tarde para escobillar"),
            *(saws if sawn else ()),
            Column("sun", "Sun", "Sol", "duration"),
        ),
        tuple(
            (
                w.slab,
                w.panel,
                *(band(plan, one, lang) for one in (w.sheen_gone, w.edge, w.broom, w.broom_end)),
                *(band(plan, one, lang, to=1800.0) for one in ((w.saw_early, w.saw) if sawn else ())),
                round(w.sun / 1800.0) * 1800.0,
            )
            for w in pour.windows
        ),
    )


def trucks(plan: Plan, lang: str) -> Table:
    """Return the trucks with when they are wanted and what they bring."""
    _, run = told(plan)
    return Table(
        "pour-trucks",
        Both("Trucks", "Camiones"),
        (
            Column("truck", "Truck", "Camión", "count"),
            Column("at", "On site", "En obra"),
            Column("load", "Load", "Carga", "volume"),
        ),
        tuple((n, at(plan, clock, lang), load) for n, (clock, load) in enumerate(run.crew.trucks, 1)),
    )


def worst(pour: PourDay) -> PanelWindow:
    """Return the panel whose surface most likely dries too fast, the first of several alike."""
    return max(pour.windows, key=lambda w: w.shrink_chance)


def hours(plan: Plan, lang: str) -> Table:
    """Return what the weather does to the worst panel by the hour, until a little after it is closed."""
    pour, _ = told(plan)
    one = worst(pour)
    rows = [r for r in pour.hours if (r.slab, r.panel) == (one.slab, one.panel)]
    open_ = max((n for n, r in enumerate(rows) if r.evaporation is not None), default=0)
    return Table(
        "pour-hours",
        Both(f"Hours of panel {one.panel}, {one.slab}", f"Horas del paño {one.panel}, {one.slab}"),
        (
            Column("clock", "Hour", "Hora"),
            Column("air", "Air", "Aire", "temperature"),
            Column("surface", "Surface", "Superficie", "temperature"),
            Column("wind", "Wind at the slab", "Viento en la losa", "speed"),
            Column("evaporation", "Evaporation", "Evaporación", "evaporation"),
            Column("uno", "by the other formula", "con la otra fórmula", "evaporation"),
            Column("bleed", "Bleed water", "Agua que sube", "evaporation"),
            Column("chance", "Dries too fast", "Se seca de más"),
        ),
        tuple(
            (
                at(plan, r.clock, lang),
                r.air_temperature,
                r.surface_temperature,
                r.wind_speed,
                r.evaporation,
                r.evaporation_uno,
                r.bleed_rate,
                "" if r.evaporation is None else chance(r.shrink_chance),
            )
            for r in rows[: open_ + 3]
        ),
    )


def reason(code: str, lang: str) -> str:
    """Return the few words for a finding that speaks against a day."""
    return say(f"reason-{code}" if f"reason-{code}" in words() else "reason-other", lang)


def days(plan: Plan, lang: str) -> Table:
    """Return go, wait or no for each day, with the start that suits it best and the reasons."""
    _, run = told(plan)
    system = plan.notes.units
    return Table(
        "pour-days",
        Both("The next days", "Los próximos días"),
        (
            Column("day", "Day", "Día"),
            Column("advice", "Verdict", "Veredicto"),
            Column("start", "Best start", "Mejor hora"),
            Column("why", "Because", "Porque"),
        ),
        tuple(
            (
                day_text(date.fromisoformat(d.date), lang),
                say(f"pour-day-{d.advice}", lang),
                write(Quantity("clock", d.begins), system=system, lang=lang),
                ", ".join(reason(code, lang) for code in d.reasons) or say("pour-day-fine", lang),
            )
            for d in run.days
        ),
    )


def starts(plan: Plan, lang: str) -> Table:
    """Return what other starts of the same day come to, with the same people."""
    _, run = told(plan)
    rows = {row.day.start: row for row in (*run.starts, run.crew.best)}
    own = say("pour-this", lang)
    return Table(
        "pour-starts",
        Both("Other starts, same people", "Otras horas, misma gente"),
        (
            Column("start", "Start", "Empezar"),
            Column("placing", "Placing", "Colando", "count"),
            Column("placed", "Down by", "Colado"),
            Column("done", "Done by", "Acabado"),
            Column("late", "Lost panel", "Paño perdido"),
            Column("wait", "Truck waits", "Camión espera"),
            Column("dark", "In the dark", "A oscuras", "duration"),
        ),
        tuple(
            (
                at(plan, start, lang) + (f" ({own})" if start == run.crew.best.day.start else ""),
                row.day.placing,
                at(plan, row.placed_by, lang),
                at(plan, row.done_by, lang),
                chance(row.late_chance),
                chance(row.wait_chance),
                round(row.dark_time / 300.0) * 300.0 or None,
            )
            for start, row in sorted(rows.items())
        ),
    )


def ways(plan: Plan, lang: str) -> Table:
    """Return what each change by itself would do, worked out, the plan as it is first."""
    _, run = told(plan)
    return Table(
        "pour-ways",
        Both("Ways out, each worked out by itself", "Salidas, calculada cada una por sí sola"),
        (
            Column("way", "Change", "Cambio"),
            Column("late", "Lost panel", "Paño perdido"),
            Column("shrink", "Dries too fast", "Se seca de más"),
            Column("frost", "Frost", "Helada"),
            Column("broom", "Time to broom", "Tiempo de escobillar", "duration"),
            Column("done", "Done by", "Acabado"),
        ),
        tuple(
            (
                say(f"way-{w.key}", lang),
                chance(w.late_chance),
                chance(w.shrink_chance),
                chance(w.frost_chance),
                None if w.broom_length is None else round(max(0.0, w.broom_length) / 300.0) * 300.0,
                at(plan, w.done_by, lang),
            )
            for w in run.ways
        ),
    )


def care(plan: Plan, lang: str) -> Table:
    """Return strip, walk and drive by panel, to the hour: likely, and by when on nineteen days in twenty."""
    pour, _ = told(plan)

    def pair(one: Band) -> tuple[str, str]:
        return at(plan, one.likely, lang, to=HOUR), at(plan, one.late, lang, "up", HOUR)

    return Table(
        "pour-care",
        Both("Strip, walk, drive", "Descimbrar, pisar, rodar"),
        (
            Column("slab", "Slab", "Losa"),
            Column("panel", "Panel", "Paño"),
            Column("strip", "Strip, likely", "Descimbrar, tal vez"),
            Column("strip-late", "surely by", "seguro"),
            Column("walk", "Walk, likely", "Pisar, tal vez"),
            Column("walk-late", "surely by", "seguro"),
            Column("drive", "Cars, likely", "Autos, tal vez"),
            Column("drive-late", "surely by", "seguro"),
        ),
        tuple((w.slab, w.panel, *pair(w.strip), *pair(w.walk), *pair(w.drive)) for w in pour.windows),
    )


def pour_tables(plan: Plan, lang: str) -> tuple[Table, ...]:
    """Return every table of the pour for the files; none where no weather was given."""
    if plan.pour is None or plan.pour_run is None:
        return ()
    makers = (card, bands, trucks, hours, days, starts, ways, care)
    return tuple(made for made in (make(plan, lang) for make in makers) if made.rows)
