"""What the check of drainage asks for and answers, as frozen records."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.findings import Finding
from slabwright.slab.drainage.rain import Storm

XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Downspout:
    """Roof water let out at a place: roof area in plan that feeds it [m2]."""

    name: str
    at: XY
    roof: float


@dataclass(frozen=True, slots=True)
class Inlet:
    """A drain's grate that takes all water that reaches it."""

    name: str
    at: XY


@dataclass(frozen=True, slots=True)
class TrenchDrain:
    """A drain along a line: inner width and depth [m], and the fall of its bottom [-]."""

    name: str
    line: tuple[XY, ...]
    width: float = 0.1016
    depth: float = 0.1016
    fall: float = 0.005


@dataclass(frozen=True, slots=True)
class EdgeFlow:
    """Rain of the new slabs that leaves over one side of an outline.

    `area` [m2] sheds to it; `flow` is the storm's peak [m3/s]; `depth` that of the sheet of water where it
    is thickest [m].
    """

    slab: str
    kind: str  # free | wall | existing | slab | opening
    against: str | None
    p: XY
    q: XY
    area: float
    flow: float
    depth: float


@dataclass(frozen=True, slots=True)
class WallWater:
    """Water of yard and slabs that runs to a wall, now and before: flow [m3/s] of the storm, now.

    `area` is that of sealed ground which would shed as much: C times the area, summed [m2].
    """

    wall: str
    area: float
    area_before: float
    flow: float


@dataclass(frozen=True, slots=True)
class Pond:
    """Water that stands: deepest place, depth [m], volume [m3], area [m2], outline.

    `kind`: slab (on the finished surface itself), dammed (on the slab, held by ground around it), yard.
    `where` is the slab or the wall it lies at, or empty. `new` when it was not there before.
    """

    kind: Literal["slab", "dammed", "yard"]
    where: str
    at: XY
    depth: float
    volume: float
    area: float
    ring: tuple[XY, ...]
    new: bool


@dataclass(frozen=True, slots=True)
class RoofWater:
    """Where a downspout's water goes: path [m], slabs it crosses, how it ends, and its flow [m3/s]."""

    downspout: str
    path: tuple[XY, ...]
    crosses: tuple[str, ...]
    ends: Literal["away", "drain", "wall", "pond"]
    flow: float


@dataclass(frozen=True, slots=True)
class Drainage:
    """Where the water of one storm goes once the slabs are built.

    `arrows` (start, vector) point downhill on slabs, `yard_arrows` on the ground around; a vector's length
    is the slope [-]. `drains` maps a drain to the peak flow it takes [m3/s]. `cell` is the side of the
    raster's cells [m], None where no ground was shot and the yard was not looked at.
    """

    storm: Storm
    arrows: tuple[tuple[XY, XY], ...]
    yard_arrows: tuple[tuple[XY, XY], ...]
    edges: tuple[EdgeFlow, ...]
    walls: tuple[WallWater, ...]
    ponds: tuple[Pond, ...]
    ponds_before: tuple[Pond, ...]
    roofs: tuple[RoofWater, ...]
    drains: dict[str, float]
    cell: float | None
    findings: tuple[Finding, ...]
