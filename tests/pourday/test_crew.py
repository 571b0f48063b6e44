"""Crew and trucks: by hand, against a simulation in small steps, and as the trade expects."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.pourday.slabs import CHICAGO, COLD, COOL, HOT, MILD, MIX, days

from slabwright.pourday.chances import Table, windows_table
from slabwright.pourday.clocks import since_begin
from slabwright.pourday.crew import (
    CrewDraws,
    Piece,
    crew_draws,
    crew_rule,
    pace_of,
    pieces_of,
    run_day,
)
from slabwright.pourday.crew_model import CrewDay, PanelWork, Seen
from slabwright.pourday.draws import draw
from slabwright.pourday.model import PanelDay, Weather
from slabwright.pourday.search import Choices, plan_crew, pour_of, row_of, search, stop_after, tried, turns_of
from slabwright.pourday.simulate import Setting
from slabwright.pourday.update import after_seen, known_to
from slabwright.pourday.ways import WAYS, Case, ways_out
from slabwright.pourday.weigh import place_of, weigh, weighed_median

DAY = date(2026, 5, 13)
FT = 0.3048
PANEL = PanelDay("patio", "1", (0.0, 0.0), 1.0, 0.1016, 0.1016, 0.0)


def works(count: int, *, area: float = 20.0, by: str = "chute", carry: float = 0.0) -> tuple[PanelWork, ...]:
    return tuple(PanelWork("patio", str(n + 1), area, area * 0.1016, by, carry) for n in range(count))


def setting(weather: Weather | None = None, **other) -> Setting:
    weather = weather or days(MILD, 4, date(2026, 5, 12))
    return Setting(weather, CHICAGO, MIX, since_begin(weather, DAY, 0.0), **other)


def flat(samples: int, *, edge: float = 7200.0, broom: float = 9000.0, end: float = 14400.0) -> Table:
    """A table whose offsets are the same all day."""
    one = np.ones((12, samples))
    return Table(
        0.0, 7200.0, edge * one, edge * one, broom * one, end * one, np.zeros(samples), draw(1, samples, 1)
    )


def no_luck(trucks: int, samples: int = 1) -> CrewDraws:
    one, zero = np.ones(samples), np.zeros((trucks, samples))
    return CrewDraws(one, one, one, zero, zero, zero[0])


def test_one_panel_by_hand() -> None:
    """2 m3 in one load, three people placing, three finishing, no delay: every time by hand."""
    work = (PanelWork("walk", "1", 20.0, 2.0, "chute"),)
    ran = run_day(CrewDay(25200.0, 3, 3, 0.0), work, (Piece(0, 0, 2.0),), flat(1), no_luck(1), 0.0)
    begin = 25200.0 + 300.0  # called for 7:00, five minutes to hook up
    empty = begin + 2.0 / (3 * crew_rule("pace_chute"))
    edged = max(begin + 7200.0, empty) + 20.0 * crew_rule("edge_work") / 3
    broomed = max(edged, begin + 9000.0) + 20.0 * crew_rule("broom_work") / 3
    assert ran.began[0, 0] == begin
    assert ran.emptied[0, 0] == pytest.approx(empty)
    assert ran.edged[0, 0] == pytest.approx(edged)
    assert ran.broomed[0, 0] == pytest.approx(broomed)
    assert ran.deadline[0, 0] == begin + 14400.0
    assert ran.late[0, 0] == 0.0


def test_a_waiting_truck_ages_its_concrete() -> None:
    """The second truck comes with the first and stands; its panel has that much less time."""
    two = works(2)
    pieces = pieces_of(two, [w.volume for w in two])
    ran = run_day(CrewDay(25200.0, 3, 3, 0.0), two, pieces, flat(1), no_luck(2), 0.0)
    waited = ran.began[1, 0] - 300.0 - ran.arrived[1, 0]
    assert waited > 600
    assert ran.deadline[1, 0] == pytest.approx(ran.placed[1, 0] + 14400.0 - waited)


def test_pieces() -> None:
    three = works(3)
    v = three[0].volume
    got = pieces_of(three, (1.5 * v, 1.5 * v + 0.2))
    assert [(p.panel, p.truck) for p in got] == [(0, 0), (1, 0), (1, 1), (2, 1)]
    assert sum(p.volume for p in got) == pytest.approx(3 * v)
    with pytest.raises(ValueError, match="ordered"):
        pieces_of(three, (v,))
    with pytest.raises(ValueError, match="loads of more"):
        pieces_of(three, ())
    with pytest.raises(ValueError, match="cannot place"):
        run_day(CrewDay(0.0, 2, 3, 0.0), three, got, flat(1), no_luck(2), 0.0)


def test_pace_by_way() -> None:
    chute, near, far = (
        works(1)[0],
        works(1, by="barrow", carry=5.0)[0],
        works(1, by="barrow", carry=120.0)[0],
    )
    assert pace_of(chute) > pace_of(near) > pace_of(far)
    assert pace_of(far) == pytest.approx(crew_rule("load_barrow") / (90.0 + 240.0))


def _by_small_steps(
    plan: CrewDay,
    todo: tuple[PanelWork, ...],
    pieces: tuple[Piece, ...],
    windows: Table,
    draws: CrewDraws,
    s: int,
    dt: float,
) -> tuple[np.ndarray, np.ndarray]:
    """The same rules, by walking through the day in steps of dt: when each panel is broomed and too late."""
    hook = crew_rule("hook_up")
    arrive = [plan.start + n * plan.load_every + draws.delay[n, s] for n in range(pieces[-1].truck + 1)]
    count = len(todo)
    ready = [[-np.inf] * count, [-np.inf] * count]
    end = [np.inf] * count
    t, i, left, truck, hooked = plan.start, 0, 0.0, -1, 0.0
    started = False
    begun: list[float] = []
    edge_left = [w.area * crew_rule("edge_work") / draws.edging[s] for w in todo]
    broom_left = [w.area * crew_rule("broom_work") / draws.brooming[s] for w in todo]
    edged, broomed = [np.inf] * count, [np.inf] * count
    first = windows_of(plan, todo, pieces, windows, draws)
    queue = list(first)
    while queue or i < len(pieces):
        if i < len(pieces):
            piece = pieces[i]
            if piece.truck != truck and t >= arrive[piece.truck]:
                truck, hooked = piece.truck, t + hook
            if piece.truck == truck and t >= hooked:
                if not started:
                    started, left = True, piece.volume
                    begun.append(t)
                    waited = max(t - hook - arrive[piece.truck], 0.0)
                    stretch = np.exp(windows.scale[s] * draws.truck[piece.truck, s])
                    _sheen, e, b, d = (float(x[s]) for x in windows.at(np.full(windows.samples, t)))
                    n = piece.panel
                    ready[0][n] = max(ready[0][n], t + max(e * stretch - waited, 0.0))
                    ready[1][n] = max(ready[1][n], t + max(b * stretch - waited, 0.0))
                    end[n] = min(end[n], t + max(d * stretch - waited, 0.0))
                left -= dt * min(
                    crew_rule("unload"), plan.placing * pace_of(todo[piece.panel]) * draws.placing[s]
                )
                if left <= 0:
                    i, started = i + 1, False
        hands = plan.people - plan.placing if i < len(pieces) else plan.people
        if queue and hands:
            kind, n = queue[0]
            all_in = all(p.panel != n for p in pieces[len(begun) :])
            if kind == 0 and all_in and t >= ready[0][n]:
                edge_left[n] -= hands * dt
                if edge_left[n] <= 0:
                    edged[n] = t + dt
                    queue.pop(0)
            elif kind == 1 and t >= max(ready[1][n], edged[n]):
                broom_left[n] -= hands * dt
                if broom_left[n] <= 0:
                    broomed[n] = t + dt
                    queue.pop(0)
        t += dt
    return np.array(broomed), np.array(end)


def windows_of(plan: CrewDay, todo, pieces, windows: Table, draws: CrewDraws) -> list[tuple[int, int]]:
    """The order of the tasks: as they come ready on the likely day."""
    ran = run_day(plan, todo, pieces, windows, draws, 0.0)
    tasks = [(ran.edge_ready[n, 0], 0, n) for n in range(len(todo))]
    tasks += [(max(ran.broom_ready[n, 0], ran.edge_ready[n, 0] + 1e-6), 1, n) for n in range(len(todo))]
    return [(kind, n) for _, kind, n in sorted(tasks)]


@pytest.mark.parametrize("seed", range(5))
def test_against_a_walk_in_small_steps(seed: int) -> None:
    """Every panel's broom and deadline within 2 minutes of a simulation in steps of 5 s."""
    rng = np.random.default_rng(seed)
    todo = works(5, area=float(rng.uniform(10, 25)))
    volume = sum(w.volume for w in todo)
    pieces = pieces_of(todo, (volume * 0.4, volume * 0.35, volume * 0.25 + 0.01))
    hours = np.arange(12)[:, None]
    edge = 6000.0 - 150.0 * hours + rng.uniform(0, 900, (1, 3))
    windows = Table(0.0, 7200.0, edge, edge, edge + 1200.0, edge + 5000.0, np.full(3, 0.03), draw(1, 3, 1))
    draws = crew_draws(3, 3, seed)
    people = int(rng.integers(3, 8))
    plan = CrewDay(25200.0, people, int(rng.integers(1, people + 1)), float(rng.uniform(600, 2400)))
    ran = run_day(plan, todo, pieces, windows, draws, 0.0)
    for s in range(3):
        broomed, end = _by_small_steps(plan, todo, pieces, windows, draws, s, 5.0)
        assert np.abs(ran.broomed[:, s] - broomed).max() < 120.0
        assert np.abs(ran.deadline[:, s] - end).max() < 120.0


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 8), st.floats(0, 3600), st.integers(1, 6), st.integers(0, 1000))
def test_more_people_are_never_worse_when_all_place(
    people: int, every: float, panels: int, seed: int
) -> None:
    todo = works(panels)
    pieces = pieces_of(todo, (sum(w.volume for w in todo),))
    draws = crew_draws(1, 20, seed)
    few, many = (
        run_day(CrewDay(25200.0, n, n, every), todo, pieces, flat(20), draws, 0.0)
        for n in (people, people + 1)
    )
    assert (many.broomed <= few.broomed + 1e-6).all()
    assert (many.late <= few.late).all()


