"""The windows behave as the trade knows, over random days; edges of the stage itself."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.pourday.slabs import CENTRAL, CHICAGO, COLD, COOL, HOT, MILD, MIX, days, panels

from slabwright.pourday import forecast
from slabwright.pourday.model import Obstacle, PourDay, Protection, Site, Weather
from slabwright.pourday.tables import TABLES, source_keys
from slabwright.pourday.weather import WeatherError
from slabwright.sources import all_sources

MAY = date(2026, 5, 13)


def told(weather: Weather | None = None, *, mix=MIX, start: float = 7.0, count: int = 1, **other) -> PourDay:
    other = {"samples": 1, "day": MAY} | other
    return forecast(panels(count, start=start), weather or days(MILD), CHICAGO, mix, **other)


def after(result: PourDay, name: str) -> float:
    """Hours after placing."""
    window = result.windows[0]
    likely = getattr(window, name).likely
    assert likely is not None
    return (likely - window.placed_at) / 3600


def bent(weather: Weather, *, air: float = 0.0, dew: float = 0.0, wind: float = 1.0) -> Weather:
    warm = weather.air_temperature + air
    return replace(
        weather,
        air_temperature=warm,
        dew_point=np.minimum(weather.dew_point + dew, warm),
        wind_speed=weather.wind_speed * wind,
    )


def test_initial_set_of_plain_mix_at_70() -> None:
    """4 to 6 h from batching at 70 F, by night so that the sun has no part in it."""
    still = Weather(datetime(2026, 5, 13, tzinfo=CENTRAL), *(np.full(60, v) for v in (21.1, 15.0, 1.0, 1.0)))
    got = forecast(panels(1, start=18.0), still, CHICAGO, MIX, day=MAY, samples=1)
    assert 4.0 <= after(got, "initial_set") + MIX.hauled / 3600 <= 6.0
    assert after(got, "initial_set") < after(got, "final_set")


def test_twice_as_fast_when_20_degrees_warmer() -> None:
    def at(fahrenheit: float) -> float:
        warm = (fahrenheit - 32) / 1.8
        flat = Weather(
            datetime(2026, 5, 13, tzinfo=CENTRAL), *(np.full(60, v) for v in (warm, warm - 6, 1.0, 1.0))
        )
        mix = replace(MIX, delivered=warm)
        got = forecast(panels(1, start=18.0), flat, CHICAGO, mix, day=MAY, samples=1)
        return after(got, "final_set") + mix.hauled / 3600

    assert at(60) / at(80) == pytest.approx(2.0, abs=0.25)


DAYS = st.tuples(st.sampled_from([MILD, HOT, COOL]), st.floats(6.0, 11.0), st.integers(130, 270))


@settings(max_examples=8, deadline=None)
@given(DAYS)
def test_order_of_the_steps(case: tuple) -> None:
    """Edge no later than broom, broom before too late, set and strength in their order."""
    figures, start, n = case
    first = date(2026, 1, 1) + timedelta(days=n)
    got = told(days(figures, 4, first), start=start, day=first + timedelta(days=1), samples=12)
    w = got.windows[0]
    marks = [w.edge, w.broom, w.cure_on, w.saw_early, w.saw, w.walk]
    likely = [m.likely for m in marks if m.likely is not None]
    assert likely == sorted(likely)
    assert w.broom.likely <= w.broom_end.likely <= w.final_set.likely
    for band in (w.edge, w.broom, w.initial_set, w.saw):
        known = [v for v in (band.early, band.likely, band.late) if v is not None]
        assert known == sorted(known)
        assert 0.0 <= band.chance <= 1.0


@settings(max_examples=6, deadline=None)
@given(DAYS, st.floats(2.0, 6.0))
def test_warmer_air_sets_earlier(case: tuple, more: float) -> None:
    figures, start, n = case
    first = date(2026, 1, 1) + timedelta(days=n)
    base = days(figures, 4, first)
    day = first + timedelta(days=1)
    cool, warm = (told(w, start=start, day=day) for w in (base, bent(base, air=more, dew=more)))
    assert after(warm, "initial_set") < after(cool, "initial_set")
    assert after(warm, "broom_end") < after(cool, "broom_end")


@settings(max_examples=6, deadline=None)
@given(DAYS, st.floats(3.0, 8.0))
def test_drier_air_takes_the_sheen_sooner(case: tuple, less: float) -> None:
    figures, start, n = case
    first = date(2026, 1, 1) + timedelta(days=n)
    base = days(figures, 4, first)
    day = first + timedelta(days=1)
    damp, dry = (told(w, start=start, day=day) for w in (base, bent(base, dew=-less)))
    assert after(dry, "sheen_gone") <= after(damp, "sheen_gone") + 1 / 60
    damp_row, dry_row = damp.hours[0], dry.hours[0]
    assert dry_row.evaporation > damp_row.evaporation


def test_wind_takes_the_sheen_and_more_wind_is_more_risk() -> None:
    calm, windy = (told(w, samples=48, start=11.0) for w in (days(HOT), bent(days(HOT), wind=2.0)))
    assert after(windy, "sheen_gone") < after(calm, "sheen_gone")
    assert windy.windows[0].shrink_chance > calm.windows[0].shrink_chance
    assert {h.risk for h in windy.hours} >= {"act"}
    assert "shrink-likely" in {f.code for f in windy.findings}


def test_shade_lengthens_the_window() -> None:
    wall = (Obstacle((-20.0, 3.0), (20.0, 3.0), 30.0), Obstacle((-20.0, -3.0), (20.0, -3.0), 30.0))
    sunny, shady = told(days(HOT), start=9.0), told(days(HOT), start=9.0, obstacles=wall)
    assert shady.windows[0].sun < sunny.windows[0].sun
    length = [after(r, "broom_end") - after(r, "broom") for r in (sunny, shady)]
    assert length[1] > length[0]
    cloth = told(days(HOT), start=9.0, protections=(Protection("shade", 0.0),))
    assert after(cloth, "broom_end") > after(sunny, "broom_end")


def test_an_early_start_helps_in_heat() -> None:
    early, late = (told(days(HOT), start=s) for s in (5.5, 12.0))
    assert after(early, "broom_end") > after(late, "broom_end")
    assert early.hours[0].evaporation < late.hours[0].evaporation


def test_an_early_start_hurts_in_frost() -> None:
    """At the day's coldest hour the concrete gets less warmth to begin with than at ten."""
    frosty = days(COLD, 6, date(2026, 11, 18))
    five, ten = (told(frosty, start=s, day=date(2026, 11, 19)) for s in (5.0, 10.0))
    assert after(five, "initial_set") > after(ten, "initial_set")


