"""The tables of a job: every one on paper, in CSV and in XLSX is made here, once."""

from __future__ import annotations

import math
from itertools import pairwise

from slabwright.findings import reading_named
from slabwright.measure import Both
from slabwright.result import Plan
from slabwright.sheets import job_tables_build as build
from slabwright.sheets import job_tables_steel as steel
from slabwright.sheets import job_tables_water as water
from slabwright.sheets import job_tables_yard as yard
from slabwright.sheets.scene import datum_height, datum_name
from slabwright.sheets.tables import Cell, Column, Table, written
from slabwright.sheets.words import word, words
from slabwright.slab.model import Joint
from slabwright.slab.thick_edges import concrete_in
from slabwright.sources import source
from slabwright.survey.result import ReadingFit

UNSEEN = 0.01  # share of a slip below which no other reading shows it


def all_tables(plan: Plan, lang: str = "en") -> tuple[Table, ...]:
    """Return every table of the job in the order of the work; empty ones are left out."""
    made = (
        readings(plan, lang),
        points(plan),
        grades(plan),
        build.corners(plan, lang),
        build.strings(plan, lang),
        build.checks(plan, lang),
        build.stakes(plan, lang),
        build.dig(plan),
        build.dig_bands(plan),
        build.form_runs(plan, lang),
        build.boards(plan, lang),
        joints(plan, lang),
        panels(plan),
        water.edges(plan, lang),
        water.ponds(plan, lang),
        steel.bars(plan, lang),
        steel.bar_cuts(plan, lang),
        steel.bends(plan, lang),
        steel.dowels(plan, lang),
        steel.mesh_sheets(plan),
        yard.hauls(plan, lang),
        yard.heads(plan, lang),
        yard.watering(plan, lang),
        yard.lines(plan, lang),
        yard.crossings(plan, lang),
        yard.parts(plan, lang),
        build.order(plan, lang),
        build.materials(plan, lang),
        assumed(plan, lang),
        findings(plan, lang),
    )
    return tuple(t for t in made if t.rows)


def readings(plan: Plan, lang: str = "en", *, checked: bool = False) -> Table:
    """Return what was read, what fits, and the difference, for every reading.

    checked: only readings that others check, and those set aside.
    """
    return Table(
        "readings",
        Both("What was read, and what fits (* set aside)", "Lo que se leyó y lo que ajusta (* apartado)"),
        (
            Column("reading", "Reading", "Lectura"),
            Column("read", "Read", "Leído", "fine_length"),
            Column("fits", "Fits", "Ajusta", "fine_length"),
            Column("off", "Off by", "Diferencia", "height_difference"),
            Column("checked", "Checked", "Comprobado", "percent"),
            Column("line", "Line", "Línea", "count"),
        ),
        tuple(
            (_reading(r, lang), r.written, r.adjusted, r.residual, r.redundancy, r.line)
            for r in _real(plan)
            if not checked or not _unseen(r)
        ),
    )


def unchecked(plan: Plan, lang: str = "en") -> str:
    """Return the readings that no other checks, in one line; empty when there are none."""
    return "; ".join(_reading(r, lang) for r in _real(plan) if _unseen(r))


def _real(plan: Plan) -> list[ReadingFit]:
    """Return the readings that a person took, without the conditions that the net adds."""
    return [r for r in plan.survey.readings if r.part != "straight" and "angle" not in r.name]


def _unseen(one: ReadingFit) -> bool:
    return one.used and one.redundancy < UNSEEN


def _reading(one: ReadingFit, lang: str) -> str:
    """Return what a person calls a reading, in the language of the sheet."""
    name = reading_named(one.name, lang)
    if one.part in ("along", "out", "right"):
        name += f", {word(f'reading-{one.part}', lang)}"
    return name if one.used else f"{name} *"


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
                0.0 - p.y if p else None,  # plan y runs into the house; a crew stands in the yard
                max(p.sx, p.sy) if p else None,
                h.height - base if h else None,
                h.sd if h else None,
            )
        )
    name = datum_name(plan)
    return Table(
        "points",
        Both(
            f"Points: right of the first corner and out from it, height from {name}",
            f"Puntos: a la derecha de la primera esquina y hacia afuera, altura desde {name}",
        ),
        (
            Column("point", "Point", "Punto"),
            Column("x", "Right", "Derecha", "fine_length"),
            Column("out", "Out", "Hacia afuera", "fine_length"),
            Column("sure", "Sure to", "Seguro a", "fine_length"),
            Column("height", "Height", "Altura", "height_difference"),
            Column("height_sure", "Sure to", "Seguro a", "fine_length"),
        ),
        tuple(rows),
    )


