"""Joints at a post hole: straight on through it where that makes good panels, and said where it does not."""

from __future__ import annotations

import pytest
from shapely import Polygon
from tests.slab import shape_cases as c
from tests.slab.shape_cases import FT, Opening

from slabwright import solving
from slabwright.slab.joints import plan_joints
from slabwright.slab.joints.rules import rules
from slabwright.slab.model import Hole, JointPlan
from slabwright.slab.outline import outline

SIDE = 8 * FT


def pad(x: float, y: float, across: str = "6 in") -> tuple[JointPlan, Hole]:
    """An 8 ft pad with one post hole at (x, y) [ft] from its corner."""
    points = {"a": (0.0, 0.0), "b": (SIDE, 0.0), "d": (SIDE, SIDE), "e": (0.0, SIDE), "T": (x * FT, y * FT)}
    post = Opening(name="post", kind="post", at="T", across=across)
    spec = c.spec(("a", "b", "d", "e"), openings=(post,))
    there = c.ground()
    shape, _ = outline(spec, points, there)
    (hole,) = shape.holes
    return plan_joints(shape, spec, there), hole


def bent(plan: JointPlan, hole: Hole) -> list[str]:
    """Panels that leave out a corner of the rectangle round them, by more than the post takes."""
    post = Polygon(hole.ring).area
    found = []
    for panel in plan.panels:
        shape = Polygon(panel.ring)
        left_out = shape.minimum_rotated_rectangle.area - shape.area
        if left_out > post + 1e-6:
            found.append(panel.name)
    return found


@pytest.mark.parametrize("across", ["6 in", "8 in", "14 in"])
@pytest.mark.parametrize(("x", "y"), [(4, 4), (3, 5), (4, 6), (1.5, 4), (5, 3), (4, 2)])
def test_a_joint_runs_straight_on_past_a_post(x: float, y: float, across: str) -> None:
    plan, hole = pad(x, y, across)
    assert bent(plan, hole) == []
    assert "panel-round-opening" not in [f.code for f in plan.findings]
    assert plan.proved


@pytest.mark.parametrize(("x", "y"), [(7, 1), (7.4, 7.4), (1, 7), (2, 2)])
def test_a_panel_that_bends_round_a_post_is_named(x: float, y: float) -> None:
    """So near a corner a joint straight on would cut a strip too thin for its length."""
    plan, hole = pad(x, y)
    (name,) = bent(plan, hole)
    (found,) = [f for f in plan.findings if f.code == "panel-round-opening"]
    assert found.where == f"slab, panel {name}"
    assert found.values["of"] == "post"


def test_what_a_bend_weighs_decides(monkeypatch: pytest.MonkeyPatch) -> None:
    """Were a bent panel worth any length of joint, the strip beside the edge would be cut."""
    import dataclasses

    from slabwright.slab.joints import ring

    heavy = dataclasses.replace(rules(), cost_angled=1e3)
    monkeypatch.setattr(ring, "rules", lambda: heavy)
    solving.forget()
    plan, hole = pad(7, 1)
    solving.forget()
    assert bent(plan, hole) == []
    assert len(plan.panels) > 3