def test_blankets_keep_frost_out() -> None:
    frosty = days(COLD, 6, date(2026, 11, 18))
    day = date(2026, 11, 19)
    bare = told(frosty, day=day, start=10.0, samples=24)
    under = told(frosty, day=day, start=10.0, samples=24, protections=(Protection("blanket", 15 * 3600.0),))
    assert bare.windows[0].frost_chance > 0.9
    assert under.windows[0].frost_chance < 0.2
    assert "frost-likely" in {f.code for f in bare.findings}
    assert bare.cold.needed
    assert {f.code for f in bare.findings} >= {"cold-weather"}


def test_a_retarder_and_a_film_change_what_they_should() -> None:
    plain = told(days(HOT))
    slow = told(days(HOT), mix=replace(MIX, pace=1.4))
    assert after(slow, "broom_end") > after(plain, "broom_end") * 1.15
    film = told(days(HOT), protections=(Protection("film", 0.0),))
    assert after(film, "sheen_gone") > after(plain, "sheen_gone")


def test_same_seed_same_day_and_more_samples_near_it() -> None:
    one, two = told(samples=40), told(samples=40)
    assert one == two
    other = told(samples=40, seed=2)
    assert other != one
    assert abs(after(one, "broom") - after(other, "broom")) < 0.5


