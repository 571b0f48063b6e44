"""Joints: where the slab is meant to crack, proved the best set of lines; and what it is kept apart from."""

from slabwright.slab.joints.plan import plan_joints

__all__ = ["plan_joints"]
