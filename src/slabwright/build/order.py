"""The order: need, the step that costs least, loads, bags for a small job, and what to tell the plant."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from slabwright.build.mix import Mix, mix_of, warmth
from slabwright.build.model import Ask, Balance, Order, Words
from slabwright.build.need import PlacedNeed, sides_of
from slabwright.build.overage import (
    Choice,
    Plant,
    balance_call,
    best_order,
    expected_cost,
    loads_of,
    usual_costs,
    usual_plant,
)
from slabwright.build.record import with_record
from slabwright.build.says import plant_lines
from slabwright.build.tables import rule, table
from slabwright.findings import Finding, find
from slabwright.measure import MeasureError, Quantity, System, read
from slabwright.notes import Notes, line_of
from slabwright.slab.model import Outline, Shaped
from slabwright.slab.thick_edges import concrete_of

JUST = 1e-9  # [m3] rounding in a volume that was read


@dataclass(frozen=True, slots=True)
class Placing:
    """How concrete gets to the slabs: each way (chute, barrow, ...) with what goes by it [m3], a pump's
    line [m], what stays in it [m3].

    Without ways those of the notes are taken.
    """

    by: tuple[tuple[str, float], ...] = ()
    line: float = 0.0
    left_in_line: float = 0.0


AS_WRITTEN = Placing()


def plan_order(shaped: Shaped, notes: Notes, *, placing: Placing = AS_WRITTEN) -> Order:
    """Return the concrete order of a job.

    shaped: its slabs. notes: what the plant sells, frost, crew and access. The need is spread by the
    table's planning errors, short and left-over cost the table's planning figures; the order is the step
    of the plant's scale with the least expected cost. placing: by the access plan; what stays in a pump's
    line is ordered on top. ValueError when there is nothing to pour.
    """
    volumes = tuple((slab.spec.name, concrete_of(slab)) for slab in shaped.slabs)
    area, drawn = sum(slab.outline.area for slab in shaped.slabs), sum(v for _, v in volumes)
    if not (area > 0 and drawn > 0):
        raise ValueError("there is no concrete in this job: every slab is without area")
    need = PlacedNeed(area, drawn / area, patches=tuple(_sides(slab.outline) for slab in shaped.slabs))
    costs = usual_costs(notes.crew.people)
    plant, found = plant_of(notes)
    pace = placing_pace(notes, placing)
    need, learned = with_record(need, drawn, notes.order, plant)
    if notes.order.split_loads:
        plant = in_time(plant, pace)
    plant = replace(plant, left_in_line=placing.left_in_line)
    choice = best_order(need, costs, plant)
    if plant.arrives(choice.order) < need.mean:  # one lump for any shortage is a figure of small jobs
        order = math.ceil((need.mean + plant.stays(need.mean)) / plant.step - JUST) * plant.step
        choice = expected_cost(need, order, costs, plant)
    loads = loads_of(choice.order, plant)
    balance = balance_call(need, loads, costs, plant)
    bags = small_bags(need, notes.units)
    mix, wrong = mix_of(tuple(slab.spec for slab in shaped.slabs), notes.place.frost, dose=_dose(shaped))
    asks = _asks(shaped, notes, mix, loads, bags, pace, placing)
    return Order(
        need=need.mean + (0.0 if bags else plant.left_in_truck * len(loads) + plant.left_in_line),
        need_sd=need.sd,
        by_slab=volumes,
        order=choice.order,
        chance_short=choice.chance_short,
        loads=loads,
        bags=bags,
        mix=plant_lines(asks, system=notes.units),
        strength=mix.strength,
        air=mix.air,
        w_cm=mix.w_cm,
        drawn=drawn,
        left_over=choice.left_over,
        load_every=_every(max(loads), pace) if len(loads) > 1 else None,
        balance=balance,
        asks=asks,
        findings=(*found, *learned, *wrong, *_found(notes, plant, choice, loads, balance, bags, pace)),
    )


def _sides(outline: Outline) -> tuple[float, float]:
    return sides_of(outline.area, perimeter=outline.perimeter, width=outline.width)


def plant_of(notes: Notes) -> tuple[Plant, list[Finding]]:
    """Return what the plant sells [m3], from the notes where they can be read, and findings where not."""
    plant = usual_plant(notes.units)
    found: list[Finding] = []
    bare = "yd3" if notes.units is System.IMPERIAL else "m3"
    line = line_of(notes.order)
    least = {"step": rule("pour", "step_least"), "least": 0.0, "truck": rule("pour", "truck_least")}
    for field, text in (
        ("step", notes.order.step),
        ("least", notes.order.least),
        ("truck", notes.order.truck),
    ):
        if text is None:
            continue
        try:
            value = read("volume", text, bare=bare)
        except MeasureError:
            value = 0.0
        if value > 0 and value >= least[field] - JUST and (field != "truck" or value >= plant.step - JUST):
            plant = replace(plant, **{field: value})
        else:
            taken = Quantity("volume", getattr(plant, field))
            found.append(find("build", "order-unread", line=line, field=field, written=text, taken=taken))
    return replace(plant, truck=max(plant.truck, plant.step)), found


def in_time(plant: Plant, pace: float) -> Plant:
    """Return a plant whose loads are small enough to be placed in the time that is left on arrival.

    pace: what the crew places [m3/s]. A load is never made smaller than the plant's least.
    """
    steps = math.floor(_free() * pace / plant.step + JUST)
    most = max(plant.step * max(1, steps), plant.least)
    return replace(plant, truck=min(plant.truck, most))


def _free() -> float:
    """Return what is left of a load's time when it arrives [s]."""
    return rule("pour", "discharge") - rule("pour", "haul")


