"""The order: the need against simulated jobs, the best step against simulated money, limits, loads, lines."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.build.mix import air_for, mix_of, stone_most, strength_least
from slabwright.build.model import Ask
from slabwright.build.need import NormalNeed, PlacedNeed, Spread, sides_of, usual_spread
from slabwright.build.order import Placing, bags_for, placing_pace, plan_order
from slabwright.build.overage import (
    YARD,
    Costs,
    Plant,
    balance_call,
    best_order,
    expected_cost,
    loads_of,
    usual_costs,
    usual_plant,
)
from slabwright.build.says import plant_lines, spoken, texts
from slabwright.build.tables import rule
from slabwright.measure import LANGUAGES, Quantity, System
from slabwright.notes import Notes

FT, IN = 0.3048, 0.0254
PSI = 6894.757293168361
COSTS = Costs(left_over=225 / YARD, lump=800.0)
PLANT = Plant(step=0.25 * YARD, least=YARD, truck=9 * YARD, left_in_truck=0.05 * YARD)
NONE = Spread(*([0.0] * 13))


def notes(**parts):
    """Notes as a program would make them; only what the order reads is filled in."""
    slab = {"name": "walk", "use": "walk", "corners": ["A", "B", "C"]}
    return Notes.model_validate({"title": "Test job", "slabs": [slab], "crew": {"people": 4}, **parts})


def simulated(need: PlacedNeed, jobs: int, seed: int) -> np.ndarray:
    """Volumes [m3] of jobs drawn from the stated errors, by the formula as it is written."""
    s, rng = need.spread, np.random.default_rng(seed)

    def draw(mean, sd):
        return rng.normal(mean, sd, jobs)

    thickness = (
        need.thickness
        + draw(0, s.form_sd)
        + draw(s.subgrade_mean, s.subgrade_sd)
        + draw(0, need.rough_mean_sd())
    )
    factors = (
        (1 + draw(s.area_mean, s.area_sd))
        * (1 + draw(s.waste_mean, s.waste_sd))
        * (1 + draw(s.settle_mean, s.settle_sd))
    )
    return need.area * thickness * factors / (1 + draw(s.yield_mean, s.yield_sd))


def slab_need(length, width, thick, **changes):
    return PlacedNeed(
        length * width * FT * FT,
        thick * IN,
        replace(usual_spread(), **changes),
        patches=((length * FT, width * FT),),
    )


class TestNeed:
    @pytest.mark.parametrize(
        "need", [slab_need(34, 3, 3.5), slab_need(20, 20, 4), slab_need(60, 50, 4, subgrade_sd=0.25 * IN)]
    )
    def test_chance_short_as_in_100_000_simulated_jobs(self, need):
        """Within 1 % everywhere, at the chances that an order is made for."""
        drawn = np.sort(simulated(need, 100_000, 7))
        for p in (0.01, 0.05, 0.1, 0.3, 0.5, 0.7, 0.9, 0.95, 0.99):
            v = need.at_chance(p)
            assert np.searchsorted(drawn, v) / len(drawn) == pytest.approx(p, abs=0.005)
            assert 1 - need.below(v) == pytest.approx((drawn > v).mean(), abs=0.005)
        assert drawn.mean() == pytest.approx(need.mean, rel=0.001)
        assert drawn.std() == pytest.approx(need.sd, rel=0.01)
        v = need.mean + need.sd
        assert need.shortfall(v) == pytest.approx(np.maximum(drawn - v, 0).mean(), rel=0.03)

    def test_shares_of_the_curve_agree(self):
        """The density is the slope of the chance; the shortfall's slope is minus the chance of more."""
        need, h = slab_need(30, 12, 4), 1e-4
        for v in np.linspace(need.mean - 2 * need.sd, need.mean + 3 * need.sd, 9):
            slope = (need.below(v + h) - need.below(v - h)) / (2 * h)
            assert need.density(v) == pytest.approx(slope, rel=1e-4)
            slope = (need.shortfall(v + h) - need.shortfall(v - h)) / (2 * h)
            assert slope == pytest.approx(-(1 - need.below(v)), rel=1e-4)

    def test_without_any_error(self):
        need = PlacedNeed(10.0, 0.1, NONE)
        assert need.mean == pytest.approx(1.0)
        assert need.sd == 0.0
        assert [need.below(v) for v in (0.999, 1.0, 1.001)] == [0.0, 1.0, 1.0]
        assert need.shortfall(0.75) == pytest.approx(0.25)

    def test_only_thickness_spreads(self):
        """No other error: the volume is normal, as the thickness is."""
        need = PlacedNeed(10.0, 0.1, replace(NONE, subgrade_sd=0.004))
        want = NormalNeed(1.0, 0.04)
        for v in (0.95, 1.0, 1.06):
            assert need.below(v) == pytest.approx(want.below(v), abs=0.02)

    def test_nothing_to_pour(self):
        for area, t in ((0.0, 0.1), (-1.0, 0.1), (1.0, 0.0)):
            with pytest.raises(ValueError, match="nothing to pour"):
                PlacedNeed(area, t)

    def test_roughness_of_a_large_square_is_the_limit(self):
        s, side = usual_spread(), 500 * FT
        limit = s.rough_sd * math.sqrt(2 * math.pi * s.rough_reach**2 / side**2)
        assert s.rough_mean_sd(side, side) == pytest.approx(limit, rel=0.01)
        assert s.rough_mean_sd(0.001, 0.001) == pytest.approx(s.rough_sd, rel=1e-6)

    def test_roughness_of_a_walk_against_a_drawn_field(self):
        """Mean of 4,000 drawn fields on a 24 x 3 ft strip, from the correlation as it is stated."""
        s = usual_spread()
        x, y = np.meshgrid(np.arange(0.25, 24, 0.5) * FT, np.arange(0.25, 3, 0.5) * FT)
        xy = np.column_stack([x.ravel(), y.ravel()])
        away = ((xy[:, None] - xy[None]) ** 2).sum(axis=2)
        root = np.linalg.cholesky(np.exp(-away / (2 * s.rough_reach**2)) + 1e-9 * np.eye(len(xy)))
        drawn = root @ np.random.default_rng(5).normal(size=(len(xy), 4000))
        assert drawn.mean(axis=0).std() == pytest.approx(
            s.rough_mean_sd(24 * FT, 3 * FT) / s.rough_sd, rel=0.04
        )

    def test_sides_of(self):
        assert sides_of(12.0, perimeter=99.0, width=3.0) == (4.0, 3.0)
        assert sides_of(12.0, perimeter=14.0) == pytest.approx((4.0, 3.0))
        circle = sides_of(math.pi, perimeter=2 * math.pi)
        assert circle == pytest.approx((math.sqrt(math.pi),) * 2)

    def test_patches_share_the_roughness(self):
        """Two equal slabs vary less together than one of them alone, by sqrt 2."""
        one = PlacedNeed(10.0, 0.1, patches=((5.0, 2.0),))
        two = PlacedNeed(20.0, 0.1, patches=((5.0, 2.0), (5.0, 2.0)))
        assert two.rough_mean_sd() == pytest.approx(one.rough_mean_sd() / math.sqrt(2))


