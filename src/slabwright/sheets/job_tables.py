"""The tables of a job: every one on paper, in CSV and in XLSX is made here, once."""

from __future__ import annotations

from slabwright.measure import Quantity, System
from slabwright.result import Plan
from slabwright.sheets.scene import datum_height, datum_name
from slabwright.sheets.tables import Both, Cell, Column, Table
from slabwright.sheets.words import word
from slabwright.sources import source


def all_tables(plan: Plan, lang: str = "en") -> tuple[Table, ...]:
    """Return every table of the job in the order of the work; empty ones are left out."""
    made = (
        readings(plan),
        points(plan),
        grades(plan),
        stakes(plan),
        joints(plan, lang),
        panels(plan),
        bars(plan),
        form_runs(plan),
        boards(plan, lang),
        dig(plan),
        order(plan),
        materials(plan),
        assumed(plan),
        findings(plan, lang),
    )
    return tuple(t for t in made if t.rows)


def readings(plan: Plan) -> Table:
    """Return what was read, what fits, and the difference, for every reading."""
    return Table(
        "readings",
        Both("What was read, and what fits", "Lo que se leyó y lo que ajusta"),
        (
            Column("reading", "Reading", "Lectura"),
            Column("read", "Read", "Leído", "fine_length"),
            Column("fits", "Fits", "Ajusta", "fine_length"),
            Column("off", "Off by", "Diferencia", "height_difference"),
            Column("checked", "Checked by others", "Comprobado", "percent"),
            Column("line", "Line", "Línea", "count"),
        ),
        tuple(
            (r.name + ("" if r.used else " *"), r.written, r.adjusted, r.residual, r.redundancy, r.line)
            for r in plan.survey.readings
            if r.part not in ("straight",) and "angle" not in r.name
        ),
    )


def points(plan: Plan) -> Table:
    """Return every named point: place and height, each with its standard deviation."""
    base = datum_height(plan)
    rows: list[tuple[Cell, ...]] = []
    for name in dict.fromkeys([*plan.survey.points, *plan.survey.heights]):
        p, h = plan.survey.points.get(name), plan.survey.heights.get(name)
        rows.append(
            (
                name,
                p.x if p else None,
                p.y if p else None,
                max(p.sx, p.sy) if p else None,
                h.height - base if h else None,
                h.sd if h else None,
            )
        )
    return Table(
        "points",
        Both(f"Points; heights from {datum_name(plan)}", f"Puntos; alturas desde {datum_name(plan)}"),
        (
            Column("point", "Point", "Punto"),
            Column("x", "Right", "Derecha", "fine_length"),
            Column("y", "In", "Adentro", "fine_length"),
            Column("sure", "Sure to", "Seguro a", "fine_length"),
            Column("height", "Height", "Altura", "height_difference"),
            Column("height_sure", "Sure to", "Seguro a", "fine_length"),
        ),
        tuple(rows),
    )


def grades(plan: Plan) -> Table:
    """Return the finished height of every corner and joint end, from the datum."""
    base = datum_height(plan)
    return Table(
        "grades",
        Both(
            f"Finished heights, up (+) or down (-) from {datum_name(plan)}",
            f"Alturas terminadas, arriba (+) o abajo (-) de {datum_name(plan)}",
        ),
        (
            Column("slab", "Slab", "Losa"),
            Column("at", "At", "En"),
            Column("height", "Finished top", "Superficie", "height_difference"),
            Column("fixed", "Set by", "Fijado por"),
        ),
        tuple(
            (s.spec.name, n.label, n.z - base, n.fixed)
            for s in plan.shaped.slabs
            for n in s.height_plan.nodes
        ),
    )


