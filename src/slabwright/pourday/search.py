"""The plan: start hour, crew, how many place, and truck spacing, all tried on the same simulated days.

A first round looks at every plan on a share of the days; the best of each crew size and start hour, and the
best of all, are then looked at on all of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np

from slabwright.findings import Finding, find
from slabwright.measure import HOUR, Quantity
from slabwright.pourday.chances import Table, windows_table
from slabwright.pourday.clocks import clock_of, since_begin
from slabwright.pourday.crew import CrewDraws, Day, Piece, crew_draws, crew_rule, pieces_of, run_day
from slabwright.pourday.crew_model import (
    CrewDay,
    CrewPlan,
    PanelTurn,
    PanelWork,
    PlanRow,
    said_chance,
    standard_error,
)
from slabwright.pourday.day import band_of
from slabwright.pourday.model import Floats, PanelDay
from slabwright.pourday.simulate import Setting
from slabwright.pourday.sun import sun_place
from slabwright.pourday.tables import rule

ROUGH = 192  # days of the first round
KEPT = 40  # plans that go on to all days
LATE_LIMIT = 0.10


@dataclass(frozen=True, slots=True)
class Pour:
    """What a plan is tried on: the work, its loads and pieces, the windows and the draws.

    `sunrise`, `sunset` [s after the weather begins]; `known` pieces that were seen to be placed, as run_day
    wants them.
    """

    day: date
    setting: Setting
    works: tuple[PanelWork, ...]
    loads: tuple[float, ...]
    pieces: tuple[Piece, ...]
    windows: Table
    draws: CrewDraws
    breaks: tuple[tuple[float, float], ...]
    sunrise: float
    sunset: float
    known: Mapping[int, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Choices:
    """What may be chosen: start clocks [s], crew sizes, truck spacings [s]."""

    starts: tuple[float, ...] = tuple(h * HOUR for h in (5, 6, 7, 8, 9, 10, 11, 12, 13, 14))
    people: tuple[int, ...] = (3, 4, 5, 6, 8)
    spacings: tuple[float, ...] = (900.0, 1200.0, 1800.0, 2700.0, 3600.0)

    def plans(self, trucks: int) -> tuple[CrewDay, ...]:
        """Return every plan: from two placing to all of them. One truck has no spacing."""
        spacings = self.spacings if trucks > 1 else self.spacings[:1]
        return tuple(
            CrewDay(start, people, placing, spacing)
            for start in self.starts
            for people in self.people
            for placing in sorted({people, max(1, people - 1), max(1, people - 2), max(1, (people + 1) // 2)})
            for spacing in spacings
        )


def pour_of(
    day: date,
    setting: Setting,
    panel: PanelDay,
    works: tuple[PanelWork, ...],
    loads: tuple[float, ...],
    choices: Choices,
    *,
    samples: int = 1024,
    seed: int = 1,
    breaks: tuple[tuple[float, float], ...] = (),
) -> Pour:
    """Return what plans are tried on. `panel` lends thickness, base and place to the windows.

    ValueError where the loads do not suffice or the weather does not cover the first start.
    """
    pieces = pieces_of(works, loads)
    midnight = setting.midnight
    volume = sum(w.volume for w in works)
    slowest = volume / crew_rule("pace_barrow") / max(1, min(choices.people)) + 2.0 * HOUR
    longest = max(choices.spacings) * (len(loads) - 1) + 1.5 * HOUR
    first, last = midnight + min(choices.starts), midnight + max(choices.starts) + max(slowest, longest)
    windows = windows_table(setting, panel, first, last, samples=samples, seed=seed)
    t = np.arange(0.0, 24.0 * HOUR, 300.0) + midnight
    up = sun_place(setting.site, setting.weather.begins, t)[0] > 0.0
    sunrise = float(t[int(np.argmax(up))]) if up.any() else midnight + 24 * HOUR
    sunset = float(t[up][-1]) if up.any() else midnight
    draws = crew_draws(len(loads), samples, seed)
    return Pour(day, setting, works, loads, pieces, windows, draws, breaks, sunrise, sunset)


def some(pour: Pour, count: int) -> Pour:
    """Return the pour on its first `count` days."""
    if count >= pour.windows.samples:
        return pour
    w, d = pour.windows, pour.draws
    windows = replace(
        w,
        **{k: getattr(w, k)[:, :count] for k in ("sheen", "edge", "broom", "end")},
        scale=w.scale[:count],
    )
    draws = CrewDraws(*(getattr(d, k)[..., :count] for k in d.__slots__))
    return replace(pour, windows=windows, draws=draws)


def tried(pour: Pour, plan: CrewDay) -> Day:
    """Return one plan on all its days."""
    return run_day(
        plan,
        pour.works,
        pour.pieces,
        pour.windows,
        pour.draws,
        pour.setting.midnight,
        pour.breaks,
        pour.known,
    )


def row_of(pour: Pour, plan: CrewDay, ran: Day | None = None) -> PlanRow:
    """Return how one plan comes out."""
    ran = ran or tried(pour, plan)
    late = ran.late
    called = pour.setting.midnight + plan.start
    done = np.maximum(ran.broomed.max(axis=0), ran.emptied[-1])
    waited = np.maximum(ran.began - crew_rule("hook_up") - ran.arrived, 0.0)
    old = pour.setting.mix.hauled + ran.emptied - ran.arrived > rule("discharge")
    dark = np.maximum(pour.sunrise - called, 0.0) + np.maximum(done - pour.sunset, 0.0)
    hours = done - called
    dark = np.minimum(dark, hours)
    over = np.maximum(hours - crew_rule("full_day"), 0.0)
    wage = hours + crew_rule("overtime") * over + crew_rule("dark") * dark
    cost = plan.people * wage.mean() + crew_rule("late_panel") * late.sum(axis=0).mean()
    cost += crew_rule("load_refused") * old.sum(axis=0).mean()
    cost += np.maximum(waited - crew_rule("free_wait"), 0.0).sum(axis=0).mean()

    def clock(times: Floats) -> float:
        return clock_of(pour.setting.weather, pour.day, float(np.median(times)))

    chance = float(late.max(axis=0).mean())
    return PlanRow(
        day=plan,
        late_chance=chance,
        error=standard_error(chance, late.shape[1]),
        late_panels=float(late.sum(axis=0).mean()),
        wait_chance=float((waited > crew_rule("free_wait")).any(axis=0).mean()),
        limit_chance=float(old.any(axis=0).mean()),
        stand_time=float(ran.stood.mean()),
        placed_by=clock(ran.emptied[-1]),
        done_by=clock(done),
        dark_time=float(dark.mean()),
        effort=float(cost),
    )


def search(pour: Pour, choices: Choices, *, late_limit: float = LATE_LIMIT) -> CrewPlan:
    """Return the cheapest plan and the best of each crew size and start hour, all on the same days."""
    rough = some(pour, ROUGH)
    plans = choices.plans(len(pour.loads))
    first = sorted((row_of(rough, plan) for plan in plans), key=_rank)
    kept = _finalists(first)
    rows = sorted((row_of(pour, row.day) for row in kept), key=_rank)
    best = rows[0]
    ran = tried(pour, best.day)
    shown: dict[tuple[float, int], PlanRow] = {}
    for row in rows:
        shown.setdefault((row.day.start, row.day.people), row)
    stop = stop_after(pour, best.day, late_limit)
    count = pour.windows.samples
    return CrewPlan(
        best=best,
        rows=tuple(sorted(shown.values(), key=lambda r: (r.day.people, r.day.start))),
        turns=turns_of(pour, ran),
        trucks=tuple(
            (clock_of(pour.setting.weather, pour.day, pour.setting.midnight + best.day.start)
             + n * best.day.load_every, load)
            for n, load in enumerate(pour.loads)
        ),
        stop_after=stop,
        late_limit=late_limit,
        compared=len(plans),
        samples=count,
        error=standard_error(best.late_chance, count),
        findings=_findings(pour, best, stop, late_limit),
    )  # fmt: skip


def _rank(row: PlanRow) -> tuple[float, int, float]:
    return row.effort, row.day.people, row.day.start


def _finalists(rows: list[PlanRow]) -> list[PlanRow]:
    """Return the best plans of all, and the best of each start and crew size."""
    kept = {row.day: row for row in rows[:KEPT]}
    seen: set[tuple[float, int]] = set()
    for row in rows:
        key = (row.day.start, row.day.people)
        if key not in seen:
            seen.add(key)
            kept[row.day] = row
    return list(kept.values())


def stop_after(pour: Pour, plan: CrewDay, limit: float, weights: Floats | None = None) -> int | None:
    """Return how many panels can be placed so that the chance of a late one stays within `limit` [-].

    `weights` (samples,) after something was seen. None where all can, 0 where not even the first. Fewer
    panels leave more hands for each, so the chance grows with the count and halving finds the edge.
    """

    def chance(count: int) -> float:
        works = pour.works[:count]
        pieces = tuple(p for p in pour.pieces if p.panel < count)
        part = replace(pour, works=works, pieces=pieces)
        late = tried(part, plan).late.max(axis=0)
        return float(late.mean() if weights is None else late @ weights)

    if chance(len(pour.works)) <= limit:
        return None
    low, high = 0, len(pour.works)
    while high - low > 1:
        middle = (low + high) // 2
        if chance(middle) <= limit:
            low = middle
        else:
            high = middle
    return low


def turns_of(pour: Pour, ran: Day, weights: Floats | None = None) -> tuple[PanelTurn, ...]:
    """Return each panel's turn under a plan; `weights` (samples,) after something was seen."""
    made = []
    share = np.full(pour.windows.samples, 1.0 / pour.windows.samples) if weights is None else weights
    for n, work in enumerate(pour.works):
        bands = [
            band_of(times[n], pour.setting.weather, pour.day, weights=weights)
            for times in (ran.placed, ran.edged, ran.broomed, ran.deadline)
        ]
        chance = float(ran.late[n] @ share)
        made.append(PanelTurn(work.slab, work.panel, bands[0], bands[1], bands[2], bands[3], chance))
    return tuple(made)


