"""Placing labels: none on another, none across heavy lines where it can be helped. Same in, same out.

Each label takes the best free place in turn (greedy); labels left in a bad place, or in none, may then
push one or two others aside when all together come off better (local repair). What still finds no place
is handed back by number, so that a sheet can list it beside the drawing instead of losing it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TypeAlias

from slabwright.sheets.boxes import Box, Grid, cross, inside_length, meet
from slabwright.sheets.candidates import Ask, Spot, spots
from slabwright.sheets.drawing import Point

Bounds: TypeAlias = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Barrier:
    """A drawn line [mm] that letters should keep off: what touching it costs, and each mm of it [-]."""

    a: Point
    b: Point
    touch: float
    per_mm: float


# What it costs to stand on a marker, and for a leader to cross a line or another leader [-]; our own choice.
ON_MARKER = 14.0
LEADER_OVER_LINE = 0.4
LEADER_OVER_LEADER = 6.0
BAD = 5.0
PASSES = 2
TRIES = 40
GAP_MM = 0.35

NOWHERE = 1e3
GAIN = 1e-6
# Repair stops after so many looks at a spot: counted, not timed, so that the result is always the same.
MOST_LOOKS = 8_000
# Past so many spots weighed on one sheet, only so many more are weighed for each label.
MOST_DRAWN, FEW_DRAWN = 12_000, 16


class _Sheet:
    """What stands where while labels are being placed."""

    def __init__(
        self,
        asks: Sequence[Ask],
        barriers: Sequence[Barrier],
        blocks: Sequence[Box],
        width: float,
        height: float,
    ) -> None:
        self.barriers = barriers
        self.blocks = blocks
        self.width, self.height = width, height
        self.lines, self.signs, self.labels, self.leads = Grid(), Grid(), Grid(), Grid()
        self.heavy = Grid()  # lines that a leader should not cross
        for n, barrier in enumerate(barriers):
            self.lines.add_line(n, barrier.a, barrier.b)
            if barrier.touch > 1.0:
                self.heavy.add_line(n, barrier.a, barrier.b)
        for n, block in enumerate(blocks):
            self.signs.add(n, block.bounds())
        self.looked = self.drawn = 0
        self.taken: dict[int, Spot] = {}
        self.paid: dict[int, float] = {}
        # Spots are made only when they are looked at, and what they cost on the drawing only once.
        self._coming = [spots(ask) for ask in asks]
        self._known: list[list[tuple[Spot, float]]] = [[] for _ in asks]

    def choices(self, n: int) -> Iterator[tuple[Spot, float]]:
        """Yield the spots of label n that lie in the frame, with their cost on the drawing, liked first."""
        known = self._known[n]
        at = 0
        while True:
            while at < len(known):
                yield known[at]
                at += 1
            for spot in self._coming[n]:
                left, top, right, bottom = spot.box.bounds()
                if left >= 0.0 and top >= 0.0 and right <= self.width and bottom <= self.height:
                    if self.drawn >= MOST_DRAWN and len(known) >= FEW_DRAWN:
                        return  # a crowded sheet: what finds no place near its point is listed below it
                    self.drawn += 1
                    known.append((spot, self._on_drawing(spot, (left, top, right, bottom))))
                    break
            else:
                return

    def _on_drawing(self, spot: Spot, bounds: Bounds) -> float:
        """Return what a spot costs with the lines and signs that it touches, other labels left out."""
        total = spot.cost
        box = spot.box
        for n in self.signs.near(bounds):
            if meet(box, self.blocks[n]):
                total += ON_MARKER
        for n in self.lines.near(bounds):
            barrier = self.barriers[n]
            length = inside_length(box, barrier.a, barrier.b)
            if length > 0.0:
                total += barrier.touch + barrier.per_mm * length
        if spot.leader is not None:
            for n in self.heavy.near_line(*spot.leader):
                barrier = self.barriers[n]
                if cross(*spot.leader, barrier.a, barrier.b):
                    total += LEADER_OVER_LINE
        return total

    def free(self, spot: Spot) -> bool:
        """Say whether no label stands in the way of a spot; as `hits`, but it stops at the first."""
        self.looked += 1
        wide = _padded(spot.box)
        bounds = wide.bounds()
        if any(meet(wide, self.taken[m].box) for m in self.labels.near(bounds)):
            return False
        for m in self.leads.near(bounds):
            lead = self.taken[m].leader
            if lead is not None and inside_length(wide, *lead) > 0.0:
                return False
        if spot.leader is None:
            return True
        near = self.labels.near(_line_bounds(*spot.leader))
        return not any(inside_length(_padded(self.taken[m].box), *spot.leader) > 0.0 for m in near)

    def hits(self, spot: Spot) -> set[int]:
        """Return the labels that stand in the way of a spot: box on box, or a leader through letters."""
        wide = _padded(spot.box)
        bounds = wide.bounds()
        found = {m for m in self.labels.near(bounds) if meet(wide, self.taken[m].box)}
        for m in self.leads.near(bounds):
            lead = self.taken[m].leader
            if lead is not None and inside_length(wide, *lead) > 0.0:
                found.add(m)
        if spot.leader is not None:
            near = self.labels.near(_line_bounds(*spot.leader))
            found |= {m for m in near if inside_length(_padded(self.taken[m].box), *spot.leader) > 0.0}
        return found

    def crossings(self, spot: Spot) -> float:
        """Return what it costs that a spot's leader crosses other leaders."""
        if spot.leader is None:
            return 0.0
        others = [self.taken[m].leader for m in self.leads.near(_line_bounds(*spot.leader))]
        return LEADER_OVER_LEADER * sum(
            1 for lead in others if lead is not None and cross(*spot.leader, *lead)
        )

    def best(self, n: int) -> tuple[Spot, float] | None:
        """Return the cheapest free spot for label n with its cost, or None when there is none."""
        found: tuple[Spot, float] | None = None
        least = NOWHERE
        for spot, drawn in self.choices(n):
            if spot.cost >= least:
                break
            if drawn >= least or not self.free(spot):
                continue
            cost = drawn + self.crossings(spot)
            if cost < least:
                found, least = (spot, cost), cost
        return found

    def put(self, n: int, spot: Spot, cost: float) -> None:
        """Stand label n on a spot."""
        self.taken[n], self.paid[n] = spot, cost
        self.labels.add(n, spot.box.bounds())
        if spot.leader is not None:
            self.leads.add(n, _line_bounds(*spot.leader))

    def lift(self, n: int) -> None:
        """Take label n off the sheet, if it stands there."""
        spot = self.taken.pop(n, None)
        self.paid.pop(n, None)
        if spot is not None:
            self.labels.drop(n, spot.box.bounds())
            if spot.leader is not None:
                self.leads.drop(n, _line_bounds(*spot.leader))


