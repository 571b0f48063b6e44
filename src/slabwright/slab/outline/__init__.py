"""Outlines: rings and ribbons from points, edges, arcs and walls, with what they touch on each side."""

from slabwright.slab.outline.path import OutlineError
from slabwright.slab.outline.plan import meet_slabs, outline

__all__ = ["OutlineError", "meet_slabs", "outline"]
