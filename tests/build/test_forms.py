"""Forms: what is formed, how long, of which board; stakes; boards from pile and yard."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.build.boards import close_corners, split
from slabwright.build.form_tables import (
    board_for,
    board_named,
    curve_for,
    kerfs,
    stake_length,
    stake_spacing,
)
from slabwright.build.forms import plan_forms
from slabwright.build.model import FormRun, Forms
from slabwright.build.ring import arc_of
from slabwright.build.runs import Run, form_runs
from slabwright.build.stakes import stakes_along
from slabwright.measure import System
from slabwright.notes.models import Board, Kit
from slabwright.slab.model import Hole, Joint

IN, FT = 0.0254, 0.3048


def codes(forms: Forms) -> Counter[str]:
    return Counter(found.code for found in forms.findings)


def test_a_walk_between_two_slabs_is_formed_on_its_long_sides(make: Any) -> None:
    walk = make.walk(
        kinds=["free", "existing", "free", "existing"], against=[None, "old patio", None, "gate"]
    )
    forms = plan_forms(make.job(walk), make.ground(), Kit())
    assert [(run.a, run.b) for run in forms.runs] == [("1", "2"), ("3", "4")]
    assert all(run.length == pytest.approx(34 * FT) for run in forms.runs)
    assert {run.board for run in forms.runs} == {"2x4"}
    assert forms.proved
    # 34 ft is 16 and 18 ft, or 14 and 20: no waste either way.
    assert sum(board.stock for board in forms.boards) == pytest.approx(68 * FT)
    assert forms.butts == 2
    assert codes(forms) == Counter({"form-release": 1})


def test_outer_corners_are_closed_by_one_board(make: Any) -> None:
    pad = make.slab([(0, 0), (3.0, 0), (3.0, 2.0), (0, 2.0)])
    forms = plan_forms(make.job(pad), make.ground(), Kit())
    assert sum(p for b in forms.boards for p in b.pieces) == pytest.approx(10.0 + 4 * 1.5 * IN)


def test_the_board_that_passes_a_corner_is_the_one_that_has_room(make: Any) -> None:
    """A pad of 12 x 9 ft: 12 ft boards stay 12 ft, the 9 ft sides come out of 10 ft and pass both ends."""
    pad = make.slab([(0, 0), (12 * FT, 0), (12 * FT, 9 * FT), (0, 9 * FT)])
    forms = plan_forms(make.job(pad), make.ground(), Kit())
    assert sorted(round(b.stock / FT, 6) for b in forms.boards) == [10.0, 10.0, 12.0, 12.0]
    assert forms.butts == 0
    # A 20 ft side needs no butt for the sake of its corners.
    long = make.slab([(0, 0), (20 * FT, 0), (20 * FT, 9 * FT), (0, 9 * FT)])
    assert plan_forms(make.job(long), make.ground(), Kit()).butts == 0


@settings(max_examples=40, deadline=None)
@given(
    sides=st.lists(st.floats(2.0, 9.0), min_size=3, max_size=6),
    stock=st.lists(st.integers(8, 20), min_size=1, max_size=4, unique=True),
    closed=st.booleans(),
)
def test_no_other_way_round_the_corners_is_shorter(
    sides: list[float], stock: list[int], closed: bool
) -> None:
    t = 1.5 * IN
    yard = [n * FT for n in stock]
    n = len(sides)
    # Runs on a many-sided ring: only that they follow one another matters.
    places = [(float(10 * i), 0.0) for i in range(n)]
    runs = []
    for i, side in enumerate(sides):
        past = t if closed or i < n - 1 else 0.0
        form = FormRun("s", str(i), str(i + 1), places[i], places[(i + 1) % n], side, None, "2x4", "2x board")
        runs.append(Run(form, 0.0, 0.0, None, None, past, 0.0, board_named("2x4"), None))
    found = close_corners(runs, yard)
    corners = n if closed else n - 1
    assert math.fsum(a + b for a, b in found) == pytest.approx(corners * t)

    def cost(past: list[tuple[float, float]]) -> float:
        total = 0.0
        for side, (a, b) in zip(sides, past, strict=True):
            pieces = split(side + a + b, yard)
            total += sum(min(s for s in yard if s >= p - 1e-9) for p in pieces) + 2 * FT * (len(pieces) - 1)
        return total

    least = math.inf
    for choice in itertools.product((0, 1), repeat=corners):
        past = [[0.0, 0.0] for _ in sides]
        for i, forward in enumerate(choice):
            if forward:
                past[(i + 1) % n][0] = t
            else:
                past[i][1] = t
        least = min(least, cost([(a, b) for a, b in past]))
    assert cost(found) == pytest.approx(least)


def test_inner_corner_is_not_run_past(make: Any) -> None:
    corners = [(0, 0), (6, 0), (6, 2), (3, 2), (3, 5), (0, 5)]
    runs = form_runs(make.job(make.slab(corners)))
    past = {run.form.b: run.past for run in runs}
    assert past["4"] == 0.0
    assert all(value == pytest.approx(1.5 * IN) for label, value in past.items() if label != "4")


def test_a_side_shared_by_two_new_slabs_is_formed_once(make: Any) -> None:
    one = make.slab(
        [(0, 0), (2, 0), (2, 2), (0, 2)],
        name="one",
        kinds=["free", "slab", "free", "free"],
        against=[None, "two", None, None],
    )
    two = make.slab(
        [(2, 0), (4, 0), (4, 2), (2, 2)],
        name="two",
        kinds=["free", "free", "free", "slab"],
        against=[None, None, None, "one"],
    )
    runs = form_runs(make.job(one, two))
    assert Counter(run.form.slab for run in runs) == {"one": 4, "two": 3}


def test_a_formed_construction_joint_gets_a_bulkhead(make: Any) -> None:
    joint = Joint("construction", ((5.0, 0.0), (5.0, 0.9)), 0.09, "formed", "spacing")
    runs = form_runs(make.job(make.walk(10.0, 0.9, joints=[joint])))
    assert len(runs) == 5
    assert runs[-1].form.length == pytest.approx(0.9)


def test_runs_break_where_the_height_breaks(make: Any) -> None:
    nodes = [
        ("1", 0.0, 0.0, 0.0),
        ("5", 4.0, 0.0, 0.08),
        ("6", 7.0, 0.0, 0.0),
        ("2", 10.0, 0.0, -0.08),
        ("3", 10.0, 1.0, 0.0),
        ("4", 0.0, 1.0, 0.0),
    ]
    runs = form_runs(make.job(make.walk(10.0, 1.0, nodes=nodes)))
    assert [(run.form.a, run.form.b) for run in runs] == [
        ("1", "5"),
        ("5", "2"),
        ("2", "3"),
        ("3", "4"),
        ("4", "1"),
    ]
    # Node 6 lies on the straight from 5 to 2, so no board ends there.
    assert runs[1].height(3.0) == pytest.approx(0.0)
    # Only the board at the true corner runs past.
    assert [run.past > 0 for run in runs] == [False, True, True, True, True]


def test_collinear_sides_are_one_run(make: Any) -> None:
    slab = make.slab([(0, 0), (2, 0), (5, 0), (5, 1), (0, 1)], nodes=[])
    assert [round(run.form.length, 6) for run in form_runs(make.job(slab))] == [5.0, 1.0, 5.0, 1.0]
    # The same where the straight passes the ring's first corner.
    slab = make.slab([(2, 0), (5, 0), (5, 1), (0, 1), (0, 0)], nodes=[])
    assert sorted(round(run.form.length, 6) for run in form_runs(make.job(slab))) == [1.0, 1.0, 5.0, 5.0]


def test_arc_keeps_its_radius_and_stakes_lie_on_it(make: Any) -> None:
    bulge = math.tan(math.radians(90) / 4)
    slab = make.slab([(0, 0), (4, 0), (4, 3), (0, 3)], bulges=[0, bulge, 0, 0])
    forms = plan_forms(make.job(slab), make.ground(), Kit())
    arc = next(run for run in forms.runs if run.radius)
    assert arc.radius == pytest.approx(3 / math.sqrt(2))
    assert arc.length == pytest.approx(arc.radius * math.pi / 2)
    assert arc.material == "1/2 in plywood strip"
    centre, radius, _ = arc_of(arc.p, arc.q, bulge)
    number = forms.runs.index(arc)
    stakes = [p for p in forms.stake_places if p.run == number]
    assert all(math.dist((s.x, s.y), centre) == pytest.approx(radius) for s in stakes)
    assert max(b.station - a.station for a, b in pairwise(stakes)) <= 18 * IN + 1e-9
    assert all(s.x >= 4 - 1e-9 for s in stakes)
    strips = [b for b in forms.boards if b.size == "1/2 in plywood strip"]
    assert sum(len(b.pieces) for b in strips) == math.ceil(arc.length / (8 * FT))
    assert codes(forms)["form-curve"] == 1


@pytest.mark.parametrize("bulge", [0.3, -0.3, 1.0, -1.0, 0.02])
def test_arc_passes_both_its_ends(bulge: float) -> None:
    p, q = (1.0, 2.0), (4.0, -1.0)
    centre, radius, start = arc_of(p, q, bulge)
    turn = 4 * math.atan(bulge)
    end = (centre[0] + radius * math.cos(start + turn), centre[1] + radius * math.sin(start + turn))
    assert end == pytest.approx(q)
    assert math.dist(centre, p) == pytest.approx(radius)


def test_a_tight_corner_is_kerfed(make: Any) -> None:
    bulge = math.tan(math.radians(90) / 4)
    slab = make.slab([(0, 0), (3, 0), (3.3, 0.3), (3.3, 2), (0, 2)], bulges=[0, bulge, 0, 0, 0])
    assert codes(plan_forms(make.job(slab), make.ground(), Kit()))["form-kerfs"] == 1


def round_hole(name: str, kind: str, x: float, y: float, radius: float) -> Hole:
    ring = [
        (x + radius * math.cos(a), y - radius * math.sin(a))
        for a in (2 * math.pi * i / 36 for i in range(36))
    ]
    return Hole(name, kind, tuple(ring), radius)


def test_openings_are_formed_from_inside(make: Any) -> None:
    box = Hole("box", "box", ((1.0, 1.0), (1.0, 2.0), (2.0, 2.0), (2.0, 1.0)), None)
    tree = round_hole("elm", "tree", 6.0, 2.5, 1.0)
    post = round_hole("post", "post", 4.0, 1.0, 0.1)
    old = Hole("pad", "existing", ((7.0, 0.5), (7.0, 1.0), (7.5, 1.0), (7.5, 0.5)), None)
    slab = make.slab([(0, 0), (8, 0), (8, 5), (0, 5)], holes=[box, tree, post, old])
    forms = plan_forms(make.job(slab), make.ground(), Kit())
    inside = forms.runs[4:]
    assert Counter(run.material for run in inside) == {
        "2x board": 4,
        "3/8 in plywood strip": 2,
        "form tube": 2,
    }
    assert sum(run.length for run in inside if run.material.startswith("3/8")) == pytest.approx(2 * math.pi)
    assert all(board.size != "form tube" for board in forms.boards)
    assert forms.proved
    tree_stakes = [p for p in forms.stake_places if forms.runs[p.run].material.startswith("3/8")]
    assert tree_stakes
    assert all(math.dist((p.x, p.y), (6.0, 2.5)) == pytest.approx(1.0) for p in tree_stakes)
    assert not [p for p in forms.stake_places if forms.runs[p.run].material == "form tube"]
    assert codes(forms)["form-tube"] == 1
    assert codes(forms)["form-curve"] == 1


def test_pile_is_used_up_first(make: Any) -> None:
    walk = make.walk(20 * FT, kinds=["free", "wall", "free", "wall"])
    pile = Kit(boards=(Board(size="2x4", length="12 ft", count=2), Board(size="2x4", length="8 ft", count=2)))
    forms = plan_forms(make.job(walk), make.ground(), pile)
    assert {board.origin for board in forms.boards} == {"pile"}
    assert forms.proved
    wrong_size = Kit(boards=(Board(size="2x6", length="12 ft", count=9),))
    assert {b.origin for b in plan_forms(make.job(walk), make.ground(), wrong_size).boards} == {"yard"}


def test_a_pile_all_too_short_is_said_and_the_rest_is_bought(make: Any) -> None:
    forms = plan_forms(
        make.job(make.walk()), make.ground(), Kit(boards=(Board(size="2x4", length="1 ft", count=40),))
    )
    assert codes(forms)["pile-unused"] == 1
    assert {board.origin for board in forms.boards} == {"yard"}


def test_the_yard_s_own_lengths_are_used(make: Any) -> None:
    forms = plan_forms(make.job(make.walk()), make.ground(), Kit(stock=("10 ft",)))
    assert {round(board.stock / FT, 6) for board in forms.boards} == {10.0}


def test_a_metric_job_buys_metric_boards(make: Any) -> None:
    walk = make.walk(5.0, 1.0, kinds=["free", "wall", "free", "wall"])
    forms = plan_forms(make.job(walk), make.ground(), Kit(), system=System.METRIC)
    assert [board.stock for board in forms.boards] == pytest.approx([5.4, 5.4])


def test_what_comes_back_from_stripping(make: Any) -> None:
    walk = make.walk(10 * FT, kinds=["free", "wall", "wall", "wall"])
    forms = plan_forms(make.job(walk), make.ground(), Kit(stock=("16 ft",)))
    assert forms.returns == (
        ("2x4", pytest.approx(6 * FT - 1 / 8 * IN, abs=1e-4), 1),
        ("2x4", pytest.approx(10 * FT, abs=1e-4), 1),
    )


def test_gap_under_a_board_is_said(make: Any) -> None:
    forms = plan_forms(make.job(make.walk(thickness=4 * IN)), make.ground(), Kit())
    assert codes(forms)["form-gap"] == 1
    assert {run.board for run in forms.runs} == {"2x4"}
    deep = plan_forms(make.job(make.walk(thickness=13 * IN)), make.ground(), Kit())
    assert codes(deep)["form-low"] == 1


@pytest.mark.parametrize(
    ("thickness", "board", "gap"),
    [(3.5, "2x4", 0), (4, "2x4", 0.5), (4.01, "2x6", 0), (6, "2x6", 0.5), (6.01, "2x8", 0), (8, "2x10", 0)],
)
def test_board_for_a_thickness(thickness: float, board: str, gap: float) -> None:
    size, under = board_for(thickness * IN)
    assert size.name == board
    assert under / IN == pytest.approx(gap)


def test_braces_only_where_the_form_stands_clear(make: Any) -> None:
    walk = make.walk(height=lambda x, y: 0.0)
    on_grade = plan_forms(make.job(walk), make.ground(height=-0.1), Kit())
    assert on_grade.braces == 0
    in_the_air = plan_forms(make.job(walk), make.ground(height=-0.5), Kit())
    assert in_the_air.braces == math.ceil(in_the_air.stakes / 2)
    assert codes(in_the_air)["form-braces"] == 1
    assert plan_forms(make.job(walk), make.ground(height=None), Kit()).braces == 0


def test_rock_takes_no_wood_stakes(make: Any) -> None:
    assert codes(plan_forms(make.job(make.walk()), make.ground(soil="rock"), Kit()))["stakes-in-rock"] == 1


def test_nothing_to_form(make: Any) -> None:
    walled = make.walk(kinds=["wall"] * 4)
    forms = plan_forms(make.job(walled), make.ground(), Kit())
    assert (forms.runs, forms.boards, forms.stakes, forms.release, forms.findings) == ((), (), 0, 0.0, ())


def test_release_covers_the_faces(make: Any) -> None:
    """64 ft of 4 in form is 21.3 ft2; the board's own height counts: 3 1/2 in gives 18.7 ft2."""
    walk = make.walk(32 * FT, kinds=["free", "wall", "free", "wall"], thickness=4 * IN)
    forms = plan_forms(make.job(walk), make.ground(), Kit())
    gallons = forms.release / 0.003785411784
    assert gallons * 200 == pytest.approx(64 * 3.5 / 12, rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(
    length=st.floats(0.05, 30),
    cuts=st.lists(st.floats(0.05, 0.95), max_size=3, unique=True),
    spacing=st.sampled_from([12 * IN, 24 * IN, 32 * IN]),
)
def test_stakes_hold_every_board(length: float, cuts: list[float], spacing: float) -> None:
    bounds = [0.0, *sorted(c * length for c in cuts), length]
    pieces = [b - a for a, b in pairwise(bounds)]
    stakes = stakes_along(length, pieces, spacing)
    places = [place for place, _ in stakes]
    assert places == sorted(places)
    assert len(set(places)) == len(places)
    assert 0 < places[0] <= 3 * IN + 1e-9
    assert places[-1] >= length - 3 * IN - 1e-9
    assert all(b - a <= spacing + 1e-9 for a, b in pairwise(places))


def test_a_butt_has_a_stake_on_each_side() -> None:
    stakes = stakes_along(20 * FT, (12 * FT, 8 * FT), 32 * IN)
    butts = [place for place, kind in stakes if kind == "butt"]
    assert butts == pytest.approx([12 * FT - 3 * IN, 12 * FT + 3 * IN])


@settings(max_examples=80, deadline=None)
@given(
    length=st.floats(0.1, 60),
    stock=st.lists(st.integers(2, 20), min_size=1, max_size=6, unique=True),
)
def test_split_adds_up_and_fits(length: float, stock: list[int]) -> None:
    lengths = [n * FT for n in stock]
    pieces = split(length, lengths)
    assert math.fsum(pieces) == pytest.approx(length)
    assert max(pieces) <= max(lengths) + 1e-9
    assert len(pieces) == max(1, math.ceil(length / max(lengths) - 1e-9))


def test_split_leaves_no_stub() -> None:
    """41 ft is two 20 ft boards and a foot; two of 16 ft and one of 9 ft waste the least."""
    assert split(41 * FT, [n * FT for n in range(8, 22, 2)]) == pytest.approx((16 * FT, 16 * FT, 9 * FT))


@pytest.mark.parametrize(
    ("thickness", "radius", "inches"),
    [
        (3.5, None, 32),
        (4, None, 32),
        (6, None, 30),
        (12, None, 24),
        (14, None, 24),
        (4, 20, 24),
        (4, 12, 24),
        (4, 11.9, 18),
        (4, 6, 18),
        (4, 5.9, 12),
    ],
)
def test_stake_spacing(thickness: float, radius: float | None, inches: float) -> None:
    found = stake_spacing(thickness * IN, None if radius is None else radius * FT)
    assert found / IN == pytest.approx(inches)


@pytest.mark.parametrize(
    ("height", "soil", "inches"),
    [
        (3.5, "loam", 18),
        (5.5, "loam", 24),
        (3.5, "clay", 18),
        (3.5, "sand", 24),
        (11.25, "sand", 36),
        (30, "sand", 36),
    ],
)
def test_stake_length_by_soil(height: float, soil: str, inches: float) -> None:
    assert stake_length(height * IN, soil) / IN == pytest.approx(inches)


@pytest.mark.parametrize(
    ("feet", "material"),
    [
        (30, "2x board, sprung"),
        (24, "2x board, sprung"),
        (23.9, "1x board, sprung green"),
        (11.9, "1/2 in plywood strip"),
        (5.9, "3/8 in plywood strip"),
        (2.9, "1/4 in plywood strip"),
        (1.9, "2x board, kerfed"),
    ],
)
def test_material_by_radius(feet: float, material: str) -> None:
    assert curve_for(feet * FT).material == material


def test_kerfs_close_to_the_turn() -> None:
    """The arc-length difference between the two faces is what the cuts take away."""
    step, cuts = kerfs(36 * IN, math.pi / 2, 1.5 * IN, web=0.25 * IN, kerf=0.125 * IN)
    assert step / IN == pytest.approx(3.6)
    assert cuts == 16
    assert cuts * 0.125 >= (1.5 - 0.25) * math.pi / 2
    with pytest.raises(ValueError, match="cannot be kerfed"):
        kerfs(1.0, 1.0, 0.02, web=0.03, kerf=0.003)


def test_findings_speak_both_languages(make: Any) -> None:
    bulge = math.tan(math.radians(90) / 4)
    slab = make.slab(
        [(0, 0), (3, 0), (3.3, 0.3), (3.3, 2), (0, 2)], bulges=[0, bulge, 0, 0, 0.2], thickness=4 * IN
    )
    forms = plan_forms(
        make.job(slab),
        make.ground(height=-1.0, soil="rock"),
        Kit(boards=(Board(size="2x4", length="1 ft", count=1),)),
    )
    assert {"form-gap", "form-kerfs", "form-curve", "pile-unused", "form-braces", "stakes-in-rock"} <= set(
        codes(forms)
    )
    for found in forms.findings:
        english, spanish = found.text(), found.text(lang="es")
        assert english.what != spanish.what
        assert "{" not in english.what + english.do + spanish.what + spanish.do
        assert english.source


def test_a_side_between_two_new_slabs_is_formed_once(make: Any) -> None:
    """Both slabs list the construction joint; one board stands there, not three."""
    joints = [
        Joint("construction", ((4.0, 0.0), (4.0, 3.0)), 0.1, "formed", "meets", name, doweled=True)
        for name in ("two", "one")
    ]
    one = make.slab(
        [(0, 0), (4.0, 0), (4.0, 3.0), (0, 3.0)],
        name="one",
        kinds=("free", "slab", "free", "free"),
        against=(None, "two", None, None),
        joints=joints[:1],
    )
    two = make.slab(
        [(4.0, 0), (8.0, 0), (8.0, 3.0), (4.0, 3.0)],
        name="two",
        kinds=("free", "free", "free", "slab"),
        against=(None, None, None, "one"),
        joints=joints[1:],
    )
    runs = form_runs(make.job(one, two))
    between = [run for run in runs if {round(run.form.p[0], 6), round(run.form.q[0], 6)} == {4.0}]
    assert len(between) == 1
    inside = Joint("construction", ((2.0, 0.0), (2.0, 3.0)), 0.1, "formed", "crew-rule")
    own = form_runs(make.job(make.slab([(0, 0), (4.0, 0), (4.0, 3.0), (0, 3.0)], joints=(inside,))))
    assert len(own) == 5
