"""What to buy for the sprinklers, as lines of the shopping list."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence

from slabwright.build.model import Ask, Material
from slabwright.build.model_yard import PipeCrossing, SprinklerHead
from slabwright.build.says import spoken
from slabwright.findings import Value
from slabwright.measure import Quantity, System


def parts_list(
    heads: Sequence[SprinklerHead],
    removed: Sequence[SprinklerHead],
    crossings: Sequence[PipeCrossing],
    system: System,
) -> tuple[Material, ...]:
    """Return the parts: heads, nozzles by throw and arc, swing joints, pipe, caps, sleeves.

    Pipe is counted from where a moved head stood, or for a new one from the nearest other head.
    """
    return tuple(_lines(heads, removed, crossings, system))


def _lines(
    heads: Sequence[SprinklerHead],
    removed: Sequence[SprinklerHead],
    crossings: Sequence[PipeCrossing],
    system: System,
) -> Iterator[Material]:
    new = [head for head in heads if head.change == "new"]
    set_again = [head for head in heads if head.change in ("moved", "new")]
    if new:
        yield _line(system, "head", {}, Quantity("count", len(new)), _pieces(len(new)))
    nozzles = Counter(
        (round(h.throw, 4), round(h.arc, 6), round(h.flow, 9)) for h in heads if h.change != "stays"
    )
    for (throw, arc, flow), count in sorted(nozzles.items(), reverse=True):
        values: dict[str, Value] = {
            "throw": Quantity("length", throw),
            "arc": Quantity("angle", arc),
            "flow": Quantity("flow", flow),
        }
        yield _line(system, "nozzle", values, Quantity("count", count), _pieces(count))
    if set_again:
        many = len(set_again)
        yield _line(system, "swing-joint", {}, Quantity("count", many), _pieces(many))
        pipe = Quantity("length", math.fsum(_pipe(head, heads) for head in set_again))
        yield _line(system, "pipe", {}, pipe, Ask("buy-length", {"length": pipe}))
    if removed:
        yield _line(system, "cap", {}, Quantity("count", len(removed)), _pieces(len(removed)))
    sleeves: dict[float, float] = {}
    for crossing in crossings:
        if crossing.advice != "move":
            bore = round(crossing.bore, 5)
            sleeves[bore] = sleeves.get(bore, 0.0) + crossing.sleeve
    for bore, length in sorted(sleeves.items()):
        amount = Quantity("length", length)
        values = {"bore": Quantity("inches", bore)}
        yield _line(system, "sleeve", values, amount, Ask("buy-length", {"length": amount}))


def _pipe(head: SprinklerHead, heads: Sequence[SprinklerHead]) -> float:
    if head.change == "moved":
        return head.shift
    others = [math.hypot(head.x - h.x, head.y - h.y) for h in heads if h is not head]
    return min(others, default=0.0)


def _pieces(count: int) -> Ask:
    return Ask("buy-pieces", {"count": count})


def _line(system: System, name: str, values: dict[str, Value], amount: Quantity, buy: Ask) -> Material:
    said = (Ask("shop-irrigation"), Ask(f"want-{name}", values), buy)
    shop, what, bought = (spoken(ask, "say", system=system) for ask in said)
    return Material(shop, what, amount.kind, amount.si, bought, said)
