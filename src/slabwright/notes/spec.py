"""What one slab is asked to be, after the defaults of its use have been filled in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.measure import Quantity
from slabwright.notes.models import Finish, Fix, Meets, Opening, SteelChoice, Use, Vertex


@dataclass(frozen=True, slots=True)
class Taken:
    """A default that was taken: which field, its value, and the source that it leans on."""

    field: str
    value: Quantity | str
    source: str


@dataclass(frozen=True, slots=True)
class FallSpec:
    """Falls as slope ratios [-]; `toward` as written, None where the job does not say.

    On private ground the accessible limits are recommended: `across_most` and `along_most` are kept
    where they can be, and `across_wide` and `along_wide` are what may not be passed. None: the first
    may not be passed either.
    """

    across: float
    across_least: float
    across_most: float
    along_most: float
    from_house: float
    toward: str | None
    crown: bool
    across_given: bool  # the crew wrote the cross fall themselves
    across_wide: float | None = None
    along_wide: float | None = None
    public: bool = True  # the accessible limits bind


@dataclass(frozen=True, slots=True)
class JointSpec:
    """Joint rule. `every` [m] is the crew's own spacing or None; `most` [m] the published limit."""

    every: float | None
    most: float
    aspect_most: float
    made: Literal["tooled", "sawn"]
    depth: float
    dowels: Literal["none", "construction", "existing", "both"] = "construction"
    stop_after: int | None = None

    @property
    def span(self) -> float:
        """Return the longest panel side to plan for [m]: the crew's own spacing, or the published limit."""
        return self.every or self.most

    @property
    def thin(self) -> float | None:
        """Return the most that a panel may be longer than wide [-]; None where the crew spaces the joints."""
        return None if self.every else self.aspect_most


@dataclass(frozen=True, slots=True)
class ThickSpec:
    """Thickened edges: depth from the top and width of the bottom [m], which edges."""

    depth: float
    width: float
    edges: Literal["free", "all"]


@dataclass(frozen=True, slots=True)
class SteelSpec:
    """Steel choice; bar number, spacing [m], cover [m] at the slab's edge."""

    choice: SteelChoice
    bar: str
    spacing: float
    both_ways: bool
    cover: float


@dataclass(frozen=True, slots=True)
class SlabSpec:
    """One slab, fully specified. Lengths in m, strength in Pa."""

    name: str
    use: Use
    line: int | None
    corners: tuple[Vertex, ...]  # a ring, or empty
    along: tuple[Vertex, ...]  # a ribbon's line, or empty
    width: float | None
    side: Literal["centre", "left", "right"]
    thickness: float
    base: float
    meets: tuple[Meets, ...]
    heights: tuple[Fix, ...]
    fall: FallSpec
    joints: JointSpec
    steel: SteelSpec
    openings: tuple[Opening, ...]
    finish: Finish
    aggregate: float
    slump: float
    strength: float
    taken: tuple[Taken, ...]
    thickened: ThickSpec | None = None
