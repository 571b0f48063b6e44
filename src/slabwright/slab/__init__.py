"""What is wanted: outline, joints, panels, heights, drainage, thickness, steel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from slabwright.slab.model import XY, Shaped, Slab

if TYPE_CHECKING:  # the ground's door loads geometry, which `--help` must not wait for
    from slabwright.ground.model import Ground
    from slabwright.notes.spec import SlabSpec

__all__ = ["Shaped", "Slab", "shape"]


def shape(
    specs: Sequence[SlabSpec], points: Mapping[str, XY], heights: Mapping[str, float], ground: Ground
) -> Shaped:
    """Return all slabs of a job, shaped: the room's door.

    `specs` say what is wanted, `points` are named places [m], `heights` named heights [m] above the
    datum, `ground` is what is there. ValueError when a slab has no shape at all.
    """
    from slabwright.slab.shaping import shape_slabs  # numerics are loaded only when a slab is shaped

    return shape_slabs(specs, points, heights, ground)
