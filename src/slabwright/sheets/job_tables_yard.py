"""The tables of the yard: sprinklers before and after, pipes under slabs, and how concrete gets there."""

from __future__ import annotations

from collections import Counter

from slabwright.build.model_yard import Haul
from slabwright.build.says import in_language
from slabwright.measure import Both, Quantity, System, read, write
from slabwright.result import Plan
from slabwright.sheets.tables import Cell, Column, Table
from slabwright.sheets.words import word

NEAR = 0.05  # [m] a way over planks, or a head moved, by less than this is none
PACED = {System.IMPERIAL: read("length", "1 ft"), System.METRIC: read("length", "0.5 m")}
LEVEL = 0.005  # [-] a way that climbs less than this is level


def hauls(plan: Plan, lang: str = "en") -> Table:
    """Return how each panel is filled, in placing order: means, way, trips and time."""
    return Table(
        "hauls",
        Both("In the order of placing", "En orden de colado"),
        (
            Column("order", "No.", "Núm.", "count"),
            Column("slab", "Slab", "Losa"),
            Column("panel", "Panel", "Paño"),
            Column("way", "By", "Con"),
            Column("run", "Way", "Camino", "length"),
            Column("planks", "On planks", "Sobre tablones", "length"),
            Column("steepest", "Steepest", "Más empinado", "percent"),
            Column("volume", "Concrete", "Concreto", "volume"),
            Column("trips", "Trips", "Viajes", "count"),
            Column("time", "Takes", "Tarda", "duration"),
        ),
        tuple(
            (
                n,
                haul.slab,
                haul.panel,
                _way(plan, haul, lang),
                _stepped(haul.run, plan.notes.units) if haul.path else None,
                _stepped(haul.over_base, plan.notes.units) if haul.over_base > NEAR else None,
                haul.steepest if haul.steepest >= LEVEL else None,
                haul.volume,
                haul.trips or None,
                _rounded(haul.time) if haul.time else None,
            )
            for n, haul in enumerate(plan.built.access.hauls, 1)
        ),
    )


def haul_runs(plan: Plan, lang: str = "en") -> Table:
    """Return how panels are filled, in placing order; those that follow each other alike in one row."""
    system = plan.notes.units
    heap: list[tuple[tuple[object, ...], list[tuple[int, Haul]]]] = []
    for n, haul in enumerate(plan.built.access.hauls, 1):
        alike = (haul.slab, haul.way, haul.trips, round(haul.volume, 2), _rounded(haul.time))
        if not heap or heap[-1][0] != alike:
            heap.append((alike, []))
        heap[-1][1].append((n, haul))
    rows: list[tuple[Cell, ...]] = []
    for _, run in heap:
        first, last = run[0][1], run[-1][1]
        ways = sorted({round(_stepped(h.run, system), 3) for _, h in run if h.path})
        rows.append(
            (
                str(run[0][0]) if len(run) == 1 else f"{run[0][0]} - {run[-1][0]}",
                first.slab,
                first.panel if len(run) == 1 else f"{first.panel} - {last.panel}",
                _way(plan, first, lang),
                " - ".join(write(Quantity("length", v), system=system) for v in (ways[:1] + ways[1:][-1:])),
                first.volume,
                first.trips or None,
                _rounded(first.time) if first.time else None,
            )
        )
    return Table(
        "haul-runs",
        Both("In the order of placing, each panel", "En orden de colado, cada paño"),
        (
            Column("order", "No.", "Núm."),
            Column("slab", "Slab", "Losa"),
            Column("panel", "Panel", "Paño"),
            Column("way", "By", "Con"),
            Column("run", "Way", "Camino"),
            Column("volume", "Concrete", "Concreto", "volume"),
            Column("trips", "Trips", "Viajes", "count"),
            Column("time", "Takes", "Tarda", "duration"),
        ),
        tuple(rows),
    )


def _way(plan: Plan, haul: Haul, lang: str) -> str:
    """Return how a panel is filled; that nobody wrote where the truck stops is not that nothing gets in."""
    unsaid = haul.way == "none" and plan.built.access.stand is None
    return word("way-unsaid" if unsaid else f"way-{haul.way}", lang)


def _stepped(run: float, system: System) -> float:
    """Return a way [m] to what it can be paced to."""
    return round(run / PACED[system]) * PACED[system]


def _rounded(time: float) -> float:
    """Return a time [s] to whole minutes, at least one."""
    return max(60.0, round(time / 60.0) * 60.0)


