"""NRMCA CIP 6, 'Joints in Concrete Slabs on Grade': where isolation joints go.

As read: a full-depth isolation joint parts the slab from walls, columns, posts and other slabs.
"""

from __future__ import annotations

from tests.slab import shape_cases as c

from slabwright.slab.joints import plan_joints
from slabwright.slab.outline import outline

FT = 0.3048


def test_walls_posts_and_other_slabs_are_isolated_full_depth() -> None:
    """One patio with each of them on it."""
    names, points = c.ring([(0, 0), (20, 0), (20, 12), (0, 12)])
    points |= c.feet({"T": (10.0, 6.0)})
    beside = c.existing("walk", ring=[(x * FT, y * FT) for x, y in [(20, 0), (40, 0), (40, 4), (20, 4)]])
    there = c.ground(walls=[c.wall("A-B", (-1.0, 12 * FT), (30.0, 12 * FT))], existing=[beside])
    spec = c.spec(names, openings=(c.Opening(name="porch post", kind="post", at="T", across="6 in"),))
    o, _ = outline(spec, points, there)
    plan = plan_joints(o, spec, there)
    filler = [j for j in plan.joints if j.kind == "isolation"]
    assert {(j.why, j.against) for j in filler} == {
        ("wall", "A-B"), ("post", "porch post"), ("meets", "walk"),
    }  # fmt: skip
    assert {(j.depth, j.made) for j in filler} == {(spec.thickness, "filler")}
    # the filler runs the whole length of what it parts the slab from
    runs = {j.against: sum(_far(a, b) for a, b in zip(j.line, j.line[1:], strict=False)) for j in filler}
    assert abs(runs["A-B"] - 20 * FT) < 1e-6
    assert abs(runs["walk"] - 4 * FT) < 1e-6
    assert abs(runs["porch post"] - 3.14159 * 0.5 * FT) < 0.01


def _far(a: tuple[float, float], b: tuple[float, float]) -> float:
    return float(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5)
