"""Bars cut from stock: laps, counts, what is left, stock that is too short."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.build.splices import with_splices
from slabwright.build.steel import cut_bars, pieces_of
from slabwright.measure import System
from slabwright.slab.steel import plan_steel

IN, FT = 0.0254, 0.3048


def with_steel(slab: Any) -> Any:
    return replace(slab, steel=plan_steel(slab.outline, slab.joint_plan, slab.spec))


@settings(max_examples=100, deadline=None)
@given(run=st.floats(0.3, 60), lap=st.floats(0.3, 1.2), stock=st.sampled_from([3.0, 20 * FT, 12.0]))
def test_pieces_reach_the_whole_length(run: float, lap: float, stock: float) -> None:
    pieces = pieces_of(run, lap, stock)
    assert max(pieces) <= stock + 1e-9
    assert math.fsum(pieces) - lap * (len(pieces) - 1) == pytest.approx(run)
    if len(pieces) > 1:
        assert min(pieces) >= min(lap, stock) - 1e-9
        # One bar fewer would not reach.
        assert (len(pieces) - 1) * stock - lap * (len(pieces) - 2) < run + 1e-9


def test_a_rest_too_short_to_lap_twice_shares() -> None:
    pieces = pieces_of(20 * FT - 25 * IN + 30 * IN, 25 * IN, 20 * FT)
    assert len(pieces) == 2
    assert pieces[0] == pieces[1]


def test_stock_no_longer_than_its_lap_builds_nothing(make: Any) -> None:
    assert pieces_of(5.0, 0.7, 0.7) == ()
    walk = with_steel(make.walk())
    short, *_ = cut_bars(make.job(walk), stock=0.6)
    assert [found.code for found in short.findings] == ["bar-stock-short"]
    assert short.cuts == ()
    assert not short.proved
    with pytest.raises(ValueError, match="not on sale"):
        cut_bars(make.job(walk), stock=0.0)


def test_walk_of_34_ft(make: Any) -> None:
    """Three bars of 33 ft 6 in, lapped 25 in: 20 ft and 15 ft 7 in each, six stock bars."""
    walk = with_steel(make.walk())
    (bars,) = cut_bars(make.job(walk))
    assert bars.number == "4"
    assert [(round(length / IN, 2), n) for length, n in bars.pieces] == [(240.0, 3), (187.0, 3)]
    assert bars.laps == 3
    assert bars.stock == ((pytest.approx(20 * FT), 6),)
    assert bars.proved
    assert bars.ties == walk.steel.ties + 6
    assert bars.mass == pytest.approx(sum(length * n for length, n in bars.pieces) * 0.668 * 0.45359237 / FT)


def test_metric_bars_come_six_metres_long(make: Any) -> None:
    walk = with_steel(make.walk(10.0, 0.9))
    (bars,) = cut_bars(make.job(walk), system=System.METRIC)
    assert bars.stock[0][0] == pytest.approx(6.0)
    assert all(round(length * 100, 6) == round(length * 100) for length, _ in bars.pieces)


def test_slabs_share_stock(make: Any) -> None:
    """Two pads of 9 ft bars: two bars come out of each stock bar, over both pads."""
    pads = [
        with_steel(make.slab([(x, 0.0), (x + 9.5 * FT, 0.0), (x + 9.5 * FT, 2 * FT), (x, 2 * FT)], name=n))
        for n, x in (("one", 0.0), ("two", 10.0))
    ]
    (bars,) = cut_bars(make.job(*pads))
    count = sum(n for _, n in bars.pieces)
    assert len(bars.cuts) == math.ceil(count / 2)
    assert sorted(p for c in bars.cuts for p in c.pieces) == pytest.approx(
        sorted(length for length, n in bars.pieces for _ in range(n))
    )


def test_offcuts_become_bars_where_that_saves_stock() -> None:
    """27 bars of 11 ft 6 in leave 8 ft 6 in each; 18 stock bars and 13 splices do instead of 27."""
    lap = 19 * IN
    whole = Counter({11.5 * FT: 27})
    pieces, plan, splices = with_splices(whole, lap=lap, stock=20 * FT, step=IN, price=3 * FT)
    (splice,) = splices
    assert splice.first + splice.second - lap >= splice.whole - 1e-9
    assert pieces[11.5 * FT] + splice.count == 27
    assert plan.proved
    assert len(plan.cuts) <= 18
    assert 27 * 20 * FT - plan.cost > splice.count * 3 * FT


def test_no_splice_without_a_saving() -> None:
    """Two bars of 9 ft 6 in come out of each stock bar: nothing to splice. Nor for a single bar."""
    for whole in (Counter({9.5 * FT: 10}), Counter({11.5 * FT: 1}), Counter({19 * FT: 9})):
        pieces, _, splices = with_splices(whole, lap=19 * IN, stock=20 * FT, step=IN, price=3 * FT)
        assert splices == ()
        assert pieces == whole


def test_spliced_bars_are_said(make: Any) -> None:
    pad = make.slab([(0, 0), (40 * FT, 0), (40 * FT, 12 * FT), (0, 12 * FT)], thickness=4 * IN)
    spec = replace(pad.spec, steel=replace(pad.spec.steel, both_ways=True))
    pad = replace(pad, spec=spec)
    (bars,) = cut_bars(make.job(with_steel(pad)))
    assert [f.code for f in bars.findings] == ["bar-splices"]
    (whole, first, second, count) = bars.splices[0]
    assert first + second - bars.lap >= whole - 1e-9
    assert bars.laps >= count
    assert "{" not in bars.findings[0].text().what + bars.findings[0].text(lang="es").what


def test_kinds_are_kept_apart(make: Any) -> None:
    steel = with_steel(make.walk(name="steel"))
    glass = with_steel(make.walk(name="glass", steel=None))
    spec = replace(glass.spec, steel=replace(glass.spec.steel, choice="gfrp"))
    glass = replace(glass, spec=spec, steel=plan_steel(glass.outline, glass.joint_plan, spec))
    lists = cut_bars(make.job(steel, glass))
    assert [(one.kind, one.number) for one in lists] == [("bars", "4"), ("gfrp", "4")]
    assert lists[1].mass < lists[0].mass / 3


def test_bars_of_a_bent_walk_are_listed_to_bend(make: Any) -> None:
    axis = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)]
    corners = [(0, -0.5), (4.5, -0.5), (4.5, 3.0), (3.5, 3.0), (3.5, 0.5), (0, 0.5)]
    walk = with_steel(make.slab(corners, axis=axis, width=1.0))
    (bars,) = cut_bars(make.job(walk))
    long_bars = [bar for bar in walk.steel.bars if len(bar.line) == 3]
    assert len(long_bars) == 3
    for bent, bar in zip(bars.bent, long_bars, strict=True):
        assert bent.turns == (pytest.approx(math.pi / 2),)
        assert bent.legs == pytest.approx([math.dist(*bar.line[:2]), math.dist(*bar.line[1:])])
    straight = with_steel(make.walk())
    assert cut_bars(make.job(straight))[0].bent == ()


def test_mesh_is_bought_in_sheets(make: Any) -> None:
    slab = make.slab([(0, 0), (6, 0), (6, 4), (0, 4)])
    spec = replace(slab.spec, steel=replace(slab.spec.steel, choice="mesh"))
    slab = replace(slab, spec=spec, steel=plan_steel(slab.outline, slab.joint_plan, spec))
    (mesh,) = cut_bars(make.job(slab, slab))
    assert mesh.kind == "mesh"
    assert mesh.pieces == ()
    (length, sheets) = mesh.stock[0]
    assert sheets * length * 5 * FT >= 2 * slab.steel.mesh_area
    assert not mesh.proved


def test_no_steel_no_list(make: Any) -> None:
    assert cut_bars(make.job(make.walk())) == ()