class TestBestOrder:
    @settings(max_examples=20, deadline=None)
    @given(
        st.floats(5, 80), st.floats(3, 40), st.floats(3, 8), st.floats(50, 3000), st.sampled_from([0.25, 0.5])
    )
    def test_no_step_costs_less(self, length, width, thick, lump, step):
        need, costs = slab_need(length, width, thick), replace(COSTS, lump=lump, short=20 / YARD)
        plant = replace(PLANT, step=step * YARD)
        best = best_order(need, costs, plant)
        assert best.order / plant.step == pytest.approx(round(best.order / plant.step))
        assert best.order >= plant.least - 1e-12
        for k in range(-40, 41):
            order = best.order + k * plant.step
            if order >= plant.least:
                assert best.cost <= expected_cost(need, order, costs, plant).cost * (1 + 1e-9)

    def test_cost_against_simulated_jobs(self):
        """Every dollar of the formula, charged job by job."""
        need, costs, plant = slab_need(30, 25, 4), usual_costs(4), PLANT
        drawn = simulated(need, 200_000, 3)
        for order in (9.5 * YARD, 10.25 * YARD, 11 * YARD):
            got = expected_cost(need, order, costs, plant)
            here = order - 0.05 * YARD * 2
            missing = np.maximum(drawn - here, 0)
            money = costs.left_over * np.maximum(here - drawn, 0)
            money += np.where(missing > 0, costs.lump, 0)
            money += np.where(missing > 0, costs.small * np.maximum(costs.small_under - missing, 0), 0)
            assert got.cost == pytest.approx(money.mean(), rel=0.01)
            assert got.chance_short == pytest.approx((missing > 0).mean(), abs=0.005)
            assert got.left_over == pytest.approx(np.maximum(here - drawn, 0).mean(), rel=0.01)

    @pytest.mark.parametrize("size", [(20, 20, 4), (60, 50, 4), (34, 3, 3.5)])
    def test_lump_sum_condition(self, size):
        """On a fine scale the best order solves c F(Q) = K f(Q)."""
        need = slab_need(*size)
        fine = Plant(step=need.sd / 500, least=0.0, truck=1e9)
        best = best_order(need, COSTS, fine).order
        assert COSTS.left_over * need.below(best) == pytest.approx(COSTS.lump * need.density(best), rel=0.01)

    def test_textbook_limit_without_the_lump(self):
        """A cost by the yard alone: F(Q) = u / (u + c)."""
        need = slab_need(20, 20, 4)
        fine = Plant(step=need.sd / 500, least=0.0, truck=1e9)
        best = best_order(need, Costs(left_over=20.0, short=30.0), fine)
        assert need.below(best.order) == pytest.approx(0.6, abs=0.001)

    def test_no_spread_is_need_rounded_up(self):
        plant = replace(PLANT, left_in_truck=0.0)
        for yards, want in ((3.01, 3.25), (3.25, 3.25), (0.2, 1.0)):
            need = PlacedNeed(yards * YARD / 0.1, 0.1, NONE)
            assert best_order(need, COSTS, plant).order / YARD == pytest.approx(want)

    def test_short_costs_nothing_or_everything(self):
        """K to nothing: as little as the plant sells. K without end: as good as never short."""
        need = slab_need(20, 20, 4)
        assert best_order(need, replace(COSTS, lump=0.0), PLANT).order == PLANT.least or (
            best_order(need, replace(COSTS, lump=0.0), PLANT).chance_short > 0.999
        )
        assert best_order(need, replace(COSTS, lump=1e9), PLANT).chance_short < 1e-6

    def test_dearer_short_orders_more(self):
        need = slab_need(40, 30, 5)
        orders = [best_order(need, replace(COSTS, lump=k), PLANT).order for k in (200, 400, 800, 1600, 3200)]
        assert orders == sorted(orders)
        assert orders[0] < orders[-1]