def test_a_break_moves_the_end_by_its_length_or_not_at_all() -> None:
    todo = works(3)
    pieces = pieces_of(todo, (sum(w.volume for w in todo),))
    plan = CrewDay(25200.0, 4, 4, 0.0)
    plain = run_day(plan, todo, pieces, flat(1), no_luck(1), 0.0)
    middle = float(plain.broomed[1, 0]) - 60.0
    rest = run_day(plan, todo, pieces, flat(1), no_luck(1), 0.0, breaks=((middle, 1800.0),))
    later = rest.broomed[:, 0] - plain.broomed[:, 0]
    assert later[1] == pytest.approx(1800.0)
    assert later[2] <= 1800.0 + 1e-6
    evening = run_day(plan, todo, pieces, flat(1), no_luck(1), 0.0, breaks=((80000.0, 1800.0),))
    assert evening.broomed == pytest.approx(plain.broomed)


def test_draws_hold_the_likely_day_and_repeat() -> None:
    one, two = crew_draws(3, 50, 4), crew_draws(3, 50, 4)
    assert np.array_equal(one.delay, two.delay)
    assert one.placing[0] == 1.0
    assert (one.delay >= 0).all()
    assert one.delay[:, 1:].mean() == pytest.approx(2 * crew_rule("delay_sd"), rel=0.5)


