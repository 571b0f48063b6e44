"""The tables of where the water goes: over each side, against walls, and where it stands."""

from __future__ import annotations

from slabwright.measure import Both
from slabwright.result import Plan
from slabwright.sheets.tables import Column, Table
from slabwright.sheets.words import word

LEAST_AREA = 0.01  # m2; a side that sheds less is left out


def edges(plan: Plan, lang: str = "en") -> Table:
    """Return the rain that leaves each slab over each side of it."""
    return Table(
        "water-edges",
        Both("Rain leaves the slabs here", "La lluvia sale de las losas por aquí"),
        (
            Column("slab", "Slab", "Losa"),
            Column("over", "Over", "Por"),
            Column("area", "From", "De", "area"),
            Column("flow", "In the storm", "En la tormenta", "flow"),
            Column("depth", "Deep", "Hondo", "inches"),
        ),
        tuple(
            (
                e.slab,
                " ".join(filter(None, (word(f"edge-{e.kind}", lang), e.against))),
                e.area,
                e.flow,
                e.depth,
            )
            for e in plan.water.edges
            if e.area >= LEAST_AREA
        ),
    )


def ponds(plan: Plan, lang: str = "en") -> Table:
    """Return where water stands, how deep, and whether it did before."""
    return Table(
        "ponds",
        Both("Water stands here", "Aquí se estanca el agua"),
        (
            Column("kind", "Where", "Dónde"),
            Column("where", "At", "En"),
            Column("depth", "Deep", "Hondo", "inches"),
            Column("area", "Area", "Área", "area"),
            Column("new", "New", "Nuevo"),
        ),
        tuple(
            (word(f"pond-{p.kind}", lang), p.where, p.depth, p.area, word("yes" if p.new else "no", lang))
            for p in plan.water.ponds
        ),
    )
