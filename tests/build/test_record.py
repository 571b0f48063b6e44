"""The crew's own record: conjugate rule against quadrature, what it does to the order, slips of the pen."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.build.need import PlacedNeed
from slabwright.build.order import in_time, plan_order
from slabwright.build.overage import usual_plant
from slabwright.build.record import Belief, learn, next_job_sd, with_record
from slabwright.build.tables import rule
from slabwright.measure import read
from slabwright.notes import Notes

FT, YARD = 0.3048, read("volume", "1 yd3")
PLANT = usual_plant()


def notes(jobs=(), **order):
    past = [
        {"name": f"job {k}", "drawn": f"{drawn} yd3", "ordered": f"{came} yd3", "left-over": f"{left} yd3"}
        for k, (drawn, came, left) in enumerate(jobs)
    ]
    slab = {"name": "walk", "use": "walk", "corners": ["A", "B", "C"]}
    access = {"by": order.pop("by", "chute")}
    return Notes.model_validate(
        {"title": "t", "slabs": [slab], "order": {**order, "past-jobs": past}, "access": access}
    )


def jobs_that_took(shares, drawn=6.0):
    """Jobs of one load with a given share over the drawing."""
    stuck = PLANT.left_in_truck / YARD
    return [(drawn, drawn * (1 + share) + stuck + 0.25, 0.25) for share in shares]


class TestConjugate:
    @settings(max_examples=8, deadline=None)
    @given(st.lists(st.floats(-0.05, 0.2), min_size=1, max_size=6), st.floats(0.01, 0.08))
    def test_against_quadrature(self, took, sd):
        """Prior times likelihood on a grid of mean and spread gives the same posterior means."""
        prior = Belief(0.06, sd, 3.0, 8.0)
        after = learn(prior, took)
        mean = np.linspace(-0.6, 0.8, 1401)[:, None]
        spread = np.geomspace(sd / 12, sd * 60, 900)[None, :]
        log = -(prior.sd_jobs + 1) * np.log(spread) - prior.sd_jobs * prior.sd**2 / (2 * spread**2)
        log = log - np.log(spread) - prior.mean_jobs * (mean - prior.mean) ** 2 / (2 * spread**2)
        for share in took:
            log = log - np.log(spread) - (share - mean) ** 2 / (2 * spread**2)
        weight = np.exp(log - log.max()) * np.gradient(spread[0])[None, :]
        weight /= weight.sum()
        assert (weight * mean).sum() == pytest.approx(after.mean, abs=2e-4)
        # the next job's variance: its own, and that of the mean
        own = (weight * spread**2).sum()
        doubt = (weight * (mean - after.mean) ** 2).sum()
        assert math.sqrt(own + doubt) == pytest.approx(next_job_sd(after), rel=5e-3)

    def test_nothing_learnt_from_nothing(self):
        prior = Belief(0.06, 0.03, 3.0, 8.0)
        assert learn(prior, []) == prior

    def test_many_jobs_speak_for_themselves(self):
        took = np.random.default_rng(5).normal(0.11, 0.02, 4000)
        after = learn(Belief(0.03, 0.06, 3.0, 8.0), took.tolist())
        assert after.mean == pytest.approx(took.mean(), abs=2e-4)
        assert next_job_sd(after) == pytest.approx(took.std(), rel=0.02)

    def test_two_jobs_of_spread_are_not_enough_to_bet_on(self):
        assert next_job_sd(Belief(0.0, 0.03, 3.0, 2.0)) == math.inf


class TestNeed:
    NEED = PlacedNeed(60.0, 0.1)

    def told(self, jobs):
        return with_record(self.NEED, 6.0, notes(jobs).order, PLANT)

    def test_no_record_no_change(self):
        assert self.told(()) == (self.NEED, ())

    def test_a_record_that_agrees_narrows(self):
        share = self.NEED.mean / 6.0 - 1
        need, (found,) = self.told(jobs_that_took([share] * 10))
        assert found.code == "order-record"
        assert need.mean == pytest.approx(self.NEED.mean, rel=1e-6)
        assert need.sd < 0.75 * self.NEED.sd

    @pytest.mark.parametrize("share", [-0.02, 0.15])
    def test_mean_and_spread_are_what_was_learnt(self, share):
        jobs = jobs_that_took([share - 0.01, share + 0.01, share])
        need, (found,) = self.told(jobs)
        assert need.mean == pytest.approx(6.0 * (1 + found.values["after"].si), rel=1e-6)
        assert need.sd == pytest.approx(6.0 * found.values["give"].si, rel=1e-6)
        assert found.values["took"].si == pytest.approx(share, abs=1e-4)
        before = found.values["before"].si
        assert min(before, share) < found.values["after"].si < max(before, share)

    @pytest.mark.parametrize("job", [(6.0, 6.0, 7.0), (6.0, 10.0, 0.0), (6.0, 3.0, 0.0), (0.0, 3.0, 0.0)])
    def test_slips_of_the_pen_are_left_out(self, job):
        good = jobs_that_took([0.1])
        need, found = self.told([*good, job])
        assert [f.code for f in found] == ["order-record-odd", "order-record"]
        assert need == self.told(good)[0]

    def test_what_was_fetched_after_counts(self):
        stuck = 2 * PLANT.left_in_truck / YARD
        jobs = {"name": "a", "drawn": "6 yd3", "ordered": "6 yd3", "short": f"{0.6 + stuck} yd3"}
        job = Notes.model_validate(
            {
                "title": "t",
                "slabs": [{"name": "w", "use": "walk", "corners": ["A", "B", "C"]}],
                "order": {"past-jobs": [jobs]},
            }
        )
        _, (found,) = with_record(self.NEED, 6.0, job.order, PLANT)
        assert found.values["took"].si == pytest.approx(0.1, abs=1e-4)


class TestOrder:
    def test_a_thirsty_crew_orders_more_and_is_not_short(self, make):
        """Jobs that take 20 % over: by planning figures most run short, by the record as few as said."""
        rng = np.random.default_rng(8)
        slab = make.walk(length=60 * FT, width=10 * FT)
        job = make.job(slab)
        plain = plan_order(job, notes())
        asked = plan_order(job, notes(jobs_that_took(rng.normal(0.2, 0.02, 30))))
        drawn = plain.drawn
        needs = drawn * (1 + rng.normal(0.2, 0.02, 20_000))
        short = [(needs > o.order - PLANT.left_in_truck).mean() for o in (plain, asked)]
        assert asked.order > plain.order
        assert short[0] > 5 * plain.chance_short
        assert short[1] < 2 * asked.chance_short + 0.02
        assert asked.need_sd < plain.need_sd

    def test_loads_are_split_where_asked(self, make):
        job = make.job(make.walk(length=100 * FT, width=10 * FT))
        slow = plan_order(job, notes(by="barrow"))
        split = plan_order(job, notes(by="barrow", **{"split-loads": True}))
        free = rule("pour", "discharge") - rule("pour", "haul")
        assert "order-slow" in [f.code for f in slow.findings]
        codes = [f.code for f in split.findings]
        assert "order-slow" not in codes
        assert "order-split" in codes
        pace = 4 * 1.25 * YARD / 3600
        assert max(split.loads) / pace <= free + 1e-6
        assert len(split.loads) > len(slow.loads)
        assert sum(split.loads) == pytest.approx(split.order)

    def test_a_load_is_never_less_than_the_plant_sells(self):
        assert in_time(PLANT, 1e-9).truck == pytest.approx(PLANT.least)
        assert in_time(PLANT, 1.0).truck == pytest.approx(PLANT.truck)

    def test_left_over_has_a_place(self, make):
        job = make.job(make.walk(length=60 * FT, width=5 * FT))
        order = plan_order(job, notes())
        found = next(f for f in order.findings if f.code == "order-left-over")
        stone = math.pi / 4 * (16 * 0.0254) ** 2 * 2 * 0.0254
        assert found.values["stones"] == round(order.left_over / stone)
        told = plan_order(job, notes(**{"left-over-to": "pad for the bins"}))
        text = next(f for f in told.findings if f.code == "order-left-over-to").text()
        assert "pad for the bins" in text.what