CHOICES = Choices(starts=(6 * 3600.0, 7 * 3600.0, 12 * 3600.0), people=(3, 5), spacings=(1200.0, 2400.0))


def patio(panels: int = 6, weather: Weather | None = None, samples: int = 160, **other):
    todo = works(panels)
    volume = sum(w.volume for w in todo)
    return pour_of(
        DAY, setting(weather, **other), PANEL, todo, (volume / 2, volume / 2 + 0.01), CHOICES, samples=samples
    )


def test_search_finds_what_enumeration_finds() -> None:
    """Few enough days that the first round is already all of them: the same plan as trying every one."""
    pour = patio()
    got = search(pour, CHOICES)
    every = [row_of(pour, plan) for plan in CHOICES.plans(2)]
    assert got.best.effort == min(row.effort for row in every)
    assert got.compared == len(every)
    assert {(r.day.start, r.day.people) for r in got.rows} == {(s, p) for s in CHOICES.starts for p in (3, 5)}
    assert len(got.turns) == 6
    assert [t for t, _ in got.trucks] == [got.best.day.start, got.best.day.start + got.best.day.load_every]
    assert search(pour, CHOICES) == got


def test_a_first_round_on_fewer_days_loses_little() -> None:
    pour = patio(samples=600)
    got = search(pour, CHOICES)
    every = min(row_of(pour, plan).effort for plan in CHOICES.plans(2))
    assert got.best.effort <= 1.02 * every


