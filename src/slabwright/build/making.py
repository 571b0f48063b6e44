"""From shaped slabs to what the crew needs to make them: forms, set-out, dig, steel, order, cautions."""

from __future__ import annotations

from slabwright.build.access import plan_access
from slabwright.build.cautions import cautions
from slabwright.build.dig import plan_dig
from slabwright.build.forms import plan_forms
from slabwright.build.kit import check_kit
from slabwright.build.materials import list_materials
from slabwright.build.order import Placing, plan_order
from slabwright.build.set_out import set_out
from slabwright.build.sprinklers import plan_sprinklers
from slabwright.build.steel import cut_bars
from slabwright.build.whole import Built
from slabwright.findings import Finding
from slabwright.ground.model import Ground
from slabwright.measure import System, read
from slabwright.notes.models import Notes
from slabwright.slab.model import Shaped
from slabwright.survey import Survey

# Legs of the three tape pulls that check a square corner: 3-4-5 feet, or half metres.
SQUARE_UNIT = {System.IMPERIAL: read("length", "1 ft"), System.METRIC: read("length", "0.5 m")}


def make_all(notes: Notes, survey: Survey, ground: Ground, shaped: Shaped, *, mapped: bool = True) -> Built:
    """Return the whole making of a job; see `build.make`."""
    forms = plan_forms(shaped, ground, notes.kit, system=notes.units)
    marks = set_out(
        shaped,
        forms,
        ground,
        survey.points,
        heights=survey.heights,
        set_ups=survey.set_ups,
        unit=SQUARE_UNIT[notes.units],
    )
    dig = plan_dig(shaped, ground, system=notes.units, mapped=mapped)
    bars = cut_bars(shaped, stock=notes.kit.bar_stock, system=notes.units)
    places = {p.name: (p.x, p.y) for p in survey.points.values()}
    access = plan_access(shaped, ground, notes, places)
    placing = Placing(access.by_way(), access.hose, access.hose_volume)
    order = plan_order(shaped, notes, placing=placing)
    sprinklers = plan_sprinklers(shaped, ground, notes, places)
    found: list[Finding] = [*marks.findings, *forms.findings]
    found += dig.findings if dig else ()
    for lot in bars:
        found += lot.findings
    found += order.findings
    found += check_kit(notes.kit, shaped)
    found += cautions(shaped, ground, dig, order, system=notes.units)
    # bags come to the slab without a truck
    found += [f for f in access.findings if not (order.bags and f.code == "access-no-stand")]
    found += sprinklers.findings if sprinklers else ()
    materials = list_materials(shaped, forms, bars, dig, order, notes)
    return Built(
        set_out=marks,
        dig=dig,
        forms=forms,
        steel=bars,
        order=order,
        materials=(*materials, *(sprinklers.parts if sprinklers else ())),
        access=access,
        sprinklers=sprinklers,
        findings=tuple(found),
    )
