"""Overage: the step of the plant's scale on which running short and left-over cost least.

A short load costs a lump sum (a second trip, people waiting, a cold joint), left-over by the yard. With a
lump K and a cost c of left-over the best order Q solves c F(Q) = K f(Q); a cost by the yard alone gives the
textbook F(Q) = u / (u + c). The plant sells by steps, so the cost is worked out at every step.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from slabwright.build.model import Balance
from slabwright.build.need import Need, NormalNeed, PlacedNeed
from slabwright.build.tables import rule
from slabwright.measure import HOUR, System, read

YARD = read("volume", "1 yd3")
JUST = 1e-9  # rounding in a quotient of volumes
REACH = 8.0  # standard deviations of need that an order is looked for


@dataclass(frozen=True, slots=True)
class Costs:
    """What a wrong order costs: left-over and short by the m3, a lump when short, small-load charge.

    The small-load charge is `small` for each m3 that the second load is under `small_under` [m3]. Money
    in any one currency: only ratios count.
    """

    left_over: float
    lump: float = 0.0
    short: float = 0.0
    small: float = 0.0
    small_under: float = 0.0


@dataclass(frozen=True, slots=True)
class Plant:
    """What a plant sells: step of its scale, least load, a full truck, what stays in each truck [m3].

    `left_in_line` [m3] stays once in the pump's line.
    """

    step: float
    least: float
    truck: float
    left_in_truck: float = 0.0
    left_in_line: float = 0.0

    def trucks(self, order: float) -> int:
        """Return how many trucks an order [m3] comes in."""
        return max(1, math.ceil(order / self.truck - JUST))

    def arrives(self, order: float) -> float:
        """Return what of an order [m3] comes to the slab."""
        return order - self.stays(order)

    def stays(self, order: float) -> float:
        """Return what of an order [m3] stays in its trucks and in the pump's line."""
        return self.left_in_truck * self.trucks(order) + self.left_in_line


@dataclass(frozen=True, slots=True)
class Choice:
    """An order [m3], its chance of running short, expected left-over [m3] and expected cost."""

    order: float
    chance_short: float
    left_over: float
    cost: float


def usual_costs(people: int) -> Costs:
    """Return the planning costs for a crew of `people` (source order-costs)."""
    wait = rule("pour", "wait") / HOUR * rule("pour", "wage_hour") * people
    return Costs(
        left_over=rule("pour", "left_over_yard") / YARD,
        lump=rule("pour", "second_trip") + wait + rule("pour", "cold_joint"),
        small=rule("pour", "small_load_yard") / YARD,
        small_under=rule("pour", "small_load_under"),
    )


def usual_plant(system: System = System.IMPERIAL) -> Plant:
    """Return what a plant sells where the notes do not say."""
    return Plant(
        step=rule("pour", "step", system),
        least=rule("pour", "least", system),
        truck=rule("pour", "truck", system),
        left_in_truck=rule("pour", "left_in_truck"),
    )


def expected_cost(need: Need, order: float, costs: Costs, plant: Plant) -> Choice:
    """Return what an order [m3] is expected to cost over the concrete itself, and its chances.

    The small-load charge is left out of a second load that is not small.
    """
    here = plant.arrives(order)
    short = 1.0 - need.below(here)
    missing = need.shortfall(here)
    left = max(0.0, here - need.mean + missing)
    charge = 0.0
    if costs.small > 0:
        # E[(under - x)+] over a missing x > 0
        charge = costs.small * (
            costs.small_under * short - missing + need.shortfall(here + costs.small_under)
        )
    return Choice(
        order, short, left, costs.left_over * left + costs.lump * short + costs.short * missing + charge
    )


def best_order(need: Need, costs: Costs, plant: Plant) -> Choice:
    """Return the step of the plant's scale with the least expected cost; of equals the larger.

    Every step from far below the mean to far above it is worked out: with a lump sum the cost may have
    more than one valley, so no search by slope is used.
    """
    reach = REACH * need.sd + plant.step
    spare = plant.stays(need.mean + reach)
    low = max(plant.least, need.mean - reach)
    first = math.ceil(low / plant.step - JUST)
    last = max(first, math.ceil((need.mean + reach + spare) / plant.step - JUST))
    best: Choice | None = None
    for k in range(first, last + 1):
        choice = expected_cost(need, k * plant.step, costs, plant)
        if best is None or choice.cost <= best.cost * (1.0 + 1e-12):
            best = choice
    assert best is not None
    return best


def loads_of(order: float, plant: Plant) -> tuple[float, ...]:
    """Return truck loads [m3] in the order they come: full ones, and the rest last.

    A rest under the plant's least load takes what it lacks from the load before it.
    """
    count = plant.trucks(order)
    loads = [plant.truck] * (count - 1)
    rest = order - sum(loads)
    if loads and rest < plant.least - JUST:
        loads[-1] -= plant.least - rest
        rest = plant.least
    return (*loads, rest)


def balance_call(need: PlacedNeed, loads: tuple[float, ...], costs: Costs, plant: Plant) -> Balance | None:
    """Return the balance call before the last of several loads [m3]; None for a single load, and
    where what is left spreads more than a last load can make good.

    What the first loads did shows the errors that the whole job shares (subgrade, forms, yield). Left
    are the roughness of both parts and the measuring of the filled area (source order-spread). A crude
    split: the chance is of the model, not of a record.
    """
    if len(loads) < 2:
        return None
    after = sum(loads[:-1])
    share = min(0.95, plant.arrives(after) / need.mean)
    filled, left = need.area * share, need.area * (1.0 - share)
    rough = math.hypot(need.rough_mean_sd(share), need.rough_mean_sd(1.0 - share))
    sd = math.hypot(left * rough, need.mean * rule("pour", "measured_sd"))
    rest = NormalNeed(need.mean * (1.0 - share), sd)
    # the line is full by then
    one = replace(plant, least=min(plant.least, plant.step), left_in_line=0.0)
    choice = best_order(rest, costs, one)
    if choice.order < rest.mean:  # a lump for running short says nothing of a rest of many loads
        return None
    return Balance(after, filled, left, choice.order - rest.mean, choice.order, choice.chance_short)