def test_where_to_stop() -> None:
    """The edge found by halving is that of trying each count."""
    pour = patio(10, days(HOT, 4, date(2026, 5, 12)))
    plan = CrewDay(7 * 3600.0, 3, 3, 1800.0)
    got = stop_after(pour, plan, 0.25)
    chances = []
    for count in range(1, 11):
        part = replace(
            pour, works=pour.works[:count], pieces=tuple(p for p in pour.pieces if p.panel < count)
        )
        chances.append(float(tried(part, plan).late.max(axis=0).mean()))
    assert chances == sorted(chances)
    assert got == sum(c <= 0.25 for c in chances)
    assert stop_after(pour, plan, 1.0) is None


def test_the_plan_as_the_trade_expects() -> None:
    """Heat loses more panels than a cool day; closer trucks and fewer hands lose more."""
    plan = CrewDay(9 * 3600.0, 4, 4, 1800.0)
    chance = {
        name: row_of(patio(8, days(figures, 4, date(2026, 5, 12))), plan).late_chance
        for name, figures in (("hot", HOT), ("mild", MILD), ("cool", COOL))
    }
    assert chance["hot"] >= chance["mild"] >= chance["cool"]
    assert chance["hot"] > chance["cool"]
    pour = patio(8)
    hands = [row_of(pour, replace(plan, people=n, placing=n)).late_chance for n in (3, 4, 6)]
    assert hands == sorted(hands, reverse=True)


def test_table_agrees_with_the_panels_own_run() -> None:
    """Between its hours the table reads what a panel placed there would do, within 4 minutes."""
    from slabwright.pourday.simulate import simulate

    place = setting()
    table = windows_table(place, PANEL, 7 * 3600.0 + 86400, 13 * 3600.0 + 86400, samples=3, seed=1)
    t = 86400 + 9.7 * 3600.0
    alone = simulate(place, (PANEL,), np.array([t]), replace_draws(table, 1))[0]
    _, edge, broom, end = table.at(np.full(3, t))
    assert broom == pytest.approx(alone.finish.broom[0], abs=240.0)
    assert edge == pytest.approx(alone.finish.edge[0], abs=240.0)
    assert end == pytest.approx(alone.finish.broom_end[0], abs=240.0)


def replace_draws(table: Table, panels: int):
    zero = np.zeros((panels, table.samples))
    return replace(table.draws, truck_set=zero, truck_warm=zero)


def test_weather_that_covers_no_start() -> None:
    with pytest.raises(ValueError, match="no start"):
        plan_crew(date(2026, 6, 13), setting(), PANEL, works(2), (10.0,))


