"""The cut-depth map, the dig under thickened edges, a machine's hours."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.build.test_dig import covered

from slabwright.build.dig import plan_dig
from slabwright.build.forms import plan_forms
from slabwright.build.order import plan_order
from slabwright.ground.shots import surface_from
from slabwright.notes import Notes
from slabwright.notes.models import Kit
from slabwright.notes.spec import ThickSpec
from slabwright.slab.thick_edges import thicken

FT, IN = 0.3048, 0.0254
WIDE = 6 * IN  # the over-dig


def within(rings):
    """The area that rings bound: an inner one leaves out its inside."""
    area = shapely.Polygon()
    for ring in rings:
        area = area.symmetric_difference(shapely.Polygon(ring))
    return area


class TestMap:
    def test_level_ground_is_one_band(self, make):
        slab = covered(make.walk(length=32 * FT, width=3 * FT))
        dig = plan_dig(make.job(slab), make.ground(height=2 * IN, organic=2 * IN), mapped=True)
        (band,) = dig.map.bands
        assert band.area == pytest.approx((32 * FT + 2 * WIDE) * (3 * FT + 2 * WIDE))
        assert band.shallow <= 9.5 * IN + 1e-9
        assert band.deep >= 9.5 * IN - 1e-9
        assert len(band.rings) == 1
        assert dig.map.depth_most == pytest.approx(9.5 * IN)

    def test_a_slope_is_cut_where_the_depth_says(self, make):
        """Level slab on ground that rises 1 in a foot: every band is a strip of its own width."""
        slab = covered(make.walk(length=12 * FT, width=4 * FT))
        shots = {"a": (-9, -9, -9 / 12), "b": (30, -9, 2.5), "c": (30, 30, 2.5), "d": (-9, 30, -9 / 12)}
        ground = make.ground(organic=0.0, surface=surface_from(shots)[0])
        dig = plan_dig(make.job(slab), ground, mapped=True)
        shape = dig.map
        assert len(shape.bands) <= 8
        wide, low = 4 * FT + 2 * WIDE, 7.5 * IN - WIDE / 12
        for band in shape.bands:
            top = min(band.deep, shape.depth_most) - max(band.shallow, shape.depth_least)
            assert band.area == pytest.approx(top * 12 * wide, rel=1e-4)
            (ring,) = band.rings
            x = [x for x, _ in ring]
            assert min(x) == pytest.approx((max(band.shallow, low) - 7.5 * IN) * 12, abs=2e-4)

    @settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
    @given(st.integers(0, 10_000))
    def test_bands_cover_the_dig_once(self, make, seed):
        rng = np.random.default_rng(seed)
        shots = {f"G{k}": (*rng.uniform(-2, 12, 2), rng.normal(0, 0.05)) for k in range(25)}
        slab = covered(make.walk(length=10.0, width=3.0), cuts=(3.0, 6.5))
        ground = make.ground(organic=0.05, surface=surface_from(shots)[0])
        dig = plan_dig(make.job(slab), ground, mapped=True)
        parts = [within(band.rings) for band in dig.map.bands]
        whole = (10 + 2 * WIDE) * (3 + 2 * WIDE)
        assert sum(p.area for p in parts) == pytest.approx(whole, abs=2e-3)
        assert shapely.union_all(parts).area == pytest.approx(whole, abs=2e-3)
        # the volume lies between the bands' least and greatest
        low = sum(max(band.shallow, 0.05) * band.area for band in dig.map.bands)
        assert low - 1e-3 <= dig.cut + 1e-9
        assert dig.cut - dig.fill <= sum(band.deep * band.area for band in dig.map.bands) + 1e-3
        assert dig.map.depth_most == pytest.approx(max(line.depth_most for line in dig.lines), abs=0.2)

    def test_a_scan_is_drawn_from_a_grid(self, make):
        rng = np.random.default_rng(3)
        xy = rng.uniform(-2, 12, (4000, 2))
        shots = {f"G{k}": (x, y, 0.03 * x) for k, (x, y) in enumerate(xy.tolist())}
        slab = covered(make.walk(length=10.0, width=8.0))
        fine = plan_dig(make.job(slab), make.ground(organic=0.0, surface=surface_from(shots)[0]), mapped=True)
        corners = {"a": (-2, -2, -0.06), "b": (12, -2, 0.36), "c": (12, 12, 0.36), "d": (-2, 12, -0.06)}
        plain = make.ground(organic=0.0, surface=surface_from(corners)[0])
        few = plan_dig(make.job(slab), plain, mapped=True)
        # both grounds are the same plane, so both maps are the same
        assert [b.area for b in fine.map.bands] == pytest.approx([b.area for b in few.map.bands], rel=1e-3)

    def test_only_where_asked(self, make):
        assert plan_dig(make.job(covered(make.walk())), make.ground()).map is None


class TestThickEdges:
    def test_level_ground(self, make):
        """The trench adds its own volume, and the strip beside it is as deep."""
        slab = covered(make.slab([(0, 0), (6.0, 0), (6.0, 4.0), (0, 4.0)], thickness=4 * IN))
        spec = replace(slab.spec, thickened=ThickSpec(10 * IN, 12 * IN, "free"))
        thick, _ = thicken(slab.outline, spec)
        ground = make.ground(height=0.0, organic=2 * IN)
        plain = plan_dig(make.job(slab), ground)
        deep = plan_dig(make.job(replace(slab, spec=spec, thick=thick)), ground, mapped=True)
        strip = (6 + 2 * WIDE) * (4 + 2 * WIDE) - 24
        assert deep.cut - plain.cut == pytest.approx(thick.volume + strip * 6 * IN)
        assert deep.base_volume == pytest.approx(plain.base_volume)
        assert deep.organic_volume == pytest.approx(plain.organic_volume)
        assert deep.lines[0].area == pytest.approx(24)
        assert deep.lines[0].depth_most == pytest.approx(14 * IN)
        assert deep.lines[0].depth_least == pytest.approx(8 * IN)
        assert {round(d / IN, 6) for _, _, d in deep.node_depths} == {14.0}
        areas = [band.area for band in deep.map.bands]
        assert areas == pytest.approx([24 - thick.area, thick.area + strip], rel=1e-4)

    def test_concrete_and_forms_go_as_deep(self, make):
        slab = make.slab([(0, 0), (6.0, 0), (6.0, 4.0), (0, 4.0)], thickness=4 * IN)
        spec = replace(slab.spec, thickened=ThickSpec(10 * IN, 12 * IN, "free"))
        thick, _ = thicken(slab.outline, spec)
        deep = make.job(replace(slab, spec=spec, thick=thick))
        notes = Notes.model_validate(
            {"title": "t", "slabs": [{"name": "s", "use": "pad", "corners": ["A", "B", "C"]}]}
        )
        more = plan_order(deep, notes).drawn - plan_order(make.job(slab), notes).drawn
        assert more == pytest.approx(thick.volume)
        boards = {run.board for run in plan_forms(deep, make.ground(), Kit()).runs}
        assert boards == {"2x12"}  # 10 in deep: a 2x10 is 9 1/4 in high, more than 1/2 in short


class TestHours:
    @pytest.mark.parametrize(
        ("soil", "pace"), [("sand", (9.9, 6.7)), ("loam", (9.9, 6.7)), ("clay", (5.2, 3.3))]
    )
    def test_of_a_small_excavator(self, make, soil, pace):
        slab = covered(make.walk())
        dig = plan_dig(make.job(slab), make.ground(soil=soil))
        assert dig.machine_time == pytest.approx([dig.cut / p * 3600 for p in pace])
        assert dig.machine_time[1] < dig.hand_time[0]

    def test_none_in_rock(self, make):
        assert plan_dig(make.job(covered(make.walk())), make.ground(soil="rock")).machine_time is None