def _findings(pour: Pour, best: PlanRow, stop: int | None, limit: float) -> tuple[Finding, ...]:
    found = [
        find(
            "pourday",
            "plan-relative",
            people=best.day.people,
            start=Quantity("clock", best.day.start),
            chance=said_chance(best.late_chance),
        )
    ]
    if stop is not None:
        found.append(
            find(
                "pourday",
                "plan-stop" if stop else "plan-none",
                panels=stop,
                all=len(pour.works),
                limit=Quantity("percent", limit),
                chance=said_chance(best.late_chance),
            )
        )
    if best.limit_chance > 0.05:
        found.append(
            find(
                "pourday",
                "load-old",
                chance=said_chance(best.limit_chance),
                most=Quantity("duration", rule("discharge")),
            )
        )
    return tuple(found)


def plan_crew(
    day: date,
    setting: Setting,
    panel: PanelDay,
    works: Sequence[PanelWork],
    loads: Sequence[float],
    *,
    choices: Choices | None = None,
    samples: int = 1024,
    seed: int = 1,
    breaks: tuple[tuple[float, float], ...] = (),
    late_limit: float = LATE_LIMIT,
) -> CrewPlan:
    """Return the plan of the day; see `search`. The stage's own setting comes from `setting_of`."""
    wanted = _covered(setting, day, choices or Choices())
    pour = pour_of(
        day, setting, panel, tuple(works), tuple(loads), wanted, samples=samples, seed=seed, breaks=breaks
    )
    return search(pour, wanted, late_limit=late_limit)


def _covered(setting: Setting, day: date, choices: Choices) -> Choices:
    """Return the choices whose start the weather covers; ValueError where none is."""
    end = (setting.weather.hours - 3) * HOUR
    starts = tuple(s for s in choices.starts if 0.0 <= since_begin(setting.weather, day, s) <= end)
    if not starts:
        raise ValueError(f"the weather covers no start on {day.isoformat()}")
    return replace(choices, starts=starts)
