"""When things happen to a panel: thresholds on equivalent age and on bleed water, in seconds after placing.

All arrays are (panels, samples); what does not happen before the weather ends is inf, never a guess.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from slabwright.pourday.forcing import Forcing
from slabwright.pourday.kernel import Trace
from slabwright.pourday.mix import Hydration, te_firm, te_strength
from slabwright.pourday.model import Floats
from slabwright.pourday.moist import menzel
from slabwright.pourday.stress import cracks_at
from slabwright.pourday.tables import rule

NEVER = float("inf")


@dataclass(frozen=True, slots=True)
class Finishing:
    """The hours of finishing, each (panels, samples) [s after placing].

    `dragged` tells where water still stood when the concrete had become firm, so that it must be dragged
    off before the broom.
    """

    sheen_gone: Floats
    edge: Floats
    broom: Floats
    broom_end: Floats
    cure_on: Floats
    dragged: Floats


def reached(rising: Floats, wanted: ArrayLike, dt: float) -> Floats:
    """Return when a rising trace (steps + 1, ...) first reaches `wanted` [s]; inf where it does not."""
    goal = np.asarray(wanted, dtype=float)
    over = rising >= goal
    k = over.argmax(axis=0)
    hit = np.take_along_axis(over, k[None], axis=0)[0]
    before = np.maximum(k - 1, 0)
    high = np.take_along_axis(rising, k[None], axis=0)[0]
    low = np.take_along_axis(rising, before[None], axis=0)[0]
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(k > 0, (goal - low) / (high - low), 0.0)
    return np.where(hit, dt * (before + part), NEVER)


def within(times: Floats, horizon: ArrayLike) -> Floats:
    """Return times [s] with inf for those past what the weather covers, `horizon` [s] by panel."""
    return np.where(times <= np.asarray(horizon, dtype=float).reshape(-1, 1), times, NEVER)


def finishing(trace: Trace, mix: Hydration, horizon: ArrayLike) -> Finishing:
    """Return the hours of finishing. See model.PanelWindow and the rules for the thresholds."""
    dt = trace.dt
    sheen = reached(-trace.film, rule("sheen"), dt)
    firm = {
        name: reached(trace.te_top, te_firm(mix, rule(name)), dt)
        for name in ("edge_pr", "broom_pr", "drag_pr", "broom_end_pr")
    }
    open_ = np.minimum(sheen, firm["drag_pr"])
    edge = np.maximum(open_, firm["edge_pr"])
    broom = np.maximum(open_, firm["broom_pr"])
    return Finishing(
        sheen_gone=within(sheen, horizon),
        edge=within(edge, horizon),
        broom=within(broom, horizon),
        broom_end=within(firm["broom_end_pr"], horizon),
        cure_on=within(broom + rule("broom_lag"), horizon),
        dragged=np.asarray(sheen > firm["drag_pr"], dtype=float),
    )


def later(trace: Trace, mix: Hydration, horizon: ArrayLike) -> dict[str, Floats]:
    """Return set, saw cuts, stripping and opening by the names of model.PanelWindow."""
    dt = trace.dt
    marks = {
        "initial_set": (trace.te_mean, mix.te_initial),
        "final_set": (trace.te_mean, mix.te_final),
        "saw_early": (trace.te_top, te_strength(mix, rule("saw_early"))),
        "saw": (trace.te_top, te_strength(mix, rule("saw"))),
        "strip": (trace.te_mean, te_strength(mix, rule("strip"))),
        "walk": (trace.te_mean, te_strength(mix, rule("walk"))),
        "drive": (trace.te_mean, te_strength(mix, rule("drive"))),
        "frost_safe": (trace.te_top, te_strength(mix, rule("frost_safe"))),
    }
    found = {name: within(reached(row, te, dt), horizon) for name, (row, te) in marks.items()}
    found["saw_by"] = within(cracks_at(trace, mix), horizon)
    return found


def freezes(trace: Trace, safe: Floats, horizon: ArrayLike) -> Floats:
    """Return 1.0 where the surface freezes before one frost is harmless, else 0.0 (panels, samples).

    Only what the weather covers counts.
    """
    t = trace.dt * np.arange(trace.surface.shape[0])[:, None, None]
    end = np.minimum(safe, np.asarray(horizon, dtype=float).reshape(-1, 1))
    return np.asarray(((trace.surface < rule("freezes")) & (t <= end)).any(axis=0), dtype=float)


def evaporation(trace: Trace, weather: Forcing, steps: int) -> Floats:
    """Return what the weather asks of a wet surface, after Menzel [kg/(m2 s)].

    Shape (steps + 1, panels, samples).
    """
    made = np.empty((steps + 1, *trace.surface.shape[1:]))
    for k in range(steps + 1):
        air = weather.at(2 * k)
        made[k] = menzel(trace.surface[k], air.vapour, air.wind)
    return made


def bleed_rate(trace: Trace) -> Floats:
    """Return the rate at which water comes up [kg/(m2 s)], (steps, panels, samples), mean of each step."""
    return np.asarray(np.diff(trace.bled, axis=0) / trace.dt)


def shrinks(asked: Floats, trace: Trace, cure_on: Floats, limit: float) -> Floats:
    """Return 1.0 for each step, panel and sample in which evaporation outruns bleed water past a limit.

    `limit` [kg/(m2 s)]; only until the curing compound is on and while the surface is still damp.
    """
    steps = asked.shape[0] - 1
    rate = bleed_rate(trace)[:steps]
    t = trace.dt * np.arange(steps)[:, None, None]
    damp = trace.film[:steps] > -rule("drying")
    over = (asked[:steps] >= limit) & (asked[:steps] > rate) & (t < cure_on) & damp
    return np.asarray(over, dtype=float)