class TestBalance:
    def test_one_load_has_none(self):
        assert balance_call(slab_need(20, 10, 4), (3 * YARD,), COSTS, PLANT) is None

    def test_it_narrows_the_rest(self):
        need = slab_need(60, 50, 4)
        best = best_order(need, usual_costs(4), PLANT)
        loads = loads_of(best.order, PLANT)
        call = balance_call(need, loads, usual_costs(4), PLANT)
        assert call.placed == pytest.approx(sum(loads[:-1]))
        assert call.filled_area + call.open_area == pytest.approx(need.area)
        assert call.chance_short < best.chance_short / 2
        rest = need.mean * call.open_area / need.area
        assert call.call == pytest.approx(rest + call.allowance)

    def test_chance_against_simulated_calls(self):
        """Jobs drawn with the shared errors, the first loads watched, the rest called for by the rule."""
        need, costs = slab_need(60, 50, 4), usual_costs(4)
        loads = loads_of(best_order(need, costs, PLANT).order, PLANT)
        call = balance_call(need, loads, costs, PLANT)
        share = call.filled_area / need.area
        rng, n = np.random.default_rng(11), 100_000
        shared = simulated(replace(need, spread=replace(need.spread, rough_sd=0.0)), n, 12) / need.area
        rough = need.mean / need.area / (need.thickness + need.spread.subgrade_mean)
        first = shared + rough * rng.normal(0, need.rough_mean_sd(share), n)
        rest = shared + rough * rng.normal(0, need.rough_mean_sd(1 - share), n)
        seen = (call.open_area * first) + rng.normal(0, rule("pour", "measured_sd") * need.mean, n)
        took = call.open_area * rest
        # the step of the scale is drawn anew by where the called volume falls: the rule adds the allowance
        short = (took > seen + call.allowance - PLANT.left_in_truck).mean()
        assert short == pytest.approx(call.chance_short, abs=0.01)


