"""The tables of steel: bars to cut, bend and buy, bars across joints, sheets of mesh."""

from __future__ import annotations

from collections import Counter

from slabwright.build.model import BarList
from slabwright.measure import Both, Quantity, write
from slabwright.result import Plan
from slabwright.sheets.job_tables_build import pieces_text
from slabwright.sheets.tables import Cell, Column, Table
from slabwright.sheets.words import word

_SLAB = Column("slab", "Slab", "Losa")


def bars(plan: Plan, lang: str = "en") -> Table:
    """Return the pieces to cut and the stock to buy, by kind and number."""
    rows: list[tuple[Cell, ...]] = []
    for lot in plan.built.steel:
        name = _bar_name(lot, lang)
        rows += [(name, word("bar-cut", lang), count, length, lot.lap) for length, count in lot.pieces]
        rows += [(name, word("bar-buy", lang), count, length, None) for length, count in lot.stock]
    return Table(
        "bars",
        Both("Steel: cut, and buy", "Acero: cortar y comprar"),
        (
            Column("bar", "Steel", "Acero"),
            Column("do", "Do", "Qué hacer"),
            Column("count", "Pieces", "Piezas", "count"),
            Column("length", "Length", "Largo", "length"),
            Column("lap", "Lap", "Traslape", "inches"),
        ),
        tuple(rows),
    )


def _bar_name(lot: BarList, lang: str) -> str:
    return lot.number if lot.kind == "mesh" else f"{word(f'steel-{lot.kind}', lang)} #{lot.number}"


def bar_cuts(plan: Plan, lang: str = "en") -> Table:
    """Return how each stock bar is cut; bars that are cut alike in one row."""
    heap: Counter[tuple[str, float, str, float]] = Counter()
    for lot in plan.built.steel:
        for one in lot.cuts:
            heap[
                _bar_name(lot, lang), one.stock, pieces_text(one.pieces, "length", plan.notes.units), one.left
            ] += 1
    return Table(
        "bar-cuts",
        Both("Cut each bar like this", "Corte cada varilla así"),
        (
            Column("bar", "Steel", "Acero"),
            Column("count", "Bars", "Varillas", "count"),
            Column("stock", "Of", "De", "length"),
            Column("cuts", "Cut", "Cortar"),
            Column("left", "Left over", "Sobra", "length"),
        ),
        tuple((bar, count, stock, cuts, left) for (bar, stock, cuts, left), count in heap.items()),
    )


def bends(plan: Plan, lang: str = "en") -> Table:
    """Return the bars to bend: their legs in order and the turn between each two."""
    system = plan.notes.units
    rows: list[tuple[Cell, ...]] = []
    for lot in plan.built.steel:
        for one in lot.bent:
            turns = ", ".join(write(Quantity("angle", turn), system=system) for turn in one.turns)
            rows.append((one.slab, _bar_name(lot, lang), pieces_text(one.legs, "length", system), turns))
    return Table(
        "bends",
        Both("Bars to bend", "Varillas por doblar"),
        (
            _SLAB,
            Column("bar", "Steel", "Acero"),
            Column("legs", "Legs", "Tramos"),
            Column("turns", "Turn", "Giro"),
        ),
        tuple(rows),
    )


def dowels(plan: Plan, lang: str = "en") -> Table:
    """Return the bars across joints: how many, how thick and long, and how deep they are drilled."""
    return Table(
        "dowels",
        Both("Bars across joints", "Pasajuntas"),
        (
            _SLAB,
            Column("to", "To", "Con"),
            Column("bar", "Steel", "Acero"),
            Column("count", "Pieces", "Piezas", "count"),
            Column("length", "Length", "Largo", "inches"),
            Column("apart", "Apart", "Separadas", "inches"),
            Column("below", "Below the top", "Bajo la superficie", "inches"),
            Column("drilled", "Drilled", "Taladro"),
        ),
        tuple(
            (
                slab.spec.name,
                row.against,
                f"{word(f'steel-{row.kind}', lang)} #{row.number}",
                len(row.at),
                row.length,
                row.spacing,
                row.depth,
                write(Quantity("inches", row.hole), system=plan.notes.units, lang=lang)
                if row.hole
                else word("bar-cast", lang),
            )
            for slab in plan.shaped.slabs
            for row in slab.steel.dowels
        ),
    )


def mesh_sheets(plan: Plan) -> Table:
    """Return the sheets of mesh as laid, laps and all; those of one length in one row."""
    heap: Counter[tuple[str, str, float, float]] = Counter(
        (slab.spec.name, slab.steel.number, round(sheet.length, 3), round(sheet.width, 3))
        for slab in plan.shaped.slabs
        for sheet in slab.steel.sheets
    )
    return Table(
        "mesh-sheets",
        Both("Sheets of mesh as laid", "Hojas de malla como se tienden"),
        (
            _SLAB,
            Column("mesh", "Mesh", "Malla"),
            Column("count", "Sheets", "Hojas", "count"),
            Column("length", "Long", "Largo", "length"),
            Column("width", "Wide", "Ancho", "length"),
        ),
        tuple((slab, style, count, long, wide) for (slab, style, long, wide), count in heap.items()),
    )