def stakes(plan: Plan) -> Table:
    """Return the set-out in walking order: two tapes, the rod on the form's top, the dig."""
    rows = tuple(
        (
            s.label,
            *(s.tie_a or (None, None)),
            *(s.tie_b or (None, None)),
            s.tie_sd,
            *(s.rod or (None, None)),
            s.dig,
        )
        for s in plan.built.set_out.stakes
    )
    return Table(
        "stakes",
        Both("Set-out, in walking order", "Trazo, en orden de recorrido"),
        (
            Column("stake", "Stake", "Estaca"),
            Column("from_a", "Tape from", "Cinta desde"),
            Column("tape_a", "reads", "lee", "fine_length"),
            Column("from_b", "and from", "y desde"),
            Column("tape_b", "reads", "lee", "fine_length"),
            Column("sure", "Sure to", "Seguro a", "fine_length"),
            Column("set_up", "Set-up", "Nivel"),
            Column("rod", "Rod on form", "Mira en molde", "length"),
            Column("dig", "Dig", "Excavar", "inches"),
        ),
        rows,
    )


def joints(plan: Plan, lang: str = "en") -> Table:
    """Return every joint: kind, length, depth, how it is made and what asked for it."""
    import math
    from itertools import pairwise

    return Table(
        "joints",
        Both("Joints", "Juntas"),
        (
            Column("slab", "Slab", "Losa"),
            Column("number", "No.", "Núm.", "count"),
            Column("kind", "Kind", "Tipo"),
            Column("length", "Length", "Largo", "length"),
            Column("depth", "Depth", "Hondura", "inches"),
            Column("made", "Made", "Hecha"),
            Column("why", "Asked for by", "Pedida por"),
        ),
        tuple(
            (
                s.spec.name,
                i,
                word(j.kind, lang),
                sum(math.dist(p, q) for p, q in pairwise(j.line)),
                j.depth,
                word(j.made, lang),
                " ".join(filter(None, (word(f"why-{j.why}", lang), j.against))),
            )
            for s in plan.shaped.slabs
            for i, j in enumerate(s.joint_plan.joints, 1)
        ),
    )


def panels(plan: Plan) -> Table:
    """Return every panel with its size and its concrete before waste."""
    return Table(
        "panels",
        Both("Panels, in placing order", "Paños, en orden de colado"),
        (
            Column("slab", "Slab", "Losa"),
            Column("panel", "Panel", "Paño"),
            Column("long", "Long side", "Lado largo", "length"),
            Column("short", "Short side", "Lado corto", "length"),
            Column("area", "Area", "Área", "area"),
            Column("concrete", "Concrete", "Concreto", "volume"),
        ),
        tuple(
            (s.spec.name, p.name, p.long, p.short, p.area, p.area * s.spec.thickness)
            for s in plan.shaped.slabs
            for p in s.joint_plan.panels
        ),
    )


def bars(plan: Plan) -> Table:
    """Return the bars to cut and to buy."""
    rows: list[tuple[Cell, ...]] = []
    for lot in plan.built.steel:
        rows += [(f"No. {lot.number}", count, length, None, lot.lap) for length, count in lot.pieces]
        rows += [(f"No. {lot.number}", count, None, length, None) for length, count in lot.stock]
    return Table(
        "bars",
        Both("Bars: cut, and buy", "Varillas: cortar y comprar"),
        (
            Column("bar", "Bar", "Varilla"),
            Column("count", "Pieces", "Piezas", "count"),
            Column("cut", "Cut to", "Cortar a", "length"),
            Column("buy", "Buy in lengths of", "Comprar de", "length"),
            Column("lap", "Lap", "Traslape", "inches"),
        ),
        tuple(rows),
    )


def form_runs(plan: Plan) -> Table:
    """Return the runs of form."""
    return Table(
        "form-runs",
        Both("Runs of form", "Tramos de molde"),
        (
            Column("slab", "Slab", "Losa"),
            Column("a", "From", "De"),
            Column("b", "To", "A"),
            Column("length", "Length", "Largo", "fine_length"),
            Column("radius", "Radius", "Radio", "length"),
            Column("board", "Board", "Tabla"),
        ),
        tuple((r.slab, r.a, r.b, r.length, r.radius, r.material or r.board) for r in plan.built.forms.runs),
    )