# --- the update ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("figures", "day"), [(MILD, date(2026, 5, 12)), (COOL, date(2026, 5, 12))])
def test_one_observed_time_narrows_the_rest_of_the_day(figures, day: date) -> None:
    """The later panels' deadlines spread less than 0.25 h once the first broom is known, trucks differing."""
    pour = patio(6, days(figures, 4, day), samples=1500)
    plan = CrewDay(7 * 3600.0, 5, 5, 1800.0)
    ran = tried(pour, plan)
    offset = (ran.deadline - ran.placed)[3] / 3600
    took = (ran.broom_ready[0] - ran.placed[0]) / 3600
    likely = float(np.median(took))
    got = weigh([took * 3600], [likely * 3600])
    mean = offset @ got.weights
    spread = float(np.sqrt(((offset - mean) ** 2) @ got.weights))
    assert got.effective > 50
    assert spread < 0.75 * offset.std()
    assert spread < (0.3 if figures is MILD else 0.5)


def morning(**other):
    """A pour, its plan and the likely time from placing to the first broom on panel 1 [s]."""
    pour = patio(samples=800, **other)
    plan = CrewDay(7 * 3600.0, 3, 3, 1800.0)
    ran = tried(pour, plan)
    crew = replace(search(pour, CHOICES), best=row_of(pour, plan), turns=turns_of(pour, ran))
    return pour, crew, float(np.median(ran.broom_ready[0] - ran.placed[0]))


PLACED = 7.2 * 3600.0


def test_seen_sooner_and_later() -> None:
    pour, crew, middle = morning()
    placed = Seen("placed", PLACED)
    (soon_plan, soon), (late_plan, late) = (
        after_seen(pour, crew, (placed, Seen("broom", PLACED + middle * f))) for f in (0.8, 1.2)
    )
    assert soon.later_by < 0 < late.later_by
    assert soon.late_chance > late.late_chance
    assert soon_plan.best.late_chance == soon.late_chance
    assert {f.code for f in soon.findings} == {"seen-sooner"}
    assert {f.code for f in late.findings} == {"seen-later"}
    assert [t.panel for t in soon_plan.turns] == ["1", "2", "3", "4", "5", "6"]
    ends = [plan.turns[3].broom_end.likely for plan in (soon_plan, crew, late_plan)]
    assert ends == sorted(ends)
    _, far = after_seen(pour, crew, (placed, Seen("broom", PLACED + 600.0)))
    assert "seen-far" in {f.code for f in far.findings}


def test_a_panel_seen_placed_is_placed_then_on_every_day() -> None:
    """The band of its placing has no width, the rest is shifted, and what waits for it comes after it."""
    pour, crew, _ = morning()
    plan, got = after_seen(pour, crew, (Seen("placed", 8.0 * 3600.0),))
    first = plan.turns[0].placed
    assert (first.early, first.likely, first.late) == (8.0 * 3600,) * 3
    assert plan.turns[1].placed.early > 8.0 * 3600
    assert got.effective == pytest.approx(800)
    assert 0 < got.later_by < 3600.0
    second, _ = after_seen(pour, crew, (Seen("placed", 8.0 * 3600.0), Seen("placed", 9.0 * 3600.0, "3")))
    assert second.turns[2].placed.late == 9.0 * 3600.0
    assert second.turns[3].placed.early > 9.0 * 3600.0


def test_the_plants_share_of_a_delay() -> None:
    """Trucks after a first one that came an hour late come half an hour later on the mean, as the days say.

    Own and plant's delay are drawn alike, so given their sum the mean of each is half of it; checked against
    the days among many whose first truck really was about that late.
    """
    pour = replace(patio(2, samples=8), draws=crew_draws(2, 60000, 1))
    plan = CrewDay(7 * 3600.0, 3, 3, 1800.0)
    late = 2400.0
    at = 7 * 3600.0 + late + crew_rule("hook_up")
    known = known_to(pour, plan, (Seen("placed", at),))
    shared = known.draws.plant
    alike = np.abs(pour.draws.delay[0] - late) < 180.0
    assert alike.sum() > 400
    assert shared.mean() == pytest.approx(late / 2, rel=0.02)
    assert shared.mean() == pytest.approx(pour.draws.plant[alike].mean(), rel=0.08)
    assert shared.std() == pytest.approx(pour.draws.plant[alike].std(), rel=0.1)


