"""Sprinklers beside a new slab: pipes under it, heads in its way, and a layout that waters on both sides."""

from slabwright.build.sprinklers.plan import plan_sprinklers

__all__ = ["plan_sprinklers"]