class TestLoads:
    @given(st.floats(0.3, 60), st.floats(4, 12), st.floats(0.25, 3))
    @settings(max_examples=60)
    def test_they_add_up(self, order, truck, least):
        plant = Plant(step=0.25, least=min(least, truck / 2), truck=truck)
        order = max(order, plant.least)
        loads = loads_of(order, plant)
        assert sum(loads) == pytest.approx(order)
        assert max(loads) <= truck + 1e-9
        assert min(loads) >= plant.least - 1e-9
        assert len(loads) == math.ceil(order / truck - 1e-9)

    def test_rest_last(self):
        assert [v / YARD for v in loads_of(11.25 * YARD, PLANT)] == pytest.approx([9.0, 2.25])
        assert [v / YARD for v in loads_of(9.25 * YARD, PLANT)] == pytest.approx([8.25, 1.0])


class TestPlanOrder:
    def test_side_walk(self, make):
        order = plan_order(make.job(make.walk(length=32 * FT, thickness=4 * IN)), notes())
        assert order.drawn == pytest.approx(32 * 3 * FT**2 * 4 * IN)
        assert order.by_slab == (("walk", order.drawn),)
        assert order.need > order.drawn
        assert order.order >= order.need
        assert 0 < order.chance_short < 0.2
        assert order.loads == (order.order,)
        assert order.balance is None
        assert order.load_every is None

    def test_two_slabs_are_one_order(self, make):
        one, two = make.walk(name="a"), make.walk(name="b", thickness=6 * IN)
        order = plan_order(make.job(one, two), notes())
        assert [name for name, _ in order.by_slab] == ["a", "b"]
        assert sum(v for _, v in order.by_slab) == pytest.approx(order.drawn)

    def test_what_the_plant_sells(self, make):
        slab = make.walk(length=100 * FT, width=10 * FT, thickness=4 * IN)
        order = plan_order(
            make.job(slab), notes(order={"least": "2 yd3", "step": "1/2 yd3", "truck": "8 yd3"})
        )
        assert order.order / (0.5 * YARD) == pytest.approx(round(order.order / (0.5 * YARD)))
        assert max(order.loads) <= 8 * YARD + 1e-9
        assert order.balance is not None
        codes = [f.code for f in order.findings]
        assert "order-balance" in codes
        assert "order-left-over" in codes

    def test_metric(self, make):
        job = notes(units="metric")
        order = plan_order(make.job(make.walk(length=20.0, width=3.0, thickness=0.1)), job)
        assert order.order / 0.25 == pytest.approx(round(order.order / 0.25))
        assert dict(order.mix)["How much"].endswith("m3")

    def test_small_job_in_bags(self, make):
        order = plan_order(make.job(make.walk(length=4 * FT, width=3 * FT)), notes())
        assert [bag for bag, _ in order.bags] == ["60 lb", "80 lb"]
        need = PlacedNeed(12 * FT**2, 3.5 * IN, patches=((4 * FT, 3 * FT),))
        enough = need.at_chance(0.95)
        (_, sixty), (_, eighty) = order.bags
        assert sixty == bags_for(enough, "60 lb")
        assert eighty == math.ceil(enough / (0.6 * FT**3))
        assert ("Get", f"{eighty} bags of 80 lb") in order.mix
        assert plan_order(make.job(make.walk(length=80 * FT, width=10 * FT)), notes()).bags == ()

    def test_slow_crew(self, make):
        job = notes(access={"by": "barrow"})
        slow = plan_order(make.job(make.walk(length=100 * FT, width=10 * FT)), job)
        found = next(f for f in slow.findings if f.code == "order-slow")
        assert found.values["most"].si < slow.loads[0]
        quick = plan_order(make.job(make.walk(length=30 * FT, width=5 * FT)), notes())
        assert "order-slow" not in [f.code for f in quick.findings]
        assert "plant-retarder" in [ask.key for ask in slow.asks]
        assert "plant-retarder" not in [ask.key for ask in quick.asks]

    def test_what_stays_in_the_line_of_a_pump_is_ordered(self, make):
        sold = {"step": "0.01 m3", "least": "0.01 m3"}
        job, slab = notes(access={"by": "pump"}, order=sold), make.walk(length=20.0, width=3.0)
        dry, wet = (
            plan_order(make.job(slab), job, placing=Placing(line=far, left_in_line=left))
            for far, left in ((0.0, 0.0), (20.0, 0.3))
        )
        step = rule("pour", "step_least")
        assert wet.need - dry.need == pytest.approx(0.3)
        assert wet.order - dry.order == pytest.approx(0.3, abs=step + 1e-9)
        assert wet.chance_short == pytest.approx(dry.chance_short, abs=0.02)
        assert wet.left_over == pytest.approx(dry.left_over, abs=step)
        said = {ask.key: spoken(ask, "say", system=System.METRIC) for ask in wet.asks}
        assert said["plant-pump"].startswith("line of 20.000 m; 0.30 m")
        assert "plant-pump" not in [ask.key for ask in dry.asks]

    def test_the_plant_is_told_how_it_is_really_placed(self, make):
        slab, job = make.walk(length=20.0, width=3.0), notes(access={"by": "chute"})
        said = [
            spoken(next(a for a in order.asks if a.key == "plant-placing"), "say")
            for order in (
                plan_order(make.job(slab), job),
                plan_order(make.job(slab), job, placing=Placing((("chute", 2.0), ("barrow", 1.0)))),
            )
        ]
        assert said[0] != said[1]
        assert said[1].startswith(said[0])
        assert "barrow" in said[1]

    def test_the_pace_is_that_of_the_ways_it_really_takes(self):
        """Half by each of two ways takes the mean of their times, not of their paces."""
        job = notes(access={"by": "chute"})
        chute, barrow, both = (
            placing_pace(job, Placing(by))
            for by in ((("chute", 3.0),), (("barrow", 3.0),), (("chute", 2.0), ("barrow", 2.0)))
        )
        assert placing_pace(job) == pytest.approx(chute)
        assert barrow < both < chute
        assert 1.0 / both == pytest.approx((1.0 / chute + 1.0 / barrow) / 2.0)

    def test_the_line_is_full_when_the_last_load_is_called(self, make):
        slab = make.walk(length=60.0, width=3.0)
        dry, wet = (
            plan_order(
                make.job(slab), notes(access={"by": "pump"}), placing=Placing(line=far, left_in_line=left)
            )
            for far, left in ((0.0, 0.0), (40.0, 0.4))
        )
        assert dry.balance is not None
        assert wet.balance is not None
        assert len(dry.loads) == len(wet.loads)
        assert wet.balance.filled_area < dry.balance.filled_area
        assert wet.balance.allowance == pytest.approx(dry.balance.allowance, abs=rule("pour", "step") + 0.05)

    @pytest.mark.parametrize(
        "sold",
        [{"step": "0.001 yd3"}, {"truck": "0.1 yd3"}, {"step": "2 yd3", "truck": "1 yd3"}, {"least": "lots"}],
    )
    def test_what_no_plant_sells(self, make, sold):
        order = plan_order(make.job(make.walk()), notes(order=sold))
        assert "order-unread" in [f.code for f in order.findings]
        assert order.order > 0

    def test_no_concrete(self, make):
        with pytest.raises(ValueError, match="no concrete"):
            plan_order(make.job(), notes())


