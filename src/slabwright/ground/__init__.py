"""What is there: the house, its doors, slabs, trees, buried lines, and the ground between them."""

from __future__ import annotations

from slabwright.ground.site import survey_ground
from slabwright.ground.surface import beyond, grid_heights, ground_height, outside_hull

__all__ = ["beyond", "grid_heights", "ground_height", "outside_hull", "survey_ground"]