def boards(plan: Plan, lang: str = "en") -> Table:
    """Return which boards to take from the pile or the yard, and how to cut each."""
    return Table(
        "boards",
        Both("Boards and how to cut them", "Tablas y cómo cortarlas"),
        (
            Column("size", "Size", "Medida"),
            Column("from", "From", "De"),
            Column("length", "Board", "Tabla", "length"),
            Column("cuts", "Cut", "Cortar"),
            Column("left", "Left over", "Sobra", "length"),
        ),
        tuple(
            (b.size, word(f"from-{b.origin}", lang), b.stock, _cuts(b.pieces, plan.notes.units), b.left)
            for b in plan.built.forms.boards
        ),
    )


def _cuts(pieces: tuple[float, ...], system: System) -> str:
    from slabwright.measure import write

    return ", ".join(write(Quantity("fine_length", p), system=system) for p in pieces)


def dig(plan: Plan) -> Table:
    """Return earthwork by panel, in the bank and compacted, with totals."""
    work = plan.built.dig
    columns = (
        Column("slab", "Slab", "Losa"),
        Column("panel", "Panel", "Paño"),
        Column("least", "Dig from", "Excavar de", "inches"),
        Column("most", "to", "a", "inches"),
        Column("cut", "Cut", "Corte", "volume"),
        Column("fill", "Fill", "Relleno", "volume"),
        Column("base", "Base", "Base", "volume"),
    )
    title = Both("Dig and base, in place", "Excavación y base, en sitio")
    if work is None:
        return Table("dig", title, columns)
    return Table(
        "dig",
        title,
        columns,
        tuple(
            (d.slab, d.panel, d.depth_least, d.depth_most, d.cut, d.fill, d.base_volume) for d in work.lines
        ),
        total=("", "", None, None, work.cut, work.fill, work.base_volume),
    )


def order(plan: Plan) -> Table:
    """Return what to read to the plant."""
    return Table(
        "order",
        Both("Read this to the plant", "Lea esto a la planta"),
        (Column("what", "What", "Qué"), Column("value", "Say", "Diga")),
        tuple(plan.built.order.mix),
    )


def materials(plan: Plan) -> Table:
    """Return the shopping list by shop."""
    return Table(
        "materials",
        Both("What to get, by shop", "Qué conseguir, por tienda"),
        (
            Column("shop", "Shop", "Tienda"),
            Column("what", "What", "Qué"),
            Column("amount", "Need", "Se necesita"),
            Column("buy", "Buy", "Comprar"),
        ),
        tuple((m.shop, m.what, Quantity(m.kind, m.amount), m.buy) for m in plan.built.materials),
    )


def assumed(plan: Plan) -> Table:
    """Return the defaults that were taken because the notes do not say, each with its source."""
    return Table(
        "assumed",
        Both("Taken because the notes do not say", "Supuesto porque las notas no lo dicen"),
        (
            Column("slab", "Slab", "Losa"),
            Column("field", "What", "Qué"),
            Column("value", "Taken as", "Tomado como"),
            Column("source", "Source", "Fuente"),
        ),
        tuple(
            (s.spec.name, t.field, t.value, source(t.source).cite())
            for s in plan.shaped.slabs
            for t in s.spec.taken
        ),
    )


def findings(plan: Plan, lang: str = "en") -> Table:
    """Return every finding as a row."""
    rows: list[tuple[Cell, ...]] = []
    for finding in plan.findings:
        t = finding.text(system=plan.notes.units, lang=lang)
        rows.append((word(t.level, lang), t.where, t.what, t.why, t.do, t.source, finding.line))
    return Table(
        "findings",
        Both("Findings", "Hallazgos"),
        (
            Column("level", "Level", "Nivel"),
            Column("where", "Where", "Dónde"),
            Column("what", "What", "Qué"),
            Column("why", "Why", "Por qué"),
            Column("do", "Do", "Qué hacer"),
            Column("source", "Source", "Fuente"),
            Column("line", "Line", "Línea", "count"),
        ),
        tuple(rows),
    )