def bags_for(volume: float, bag: str) -> int:
    """Return how many bags make a volume [m3]; bag: '60 lb', '25 kg', ... (source bag-yields)."""
    return math.ceil(volume / bag_volume(bag) - 1e-6)


def bag_volume(bag: str) -> float:
    """Return what one bag makes [m3]; bag: '60 lb', '25 kg', ... (source bag-yields)."""
    rows = table("pour")["bags"]
    return read("volume", rows["imperial"].get(bag) or rows["metric"][bag])


def small_bags(need: PlacedNeed, system: System) -> tuple[tuple[str, int], ...]:
    """Return bags (name, count) that are enough by the table's chance, where a job is small; else nothing."""
    if need.mean > rule("pour", "bags_most", system):
        return ()
    volume = need.at_chance(rule("pour", "bags_sure"))
    usual = table("pour")["bags"]["usual"]["imperial" if system is System.IMPERIAL else "metric"]
    return tuple((bag, bags_for(volume, bag)) for bag in usual)


def bags_ask(bags: tuple[tuple[str, int], ...]) -> Ask:
    """Return what is bought where bags do a job: the fewest bags."""
    each, count = bags[-1]
    return Ask("buy-bag" if count == 1 else "buy-bags", {"count": count, "each": each})


def placing_pace(notes: Notes, placing: Placing = AS_WRITTEN) -> float:
    """Return what the crew places and strikes off [m3/s], over all ways the concrete gets to the slabs."""
    one = table("pour")["placing"]  # what one person places by each way
    by = placing.by or ((notes.access.by or "chute", 1.0),)
    return notes.crew.people * sum(v for _, v in by) / sum(v / read("flow", one[way]) for way, v in by)


def _dose(shaped: Shaped) -> float:
    return max((slab.steel.dose for slab in shaped.slabs), default=0.0)


def _every(load: float, pace: float) -> float:
    """Return the time from one load to the next [s], rounded up."""
    to = rule("pour", "spacing_to")
    return math.ceil(load / pace / to - 1e-9) * to


def _asks(
    shaped: Shaped,
    notes: Notes,
    mix: Mix,
    loads: tuple[float, ...],
    bags: tuple[tuple[str, int], ...],
    pace: float,
    placing: Placing,
) -> tuple[Ask, ...]:
    """Return the plant's questions with their answers, in the order in which a plant asks them."""
    if bags:
        return (
            *_ask_job(notes)[:1],
            Ask("bag-amount" if bags[-1][1] == 1 else "bags-amount", bags_ask(bags).values),
            Ask("bags-same", {"bags": _bag_text(bags)}),
            Ask("bags-strength", {"strength": Quantity("pressure", mix.strength)}),
            Ask("bags-water"),
            Ask("bags-plant", {"order": Quantity("volume", sum(loads))}),
        )
    asks = [*_ask_job(notes), *_ask_amount(loads), *_ask_mix(mix, notes.units)]
    uses = tuple(dict.fromkeys(slab.spec.use for slab in shaped.slabs))
    ways = tuple(way for way, _ in placing.by) or (notes.access.by or "chute",)
    asks += [
        Ask("plant-use", {"uses": Words("use", uses)}),
        Ask("plant-placing", {"by": Words("by", ways)}),
    ]
    if placing.left_in_line > 0.0:
        hose, left = Quantity("length", placing.line), Quantity("volume", placing.left_in_line)
        asks.append(Ask("plant-pump", {"hose": hose, "left": left}))
    every = Quantity("duration", _every(max(loads), pace))
    if len(loads) > 1:
        asks.append(Ask("plant-spacing", {"spacing": every, "people": notes.crew.people}))
    asks += [
        Ask("plant-unload", {"unload": every}),
        Ask("plant-age", {"discharge": Quantity("duration", rule("pour", "discharge"))}),
        *_ask_retarder(max(loads) / pace),
        Ask("plant-wash"),
    ]
    return tuple(asks)


def _ask_retarder(unload: float) -> list[Ask]:
    """Return the line on a retarder, where a load takes longer [s] than is left of its time on arrival."""
    if unload <= _free():
        return []
    to = rule("pour", "spacing_to")
    needed = math.ceil((rule("pour", "haul") + unload) / to) * to
    return [Ask("plant-retarder", {"needed": Quantity("duration", needed)})]


