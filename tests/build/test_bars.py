"""Bars cut from stock: laps, counts, what is left, stock that is too short."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.build.materials import epoxy_volume
from slabwright.build.splices import with_splices
from slabwright.build.steel import cut_bars, pieces_of
from slabwright.measure import System
from slabwright.slab.model import Joint
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


class TestMesh:
    def laid(self, make: Any, corners: list[tuple[float, float]], **more: Any) -> Any:
        slab = make.slab(corners, **more)
        spec = replace(slab.spec, steel=replace(slab.spec.steel, choice="mesh"))
        return replace(slab, spec=spec, steel=plan_steel(slab.outline, slab.joint_plan, spec))

    def test_sheets_cover_what_they_should_and_lap(self, make: Any) -> None:
        ell = [(0.0, 0.0), (9.0, 0.0), (9.0, 3.0), (4.0, 3.0), (4.0, 7.0), (0.0, 7.0)]
        for corners in ([(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0)], ell):
            slab = self.laid(make, corners)
            rings = [shapely.Polygon(sheet.ring) for sheet in slab.steel.sheets]
            region = shapely.Polygon(corners).buffer(-slab.spec.steel.cover, join_style="mitre")
            assert region.difference(shapely.union_all(rings)).area < 1e-6
            assert all(sheet.length <= 10 * FT + 1e-9 for sheet in slab.steel.sheets)
            lap = slab.steel.lap
            # Where two sheets meet they share a strip at least a lap wide, so no shrunken pair is apart.
            shrunk = shapely.union_all([ring.buffer(-lap / 2 + 1e-6, join_style="mitre") for ring in rings])
            inner = region.buffer(-lap / 2 - 1e-5, join_style="mitre")
            assert inner.difference(shrunk).area < 1e-6

    def test_parts_are_cut_from_whole_sheets(self, make: Any) -> None:
        slab = self.laid(make, [(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0)])
        (mesh,) = cut_bars(make.job(slab, slab))
        assert (mesh.kind, mesh.proved) == ("mesh", True)
        ((length, sheets),) = mesh.stock
        assert length == pytest.approx(10 * FT)
        # 6 m less its cover is two sheets long with a lap; 4 m is three rows: 6 sheets a slab, one row's
        # last part too long to share a sheet
        assert sum(count for _, count in mesh.pieces) == 2 * len(slab.steel.sheets)
        assert sheets == sum(count for _, count in mesh.pieces)
        assert sorted(p for c in mesh.cuts for p in c.pieces) == sorted(
            length for length, count in mesh.pieces for _ in range(count)
        )

    def test_short_parts_share_a_sheet(self, make: Any) -> None:
        slab = self.laid(make, [(0.0, 0.0), (1.4, 0.0), (1.4, 4.2), (0.0, 4.2)])
        pieces = sum(1 for _ in slab.steel.sheets)
        (mesh,) = cut_bars(make.job(slab, slab, slab))
        assert mesh.stock[0][1] < 3 * pieces
        assert mesh.proved


class TestDowels:
    def meeting(self, make: Any, thickness: float, dowels: str, **more: Any) -> Any:
        joint = Joint("isolation", ((0.0, 0.0), (0.0, 3.0)), thickness, "filler", "meets", "garage floor")
        slab = make.slab(
            [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)],
            kinds=("free", "free", "free", "existing"),
            against=(None, None, None, "garage floor"),
            joints=(joint,),
            thickness=thickness,
            **more,
        )
        spec = replace(slab.spec, joints=replace(slab.spec.joints, dowels=dowels))
        return replace(slab, spec=spec, steel=plan_steel(slab.outline, slab.joint_plan, spec))

    def test_none_unless_asked(self, make: Any) -> None:
        assert self.meeting(make, 6 * IN, "construction").steel.dowels == ()
        assert self.meeting(make, 6 * IN, "none").steel.dowels == ()

    @pytest.mark.parametrize(
        ("inches", "number", "length"),
        [(5.0, "5", 12), (5.99, "5", 12), (6.0, "6", 14), (7.5, "7", 14), (8.0, "8", 14), (12.0, "10", 16)],
    )
    def test_smooth_dowels_by_thickness(self, make: Any, inches: float, number: str, length: int) -> None:
        (row,) = self.meeting(make, inches * IN, "existing").steel.dowels
        assert (row.kind, row.number) == ("dowel", number)
        assert row.length == pytest.approx(length * IN)
        assert row.hole == pytest.approx(length / 2 * IN)
        assert row.depth == pytest.approx(inches * IN / 2)
        assert len(row.at) == 10  # 3 m at a foot at most
        assert all(x == pytest.approx(0.0) and 0 < y < 3 for x, y in row.at)

    def test_a_thin_slab_gets_ties_and_a_caution(self, make: Any) -> None:
        slab = self.meeting(make, 4.9 * IN, "both")
        (row,) = slab.steel.dowels
        assert (row.kind, row.number, row.hole) == ("tie", "4", pytest.approx(6 * IN))
        assert row.spacing <= 24 * IN + 1e-9
        assert "tie-drilled" in [f.code for f in slab.steel.findings]

    def test_between_two_new_slabs_once(self, make: Any) -> None:
        joint = Joint(
            "construction", ((0.0, 0.0), (0.0, 3.0)), 0.15, "formed", "meets", "first", doweled=True
        )
        slab = make.slab([(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)], joints=(joint,), thickness=6 * IN)
        assert plan_steel(slab.outline, slab.joint_plan, slab.spec).dowels == ()
        (row,) = plan_steel(slab.outline, slab.joint_plan, slab.spec, before=("first",)).dowels
        assert (row.against, row.hole) == ("first", 0.0)

    def test_dowels_are_bought_and_ties_are_cut(self, make: Any) -> None:
        thick, thin = self.meeting(make, 6 * IN, "existing"), self.meeting(make, 4 * IN, "existing")
        lots = {lot.kind: lot for lot in cut_bars(make.job(thick))}
        assert lots["dowel"].stock == ((pytest.approx(14 * IN), 10),)
        assert lots["dowel"].number == "6"
        # 3/4 in round steel weighs what a #6 bar does
        assert lots["dowel"].mass == pytest.approx(10 * 14 / 12 * 1.502 * 0.45359237, rel=2e-3)
        pieces = {round(length / IN): count for length, count in cut_bars(make.job(thin))[0].pieces}
        assert pieces[18] == 5

    def test_epoxy_fills_the_gap_round_the_bars(self, make: Any) -> None:
        slab = self.meeting(make, 6 * IN, "existing")
        gap = math.pi / 4 * ((7 / 8) ** 2 - (6 / 8) ** 2) * IN**2 * 7 * IN
        assert epoxy_volume((slab,)) == pytest.approx(1.5 * 10 * gap)
        assert epoxy_volume((self.meeting(make, 6 * IN, "none"),)) == 0.0


def test_no_steel_no_list(make: Any) -> None:
    assert cut_bars(make.job(make.walk())) == ()
