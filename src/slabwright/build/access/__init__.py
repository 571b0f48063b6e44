"""Where the truck stands, how concrete gets to each panel, and the order that shuts nobody in."""

from slabwright.build.access.plan import plan_access

__all__ = ["plan_access"]