class TestMix:
    def test_by_frost(self, make):
        specs = (make.spec(strength=4500 * PSI),)
        none, _ = mix_of(specs, "none")
        severe, found = mix_of(specs, "severe")
        assert (none.air, none.w_cm, none.air_aim) == (None, None, None)
        assert severe.air == pytest.approx((0.045, 0.075))
        assert severe.w_cm == 0.45
        assert found == ()

    def test_weak(self, make):
        spec = make.spec(strength=2800 * PSI)
        assert [f.code for f in mix_of((spec,), "none")[1]] == []
        (found,) = mix_of((spec,), "moderate")[1]
        assert found.code == "mix-weak"
        assert found.values["least"].si == pytest.approx(3000 * PSI)
        assert mix_of((replace(spec, strength=3000 * PSI),), "moderate")[1] == ()

    def test_stone_at_a_third(self, make):
        """A 3 in slab takes 1 in stone and not 1 1/8 in."""
        fine = make.spec(thickness=3 * IN, aggregate=1.0 * IN)
        assert mix_of((fine,), "none")[1] == ()
        (found,) = mix_of((replace(fine, aggregate=1.125 * IN),), "none")[1]
        assert found.code == "mix-stone"
        assert found.values["most"].si == pytest.approx(stone_most(3 * IN))

    def test_wet(self, make):
        assert mix_of((make.spec(slump=5 * IN),), "none")[1] == ()
        assert [f.code for f in mix_of((make.spec(slump=5.5 * IN),), "none")[1]] == ["mix-slump"]

    def test_one_mix_serves_all(self, make):
        weak, strong = make.spec(strength=3000 * PSI, slump=5 * IN), make.spec(aggregate=0.5 * IN)
        mix, found = mix_of((weak, strong), "none")
        assert (mix.strength, mix.stone, mix.slump) == (4000 * PSI, 0.5 * IN, 4 * IN)
        assert [f.code for f in found] == ["mix-two"]

    def test_air_steps(self):
        """On a row, between two rows (the smaller stone's, which asks for more), beyond both ends."""
        assert [air_for(s * IN) for s in (0.25, 0.375, 0.6, 0.75, 2.0)] == pytest.approx(
            [0.075, 0.075, 0.07, 0.06, 0.055]
        )
        assert air_for(0.020) == pytest.approx(0.06)  # 20 mm, the metric trade's 3/4 in

    def test_bad_frost(self, make):
        with pytest.raises(ValueError, match="frost"):
            mix_of((make.spec(),), "arctic")
        with pytest.raises(KeyError):
            strength_least("arctic")

    def test_fibre_is_said(self, make):
        steel = replace(make.walk().steel, choice="fiber", dose=1.8)
        order = plan_order(make.job(make.walk(steel=steel)), notes())
        assert "Fibre" in dict(order.mix)


