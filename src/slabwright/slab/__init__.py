"""What is wanted: outline, joints, panels, heights, drainage, thickness, steel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from slabwright.measure import System, step_of
from slabwright.slab.datum import datum_name
from slabwright.slab.model import XY, Shaped, Slab

if TYPE_CHECKING:  # the ground's door loads geometry, which `--help` must not wait for
    from slabwright.ground.model import Ground
    from slabwright.notes.models import WaterNotes
from slabwright.notes.spec import SlabSpec
from slabwright.slab.drainage.model import Drainage

__all__ = ["Drainage", "Shaped", "Slab", "datum_name", "drain", "shape"]


def shape(
    specs: Sequence[SlabSpec],
    points: Mapping[str, XY],
    heights: Mapping[str, float],
    ground: Ground,
    *,
    datum: str | None = None,
    units: System = System.IMPERIAL,
) -> Shaped:
    """Return all slabs of a job, shaped: the room's door.

    `specs` say what is wanted, `points` are named places [m], `heights` named heights [m], `ground` is
    what is there. Finished heights stand on the marks in which `units` writes them, counted from the
    height named `datum` (the first sill, else the first height, where it is not named). ValueError when
    a slab has no shape at all.
    """
    from slabwright.slab.shaping import shape_slabs  # numerics are loaded only when a slab is shaped

    base = heights.get(datum_name(datum, heights, ground.doors), 0.0)
    return shape_slabs(specs, points, heights, ground, grade=step_of("height_difference", units), datum=base)


def drain(notes: WaterNotes, points: Mapping[str, XY], shaped: Shaped, ground: Ground) -> Drainage:
    """Return where the rain goes on the finished slabs and in the yard, before and after.

    `notes`: the rain to check against (the usual one where it names none), downspouts and drains;
    `points` are named places [m].
    """
    from slabwright.slab.drainage.model import Downspout, Inlet, TrenchDrain
    from slabwright.slab.drainage.plan import drain as drained  # numerics are loaded only here
    from slabwright.slab.drainage.rain import storm_of

    usual = TrenchDrain("", ())
    yard_cell = 0.1524  # 6 in: fine enough for a yard's ponds, and quick enough to follow every edit
    return drained(
        shaped.slabs,
        ground,
        storm_of(notes.rain, notes.lasts),
        downspouts=[Downspout(d.name, points[d.at], d.roof) for d in notes.downspouts if d.at in points],
        inlets=[Inlet(i.name, points[i.at]) for i in notes.inlets if i.at in points],
        trenches=[
            TrenchDrain(
                t.name,
                tuple(points[name] for name in t.along),
                t.width or usual.width,
                t.depth or usual.depth,
                t.fall or usual.fall,
            )
            for t in notes.trench_drains
            if all(name in points for name in t.along)
        ],
        cell=yard_cell,
    )