def _ask_job(notes: Notes) -> list[Ask]:
    job = Ask("plant-for-title", {"title": notes.title})
    if notes.customer:
        job = Ask("plant-for", {"title": notes.title, "customer": notes.customer})
    if notes.crew.start is None:
        return [job, Ask("plant-day")]
    return [job, Ask("plant-day-start", {"start": Quantity("clock", notes.crew.start)})]


def _ask_amount(loads: tuple[float, ...]) -> list[Ask]:
    order = Quantity("volume", sum(loads))
    each = tuple(Quantity("volume", load) for load in loads)
    asks = [Ask("plant-amount", {"order": order})]
    if len(loads) > 1:
        asks = [Ask("plant-amount-loads", {"order": order, "count": len(loads), "loads": each})]
    return asks


def _ask_mix(mix: Mix, system: System) -> list[Ask]:
    slump_give = Quantity("inches", rule("mixes", "slump_give", system))
    asks = [
        Ask("plant-strength", {"strength": Quantity("pressure", mix.strength)}),
        Ask("plant-stone", {"stone": Quantity("inches", mix.stone)}),
        Ask("plant-slump", {"slump": Quantity("inches", mix.slump), "give": slump_give}),
    ]
    if mix.air_aim is None:
        asks.append(Ask("plant-no-air"))
    else:
        give = Quantity("percent", rule("mixes", "air_give"))
        asks.append(Ask("plant-air", {"air": Quantity("percent", mix.air_aim), "give": give}))
    if mix.w_cm is not None:
        asks.append(Ask("plant-water", {"w_cm": Quantity("ratio", mix.w_cm)}))
    if mix.dose > 0:
        asks.append(Ask("plant-fiber", {"dose": Quantity("density", mix.dose)}))
    cold, hot = warmth(system)
    least, most = Quantity("temperature", cold), Quantity("temperature", hot)
    return [*asks, Ask("plant-warmth", {"least": least, "most": most})]


def _bag_text(bags: tuple[tuple[str, int], ...]) -> str:
    return " / ".join(f"{count} x {bag}" for bag, count in bags)


def _found(
    notes: Notes,
    plant: Plant,
    choice: Choice,
    loads: tuple[float, ...],
    balance: Balance | None,
    bags: tuple[tuple[str, int], ...],
    pace: float,
) -> list[Finding]:
    """Return what the crew should know about the order before it calls the plant."""
    line = line_of(notes.order)
    found: list[Finding] = []
    if bags:
        least = Quantity("volume", plant.least)
        # what follows is of a truck
        return [find("build", "order-bags", line=line, bags=_bag_text(bags), least=least)]
    if balance is not None:
        found.append(
            find(
                "build",
                "order-balance",
                line=line,
                placed=Quantity("volume", balance.placed),
                open=Quantity("area", balance.open_area),
                allowance=Quantity("volume", balance.allowance),
                call=Quantity("volume", balance.call),
                before=Quantity("percent", choice.chance_short),
                after=Quantity("percent", balance.chance_short),
            )
        )
    elif len(loads) > 1:
        most = Quantity("volume", max(loads))
        found.append(find("build", "order-by-the-load", line=line, count=len(loads), most=most))
    free = _free()
    unload = max(loads) / pace
    if unload > free:
        found.append(
            find(
                "build",
                "order-slow",
                line=line,
                load=Quantity("volume", max(loads)),
                unload=Quantity("duration", unload),
                free=Quantity("duration", free),
                most=Quantity("volume", max(1, math.floor(free * pace / plant.step)) * plant.step),
                people=notes.crew.people,
            )
        )
    elif notes.order.split_loads and len(loads) > 1:
        found.append(
            find(
                "build",
                "order-split",
                line=line,
                count=len(loads),
                most=Quantity("volume", max(loads)),
                people=notes.crew.people,
                free=Quantity("duration", free),
                every=Quantity("duration", _every(max(loads), pace)),
            )
        )
    return [*found, *_left_over(notes, choice)]


def _left_over(notes: Notes, choice: Choice) -> list[Finding]:
    """Return where what stays over may go."""
    if choice.left_over <= 0:
        return []
    left, line = Quantity("volume", choice.left_over), line_of(notes.order)
    place = notes.order.left_over_to
    if place is not None:
        most = Quantity("volume", 2.0 * choice.left_over)
        return [find("build", "order-left-over-to", line=line, left=left, place=place, most=most)]
    across, thick = (rule("pour", f"stone_{side}", notes.units) for side in ("across", "thick"))
    stones = max(1, round(choice.left_over / (math.pi / 4.0 * across**2 * thick)))
    return [
        find(
            "build",
            "order-left-over",
            line=line,
            left=left,
            stones=stones,
            across=Quantity("inches", across),
            thick=Quantity("inches", thick),
        )
    ]
