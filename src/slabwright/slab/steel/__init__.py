"""Steel and what stands in for it: bars, mesh, fibres, ties and dowels, laid out in the slab."""

from slabwright.slab.steel.plan import plan_steel

__all__ = ["plan_steel"]
