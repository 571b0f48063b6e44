"""First places of all points, from the graph of readings alone, in whatever order they were noted.

Points are placed one after another, the surest first: one with a place of its own or three ties
before one that two ties leave on either side of a line. Where nothing else tells the two sides
apart, the house does: the yard is on its outside. What is left over is placed in a frame of its own
and fitted on wherever it shares two points.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from slabwright.survey.loci import Locus, Place, apart, meet
from slabwright.survey.net import Net, Pull, Reading, SquareOff
from slabwright.survey.ties import loci_of, square_off_loci

CAP = 1.0  # [m] a reading that misses by more counts no further, so that one slip does not decide
TELL = 0.10  # [m] two places whose misses differ by less are not told apart by them
SAME = 0.06  # [m] two places this near each other are one: the tie is flat
TRIES = 8  # beginnings tried for a part that the first wall does not reach
STRONG, CLOSE = 0.4, 0.02  # a cut this strong whose readings agree to this [m] needs no other
MOST = 6  # loci of one point that are looked at; more change nothing for a first place


@dataclass(slots=True)
class Start:
    """First places: xy by name [m]; `loci` of every point; `chosen`: points put on one of two sides.

    chosen: point -> (the other place, what told the sides apart: 'noted', 'wall' (its two ties are from
    one wall of the house), 'house' (the other place is indoors), or 'yard' (nothing but convention)).
    """

    xy: dict[str, Place] = field(default_factory=dict)
    loci: dict[str, list[Locus]] = field(default_factory=dict)
    chosen: dict[str, tuple[Place, str]] = field(default_factory=dict)


class Grower:
    """Places points outward from a seed. Made once for a net, grown from one seed or more."""

    def __init__(self, net: Net, skip: frozenset[int] = frozenset(), flips: frozenset[str] = frozenset()):
        """Index the readings. skip: ids of readings to leave out; flips: points to put on the other side."""
        self.net = net
        self.flips = flips
        kinds: tuple[Iterable[Reading], ...] = (net.pulls, net.square_offs, net.right_angles, net.straights)
        self.readings = [r for kind in kinds for r in kind if id(r) not in skip]
        self.of: dict[str, list[Reading]] = {}
        for reading in self.readings:
            for name in reading.points():
                self.of.setdefault(name, []).append(reading)
        self.sides: dict[str, list[tuple[str, str, bool]]] = {}
        for side in net.sides:
            row = (side.start, side.end, side.side == "right")
            self.sides.setdefault(side.point, []).append(row)
        ring = net.house
        self.walls = {(a, b) for a, b in zip(ring, ring[1:] + ring[:1], strict=True)}
        if net.frame:
            self.walls.add(net.frame)
        self.corners = frozenset(ring)

    def grow(self, seed: Mapping[str, Place]) -> Start:
        """Return the places of all points that can be reached from `seed`."""
        out = Start()
        ready: list[tuple[int, int, str]] = []
        count = 0
        fresh = list(seed.items())
        while True:
            for name, at in fresh:
                out.xy[name] = at
            for name, _ in fresh:
                for reading in self.of.get(name, ()):
                    for point, locus in loci_of(reading, out.xy):
                        known = out.loci.setdefault(point, [])
                        if locus in known:
                            continue
                        known.append(locus)
                        if point not in out.xy:
                            count += 1
                            heapq.heappush(ready, (_rank(known), count, point))
            fresh = []
            while ready and not fresh:
                rank, _, point = heapq.heappop(ready)
                if point in out.xy or rank > 3:
                    continue
                spot, sure = self._place(point, out)
                if spot is None:
                    continue
                if sure or rank >= 3:
                    fresh = [(point, spot)]
                else:
                    count += 1
                    heapq.heappush(ready, (3, count, point))
            if not fresh:
                return out

    def _place(self, point: str, out: Start) -> tuple[Place | None, bool]:
        """Return the best place of one point by its loci, and whether nothing else comes near it."""
        loci = out.loci[point][:MOST]
        found: list[tuple[float, float, Place, tuple[Locus, Locus]]] = []
        for pair in _pairs(loci):
            places, strength = meet(*pair)
            here = [(_miss(loci, at), -strength, at, pair) for at in places]
            found += here
            if strength > STRONG and min(here)[0] < CLOSE * len(loci):
                found = here
                break
        if not found:
            return None, False
        best = min(found, key=lambda row: (round(row[0], 2), row[1]))
        # A flat cut puts the same place a little to both sides; that is no second place.
        rivals = [
            row
            for row in found
            if row[3] is best[3] and row[0] < best[0] + TELL and apart(row[2], best[2]) > SAME
        ]
        if not rivals:
            return best[2], True
        return self._choose(point, best[2], rivals[0][2], best[3], out)

    def _choose(
        self, point: str, one: Place, two: Place, pair: tuple[Locus, Locus], out: Start
    ) -> tuple[Place, bool]:
        """Return which of two places it is, and whether a written side says so."""
        for start, end, right in self.sides.get(point, ()):
            if start in out.xy and end in out.xy:
                a = right_of(one, out.xy[start], out.xy[end]) > 0.0
                b = right_of(two, out.xy[start], out.xy[end]) > 0.0
                if a != b:
                    pick, other = (one, two) if a == right else (two, one)
                    return self._keep(point, pick, other, "noted", out), True
        first, how = self._yard(point, one, two, pair, out)
        pick, other = (one, two) if first else (two, one)
        return self._keep(point, pick, other, how, out), False

    def _keep(self, point: str, pick: Place, other: Place, how: str, out: Start) -> Place:
        if point in self.flips:
            pick, other = other, pick
        out.chosen[point] = (other, how)
        return pick

    def _yard(
        self, point: str, one: Place, two: Place, pair: tuple[Locus, Locus], out: Start
    ) -> tuple[bool, str]:
        """Return whether `one` rather than `two` is where the house lets this point be, and why."""
        hand = 1.0 if self.net.outside == "right" else -1.0
        want = -hand if point in self.corners else hand
        by = tuple(name for locus in pair for name in locus.by)
        for a, b in self.walls:
            if a in by and b in by and a in out.xy and b in out.xy:
                right = right_of(one, out.xy[a], out.xy[b]) - right_of(two, out.xy[a], out.xy[b])
                return right * want > 0.0, "wall"
        ring = [out.xy[name] for name in self.net.house if name in out.xy]
        if len(ring) > 2 and point not in self.corners and inside(one, ring) != inside(two, ring):
            return inside(two, ring), "house"
        return (two[1] - one[1]) * want > 0.0, "yard"


def first_places(net: Net, skip: frozenset[int] = frozenset(), flips: frozenset[str] = frozenset()) -> Start:
    """Return first places [m] in the net's frame. skip: ids of readings left out; flips: other side."""
    grower = Grower(net, skip, flips)
    out = grower.grow(_seed(net, grower))
    names = [name for name in grower.of if name not in out.xy]
    for _ in range(8):
        merged = _merge(net, grower, out, names)
        if merged is None:
            break
        out = merged
        names = [name for name in names if name not in out.xy]
    return out