def test_what_cannot_have_been_seen() -> None:
    pour, crew, _ = morning()
    with pytest.raises(ValueError, match="before it was placed"):
        after_seen(pour, crew, (Seen("sheen_gone", 6 * 3600.0),))
    with pytest.raises(ValueError, match="no panel '9'; the panels in placing order are patio, 1; patio, 2"):
        after_seen(pour, crew, (Seen("broom", 11 * 3600.0, "9"),))
    with pytest.raises(ValueError, match="more than one slab"):
        place_of(Seen("broom", 0.0, "1"), [("walk", "1"), ("patio", "1")])
    assert place_of(Seen("broom", 0.0, "1", "patio"), [("walk", "1"), ("patio", "1")]) == 1
    with pytest.raises(ValueError, match="nothing was seen"):
        after_seen(pour, crew, ())


def test_a_second_look_narrows_further() -> None:
    """Broom on panel 1 and then on panel 4, of the next truck: later deadlines spread less each time."""
    pour = patio(6, days(COOL, 4, date(2026, 5, 12)), samples=3000)
    ran = tried(pour, CrewDay(7 * 3600.0, 5, 5, 1800.0))
    offset = (ran.deadline - ran.placed)[5]
    spreads = []
    for panels_seen in ((), (0,), (0, 3)):
        took = [ran.broom_ready[n] - ran.placed[n] for n in panels_seen]
        weights = (
            weigh(took, [float(np.median(t)) for t in took]).weights if took else np.full(3000, 1 / 3000)
        )
        mean = offset @ weights
        spreads.append(float(np.sqrt(((offset - mean) ** 2) @ weights)))
    assert spreads[1] < 0.75 * spreads[0]
    assert spreads[2] < 0.9 * spreads[1]


def test_weights_by_hand() -> None:
    """Two days 0 and 1 sd of watching off: weights 1 and exp(-1/2), and nothing widened."""
    sd = crew_rule("watch_sd")
    got = weigh([np.array([3600.0, 3600.0 + sd])], [3600.0])
    assert got.weights == pytest.approx(np.array([1.0, np.exp(-0.5)]) / (1.0 + np.exp(-0.5)))
    assert not got.widened
    assert weighed_median(np.array([5.0, 1.0, 3.0]), np.array([0.2, 0.2, 0.6])) == 3.0
    with pytest.raises(ValueError, match="nothing"):
        weigh([], [])


# --- ways out --------------------------------------------------------------------------------------------


def case(figures, mix=MIX, start: float = 9.0, day: date = DAY) -> Case:
    weather = days(figures, 5, date(day.year, day.month, day.day - 1))
    place = Setting(weather, CHICAGO, mix, since_begin(weather, day, 0.0))
    todo = works(6)
    volume = sum(w.volume for w in todo)
    plan = CrewDay(start * 3600.0, 5, 5, 1800.0)
    return Case(day, place, PANEL, todo, (volume / 2, volume / 2 + 0.01), plan)


def test_ways_out_of_the_heat() -> None:
    got = {w.key: w for w in ways_out(case(HOT), ("start-at-6", "retarder", "shade", "film", "two-pours"))}
    now = got["as-planned"]
    assert got["start-at-6"].shrink_chance < now.shrink_chance
    assert got["retarder"].late_chance < now.late_chance
    assert got["retarder"].broom_length > now.broom_length
    assert got["film"].shrink_chance < now.shrink_chance
    assert got["shade"].broom_length > now.broom_length
    assert got["two-pours"].late_chance <= now.late_chance
    assert got["start-at-6"].day.start == 6 * 3600


def test_ways_out_of_the_cold() -> None:
    got = {w.key: w for w in ways_out(case(COLD, start=10.0), ("blankets", "accelerator", "start-at-10"))}
    assert "start-at-10" not in got  # it is planned so already
    assert got["blankets"].frost_chance < got["as-planned"].frost_chance
    assert got["accelerator"].done_by < got["as-planned"].done_by


def test_every_way_out_has_a_name_and_the_last_day_has_no_next() -> None:
    assert len(WAYS) == len(set(WAYS))
    last = case(MILD)
    late = replace(last, day=date(2026, 5, 16), setting=last.setting)
    assert [w.key for w in ways_out(late, ("next-day",))] == ["as-planned"]
