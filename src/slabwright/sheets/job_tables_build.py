"""The tables of how a job gets made: set-out, bars, forms, dig, order, materials."""

from __future__ import annotations

import itertools
from collections import Counter

from slabwright.build.model import Stake
from slabwright.build.says import in_language, plant_lines
from slabwright.measure import Both, Quantity, System, step_of, write
from slabwright.result import Plan
from slabwright.sheets.scene_dig import to_step
from slabwright.sheets.strings import off_strings, string_lines
from slabwright.sheets.tables import Cell, Column, Table
from slabwright.sheets.words import word, words

NOTHING = 0.004  # [m3] half a hundredth of a yard of fill is none
_SLAB = Column("slab", "Slab", "Losa")
_ROD = Column("rod", "Rod on form", "Mira en cimbra", "length")
_DIG = Column("dig", "Dig", "Excavar", "inches")


def _ties(stake: Stake, lang: str = "en") -> tuple[Cell, ...]:
    if stake.tie_a is not None and stake.tie_b is None:
        return (word("mark-at", lang, anchor=stake.tie_a[0]), None, None, None, stake.tie_sd)
    return (*(stake.tie_a or (None, None)), *(stake.tie_b or (None, None)), stake.tie_sd)


_TIES = (
    Column("from_a", "Tape from", "Cinta desde"),
    Column("tape_a", "reads", "lee", "fine_length"),
    Column("from_b", "and from", "y desde"),
    Column("tape_b", "reads", "lee", "fine_length"),
    Column("sure", "Sure to", "Seguro a", "fine_length"),
)


def _down(plan: Plan) -> Column:
    """Return the column of heights from a level string at the bench, which it names."""
    bench = next((s.down[0] for s in plan.built.set_out.stakes if s.down), "")
    return Column("down", f"From level at {bench}", f"Desde nivel en {bench}", "height_difference")


def _made(stake: Stake, system: System) -> tuple[Cell, ...]:
    """Return set-up, rod on the form, up or down from the level string, and the dig of a mark."""
    # As measured, so that it is rounded once, like the same height on the sheet of heights.
    down = None if stake.down is None else -stake.down[1]
    return (
        *(stake.rod or (None, None)),
        # Nearer to the string than a pocket rule shows is level with it.
        0.0 if down is not None and abs(down) < step_of("inches", system) else down,
        None if stake.dig is None else to_step(stake.dig, system),
    )


def stakes(plan: Plan, lang: str = "en") -> Table:
    """Return every mark in walking order: two tapes, the rod on the form's top, the dig."""
    return Table(
        "stakes",
        Both("Every mark in walking order", "Cada marca en orden de recorrido"),
        (
            _SLAB,
            Column("stake", "Mark", "Marca"),
            *_TIES,
            Column("set_up", "Set-up", "Nivel"),
            _ROD,
            _down(plan),
            _DIG,
        ),
        tuple(
            (s.slab, s.label, *_ties(s, lang), *_made(s, plan.notes.units)) for s in plan.built.set_out.stakes
        ),
    )


def _centres(plan: Plan, lang: str) -> list[tuple[Cell, ...]]:
    """Return the centres that curves are swung from, each once: two tapes find them."""
    found: dict[str, tuple[Cell, ...]] = {}
    for s in plan.built.set_out.swings:
        label = word("centre-mark", lang, centre=s.centre)
        found.setdefault(s.centre, (s.slab, label, *s.tie_a, *s.tie_b, s.tie_sd, None, None, None, None))
    return list(found.values())


def corners(plan: Plan, lang: str = "en") -> Table:
    """Return what two tapes find: corners, marks on a curve and the centres that it is swung from."""
    return Table(
        "corners",
        Both("1. Corners: two tapes each", "1. Esquinas: dos cintas cada una"),
        (
            _SLAB,
            Column("mark", "Mark", "Marca"),
            *_TIES,
            Column("set_up", "Set-up", "Nivel"),
            _ROD,
            _down(plan),
            _DIG,
        ),
        (
            *((s.slab, s.label, *_ties(s, lang), *_made(s, plan.notes.units)) for s in off_strings(plan)),
            *_centres(plan, lang),
        ),
    )


def strings(plan: Plan, lang: str = "en") -> Table:
    """Return the marks on each string by their distance from its first corner."""
    rows: list[tuple[Cell, ...]] = []
    for line in string_lines(plan):
        for mark, along in line.marks:
            kind = word(f"mark-{mark.kind.replace(' ', '-')}", lang)
            _, rod, down, dig = _made(mark, plan.notes.units)
            rows.append((line.slab, line.name, mark.label, kind, along, rod, down, dig))
    return Table(
        "strings",
        Both(
            "2. Along each string, from its first corner",
            "2. A lo largo de cada hilo, desde su primera esquina",
        ),
        (
            _SLAB,
            Column("string", "String", "Hilo"),
            Column("mark", "Mark", "Marca"),
            Column("kind", "What", "Qué"),
            Column("along", "Along", "A lo largo", "fine_length"),
            _ROD,
            _down(plan),
            _DIG,
        ),
        tuple(rows),
    )


def checks(plan: Plan, lang: str = "en") -> Table:
    """Return the tape checks: diagonals, and three pulls at square corners."""
    system = plan.notes.units
    rows: list[tuple[Cell, ...]] = [
        (slab, f"{a} - {b}", word("check-diagonal", lang), length)
        for slab, a, b, length in plan.built.set_out.diagonals
    ]
    for slab, corner, one, other, diagonal in plan.built.set_out.squares:
        legs = " + ".join(write(Quantity("length", leg), system=system) for leg in (one, other))
        rows.append((slab, corner, word("check-square", lang, legs=legs), diagonal))
    for s in plan.built.set_out.swings:
        radius = write(Quantity("length", s.radius), system=system)
        rows.append(
            (s.slab, f"{s.a} - {s.b}", word("check-swing", lang, radius=radius, centre=s.centre), s.radius)
        )
    return Table(
        "checks",
        Both("3. Check with the tape", "3. Compruebe con la cinta"),
        (
            _SLAB,
            Column("at", "At", "En"),
            Column("check", "Check", "Comprobación"),
            Column("reads", "Tape reads", "La cinta lee", "fine_length"),
        ),
        tuple(rows),
    )


