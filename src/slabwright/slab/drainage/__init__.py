"""Where the rain goes: over the new slabs, to their edges, and round the yard.

`slabwright.slab.drainage.plan.drain` is the door of this part of the room; `model` loads no numerics.
"""
