"""From specs to shaped slabs: outline, joints and panels, finished heights, steel, in that order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from slabwright.findings import Finding
from slabwright.ground.model import Ground
from slabwright.notes.spec import SlabSpec
from slabwright.slab.heights.plan import GRADE, plan_heights
from slabwright.slab.joints import plan_joints
from slabwright.slab.model import XY, JointPlan, Outline, Shaped, Slab
from slabwright.slab.outline import meet_slabs, outline
from slabwright.slab.outline.check import overlapping
from slabwright.slab.steel import plan_steel
from slabwright.slab.thick_edges import thicken


def shape_slabs(
    specs: Sequence[SlabSpec],
    points: Mapping[str, XY],
    heights: Mapping[str, float],
    ground: Ground,
    *,
    grade: float = GRADE,
    datum: float = 0.0,
) -> Shaped:
    """Return all slabs of a job, shaped.

    `points` are named places [m], `heights` named heights [m] above the datum. Slabs that touch carry
    on each other's joints and are solved together for height; finished heights stand on whole marks,
    every `grade` [m] up and down from `datum` [m]. OutlineError (a ValueError) when a
    slab has no shape at all.
    """
    found: list[Finding] = []
    outlines: list[Outline] = []
    for spec in specs:
        made, noticed = outline(spec, points, ground)
        outlines.append(made)
        found += noticed
    found += overlapping(specs, outlines)
    outlines = list(meet_slabs(outlines))
    plans: list[JointPlan] = []
    for k, (spec, own) in enumerate(zip(specs, outlines, strict=True)):
        touching = {e.against for e in own.edges if e.kind == "slab"}
        before = [p for o, p in zip(outlines[:k], plans, strict=True) if o.name in touching]
        plans.append(plan_joints(own, spec, ground, before))
    wanted = list(zip(specs, outlines, plans, strict=True))
    high = plan_heights(wanted, points, heights, ground, grade=grade, datum=datum)
    slabs: list[Slab] = []
    gone = [there.name for there in ground.existing if not there.keeps_height]
    for spec, own, plan, up in zip(specs, outlines, plans, high, strict=True):
        thick, noticed = thicken(own, spec)
        found += noticed
        earlier = [slab.spec.name for slab in slabs]
        steel = plan_steel(own, plan, spec, ground.soil, before=earlier, gone=gone)
        slabs.append(Slab(spec, own, plan, up, steel, thick))
    return Shaped(tuple(slabs), tuple(found))