def grades(plan: Plan) -> Table:
    """Return the finished height of every corner and joint end, from the datum."""
    base = datum_height(plan)
    name = datum_name(plan)
    return Table(
        "grades",
        Both(
            f"Finished heights, up (+) or down (-) from {name}",
            f"Alturas terminadas, arriba (+) o abajo (-) de {name}",
        ),
        (
            Column("slab", "Slab", "Losa"),
            Column("at", "Mark", "Marca"),
            Column("height", "Finished top", "Superficie", "height_difference"),
            Column("fixed", "Set by", "Fijado por"),
        ),
        tuple(
            (s.spec.name, n.label, n.z - base, n.fixed)
            for s in plan.shaped.slabs
            for n in s.height_plan.nodes
            if not n.shape_only
        ),
    )


JOINT_COLUMNS = (
    Column("kind", "Kind", "Tipo"),
    Column("length", "Length", "Largo", "length"),
    Column("depth", "Depth", "Profundidad", "inches"),
    Column("made", "Made", "Hecha"),
    Column("why", "Asked for by", "Pedida por"),
)


def joint_row(joint: Joint, lang: str) -> tuple[Cell, ...]:
    return (
        word(joint.kind, lang),
        sum(math.dist(p, q) for p, q in pairwise(joint.line)),
        joint.depth,
        word(joint.made, lang),
        " ".join(filter(None, (word(f"why-{joint.why}", lang), joint.against))),
    )


def joints(plan: Plan, lang: str = "en") -> Table:
    """Return every joint: kind, length, depth, how it is made and what asked for it."""
    return Table(
        "joints",
        Both("Joints", "Juntas"),
        (Column("slab", "Slab", "Losa"), Column("number", "No.", "Núm.", "count"), *JOINT_COLUMNS),
        tuple(
            (s.spec.name, i, *joint_row(j, lang))
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
            (s.spec.name, p.name, p.long, p.short, p.area, concrete_in(s, p.ring, p.area))
            for s in plan.shaped.slabs
            for p in s.joint_plan.panels
        ),
    )


def assumed(plan: Plan, lang: str = "en") -> Table:
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
            (s.spec.name, _taken(t.field, lang), _taken_as(t.value, lang), source(t.source).cite(lang))
            for s in plan.shaped.slabs
            for t in s.spec.taken
        ),
    )


def _taken(field: str, lang: str) -> str:
    return word("taken-" + field.replace(".", "-"), lang)


def _taken_as(value: Cell, lang: str) -> Cell:
    """Return a value that was taken: a word of the job file in the language of the sheet."""
    return word(f"taken-word-{value}", lang) if f"taken-word-{value}" in words() else value


def assumed_by_source(plan: Plan, lang: str = "en") -> Table:
    """Return the defaults that were taken, those of one source in one row."""
    heap: dict[tuple[str, str], list[str]] = {}
    for slab in plan.shaped.slabs:
        for t in slab.spec.taken:
            value = written(_taken_as(t.value, lang), "text", system=plan.notes.units, lang=lang)
            rows = heap.setdefault((slab.spec.name, source(t.source).cite(lang)), [])
            rows.append(f"{_taken(t.field, lang)}: {value}")
    return Table(
        "assumed-by-source",
        Both("Taken because the notes do not say", "Supuesto porque las notas no lo dicen"),
        (
            Column("slab", "Slab", "Losa"),
            Column("taken", "Taken as", "Tomado como"),
            Column("source", "Source", "Fuente"),
        ),
        tuple((slab, "; ".join(taken), cite) for (slab, cite), taken in heap.items()),
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
            Column("level", "Level", "Clase"),
            Column("where", "Where", "Dónde"),
            Column("what", "What", "Qué"),
            Column("why", "Why", "Por qué"),
            Column("do", "Do", "Qué hacer"),
            Column("source", "Source", "Fuente"),
            Column("line", "Line", "Línea", "count"),
        ),
        tuple(rows),
    )
