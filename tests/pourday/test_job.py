"""From a job's records to the day of the pour; advice by day; a mix calibrated by what was seen."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from tests.pourday.slabs import CHICAGO, COLD, HOT, MILD, MIX, days, panels, typed

from slabwright.notes.reader import read_notes
from slabwright.plan import make
from slabwright.pourday import forecast
from slabwright.pourday.advice import advise
from slabwright.pourday.clocks import since_begin
from slabwright.pourday.from_job import loads_of, middle, mix_of, obstacles_of, panels_of, site_of, works_of
from slabwright.pourday.mix import age_rate, calibrate, hydration
from slabwright.pourday.model import MixDay, Obstacle, Site
from slabwright.pourday.search import Choices, plan_crew
from slabwright.pourday.simulate import Setting
from slabwright.pourday.sun import lit, sun_place
from slabwright.result import Plan

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def planned() -> Plan:
    return make(read_notes(EXAMPLES / "side-walk" / "job.yaml"), name="side-walk")


def test_a_job_goes_through() -> None:
    plan = planned()
    site = site_of(plan.notes, "America/Los_Angeles")
    assert site is not None
    assert math.degrees(site.latitude) == pytest.approx(45.5)
    walk = panels_of(plan.shaped, plan.built, start=7 * 3600.0, every=600.0)
    count = sum(len(s.joint_plan.panels) for s in plan.shaped.slabs)
    assert len(walk) == count
    assert [p.placed_at for p in walk] == [7 * 3600.0 + 600.0 * n for n in range(count)]
    works = works_of(plan.shaped, plan.built)
    assert sum(w.volume for w in works) == pytest.approx(plan.built.order.need)
    assert sum(loads_of(plan.built, works)) >= sum(w.volume for w in works) - 1e-9
    mix = mix_of(plan.built, delivered=20.0)
    assert mix.strength == plan.built.order.strength
    weather = days(MILD, 3, date(2026, 5, 12), site)
    got = forecast(
        walk, weather, site, mix, day=date(2026, 5, 12), obstacles=obstacles_of(plan.ground), samples=4
    )
    assert len(got.windows) == count
    day = date(2026, 5, 12)
    place = Setting(weather, site, mix, since_begin(weather, day, 0.0))
    few = Choices(starts=(7 * 3600.0,), people=(2, 3), spacings=(900.0,))
    crew = plan_crew(day, place, walk[0], works, loads_of(plan.built, works), choices=few, samples=64)
    assert {t.panel for t in crew.turns} == {w.panel for w in works}


def test_no_place_no_guess() -> None:
    notes = planned().notes
    assert (
        site_of(notes.model_copy(update={"place": notes.place.model_copy(update={"latitude": None})})) is None
    )


def test_middle_of_a_panel() -> None:
    panel = planned().shaped.slabs[0].joint_plan.panels[0]
    xs, ys = zip(*panel.ring, strict=True)
    x, y = middle(panel)
    assert min(xs) < x < max(xs)
    assert min(ys) < y < max(ys)


# --- shade ---------------------------------------------------------------------------------------------


def test_a_house_to_the_south_shades_at_noon_and_one_to_the_north_does_not() -> None:
    """With north straight into the house, the yard lies south of it and gets the noon sun."""
    site = Site.of_degrees(41.9, -87.6)
    weather = days(MILD, 1, date(2026, 12, 15))
    up, bearing = sun_place(site, weather.begins, np.array([12 * 3600.0]))
    house = (Obstacle((-10.0, 0.0), (10.0, 0.0), 4.0),)
    assert lit(site, up, bearing, (0.0, -2.0), house)[0] == 1.0
    assert lit(replace(site, north=math.pi), up, bearing, (0.0, -2.0), house)[0] == 0.0
    low = (Obstacle((-10.0, 0.0), (10.0, 0.0), 0.5),)
    assert lit(replace(site, north=math.pi), up, bearing, (0.0, -2.0), low)[0] == 1.0


def test_north_turns_clockwise() -> None:
    """North a quarter to the right: the morning sun then comes from behind one, out of the yard."""
    site = Site.of_degrees(41.9, -87.6, north=math.pi / 2)
    up, bearing = np.array([0.3]), np.array([math.pi / 2])  # due east
    yard = (Obstacle((-10.0, -5.0), (10.0, -5.0), 9.0),)
    assert lit(site, up, bearing, (0.0, 0.0), yard)[0] == 0.0
    house = (Obstacle((-10.0, 5.0), (10.0, 5.0), 9.0),)
    assert lit(site, up, bearing, (0.0, 0.0), house)[0] == 1.0


def test_a_crown_shades_its_own_circle_only() -> None:
    site = Site.of_degrees(0.0, 0.0)
    up, bearing = np.array([math.radians(89.9)]), np.array([0.0])
    tree = (Obstacle((0.0, 0.0), (0.0, 0.0), 8.0, 2.0),)
    assert lit(site, up, bearing, (1.0, 0.0), tree)[0] == 0.0
    assert lit(site, up, bearing, (3.0, 0.0), tree)[0] == 1.0


# --- advice ------------------------------------------------------------------------------------------------


def test_go_wait_and_no() -> None:
    from slabwright.pourday.weather import from_days

    first = date(2026, 11, 10)
    wet = replace(MILD, rain_chance=0.8)
    bitter = typed(5, 20, rh=0.6, sky=0.0)
    weather, _ = from_days(first, (MILD, MILD, wet, MILD, bitter, bitter, bitter), CHICAGO)
    got = advise(panels(2), weather, CHICAGO, MIX, first=first, days=7)
    by = {row.date: row for row in got}
    assert by["2026-11-10"].advice == "go"
    assert by["2026-11-12"].advice == "wait"
    assert "rain-fresh" in by["2026-11-12"].reasons
    assert by["2026-11-14"].advice == "no"
    assert "frost-likely" in by["2026-11-14"].reasons
    assert "2026-11-16" not in by  # its night is past the weather's end


def test_an_early_start_is_what_a_hot_day_is_advised() -> None:
    weather = days(HOT, 3, date(2026, 7, 14))
    got = advise(panels(2), weather, CHICAGO, MIX, first=date(2026, 7, 15), days=1)
    assert got[0].begins == 6 * 3600.0
    assert advise(panels(1), days(COLD, 1), CHICAGO, MIX, first=date(2026, 9, 1), days=2) == ()


# --- calibration -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("hours", [3.0, 4.5, 7.0])
def test_calibration_gives_back_what_was_seen(hours: float) -> None:
    mix = calibrate(MixDay(), hours=hours, temperature=21.0)
    got = hydration(mix)
    assert float(got.te_initial) / float(age_rate(21.0, got.energy)) == pytest.approx(hours)


def test_calibration_that_cannot_be() -> None:
    with pytest.raises(ValueError, match="cannot be"):
        calibrate(MixDay(), hours=0.0, temperature=21.0)
    with pytest.raises(ValueError, match="does not belong"):
        calibrate(MixDay(), hours=0.4, temperature=21.0)


def test_water_slows_as_the_trade_says_once_calibrated() -> None:
    """The plain model is a third as sensitive to water as the trade's 15 min a gallon in a yard."""
    base = MixDay(cement="type-i", w_cm=0.45)
    gallon = replace(base, w_cm=0.45 + 8.34 / 564)
    one, two = (float(hydration(m).te_initial) * 60 for m in (base, gallon))
    assert 2.0 < two - one < 10.0


