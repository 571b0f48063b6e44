"""Finished heights: a surface that drains, folds at joints only, and meets what is there.

`slabwright.slab.heights.plan.plan_heights` is the door of this part of the room.
"""