def test_panels_of_two_thicknesses_keep_their_order() -> None:
    mixed = (*panels(2), *panels(1, start=8.5, thickness=0.1524))
    got = forecast(mixed, days(MILD), CHICAGO, MIX, day=MAY, samples=4)
    assert [w.panel for w in got.windows] == ["1", "2", "1"]
    assert got.windows[2].placed_at == 8.5 * 3600
    alone = forecast(mixed[2:], days(MILD), CHICAGO, MIX, day=MAY, samples=1)
    assert got.windows[2].warmest == pytest.approx(alone.windows[0].warmest, abs=1e-6)


def test_a_forecast_that_ends_early_says_so_and_guesses_nothing() -> None:
    short = days(MILD, 1, MAY)  # one day only
    got = told(short, samples=8)
    codes = {f.code for f in got.findings}
    assert "weather-ends-before-drive" in codes
    assert got.windows[0].drive.likely is None
    assert got.windows[0].drive.chance == 0.0
    assert got.windows[0].broom.likely is not None
    assert got.known_until == 24 * 3600
    late = told(short, samples=8, start=22.0)
    assert "weather-ends-in-finishing" in {f.code for f in late.findings}
    assert late.windows[0].broom.likely is None


def test_a_pour_outside_the_weather_is_refused() -> None:
    with pytest.raises(WeatherError, match="outside"):
        told(days(MILD, 1, MAY), day=date(2026, 5, 15))
    with pytest.raises(WeatherError, match="outside"):
        told(days(MILD, 1, MAY), day=date(2026, 5, 12))
    with pytest.raises(ValueError, match="panel"):
        forecast((), days(MILD), CHICAGO, MIX, day=MAY)
    with pytest.raises(ValueError, match="cement"):
        told(mix=replace(MIX, cement="mud"))
    with pytest.raises(ValueError, match="w_cm"):
        told(mix=replace(MIX, w_cm=2.0))


def test_night_clock_change_haul_and_heat_are_said() -> None:
    assert "night-pour" in {f.code for f in told(start=3.0).findings}
    assert "night-pour" not in {f.code for f in told(start=12.0).findings}
    autumn = days(MILD, 3, date(2026, 10, 31))
    got = told(autumn, day=date(2026, 11, 1))
    assert "clocks-back" in {f.code for f in got.findings}
    assert "haul-long" in {f.code for f in told(mix=replace(MIX, hauled=5500.0)).findings}
    assert "haul-long" not in {f.code for f in told(mix=replace(MIX, hauled=5400.0)).findings}
    assert "concrete-hot" in {f.code for f in told(mix=replace(MIX, delivered=35.1)).findings}
    assert "concrete-hot" not in {f.code for f in told(mix=replace(MIX, delivered=35.0)).findings}


def test_the_clock_of_autumn_is_the_wall_clock() -> None:
    """Placed at 7:00 on the day that clocks go back: the set comes as long after it as on any day."""
    plain, change = (
        told(days(MILD, 3, date(2026, 11, 7)), day=date(2026, 11, 8)),
        told(days(MILD, 3, date(2026, 10, 31)), day=date(2026, 11, 1)),
    )
    assert after(change, "initial_set") == pytest.approx(after(plain, "initial_set"), abs=0.35)


def test_rain() -> None:
    wet = replace(MILD, rain_chance=0.7)
    assert "rain-fresh" in {f.code for f in told(days(wet)).findings}
    assert "rain-fresh" not in {f.code for f in told(days(MILD)).findings}
    dry = replace(days(MILD), rain_chance=None)
    assert "rain-unknown" in {f.code for f in told(dry).findings}