def frame_holds(net: Net) -> tuple[bool, bool]:
    """Return whether the first wall's left corner is held at (0, 0), and the right one on its x axis.

    Given places stand in the same frame; a corner that has one is left to it, and two given places
    make a frame of their own.
    """
    if net.frame is None:
        return False, False
    given = {known.point for known in net.knowns}
    left = net.frame[0] not in given
    return left, net.frame[1] not in given and (left or len(given) < 2)


def _seed(net: Net, grower: Grower) -> dict[str, Place]:
    seed = {known.point: (known.x, known.y) for known in reversed(net.knowns)}
    left, right = frame_holds(net)
    if net.frame is None:
        return seed
    a, b = net.frame
    if left:
        seed[a] = (0.0, 0.0)
    if right:
        lengths = [r.length for r in grower.of.get(a, ()) if isinstance(r, Pull) and {r.a, r.b} == {a, b}]
        if lengths:
            seed[b] = (seed[a][0] + sorted(lengths)[len(lengths) // 2], seed[a][1])
    return seed


def _merge(net: Net, grower: Grower, out: Start, names: list[str]) -> Start | None:
    """Return `out` with a part grown in a frame of its own and fitted on, or None when none fits.

    Several beginnings are tried, walls of the house first, and the one is taken that places most
    points with the least contradiction: a part begun on the wrong hand contradicts its square-offs.
    """
    left = set(names)
    seeds = [r for r in grower.readings if isinstance(r, Pull) and (r.a in left or r.b in left)]
    wall = grower.walls | {(b, a) for a, b in grower.walls}
    seeds.sort(key=lambda r: ((r.a, r.b) not in wall, -len(grower.of[r.a]) - len(grower.of[r.b])))
    found: list[tuple[int, float, int, Start]] = []
    for k, pull in enumerate(seeds[:TRIES]):
        part = grower.grow({pull.a: (0.0, 0.0), pull.b: (pull.length, 0.0)})
        joined = _join(net, part, out)
        if joined is not None:
            found.append((-len(joined.xy), _contradiction(grower, joined), k, joined))
    return min(found)[3] if found else None


def _join(net: Net, part: Start, out: Start) -> Start | None:
    """Return a copy of `out` with a part fitted onto it, or None when they share too little."""
    shared = [name for name in part.xy if name in out.xy]
    base = Start(dict(out.xy), dict(out.loci), dict(out.chosen))
    if len(shared) >= 2 and any(name not in out.xy for name in part.xy):
        return _fit(part, base, shared)
    frame = net.frame
    if frame and len(part.xy) > 2 and all(frame_holds(net)) and all(name in part.xy for name in frame):
        a, b = frame
        base.xy |= {a: (0.0, 0.0), b: (apart(part.xy[a], part.xy[b]), 0.0)}
        return _fit(part, base, [a, b])
    return None


def _contradiction(grower: Grower, start: Start) -> float:
    """Return by how much [m] pulls and square-offs miss the places in all, each counted up to CAP."""
    total = 0.0
    for reading in grower.readings:
        names = reading.points()
        if not all(name in start.xy for name in names):
            continue
        if isinstance(reading, Pull):
            miss = abs(apart(start.xy[reading.a], start.xy[reading.b]) - reading.length)
        elif isinstance(reading, SquareOff):
            rest = {name: start.xy[name] for name in names if name != reading.point}
            locus = square_off_loci(reading, rest)[0][1]
            miss = locus.miss(start.xy[reading.point])
        else:
            continue
        total += min(miss, CAP)
    return total


def _fit(part: Start, out: Start, shared: list[str]) -> Start:
    """Return `out` with `part` turned and shifted onto the shared points (the farthest two)."""
    a = shared[0]
    b = max(shared[1:], key=lambda name: apart(out.xy[name], out.xy[a]))
    (ax, ay), (bx, by) = part.xy[a], part.xy[b]
    (cx, cy), (dx, dy) = out.xy[a], out.xy[b]
    turn = math.atan2(dy - cy, dx - cx) - math.atan2(by - ay, bx - ax)
    c, s = math.cos(turn), math.sin(turn)

    def moved(p: Place) -> Place:
        x, y = p[0] - ax, p[1] - ay
        return cx + c * x - s * y, cy + s * x + c * y

    for name, at in part.xy.items():
        out.xy.setdefault(name, moved(at))
    for name, loci in part.loci.items():
        out.loci.setdefault(name, loci)
    for name, (other, how) in part.chosen.items():
        out.chosen.setdefault(name, (moved(other), how))
    return out


def _rank(loci: list[Locus]) -> int:
    """Return how sure a place is: 0 given outright, 1 three ties, 2 two ties, 4 not enough."""
    if any(locus.kind == "place" for locus in loci):
        return 0
    return (4, 4, 2)[len(loci)] if len(loci) < 3 else 1


def _pairs(loci: list[Locus]) -> Iterator[tuple[Locus, Locus]]:
    """Yield the pairs of loci to cut with each other; a place given outright comes first, by itself."""
    for p in loci:
        if p.kind == "place":
            yield p, p
    for k, p in enumerate(loci):
        for q in loci[:k]:
            if p.kind != "place" and q.kind != "place":
                yield p, q


def _miss(loci: list[Locus], at: Place) -> float:
    total = 0.0
    for locus in loci:
        miss = locus.miss(at)
        total += miss if miss < CAP else CAP
    return total


def right_of(p: Place, s: Place, e: Place) -> float:
    """Return twice the area of s-e-p, positive with p on the right hand."""
    return (p[0] - s[0]) * (e[1] - s[1]) - (p[1] - s[1]) * (e[0] - s[0])


def inside(p: Place, ring: list[Place]) -> bool:
    """Return whether a place lies inside a closed ring of corners [m]."""
    odd = False
    for (ax, ay), (bx, by) in zip(ring, ring[1:] + ring[:1], strict=True):
        if (ay > p[1]) != (by > p[1]) and p[0] < ax + (p[1] - ay) * (bx - ax) / (by - ay):
            odd = not odd
    return odd