class TestLines:
    def test_every_text_in_both_languages(self):
        for key, row in texts().items():
            if "say" in row:
                assert all(len(row[part]) == len(LANGUAGES) for part in row), key
                names = [{part.split("}")[0] for part in text.split("{")[1:]} for text in row["say"]]
                assert names[0] == names[1], key
            else:
                assert all(len(pair) == len(LANGUAGES) for pair in row.values()), key

    def test_spanish_and_metric(self, make):
        order = plan_order(make.job(make.walk(length=100 * FT, width=10 * FT)), notes())
        lines = dict(plant_lines(order.asks, system=System.METRIC, lang="es"))
        assert lines["Para qué es"] == "exterior, sobre el terreno: andador"
        assert "m3" in lines["Cuánto"]
        assert "MPa" in lines["Resistencia"]

    def test_in_the_plants_order(self, make):
        keys = [ask.key for ask in plan_order(make.job(make.walk()), notes()).asks]
        order = ["for", "day", "amount", "strength", "stone", "slump", "air", "water", "use", "placing"]
        at = [next(i for i, key in enumerate(keys) if key.startswith(f"plant-{name}")) for name in order]
        assert at == sorted(at)

    def test_unknown_line(self):
        with pytest.raises(KeyError):
            spoken(Ask("plant-nonsense", {"x": Quantity("count", 1.0)}), "say")


def test_usual_plant_in_both_systems():
    assert usual_plant().truck == pytest.approx(9 * YARD)
    assert usual_plant(System.METRIC).truck == pytest.approx(7.0)
