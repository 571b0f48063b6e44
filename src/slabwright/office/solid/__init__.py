"""Slab and ground in space: their shapes as plain data for the page's renderer, and the same in words."""

from slabwright.office.solid.scene import solid

__all__ = ["solid"]