def _padded(box: Box) -> Box:
    return Box(box.x, box.y, box.half_w + GAP_MM, box.half_h + GAP_MM, box.angle)


def _line_bounds(a: Point, b: Point) -> Bounds:
    return min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])


def _make_way(sheet: _Sheet, n: int, spot: Spot, cost: float, before: float, others: list[int]) -> bool:
    """Stand label n on a spot and move the others; undo it all unless the sum falls below `before`."""
    kept = {m: (sheet.taken[m], sheet.paid[m]) for m in others}
    for m in others:
        sheet.lift(m)
    sheet.put(n, spot, cost)
    total = cost
    for m in others:
        found = sheet.best(m)
        total += found[1] if found else NOWHERE
        if total >= before - GAIN:
            break
        if found is not None:
            sheet.put(m, *found)
    else:
        return True
    for m in (*others, n):
        sheet.lift(m)
    for m, (old, paid) in kept.items():
        sheet.put(m, old, paid)
    return False


def _push(sheet: _Sheet, n: int) -> bool:
    """Try to better label n by moving at most two others; say whether that was done."""
    now = sheet.paid.get(n, NOWHERE)
    old = sheet.taken.get(n)
    sheet.lift(n)
    for spot, drawn in islice(sheet.choices(n), TRIES):
        if spot.cost >= now:
            break
        others = sorted(sheet.hits(spot)) if drawn < now else []
        if 1 <= len(others) <= 2:
            before = now + sum(sheet.paid[m] for m in others)
            if _make_way(sheet, n, spot, drawn + sheet.crossings(spot), before, others):
                return True
    if old is not None:
        sheet.put(n, old, now)
    return False


def place(
    asks: Sequence[Ask],
    *,
    barriers: Sequence[Barrier] = (),
    blocks: Sequence[Box] = (),
    width: float,
    height: float,
) -> tuple[Spot | None, ...]:
    """Return a spot for each label in the order asked, or None where no free place was found.

    barriers: lines that letters should keep off; blocks: markers that they should not cover; width and
    height: the frame [mm], which no label leaves. No two of the returned boxes overlap.
    """
    if not asks:
        return ()
    sheet = _Sheet(asks, barriers, blocks, width, height)
    order = sorted(range(len(asks)), key=lambda n: (asks[n].rank, n))
    for n in order:
        found = sheet.best(n)
        if found is not None:
            sheet.put(n, *found)
    limit = sheet.looked + MOST_LOOKS
    for _ in range(PASSES):
        poor = [n for n in order if sheet.paid.get(n, NOWHERE) > BAD]
        poor.sort(key=lambda n: n in sheet.taken)  # those with no place at all go first
        changed = False
        for n in poor:
            if sheet.looked < limit:
                changed = _push(sheet, n) or changed
        for n in poor:  # room that another left may now be free
            if sheet.looked >= limit:
                break
            now = sheet.paid.get(n, NOWHERE)
            old = sheet.taken.get(n)
            sheet.lift(n)
            found = sheet.best(n)
            if found is not None and found[1] < now - GAIN:
                sheet.put(n, *found)
                changed = True
            elif old is not None:
                sheet.put(n, old, now)
        if not changed:
            break
    return tuple(sheet.taken.get(n) for n in range(len(asks)))
