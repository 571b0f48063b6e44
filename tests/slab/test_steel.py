"""Steel as laid: inside the cover, never wider apart than asked, trimmed, counted."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.findings import Level
from slabwright.notes.spec import FallSpec, JointSpec, SlabSpec, SteelSpec, ThickSpec
from slabwright.slab.model import XY, Edge, Hole, Joint, JointPlan, Outline
from slabwright.slab.steel.layout import length_of, long_direction, sharpest_bend
from slabwright.slab.steel.plan import bar_depth, plan_steel
from slabwright.slab.thickness import check_thickness

IN = 0.0254
FT = 0.3048
PSI = 6894.757293168361


def spec(
    *,
    choice: str = "bars",
    bar: str = "4",
    spacing: float = 24 * IN,
    both_ways: bool = True,
    cover: float = 3 * IN,
    thickness: float = 4 * IN,
    use: str = "patio",
    side: str = "centre",
    strength: float = 4000 * PSI,
) -> SlabSpec:
    return SlabSpec(
        name="test slab",
        use=use,  # type: ignore[arg-type]
        line=None,
        corners=(),
        along=(),
        width=None,
        side=side,  # type: ignore[arg-type]
        thickness=thickness,
        base=4 * IN,
        meets=(),
        heights=(),
        fall=FallSpec(0.02, 0.01, 1 / 48, 0.05, 0.02, None, False, False),
        joints=JointSpec(None, 8 * FT, 1.5, "tooled", 1 * IN),
        steel=SteelSpec(choice, bar, spacing, both_ways, cover),  # type: ignore[arg-type]
        openings=(),
        finish="broom",
        aggregate=0.75 * IN,
        slump=4 * IN,
        strength=strength,
        taken=(),
    )


def ring(points: list[XY], holes: tuple[Hole, ...] = ()) -> Outline:
    """A ring (counter-clockwise) with free sides."""
    edges = tuple(Edge(p, q, "free", None) for p, q in zip(points, points[1:] + points[:1], strict=True))
    area = sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(points, points[1:] + points[:1], strict=True)) / 2
    return Outline(
        "test slab", tuple(points), edges, holes, (), None, area, sum(math.dist(e.p, e.q) for e in edges)
    )


def rectangle(length: float, width: float, angle: float = 0.0, at: XY = (0.0, 0.0)) -> Outline:
    c, s = math.cos(angle), math.sin(angle)
    corners = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    return ring([(at[0] + c * x - s * y, at[1] + s * x + c * y) for x, y in corners])


def ribbon(axis: list[XY], width: float) -> Outline:
    """A straight or once-bent ribbon about its centre line, mitred."""
    left, right = [], []
    for i, (x, y) in enumerate(axis):
        ways = [
            math.atan2(b[1] - a[1], b[0] - a[0])
            for a, b in ((axis[max(0, i - 1)], axis[i]), (axis[i], axis[min(len(axis) - 1, i + 1)]))
            if a != b
        ]
        mean = math.atan2(sum(map(math.sin, ways)), sum(map(math.cos, ways)))
        out = width / 2 / math.cos(mean - ways[0])
        left.append((x - out * math.sin(mean), y + out * math.cos(mean)))
        right.append((x + out * math.sin(mean), y - out * math.cos(mean)))
    base = ring(right + left[::-1])
    return Outline(base.name, base.ring, base.edges, (), tuple(axis), width, base.area, base.perimeter)


def no_joints() -> JointPlan:
    return JointPlan((), (), 0.0, 0.0, True, ())


def joint(kind: str, *line: XY) -> JointPlan:
    made = Joint(kind, tuple(line), 0.1, "filler", "line-up")  # type: ignore[arg-type]
    return JointPlan((made,), (), 0.0, 0.0, True, ())


def codes(found: object) -> set[str]:
    return {f.code for f in found}  # type: ignore[attr-defined]


def test_patio_12_by_20() -> None:
    """Both ways at 24 in with 3 in to the edge: 7 long bars of 19 ft 6 in, 11 across of 11 ft 6 in."""
    plan = plan_steel(rectangle(20 * FT, 12 * FT), no_joints(), spec())
    lengths = sorted(round(length_of(bar.line) / FT, 3) for bar in plan.bars)
    assert lengths == [11.5] * 11 + [19.5] * 7
    assert plan.length / FT == pytest.approx(263, abs=0.01)
    assert plan.mass / 0.45359237 == pytest.approx(175.7, abs=0.05)


def test_bars_of_a_walk_run_the_long_way() -> None:
    walk = ribbon([(0.0, 0.0), (30 * FT, 0.0)], 3 * FT)
    plan = plan_steel(walk, no_joints(), spec(both_ways=False, spacing=18 * IN))
    assert len(plan.bars) == 3
    for bar in plan.bars:
        (x0, y0), (x1, y1) = bar.line[0], bar.line[-1]
        assert abs(y1 - y0) < 1e-9
        assert abs(x1 - x0) == pytest.approx(30 * FT - 6 * IN, abs=1e-3)
    assert plan.ties == 0


@pytest.mark.parametrize(("side", "low"), [("centre", -1.5 * FT), ("left", 0.0), ("right", -3 * FT)])
def test_bars_lie_on_the_side_that_the_slab_lies(side: str, low: float) -> None:
    made = rectangle(30 * FT, 3 * FT, at=(0.0, low))
    walk = Outline(
        made.name, made.ring, made.edges, (), ((0.0, 0.0), (30 * FT, 0.0)), 3 * FT, made.area, made.perimeter
    )
    plan = plan_steel(walk, no_joints(), spec(both_ways=True, side=side))
    ys = [y for bar in plan.bars for _, y in bar.line]
    assert min(ys) == pytest.approx(low + 3 * IN, abs=1e-3)
    assert max(ys) == pytest.approx(low + 3 * FT - 3 * IN, abs=1e-3)


@settings(max_examples=30, deadline=None)
@given(
    length=st.floats(1.2, 12),
    width=st.floats(1.0, 8),
    angle=st.floats(0, math.pi),
    spacing=st.sampled_from([12 * IN, 18 * IN, 24 * IN]),
    cover=st.sampled_from([2 * IN, 3 * IN]),
)
def test_no_bar_leaves_the_concrete_and_none_is_too_far(
    length: float, width: float, angle: float, spacing: float, cover: float
) -> None:
    outline = rectangle(length, width, angle, at=(3.0, -7.0))
    plan = plan_steel(outline, no_joints(), spec(spacing=spacing, cover=cover))
    inner = shapely.Polygon(outline.ring).buffer(-cover + 0.011, join_style="mitre")
    bars = shapely.MultiLineString([bar.line for bar in plan.bars])
    assert inner.covers(bars)
    # Anywhere inside the cover is at most half a spacing from a bar.
    reach = bars.buffer(spacing / 2 + 1e-3, cap_style="square")
    assert inner.buffer(-2e-3, join_style="mitre").difference(reach).area < 1e-6


def test_a_side_a_hair_off_square_keeps_its_bar_whole() -> None:
    """Measured corners are never exactly square; the bar beside the side must not become a stub."""
    outline = ring([(0.0, 0.0), (6.0, 0.004), (6.003, 4.0), (-0.003, 3.997)])
    plan = plan_steel(outline, no_joints(), spec(spacing=18 * IN))
    lengths = sorted(length_of(bar.line) for bar in plan.bars)
    assert lengths[0] > 4.0 - 7 * IN
    # 3.85 m across in 9 spaces and 5.85 m along in 13, none over 18 in.
    assert (sum(x > 5 for x in lengths), sum(x < 5 for x in lengths)) == (10, 14)


def test_long_way_of_a_turned_patio() -> None:
    outline = rectangle(20 * FT, 12 * FT, math.radians(31))
    assert math.degrees(long_direction(outline)) == pytest.approx(31, abs=1e-6)
    outline = rectangle(12 * FT, 20 * FT, math.radians(31))
    assert math.degrees(long_direction(outline)) == pytest.approx(121, abs=1e-6)


def test_bars_stop_at_isolation_joints_and_run_through_contraction_joints() -> None:
    outline = rectangle(20 * FT, 4 * FT)
    at = ((10 * FT, 0.0), (10 * FT, 4 * FT))
    through = plan_steel(outline, joint("contraction", *at), spec(both_ways=False))
    stopped = plan_steel(outline, joint("isolation", *at), spec(both_ways=False))
    assert len(stopped.bars) == 2 * len(through.bars)
    line = shapely.LineString(at)
    assert min(shapely.LineString(bar.line).distance(line) for bar in stopped.bars) >= 3 * IN - 1e-6
    assert all(shapely.LineString(bar.line).crosses(line) for bar in through.bars)


def test_openings_are_boxed_and_no_bar_crosses_them() -> None:
    post = Hole(
        "post",
        "post",
        tuple(
            (10 * FT + 0.15 * math.cos(a), 6 * FT - 0.15 * math.sin(a))
            for a in [2 * math.pi * i / 48 for i in range(48)]
        ),
        0.15,
    )
    box = Hole("box", "box", ((4 * FT, 4 * FT), (4 * FT, 5 * FT), (5 * FT, 5 * FT), (5 * FT, 4 * FT)), None)
    plain = rectangle(20 * FT, 12 * FT)
    outline = ring(list(plain.ring), (post, box))
    plan = plan_steel(outline, no_joints(), spec())
    for hole in (post, box):
        clear = shapely.Polygon(hole.ring)
        assert min(shapely.LineString(bar.line).distance(clear) for bar in plan.bars) >= 3 * IN - 1e-6
    assert "steel-openings" in codes(plan.findings)
    trims = [
        bar for bar in plan.bars if shapely.LineString(bar.line).distance(shapely.Polygon(post.ring)) < 4 * IN
    ]
    assert len(trims) >= 4


def test_inside_corner_gets_diagonals_unless_a_joint_meets_it() -> None:
    corners = [(0.0, 0.0), (6.0, 0.0), (6.0, 2.0), (3.0, 2.0), (3.0, 5.0), (0.0, 5.0)]
    outline = ring(corners)
    bare = plan_steel(outline, no_joints(), spec())
    assert "steel-corners" in codes(bare.findings)
    diagonals = [b for b in bare.bars if abs(length_of(b.line) - 30 * IN) < 1e-3]
    assert len(diagonals) == 2
    for bar in diagonals:
        (x0, y0), (x1, y1) = bar.line
        assert abs((x1 - x0) / (y1 - y0)) == pytest.approx(1.0, abs=1e-6)
        assert shapely.Polygon(outline.ring).buffer(-1e-3).covers(shapely.LineString(bar.line))
    met = plan_steel(outline, joint("contraction", (3.0, 2.0), (3.0, 0.0)), spec())
    assert "steel-corners" not in codes(met.findings)


def test_bent_ribbon_keeps_its_spacing() -> None:
    walk = ribbon([(0.0, 0.0), (6.0, 0.0), (10.0, 3.0)], 1.2)
    plan = plan_steel(walk, no_joints(), spec(both_ways=True, spacing=18 * IN))
    inner = shapely.Polygon(walk.ring).buffer(-3 * IN + 0.011, join_style="mitre")
    assert inner.covers(shapely.MultiLineString([bar.line for bar in plan.bars]))
    long_bars = [bar for bar in plan.bars if length_of(bar.line) > 5]
    assert len(long_bars) == 4
    assert sharpest_bend(long_bars[0].line) == pytest.approx(math.atan2(3, 4), abs=1e-6)
    glass = plan_steel(walk, no_joints(), spec(choice="gfrp", both_ways=False))
    assert "steel-gfrp-bent" in codes(glass.findings)
    # no glass bar is bent: two straight ones cross at the bend and run a lap past it
    assert all(sharpest_bend(bar.line) < math.radians(10) for bar in glass.bars)
    steel = plan_steel(walk, no_joints(), spec(both_ways=False))
    bent = [bar for bar in steel.bars if len(bar.line) > 2]
    assert len(glass.bars) == len(steel.bars) + len(bent)
    assert inner.covers(shapely.MultiLineString([bar.line for bar in glass.bars]))
    for bar in bent:
        legs = [
            leg
            for leg in glass.bars
            if shapely.LineString(leg.line).distance(shapely.Point(bar.line[1])) < 0.02
        ]
        assert len(legs) >= 2
    assert steel.length < glass.length <= steel.length + 2 * glass.lap * len(bent) + 1e-6
    assert "steel-gfrp-bent" not in codes(
        plan_steel(rectangle(6, 4), no_joints(), spec(choice="gfrp")).findings
    )


def test_bars_of_a_curved_walk_are_whole() -> None:
    """Edges and line are flattened each on its own, so the outer bars must not graze the cover line."""
    radius, width = 8.0, 1.2

    def arc(r: float, steps: int) -> list[XY]:
        angles = [math.radians(90) * i / steps for i in range(steps + 1)]
        return [(r * math.cos(a), r * math.sin(a)) for a in angles]

    made = ring(arc(radius + width / 2, 41) + arc(radius - width / 2, 37)[::-1])
    walk = Outline(
        made.name, made.ring, made.edges, (), tuple(arc(radius, 40)), width, made.area, made.perimeter
    )
    plan = plan_steel(walk, no_joints(), spec(both_ways=False, spacing=18 * IN))
    inner = shapely.Polygon(walk.ring).buffer(-3 * IN + 0.011, join_style="mitre")
    assert len(plan.bars) == 4
    assert inner.covers(shapely.MultiLineString([bar.line for bar in plan.bars]))
    lengths = sorted(length_of(bar.line) for bar in plan.bars)
    assert lengths[0] > (radius - width / 2) * math.pi / 2 - 6 * IN - 0.3
    assert "steel-gfrp-bent" not in codes(plan.findings)


def test_a_slab_too_small_for_bars_says_so() -> None:
    plan = plan_steel(rectangle(5 * IN, 3.0), no_joints(), spec())
    assert plan.bars == ()
    assert codes(plan.findings) == {"steel-no-room"}
    assert (plan.length, plan.mass, plan.chairs, plan.ties) == (0.0, 0.0, 0, 0)


@pytest.mark.parametrize(
    ("bar", "spacing", "code"),
    [
        ("3", 24 * IN, None),
        ("3", 30 * IN, "steel-light"),
        ("4", 18 * IN, "steel-between"),
        ("4", 24 * IN, "steel-between"),
    ],
)
def test_share_of_steel_beside_the_advice(bar: str, spacing: float, code: str | None) -> None:
    found = codes(plan_steel(rectangle(6, 4), no_joints(), spec(bar=bar, spacing=spacing)).findings)
    assert (found & {"steel-light", "steel-between"}) == ({code} if code else set())


def test_drag_speaks_only_where_the_steel_is_short_of_it() -> None:
    short = plan_steel(rectangle(3, 2), no_joints(), spec(bar="3"))
    long = plan_steel(rectangle(40, 2), no_joints(), spec(bar="3"))
    assert "steel-drag" not in codes(short.findings)
    assert "steel-drag" in codes(long.findings)


@pytest.mark.parametrize(("thickness", "depth"), [(3.5, 1.75), (5, 2.5), (5.01, 1.67), (6, 2.0)])
def test_depth_of_bars(thickness: float, depth: float) -> None:
    assert bar_depth(thickness * IN) / IN == pytest.approx(depth)


def test_mesh_reaches_the_advised_share() -> None:
    plan = plan_steel(rectangle(6, 4), no_joints(), spec(choice="mesh"))
    assert plan.number == "6x6 W2.9/W2.9"
    assert plan.ratio >= 0.001
    assert plan.lap == pytest.approx(8 * IN)
    clear = (6 - 6 * IN) * (4 - 6 * IN)
    assert plan.mesh_area > clear
    assert plan.chairs == math.ceil(clear / (25 * FT**2))


@pytest.mark.parametrize("choice", ["fiber", "none"])
def test_no_bars(choice: str) -> None:
    plan = plan_steel(rectangle(6, 4), no_joints(), spec(choice=choice))
    assert plan.bars == ()
    assert codes(plan.findings) == {f"steel-{choice}"}
    assert (plan.mass > 0) == (choice == "fiber")


def test_every_choice_says_what_it_does_in_two_languages() -> None:
    for choice in ("bars", "gfrp", "mesh", "fiber", "none"):
        for found in plan_steel(rectangle(6, 4), no_joints(), spec(choice=choice)).findings:
            english, spanish = found.text(), found.text(lang="es")
            assert english.what != spanish.what
            assert english.source
            assert "{" not in english.what + spanish.what


@pytest.mark.parametrize(
    ("use", "thickness", "code"),
    [
        ("patio", 3.5, None),
        ("patio", 3.4, "thickness-least"),
        ("driveway", 4, "thickness-edge"),
        ("driveway", 3.5, "thickness-wheel"),
        ("driveway", 6, None),
        ("apron", 5, "thickness-edge"),
    ],
)
def test_thickness_for_the_use(use: str, thickness: float, code: str | None) -> None:
    found = check_thickness(spec(use=use, thickness=thickness * IN), "loam")
    assert [f.code for f in found] == ([code] if code else [])


def test_the_thickness_proposed_is_enough() -> None:
    (thin,) = check_thickness(spec(use="driveway", thickness=3.5 * IN), "loam")
    assert thin.code == "thickness-wheel"
    proposed = thin.values["thicker"].si  # type: ignore[union-attr]
    assert proposed > 3.5 * IN
    again = check_thickness(spec(use="driveway", thickness=proposed), "loam")
    assert "thickness-wheel" not in codes(again)


def test_thicker_is_never_worse() -> None:
    order = {None: 0, "thickness-edge": 1, "thickness-wheel": 2}
    grades = []
    for eighths in range(28, 80):
        found = check_thickness(spec(use="driveway", thickness=eighths / 8 * IN))
        grades.append(order[found[0].code if found else None])
    assert all(a >= b for a, b in pairwise(grades))
    assert grades[-1] == 0


def test_levels() -> None:
    thin = check_thickness(spec(thickness=3 * IN))
    assert [f.level for f in thin] == [Level.STOP]


def test_thickened_edges_answer_the_caution_on_edges() -> None:
    thin = replace(spec(use="driveway", thickness=4 * IN), thickened=ThickSpec(4.9 * IN, 12 * IN, "free"))
    deep = replace(thin, thickened=ThickSpec(5 * IN, 12 * IN, "free"))
    assert "thickness-edge" in codes(check_thickness(thin))
    assert "thickness-edge" not in codes(check_thickness(deep))