def test_every_day_a_day_later_changes_nothing_but_the_sun() -> None:
    """All clocks moved by a week move nothing by more than the sun's own week."""
    a = told(days(MILD, 4, date(2026, 6, 15)), day=date(2026, 6, 16))
    b = told(days(MILD, 4, date(2026, 6, 22)), day=date(2026, 6, 23))
    assert after(a, "initial_set") == pytest.approx(after(b, "initial_set"), abs=0.02)


def test_polar_night_and_southern_summer_run() -> None:
    north = Site.of_degrees(65.0, 25.0, "Europe/Helsinki")
    south = Site.of_degrees(-33.9, 151.2, "Australia/Sydney")
    for site, figures in ((north, COLD), (south, HOT)):
        weather = days(figures, 3, date(2026, 12, 20), site)
        got = forecast(panels(1), weather, site, MIX, day=date(2026, 12, 21), samples=2)
        assert np.isfinite(got.windows[0].coldest)


def test_every_table_has_its_source() -> None:
    known = all_sources()
    for name in TABLES:
        assert source_keys(name) <= set(known)


def test_findings_can_be_said_in_both_languages() -> None:
    """Every finding of some awkward days is written out: no placeholder is left empty."""
    awkward = [
        told(days(HOT), mix=replace(MIX, delivered=36.0, hauled=6000.0), start=13.0, samples=16),
        told(
            days(replace(COLD, rain_chance=0.9), 2, MAY),
            start=5.0,
            samples=16,
            mix=replace(MIX, delivered=9.0),
        ),
        told(days(COLD, 3, MAY), mix=replace(MIX, delivered=30.0), samples=16),
        told(days(MILD, 3, date(2026, 3, 7)), day=date(2026, 3, 8), samples=4),
        told(days(COOL, 1, MAY), start=22.0, samples=4),
    ]
    said = {f.code for result in awkward for f in result.findings}
    assert len(said) >= 14
    for result in awkward:
        for finding in result.findings:
            for lang in ("en", "es"):
                text = finding.text(lang=lang)
                assert "{" not in text.what + text.why + text.do
                assert text.source


def test_the_saw_is_spoken_of_only_where_joints_are_sawn() -> None:
    """A cold day: the common saw comes too late for sawn joints, and tooled ones do not care."""
    cold = days(COLD, 5)
    sawn, tooled = (
        forecast(
            tuple(replace(p, sawn=cut) for p in panels(2, start=7.0)),
            cold,
            CHICAGO,
            MIX,
            day=MAY,
            samples=16,
        )
        for cut in (True, False)
    )
    codes = {f.code for f in sawn.findings}
    assert "saw-early" in codes
    assert {f.code for f in tooled.findings} == codes - {"saw-early"}


def test_one_panel_and_several_are_each_said_right() -> None:
    for count, en, es in ((1, "1 panel is", "1 paño se cuela"), (2, "2 panels are", "2 paños se cuelan")):
        found = forecast(panels(count, start=3.0), days(MILD), CHICAGO, MIX, day=MAY, samples=2).findings
        (night,) = (f for f in found if f.code == "night-pour")
        assert night.text(lang="en").what.startswith(en)
        assert night.text(lang="es").what.startswith(es)


def test_what_it_is_cured_with() -> None:
    """Burlap kept wet cools by its own water; a sheet keeps the water in; a blanket keeps the warmth."""
    hot = days(HOT)
    wet, sheet, compound = (told(hot, cure=cure) for cure in ("burlap", "sheet", "compound"))
    assert wet.windows[0].warmest < compound.windows[0].warmest
    assert wet.windows[0].warmest < sheet.windows[0].warmest
    autumn = days(COOL, 6, date(2026, 10, 18))
    warm, bare = (told(autumn, cure=cure, day=date(2026, 10, 19)) for cure in ("blanket", "compound"))
    assert after(warm, "walk") < after(bare, "walk")
    late = wet.hours[-1]
    assert late.film >= sheet.hours[-1].film - 0.05  # the concrete's own water stays in under both
    assert compound.hours[-1].film < late.film
