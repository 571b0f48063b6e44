"""The view in space in words: how much each panel falls and which way, as a table of the one model."""

from __future__ import annotations

import math

from slabwright.measure import Both
from slabwright.office.words import word
from slabwright.result import Plan
from slabwright.sheets.scene import datum_height
from slabwright.sheets.scene_slab import fall_of
from slabwright.sheets.tables import Cell, Column, Table

# Eighths of a turn, counter-clockwise from 'right as one faces the house'.
WAYS = ("right", "house-right", "house", "house-left", "left", "yard-left", "yard", "yard-right")


def way_of(fall: tuple[float, float]) -> str:
    """Return which of WAYS a fall [-] points to, as one faces the house from the yard."""
    eighth = round(math.atan2(fall[1], fall[0]) / (math.pi / 4)) % 8
    return WAYS[eighth]


def falls(plan: Plan, lang: str) -> Table:
    """Return each panel with its steepest fall, where that leads, and its highest and lowest corner."""
    base = datum_height(plan)
    rows: list[tuple[Cell, ...]] = []
    several = len(plan.shaped.slabs) > 1
    for slab in plan.shaped.slabs:
        nodes = slab.height_plan.nodes
        for panel in slab.joint_plan.panels:
            own = [facet for facet in slab.height_plan.facets if facet.panel == panel.name]
            ways = [fall for fall in (fall_of(slab, facet) for facet in own) if fall is not None]
            heights = [nodes[i].z - base for facet in own for i in facet.nodes]
            if not heights:
                continue
            steepest = max(ways, key=lambda fall: math.hypot(*fall), default=(0.0, 0.0))
            fall = math.hypot(*steepest)
            to = word(f"way-{way_of(steepest)}", lang) if ways else word("way-level", lang)
            name = (slab.spec.name,) if several else ()
            rows.append((*name, panel.name, fall, to, max(heights), min(heights)))
    return Table(
        "falls",
        Both("How each panel falls, seen from the yard", "Cómo cae cada paño, visto desde el patio"),
        (
            *((Column("slab", "Slab", "Losa"),) if several else ()),
            Column("panel", "Panel", "Paño"),
            Column("fall", "Steepest fall", "Mayor caída", "slope"),
            Column("to", "Towards", "Hacia"),
            Column("high", "Highest corner", "Esquina más alta", "height_difference"),
            Column("low", "Lowest corner", "Esquina más baja", "height_difference"),
        ),
        tuple(rows),
    )
