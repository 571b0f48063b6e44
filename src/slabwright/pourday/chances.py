"""The windows table: for each simulated day and placing hour, how long after placing a panel can be finished.

Worked out once for a day; every start hour, crew and truck spacing reads it, so all plans meet the same days.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from slabwright.measure import HOUR
from slabwright.pourday.draws import Draws, draw
from slabwright.pourday.mix import Hydration
from slabwright.pourday.model import Floats, PanelDay
from slabwright.pourday.simulate import FINISHING, Setting, simulate
from slabwright.pourday.tables import spread

GAP = 1.5 * HOUR  # between the placing hours of the table


@dataclass(frozen=True, slots=True)
class Table:
    """Offsets after placing [s] by placing hour and sample, (hours, samples).

    `first` [s after the weather begins] of the first hour, `gap` [s] between them; `scale` [-] (samples,) by
    which one standard truck stretches all offsets, as a power of e.
    """

    first: float
    gap: float
    sheen: Floats
    edge: Floats
    broom: Floats
    end: Floats
    scale: Floats
    draws: Draws

    @property
    def samples(self) -> int:
        """Return how many days there are."""
        return int(self.edge.shape[1])

    @property
    def last(self) -> float:
        """Return the last placing hour [s after the weather begins]."""
        return self.first + (int(self.edge.shape[0]) - 1) * self.gap

    def at(self, placed: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Return sheen, edge, broom, end offsets [s] of concrete placed at (samples,) [s]."""
        where = np.clip((placed - self.first) / self.gap, 0.0, self.edge.shape[0] - 1.000001)
        k = where.astype(np.intp)
        part = where - k
        lane = np.arange(self.samples)
        made = []
        for table in (self.sheen, self.edge, self.broom, self.end):
            low, high = table[k, lane], table[k + 1, lane]
            made.append(low + part * (high - low))
        return made[0], made[1], made[2], made[3]


def windows_table(
    setting: Setting, panel: PanelDay, first: float, last: float, *, samples: int, seed: int
) -> Table:
    """Return the table for placing between two moments [s after the weather begins].

    `panel` lends its thickness, base and place. Trucks alike: how they differ is put on by `scale`. Placing
    past the weather's end is not known and counts as never ready. ValueError where `first` is outside.
    """
    end = (setting.weather.hours - 1) * HOUR
    if first < 0.0 or first > end - 2.0 * HOUR:
        raise ValueError("the weather does not cover the placing")
    span = max(HOUR, min(last, end - HOUR) - first)
    count = max(2, int(np.ceil(span / GAP)) + 1)
    gap = span / (count - 1)
    hours = np.asarray(first + gap * np.arange(count), dtype=float)
    base = draw(count, samples, seed)
    alike = replace(base, truck_set=np.zeros((count, samples)), truck_warm=np.zeros((count, samples)))
    short = replace(setting, reach=_reach(setting, panel, hours))
    made = simulate(short, (panel,) * count, hours, alike)

    def kept(name: str) -> Floats:
        times = np.concatenate([getattr(part.finish, name) for part in made])
        return np.where(np.isfinite(times), times, FINISHING)

    return Table(
        first=first,
        gap=gap,
        sheen=kept("sheen_gone"),
        edge=kept("edge"),
        broom=kept("broom"),
        end=kept("broom_end"),
        scale=stretch(made[0].mix)[0],
        draws=alike,
    )


def _reach(setting: Setting, panel: PanelDay, hours: Floats) -> float:
    """Return how long to follow the concrete [s]: well past the end of the broom on the likely day."""
    ends = hours[[0, -1]]
    likely = simulate(replace(setting, reach=FINISHING), (panel,) * 2, ends, draw(2, 1, 0))[0]
    last = float(likely.finish.broom_end.max())
    return min(FINISHING, 2.5 * last + 2.0 * HOUR) if np.isfinite(last) else FINISHING


def stretch(mix: Hydration) -> Floats:
    """Return d ln(time) / d ln(degree at set) at initial set times one truck's spread [-]."""
    share = mix.degree(mix.te_initial) / mix.ultimate
    return np.asarray(spread("truck_set") / (mix.beta * -np.log(share)) * np.ones_like(mix.tau))
