"""Ways out in hot, windy, cold or rainy weather: each worked out like the plan itself, none just listed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from slabwright.measure import HOUR
from slabwright.pourday.clocks import clock_of, since_begin
from slabwright.pourday.crew_model import CrewDay, PanelWork, WayOut
from slabwright.pourday.day import forecast
from slabwright.pourday.model import PanelDay, Protection
from slabwright.pourday.search import Choices, pour_of, row_of, tried
from slabwright.pourday.simulate import Setting
from slabwright.pourday.tables import taken

SAMPLES = 384
FEW = 64  # days for the chances of cracking and frost, which need the long run


@dataclass(frozen=True, slots=True)
class Case:
    """A pour as it stands: the day, its setting, work, loads and plan."""

    day: date
    setting: Setting
    panel: PanelDay
    works: tuple[PanelWork, ...]
    loads: tuple[float, ...]
    plan: CrewDay
    seed: int = 1


def ways_out(case: Case, keys: tuple[str, ...] | None = None) -> tuple[WayOut, ...]:
    """Return what the plan comes to as it is ('as-planned', first) and with each change by itself.

    Keys: see WAYS. A change that the weather given does not cover is left out.
    """
    wanted = tuple(WAYS) if keys is None else keys
    made = [_worked("as-planned", case)]
    for key in wanted:
        changed = WAYS[key](case)
        if changed is None:
            continue
        try:
            made.append(_worked(key, changed))
        except ValueError:  # the weather does not reach there
            continue
    return tuple(made)


def _worked(key: str, case: Case) -> WayOut:
    setting = case.setting
    begin = since_begin(setting.weather, case.day, 0.0)
    setting = replace(setting, midnight=begin)
    one = Choices(starts=(case.plan.start,), people=(case.plan.people,), spacings=(case.plan.load_every,))
    pour = pour_of(
        case.day, setting, case.panel, case.works, case.loads, one, samples=SAMPLES, seed=case.seed
    )
    ran = tried(pour, case.plan)
    row = row_of(pour, case.plan, ran)
    placed = ran.placed[:, 0]
    ends = [placed[0], placed[-1]] if placed.size > 1 else [placed[0]]
    panels = tuple(
        replace(case.panel, panel=str(n), placed_at=clock_of(setting.weather, case.day, float(t)))
        for n, t in enumerate(ends)
    )
    told = forecast(
        panels,
        setting.weather,
        setting.site,
        setting.mix,
        day=case.day,
        protections=setting.protections,
        obstacles=setting.obstacles,
        shelter=setting.shelter,
        ground=setting.ground,
        cure=setting.cure,
        samples=FEW,
        seed=case.seed,
    )
    length = float(np.median(ran.deadline[0] - ran.broom_ready[0]))
    return WayOut(
        key=key,
        day=case.plan,
        late_chance=row.late_chance,
        shrink_chance=max(w.shrink_chance for w in told.windows),
        frost_chance=max(w.frost_chance for w in told.windows),
        broom_length=length,
        done_by=row.done_by,
        error=row.error,
        samples=SAMPLES,
        weather_samples=FEW,
    )


def _start(clock: float) -> Callable[[Case], Case | None]:
    def change(case: Case) -> Case | None:
        if abs(case.plan.start - clock) < 1.0:
            return None
        return replace(case, plan=replace(case.plan, start=clock))

    return change


def _pace(key: str) -> Callable[[Case], Case | None]:
    def change(case: Case) -> Case | None:
        mix = replace(case.setting.mix, pace=case.setting.mix.pace * taken(key))
        return replace(case, setting=replace(case.setting, mix=mix))

    return change


def _over(cover: str) -> Callable[[Case], Case | None]:
    def change(case: Case) -> Case | None:
        begin = 0.0
        if any(p.cover == cover for p in case.setting.protections):
            return None
        made = Protection(cover, begin)  # type: ignore[arg-type]
        return replace(case, setting=replace(case.setting, protections=(*case.setting.protections, made)))

    return change


def _people(case: Case) -> Case | None:
    plan = replace(case.plan, people=case.plan.people + 2)
    return replace(case, plan=plan)


def _two_pours(case: Case) -> Case | None:
    """The first half of the panels today, a construction joint, the rest another day."""
    half = (len(case.works) + 1) // 2
    if half == len(case.works):
        return None
    works = case.works[:half]
    need = sum(w.volume for w in works)
    loads: list[float] = []
    for load in case.loads:
        take = min(load, need - sum(loads))
        if take > 1e-9:
            loads.append(take)
    return replace(case, works=works, loads=tuple(loads))


def _apart(case: Case) -> Case | None:
    if len(case.loads) < 2:
        return None
    return replace(case, plan=replace(case.plan, load_every=case.plan.load_every + taken("apart")))


def _next_day(case: Case) -> Case | None:
    return replace(case, day=case.day + timedelta(days=1))


WAYS: dict[str, Callable[[Case], Case | None]] = {
    "start-at-6": _start(6.0 * HOUR),
    "start-at-10": _start(10.0 * HOUR),
    "retarder": _pace("retard"),
    "accelerator": _pace("hasten"),
    "shade": _over("shade"),
    "windbreak": _over("windbreak"),
    "film": _over("film"),
    "blankets": _over("blanket"),
    "two-more-people": _people,
    "trucks-apart": _apart,
    "two-pours": _two_pours,
    "next-day": _next_day,
}
"""Changes by key; each returns the case changed, None where it would change nothing."""
