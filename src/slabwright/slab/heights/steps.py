"""Steps between a slab and what it meets: how many risers, how high, and what a flight needs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from slabwright.findings import Finding, Value, find
from slabwright.measure import Quantity
from slabwright.notes.spec import SlabSpec
from slabwright.slab.heights.limits import EQUAL_HEIGHT, value


@dataclass(frozen=True, slots=True)
class Flight:
    """A flight: number of risers, height of each [m], length of its treads [m] (the lower slab is none)."""

    count: int
    riser: float
    run: float

    @property
    def values(self) -> dict[str, Value]:
        """Return what findings say of it."""
        return {
            "count": self.count,
            "riser": Quantity("inches", self.riser),
            "run": Quantity("inches", self.run),
        }


def flight(drop: float) -> Flight:
    """Return the flight with the fewest equal risers for a drop [m] (source: irc-r311.7.5)."""
    count = max(1, math.ceil((abs(drop) - EQUAL_HEIGHT) / value("riser")))
    return Flight(count, abs(drop) / count, (count - 1) * value("tread"))


def steps(spec: SlabSpec) -> Iterator[Finding]:
    """Yield what the steps that a job asks for come to, and the rail or guard that they need."""
    for meets in spec.meets:
        drop = meets.step or (meets.down if meets.slab else None)
        thing = meets.slab or meets.existing
        if not drop or not thing:
            continue
        made = flight(drop)
        said: dict[str, Value] = {"thing": thing, "step": Quantity("inches", drop), **made.values}
        where = f"{spec.name}, {thing}"
        yield find("slab", "step-risers", where=where, line=spec.line, **said)
        if made.count >= value("rail-risers"):
            yield find("slab", "step-handrail", where=where, line=spec.line, **said)
        if drop > value("guard-drop") + EQUAL_HEIGHT:
            limit = Quantity("inches", value("guard-drop"))
            yield find("slab", "step-guard", where=where, line=spec.line, limit=limit, **said)