def dig_bands(plan: Plan) -> Table:
    """Return how much ground is dug between which depths: the map of the dig in figures."""
    work = plan.built.dig
    return Table(
        "dig-bands",
        Both("How much is how deep", "Cuánta área a cada profundidad"),
        (
            Column("from", "Dig from", "Excavar de", "inches"),
            Column("to", "to", "a", "inches"),
            Column("area", "Area", "Área", "area"),
        ),
        tuple(
            (band.shallow, band.deep, band.area)
            for band in (work.map.bands if work is not None and work.map is not None else ())
        ),
    )


def made_of(material: str, lang: str) -> str:
    """Return what a form is made of in the language of the sheet; a written size stays."""
    return word(f"form-{material}", lang) if f"form-{material}" in words() else material


def form_runs(plan: Plan, lang: str = "en") -> Table:
    """Return the runs of form."""
    return Table(
        "form-runs",
        Both("Runs of form", "Tramos de cimbra"),
        (
            _SLAB,
            Column("a", "From", "De"),
            Column("b", "To", "A"),
            Column("length", "Length", "Largo", "fine_length"),
            Column("radius", "Radius", "Radio", "length"),
            Column("size", "Size", "Medida"),
            Column("board", "Board", "Tabla"),
        ),
        tuple(
            (
                *(r.slab, r.a, r.b, r.length, r.radius, made_of(r.board, lang)),
                made_of(r.material, lang) if r.material != r.board else "",
            )
            for r in plan.built.forms.runs
        ),
    )


def boards(plan: Plan, lang: str = "en") -> Table:
    """Return which boards to take from the pile or the yard, and how to cut them; like boards in one row."""
    heap: Counter[tuple[str, str, float, str, float]] = Counter()
    for b in plan.built.forms.boards:
        cuts = pieces_text(b.pieces, "fine_length", plan.notes.units)
        heap[made_of(b.size, lang), word(f"from-{b.origin}", lang), b.stock, cuts, b.left] += 1
    return Table(
        "boards",
        Both("Boards and how to cut them", "Tablas y cómo cortarlas"),
        (
            Column("size", "Size", "Medida"),
            Column("from", "From", "De"),
            Column("count", "Boards", "Tablas", "count"),
            Column("length", "Long", "Largo", "length"),
            Column("cuts", "Cut", "Cortar"),
            Column("left", "Left over", "Sobra", "length"),
        ),
        tuple((size, origin, n, long, cuts, left) for (size, origin, long, cuts, left), n in heap.items()),
    )


def pieces_text(pieces: tuple[float, ...], kind: str, system: System) -> str:
    """Return lengths as written, like ones after each other counted."""
    shown = (write(Quantity(kind, p), system=system) for p in pieces)
    runs = [(len(list(same)), text) for text, same in itertools.groupby(shown)]
    return ", ".join(f"{n} x {text}" if n > 1 else text for n, text in runs)


def dig(plan: Plan) -> Table:
    """Return earthwork by panel, in the bank and compacted, with totals."""
    work = plan.built.dig
    columns = (
        _SLAB,
        Column("panel", "Panel", "Paño"),
        Column("least", "Dig from", "Excavar de", "inches"),
        Column("most", "to", "a", "inches"),
        Column("cut", "Cut", "Corte", "volume"),
        Column("fill", "Fill", "Relleno", "volume"),
        Column("base", "Base", "Base", "volume"),
    )
    title = Both("By panel, in place", "Por paño, en sitio")
    if work is None:
        return Table("dig", title, columns)
    system = plan.notes.units
    return Table(
        "dig",
        title,
        columns,
        tuple(
            (
                d.slab,
                d.panel,
                to_step(d.depth_least, system),
                to_step(d.depth_most, system),
                d.cut,
                d.fill if d.fill >= NOTHING else 0.0,  # raked in with the base
                d.base_volume,
            )
            for d in work.lines
        ),
        total=(word("total"), "", None, None, work.cut, work.fill, work.base_volume),
    )


def order(plan: Plan, lang: str = "en") -> Table:
    """Return what to read to the plant, in the order in which it asks."""
    made = plan.built.order
    lines = plant_lines(made.asks, system=plan.notes.units, lang=lang) if made.asks else made.mix
    return Table(
        "order",
        Both("Concrete in bags", "Concreto en bultos")
        if made.bags
        else Both("Read this to the plant", "Lea esto a la planta"),
        (Column("what", "What", "Qué"), Column("value", "Say", "Diga")),
        tuple(lines),
    )


def materials(plan: Plan, lang: str = "en") -> Table:
    """Return the shopping list by shop."""
    listed = [in_language(m, system=plan.notes.units, lang=lang) for m in plan.built.materials]
    return Table(
        "materials",
        Both("What to get, by shop", "Qué conseguir, por tienda"),
        (
            Column("shop", "Shop", "Tienda"),
            Column("what", "What", "Qué"),
            Column("amount", "Need", "Se necesita"),
            Column("buy", "Buy", "Comprar"),
        ),
        tuple((m.shop, m.what, Quantity(m.kind, m.amount), m.buy) for m in listed),
    )