def test_every_number_of_the_records_has_its_unit() -> None:
    """Names and units stand in the nomenclature; plan.json could not be described without them."""
    import dataclasses
    from typing import get_type_hints

    from slabwright.pourday import crew_model, model
    from slabwright.sheets.document import nomenclature

    names = nomenclature()
    for module in (model, crew_model):
        for record in vars(module).values():
            if dataclasses.is_dataclass(record) and record.__module__ == module.__name__:
                for name, hint in get_type_hints(record).items():
                    if "float" in str(hint):
                        assert name in names, f"{record.__name__}.{name}"


def test_temperature_of_the_concrete() -> None:
    from slabwright.pourday.from_job import delivered_of

    notes = planned().notes
    written = notes.model_copy(update={"order": notes.order.model_copy(update={"mix_temperature": 24.0})})
    assert delivered_of(written, days(MILD), date(2026, 5, 12)) == (24.0, ())
    blank = notes.model_copy(update={"order": notes.order.model_copy(update={"mix_temperature": None})})
    for figures, least, most in ((MILD, 15.0, 25.0), (COLD, 13.0, 13.0), (HOT, 28.0, 32.0)):
        warm, found = delivered_of(blank, days(figures), date(2026, 5, 12))
        assert least <= warm <= most
        assert [f.code for f in found] == ["concrete-assumed"]
