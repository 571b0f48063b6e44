from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.measure import System
from slabwright.sheets.drawing import Polyline, drawing
from slabwright.sheets.extent import extents
from slabwright.sheets.furniture import compose
from slabwright.sheets.picture import Stroke
from slabwright.sheets.scale import Extent, Scale, bar, fit, north, papers, scales

FT = 0.3048


@pytest.mark.parametrize("system", list(System))
def test_the_written_scale_is_the_scale(system: System) -> None:
    for one in scales(system):
        if system is System.METRIC:
            assert one.says == f"1:{one.of}"
            continue
        inches, feet = one.says.split(" = ")
        whole = sum(
            (int(p.split("/")[0]) / int(p.split("/")[1])) if "/" in p else int(p)
            for p in inches.rstrip('"').split()
        )
        assert int(feet.split("'")[0]) * 12.0 / whole == pytest.approx(one.of, rel=1e-12)


@pytest.mark.parametrize("system", list(System))
def test_scales_run_from_large_to_small(system: System) -> None:
    of = [s.of for s in scales(system)]
    assert of == sorted(set(of))


def test_papers_are_upright_and_halve_each_other() -> None:
    for wide, high in papers().values():
        assert wide < high
    assert papers()["tabloid"][0] == papers()["letter"][1]
    assert papers()["A3"][0] == papers()["A4"][1]


points = st.tuples(st.floats(-40, 40), st.floats(-40, 40))


@given(st.lists(points, min_size=1, max_size=12), st.floats(-math.pi, math.pi), st.sampled_from(list(System)))
@settings(max_examples=100, deadline=None)
def test_all_that_is_drawn_falls_in_the_frame_and_back(
    listed: list[tuple[float, float]], turn: float, system: System
) -> None:
    view = fit([Extent(p) for p in listed], width=200.0, height=120.0, system=system, turn=turn)
    assert view.scale in scales(system)
    for p in listed:
        x, y = view.to_paper(p)
        assert -1e-9 <= x <= 200.0 + 1e-9
        assert -1e-9 <= y <= 120.0 + 1e-9
        assert view.to_site((x, y)) == pytest.approx(p, abs=1e-9)


@given(st.lists(points, min_size=2, max_size=8, unique=True), st.sampled_from(list(System)))
@settings(max_examples=60, deadline=None)
def test_the_next_larger_scale_would_not_fit(listed: list[tuple[float, float]], system: System) -> None:
    view = fit([Extent(p) for p in listed], width=200.0, height=120.0, system=system)
    at = scales(system).index(view.scale)
    if at == 0:
        return
    k = scales(system)[at - 1].mm_per_m
    wide = (max(p[0] for p in listed) - min(p[0] for p in listed)) * k + 0.8
    high = (max(p[1] for p in listed) - min(p[1] for p in listed)) * k + 0.8
    assert wide > 200.0 - 1e-6 or high > 120.0 - 1e-6


def test_a_quarter_inch_to_the_foot_is_exact_on_paper() -> None:
    view = fit([Extent((0, 0)), Extent((12 * FT, 0))], width=260.0, height=100.0, scale=Scale(48, "1/4"))
    a, b = view.to_paper((0.0, 0.0)), view.to_paper((12 * FT, 0.0))
    assert b[0] - a[0] == pytest.approx(3.0 * 25.4, abs=1e-9)
    assert a[1] == b[1]


def test_up_on_site_is_up_on_paper_and_a_quarter_turn_turns_left() -> None:
    extent = [Extent((0, 0)), Extent((1, 1))]
    flat = fit(extent, width=100.0, height=100.0)
    assert flat.to_paper((0.0, 1.0))[1] < flat.to_paper((0.0, 0.0))[1]
    turned = fit(extent, width=100.0, height=100.0, turn=math.pi / 2)
    assert turned.to_paper((0.0, 1.0))[0] < turned.to_paper((0.0, 0.0))[0]
    assert north(flat) == 0.0
    assert north(turned) == pytest.approx(270.0)


def test_far_from_the_origin_nothing_is_lost() -> None:
    far = 4.0e6
    view = fit([Extent((far, far)), Extent((far + 3.0, far + 1.0))], width=200.0, height=100.0)
    a, b = view.to_paper((far, far)), view.to_paper((far + 0.001, far))
    assert b[0] - a[0] == pytest.approx(0.001 * view.scale.mm_per_m, rel=1e-3)


def test_a_whole_farm_still_gets_a_scale() -> None:
    view = fit([Extent((0, 0)), Extent((90_000.0, 10.0))], width=200.0, height=100.0)
    assert view.scale.of > scales(System.IMPERIAL)[-1].of
    assert view.scale.says.endswith("'")


@pytest.mark.parametrize("bad", [[], [Extent((math.nan, 0.0))], [Extent((math.inf, 0.0))]])
def test_what_cannot_be_drawn_is_refused(bad: list[Extent]) -> None:
    with pytest.raises(ValueError, match=r"nothing to draw|not a number"):
        fit(bad, width=100.0, height=100.0)


def test_letters_too_large_for_the_frame_do_not_cost_the_drawing() -> None:
    view = fit([Extent((0, 0), left=30.0, right=30.0), Extent((3.0, 0.0))], width=50.0, height=50.0)
    assert 0.0 <= view.to_paper((0.0, 0.0))[0] <= view.to_paper((3.0, 0.0))[0] <= 50.0


def test_a_frame_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="too small"):
        fit([Extent((0, 0))], width=50.0, height=-1.0)


@pytest.mark.parametrize("system", list(System))
def test_the_bar_is_round_and_as_long_as_it_says(system: System) -> None:
    for one in scales(system):
        made = bar(one, system)
        assert 20.0 < made.length <= 60.0 + 1e-9
        assert made.length == pytest.approx(made.ends[-1] * one.mm_per_m, rel=1e-12)
        unit = {"'": FT, '"': FT / 12.0, "m": 1.0}[made.marks[-1][-1]]
        assert float(made.marks[-1].rstrip("'\" m")) * unit == pytest.approx(made.ends[-1], rel=1e-12)
        assert made.marks[0] == "0"


def test_the_drawn_line_has_the_length_of_the_scale() -> None:
    one = drawing("line", [Polyline("slab", ((0.0, 0.0), (4.0, 0.0), (4.0, 2.0)))])
    paper = compose(one, width=200.0, height=120.0, system=System.METRIC)
    drawn = next(s for s in paper.strokes if isinstance(s, Stroke) and s.layer == "slab")
    length = math.dist(drawn.points[0], drawn.points[1])
    assert length == pytest.approx(4.0 * paper.view.scale.mm_per_m, rel=1e-12)


def test_extents_hold_every_stroke(walk: object) -> None:
    from slabwright.sheets.drawing import Drawing

    assert isinstance(walk, Drawing)
    for turn in (0.0, 0.7, math.pi / 2, 4.0):
        view = fit(extents(walk, turn=turn), width=230.0, height=150.0, turn=turn)
        from slabwright.sheets.picture import picture

        paper = picture(walk, view)
        for stroke in paper.strokes:
            if isinstance(stroke, Stroke):
                for x, y in stroke.points:
                    assert -0.6 <= x <= 230.6
                    assert -0.6 <= y <= 150.6
