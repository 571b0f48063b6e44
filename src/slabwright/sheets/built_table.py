"""The table of a finished slab against its plan."""

from __future__ import annotations

from slabwright.build.as_built import AsBuilt
from slabwright.measure import Both, step_of
from slabwright.result import Plan
from slabwright.sheets.scene import datum_height, datum_name
from slabwright.sheets.tables import Column, Table
from slabwright.sheets.words import word


def built_table(made: AsBuilt, plan: Plan, lang: str = "en") -> Table:
    """Return the marks with planned and built heights from the job's datum, and the difference."""
    base = datum_height(plan)
    # A rod is read to whole marks: what is less than half of one off is not off.
    seen = 0.5 * step_of("inches", plan.notes.units)
    return Table(
        "as-built",
        Both(f"As built; heights from {datum_name(plan)}", f"Como quedó; alturas desde {datum_name(plan)}"),
        (
            Column("slab", "Slab", "Losa"),
            Column("mark", "Mark", "Marca"),
            Column("planned", "Planned", "Planeado", "height_difference"),
            Column("built", "Built", "Construido", "height_difference"),
            Column("off", "Off by", "Diferencia", "height_difference"),
            Column("within", "Within tolerance", "Dentro de tolerancia"),
        ),
        tuple(
            (
                m.slab,
                m.label,
                m.planned - base,
                m.built - base,
                m.off if abs(m.off) >= seen else 0.0,
                word("yes" if m.within else "no", lang),
            )
            for m in made.marks
        ),
    )
