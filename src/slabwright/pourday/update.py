"""During the pour: what was seen on a panel or two, and what it says of the rest of the day.

Each simulated day is weighed by how well it agrees with what was seen; bands and chances of the panels to
come are then those of the weighed days. Where it was seen when a panel was placed, every day has it placed
then. What differs from truck to truck cannot be learned from one truck.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from slabwright.findings import Finding, find
from slabwright.measure import Quantity
from slabwright.pourday.clocks import clock_of, since_begin
from slabwright.pourday.crew import Day, crew_rule
from slabwright.pourday.crew_model import (
    CrewDay,
    CrewPlan,
    PanelWork,
    Seen,
    Updated,
    said_chance,
    standard_error,
)
from slabwright.pourday.model import Floats, PanelDay
from slabwright.pourday.search import Choices, Pour, plan_crew, pour_of, stop_after, tried, turns_of
from slabwright.pourday.simulate import Setting
from slabwright.pourday.weigh import Weighed, place_of, weigh, weighed_median

FIVE = 300.0  # [s] to which the rest of the day is said to move
SEEN_SAMPLES = 512  # days of the forecast once something was seen: most of them no longer count


def after_seen(pour: Pour, crew: CrewPlan, seen: Sequence[Seen]) -> tuple[CrewPlan, Updated]:
    """Return the plan of the rest of the day, and what was learned from things seen.

    ValueError where something was seen before its panel was placed, on a panel that there is not, or nothing
    was seen at all. Where hardly any simulated day agrees, the minutes are taken as less sure step by step,
    and a finding says so.
    """
    if not seen:
        raise ValueError("nothing was seen")
    plan = crew.best.day
    before = tried(pour, plan)
    now = known_to(pour, plan, seen)
    ran = tried(now, plan)
    got, longest = _agreeing(now, ran, seen)
    weights = got.weights
    chance = float(ran.late.max(axis=0) @ weights)
    shift = float(((ran.deadline @ weights) - before.deadline.mean(axis=1)).mean())
    turns = turns_of(now, ran, weights)
    updated = Updated(
        seen=tuple(seen),
        late_before=float(before.late.max(axis=0).mean()),
        late_chance=chance,
        effective=got.effective,
        later_by=shift,
        findings=_findings(got, longest, shift, chance),
    )
    stop = stop_after(now, plan, crew.late_limit, weights)
    done = np.maximum(ran.broomed.max(axis=0), ran.emptied[-1])
    best = replace(
        crew.best,
        late_chance=chance,
        error=standard_error(chance, max(1, int(got.effective))),
        late_panels=float(ran.late.sum(axis=0) @ weights),
        placed_by=_clock(pour, weighed_median(ran.emptied[-1], weights)),
        done_by=_clock(pour, weighed_median(done, weights)),
    )
    said = tuple(f for f in crew.findings if f.code not in {"plan-relative", "plan-stop", "plan-none"})
    made = replace(
        crew,
        best=best,
        turns=turns,
        stop_after=stop,
        error=best.error,
        findings=said,
    )
    return made, updated


def plan_during(
    day: date,
    setting: Setting,
    panel: PanelDay,
    works: Sequence[PanelWork],
    loads: Sequence[float],
    *,
    choices: Choices,
    seen: Sequence[Seen] = (),
) -> tuple[CrewPlan, Updated | None]:
    """Return the plan of the day as `plan_crew` makes it, then what things seen make of the rest of it."""
    crew = plan_crew(day, setting, panel, works, loads, choices=choices)
    if not seen:
        return crew, None
    pour = pour_of(day, setting, panel, tuple(works), tuple(loads), choices, samples=crew.samples)
    return after_seen(pour, crew, seen)


def known_to(pour: Pour, plan: CrewDay, seen: Sequence[Seen]) -> Pour:
    """Return the pour with its panels placed when they were seen to be.

    Half of a truck's delay is the plant's, which all loads share. The two parts are gamma distributed
    alike, so the plant's share of a delay does not depend on how long it is: the later trucks are moved by
    that share of what was seen of the first.
    """
    names = [(w.slab, w.panel) for w in pour.works]
    known: dict[int, float] = {}
    for one in seen:
        if one.what == "placed":
            known[place_of(one, names)] = since_begin(pour.setting.weather, pour.day, one.clock)
    if not known:
        return pour
    draws = pour.draws
    if 0 in known:
        called = pour.setting.midnight + plan.start
        late = max(known[0] - crew_rule("hook_up") - called, 0.0)
        plant = draws.plant / np.maximum(draws.delay[0], 1e-9) * late
        draws = replace(draws, delay=draws.delay - draws.plant + plant, plant=plant)
    pieces = {next(i for i, p in enumerate(pour.pieces) if p.panel == n): t for n, t in known.items()}
    return replace(pour, draws=draws, known=pieces)


def _agreeing(pour: Pour, ran: Day, seen: Sequence[Seen]) -> tuple[Weighed, float]:
    """Return how the days agree with what was seen, and the longest that something took [s]."""
    names = [(w.slab, w.panel) for w in pour.works]
    took: list[Floats] = []
    known: list[float] = []
    for one in seen:
        n = place_of(one, names)
        at = since_begin(pour.setting.weather, pour.day, one.clock)
        begun = float(np.median(ran.placed[n]))
        if one.what == "placed":
            continue
        if at <= begun:
            raise ValueError(
                f"panel {names[n][1]} was seen before it was placed; correct one of the two times"
            )
        ready = ran.sheen if one.what == "sheen_gone" else ran.broom_ready
        took.append(ready[n] - ran.placed[n])
        known.append(at - begun)
    if not took:
        count = ran.late.shape[1]
        return Weighed(np.full(count, 1.0 / count), float(count), False), 0.0
    return weigh(took, known), max(known)


def _findings(got: Weighed, longest: float, shift: float, chance: float) -> tuple[Finding, ...]:
    found: list[Finding] = []
    if got.widened:
        found.append(find("pourday", "seen-far", took=Quantity("duration", longest)))
    rounded = round(abs(shift) / FIVE) * FIVE
    if rounded:  # less than that is as forecast
        found.append(
            find(
                "pourday",
                "seen-later" if shift >= 0 else "seen-sooner",
                shift=Quantity("duration", rounded),
                chance=said_chance(chance),
            )
        )
    return tuple(found)


def _clock(pour: Pour, seconds: float) -> float:
    return clock_of(pour.setting.weather, pour.day, seconds)