def heads(plan: Plan, lang: str = "en") -> Table:
    """Return every head as it will be, with what to do to it; those to cap last."""
    work = plan.built.sprinklers
    rows: list[tuple[Cell, ...]] = []
    for head in work.heads if work else ():
        shift = head.shift if head.shift > NEAR else None
        rows.append(
            (
                head.name,
                word(f"head-{head.change}", lang),
                shift,
                head.throw,
                Quantity("angle", head.arc),
                head.flow,
                head.hangs_on,
            )
        )
    rows += [
        (head.name, word("head-capped", lang), None, None, None, None, head.hangs_on)
        for head in (work.removed if work else ())
    ]
    return Table(
        "sprinkler-heads",
        Both("Heads", "Aspersores"),
        (
            Column("head", "Head", "Aspersor"),
            Column("do", "Do", "Qué hacer"),
            Column("shift", "Moved by", "Se mueve", "length"),
            Column("throw", "Throw", "Alcance", "length"),
            Column("arc", "Arc", "Arco", "angle"),
            Column("flow", "Uses", "Gasta", "flow"),
            Column("line", "Line", "Línea"),
        ),
        tuple(rows),
    )


def watering(plan: Plan, lang: str = "en") -> Table:
    """Return what the lawn gets before and after: mean rate, evenness, what stays dry, what is lost."""
    work = plan.built.sprinklers
    shown = ((word("now", lang), work.before), (word("later", lang), work.after)) if work else ()
    return Table(
        "watering",
        Both("What the lawn gets", "Lo que recibe el pasto"),
        (
            Column("when", "When", "Cuándo"),
            Column("rate", "Mean", "Media", "rain"),
            Column("cu", "Even (CU)", "Parejo (CU)", "percent"),
            Column("du", "Driest quarter (DU)", "Cuarto más seco (DU)", "percent"),
            Column("dry", "Lawn with none", "Pasto sin agua", "area"),
            Column("lost", "On paving", "Sobre losas", "percent"),
        ),
        tuple(
            (when, cover.rate, cover.cu, cover.du, cover.unreached, cover.on_paving) for when, cover in shown
        ),
    )


def lines(plan: Plan, lang: str = "en") -> Table:
    """Return what each line of sprinklers uses, and the most that it can give."""
    work = plan.built.sprinklers
    return Table(
        "sprinkler-lines",
        Both("Lines", "Líneas"),
        (
            Column("line", "Line", "Línea"),
            Column("now", "Uses now", "Gasta ahora", "flow"),
            Column("later", "Will use", "Gastará", "flow"),
            Column("most", "Can give", "Puede dar", "flow"),
            Column("known", "Measured", "Medido"),
        ),
        tuple(
            (
                one.name,
                one.flow_before,
                one.flow_after,
                one.flow_most,
                word("yes" if one.known else "no", lang),
            )
            for one in (work.lines if work else ())
        ),
    )


def crossings(plan: Plan, lang: str = "en") -> Table:
    """Return the pipes under the new slabs and what to do with each; like ones in one row."""
    work = plan.built.sprinklers
    heap: Counter[tuple[Cell, ...]] = Counter(
        (
            pipe.name,
            pipe.slab,
            word(f"pipe-{pipe.advice}", lang),
            pipe.depth,
            pipe.cover_least,
            pipe.bore,
            round(pipe.sleeve, 3),
        )
        for pipe in (work.crossings if work else ())
    )
    return Table(
        "pipe-crossings",
        Both("Pipes under the slabs", "Tubos bajo las losas"),
        (
            Column("pipe", "Pipe", "Tubo"),
            Column("slab", "Slab", "Losa"),
            Column("do", "Do", "Qué hacer"),
            Column("depth", "Lies", "Está a", "inches"),
            Column("cover", "Wants", "Necesita", "inches"),
            Column("bore", "Sleeve", "Camisa", "inches"),
            Column("sleeve", "Long", "Largo", "length"),
            Column("count", "Times", "Veces", "count"),
        ),
        tuple((*row, count) for row, count in heap.items()),
    )


def parts(plan: Plan, lang: str = "en") -> Table:
    """Return what to buy for the sprinklers."""
    work = plan.built.sprinklers
    listed = [in_language(one, system=plan.notes.units, lang=lang) for one in (work.parts if work else ())]
    return Table(
        "sprinkler-parts",
        Both("Parts", "Piezas"),
        (Column("what", "What", "Qué"), Column("buy", "Buy", "Comprar")),
        tuple((one.what, one.buy) for one in listed),
    )
