"""The linear program of finished heights for slabs that touch: its variables, limits and charges.

Method: heights at grade nodes and cut or fill at sample points are the unknowns; every limit on a
slope is linear in the gradient at a probe (a panel's corner), every charge is a sum of absolute
departures. Slopes are plain ratios, heights and coordinates m, charges m3 of earthwork.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from slabwright.ground.model import Ground
from slabwright.slab.heights.aim import Aim, aim
from slabwright.slab.heights.contact import asked_between, folds_between
from slabwright.slab.heights.fixed import DRIVEN, Hold, Part, part_of
from slabwright.slab.heights.house import HouseFalls, house_falls
from slabwright.slab.heights.limits import value
from slabwright.slab.heights.net import Weights
from slabwright.slab.heights.probes import Creases, Probes, creases, probes
from slabwright.slab.heights.rows import INF, Builder, Family, Floats, Ints, Kind, Program
from slabwright.slab.model import XY

SIDES = 16  # of the polygon that stands for 'no steeper than, in any direction'


@dataclass(frozen=True, slots=True)
class Shape:
    """What of one slab does not depend on heights: probes, creases, samples, directions."""

    part: Part
    probes: Probes
    creases: Creases
    aim: Aim
    pinned: NDArray[np.bool_]  # probes whose slope an existing slab's edge decides
    house: HouseFalls


@dataclass(frozen=True, slots=True)
class Site:
    """What a problem is built on: named places, the ground, its heights by slab [m].

    `eased`: limits that are only recommended may be passed, at a price.
    """

    points: Mapping[str, XY]
    ground: Ground
    under: Mapping[str, Floats | None]
    beside: Mapping[str, Floats | None]
    eased: bool = False


@dataclass(frozen=True, slots=True)
class Problem:
    """A program with its slabs; `column` (nodes,) is a node's column or -1 where it follows others.

    From row `first_hold` on the program has one row a hold, then one for each that has a pull.
    """

    program: Program
    shapes: tuple[Shape, ...]
    column: Ints
    holds: tuple[Hold, ...]
    places: tuple[tuple[str, str], ...]  # slab and panel, by the program's `place`
    site: Site
    first_hold: int


def _columns(parts: tuple[Part, ...]) -> tuple[Ints, int]:
    """Return the column of each node (a panel's corner has one) and how many there are."""
    total = parts[-1].first + len(parts[-1].net.xy)
    column = np.full(total, -1, dtype=np.int64)
    count = 0
    for part in parts:
        used = sorted({k for piece in part.net.pieces for k in piece.masters})
        column[np.array(used) + part.first] = np.arange(count, count + len(used))
        count += len(used)
    return column, count


def resolve(parts: tuple[Part, ...], column: Ints, weights: Weights) -> tuple[list[int], list[float]]:
    """Return columns and values of a weighted sum of node heights; nodes that follow are replaced."""
    index: list[int] = []
    values: list[float] = []
    for node, w in zip(*weights, strict=True):
        if column[node] >= 0:
            index.append(int(column[node]))
            values.append(w)
            continue
        part = next(p for p in reversed(parts) if p.first <= node)
        ids, ws = part.net.follows[node - part.first]
        for k, v in zip(ids, ws, strict=True):
            index.append(int(column[k + part.first]))
            values.append(w * v)
    return index, values


def _padded(rows: list[tuple[list[int], list[float]]]) -> tuple[Ints, Floats]:
    width = max((len(i) for i, _ in rows), default=0)
    index = np.zeros((len(rows), width), dtype=np.int64)
    values = np.zeros((len(rows), width))
    for k, (i, v) in enumerate(rows):
        index[k, : len(i)], values[k, : len(v)] = i, v
        index[k, len(i) :] = i[0]
    return index, values


def _pinned(part: Part, own: Probes, holds: tuple[Hold, ...]) -> NDArray[np.bool_]:
    """Return which probes have two nodes on one existing slab."""
    flags = np.zeros(len(own.owner), dtype=np.bool_)
    by_thing: dict[str, set[int]] = {}
    for hold in holds:
        if hold.family.kind == "existing" and hold.family.slab == part.spec.name:
            by_thing.setdefault(hold.family.who, set()).update(hold.pins)
    for pins in by_thing.values():
        flags |= np.isin(own.nodes + part.first, list(pins)).sum(axis=1) >= 2
    return flags


def shapes_of(parts: tuple[Part, ...], holds: tuple[Hold, ...], site: Site) -> tuple[Shape, ...]:
    """Return probes, creases, samples and directions of each slab."""
    made = []
    for part in parts:
        own = probes(part.net)
        way = aim(
            part.spec, part.outline, part.net, own.at, own.owner, site.points, site.ground, part.samples.xy,
            site.under.get(part.spec.name),
        )  # fmt: skip
        asked = house_falls(part.net, own, site.ground.walls)
        made.append(Shape(part, own, creases(part.net, own), way, _pinned(part, own, holds), asked))
    return tuple(made)


class _Writer:
    """Writes the rows of one slab into the builder."""

    def __init__(
        self, build: Builder, shape: Shape, column: Ints, first_place: int, *, eased: bool = False
    ) -> None:
        self.build, self.shape, self.first_place, self.eased = build, shape, first_place, eased
        self.part, self.fall, self.spec = shape.part, shape.part.spec.fall, shape.part.spec
        self.index = column[shape.probes.nodes + self.part.first]
        self.centre = column[shape.probes.centre_nodes + self.part.first]
        self.place = shape.probes.owner + first_place
        self.pinned = shape.pinned
        self.column = column

    def family(self, kind: Kind, limit: float, unit: str = "-", who: str = "") -> int:
        exact = {"m": "m", "-": "-", "1/m": "1/m"}[unit]
        return self.build.family(Family(kind, self.spec.name, who, exact, limit, self.spec.line))  # type: ignore[arg-type]

    def slope(self, which: NDArray[np.int64] | slice, direction: Floats) -> tuple[Ints, Floats]:
        """Return rows of the slope down `direction` (n, 2) at the probes chosen."""
        p = self.shape.probes
        return self.index[which], -(direction[:, :1] * p.gx[which] + direction[:, 1:] * p.gy[which])

    def most(self) -> tuple[float, float]:
        """Return the most cross and long fall that may not be passed [-]."""
        f = self.fall
        across = f.across_wide if self.eased and f.across_wide is not None else f.across_most
        along = f.along_wide if self.eased and f.along_wide is not None else f.along_most
        return max(across, f.across_most), max(along, f.along_most)

    def limits(self) -> None:
        """Cross fall, long fall and total slope at every probe; a crew's own fall is held closely."""
        f, aims = self.fall, self.shape.aim
        everywhere = slice(None)
        top, long_top = self.most()
        most = self.family("across-most", top)
        loose = np.flatnonzero(~self.pinned)
        if f.across_given:
            give = value("given-give")
            top = max(top, f.across)
            held = self.family("across-given", f.across)
            self.build.limit(
                *self.slope(loose, aims.down[loose]),
                f.across - give,
                min(f.across + give, top),
                held,
                self.place[loose],
            )
        else:
            least = self.family("across-least", f.across_least)
            self.build.limit(
                *self.slope(loose, aims.down[loose]), f.across_least, INF, least, self.place[loose]
            )
        rows = self.slope(everywhere, aims.down)
        self.build.limit(*rows, -top, top, most, self.place)
        along = self.family("along-most", long_top)
        long_rows = self.slope(everywhere, aims.long)
        self.build.limit(*long_rows, -long_top, long_top, along, self.place)
        if top > f.across_most:
            self.rather(rows, max(f.across_most, f.across) if f.across_given else f.across_most)
        if long_top > f.along_most:
            self.rather(long_rows, f.along_most)
        if not self.part.outline.axis:
            # people stand and sit on a patio: where the crew asked for no more, it may not be steeper the
            # long way than across
            usual = any(t.field == "fall.along-most" for t in self.spec.taken)
            flat = usual and self.spec.use in ("patio", "landing")
            kept = max(f.across_most, f.across) if f.across_given else f.across_most
            self.total(
                top if flat else max(top, long_top),
                (top, long_top),
                kept if flat and kept < top else None,
            )

    def rather(self, rows: tuple[Ints, Floats], most: float) -> None:
        """Charge what slopes are steeper than a recommended limit, either way."""
        cost = value("charge-eased")
        self.build.wish(*rows, most, cost, 0.0, place=self.place)
        self.build.wish(*rows, -most, 0.0, cost, place=self.place)

    def total(self, most: float, box: tuple[float, float], rather: float | None) -> None:
        """Total slope by the sides of a 16-gon that the box of cross and long limits does not imply.

        `rather` [-] is a recommended limit below `most`: passing it is charged.
        """
        across, along = box
        aims = self.shape.aim
        family = self.family("total-most", most)
        # the polygon's corners lie on the circle, one of them on each of the slab's own directions:
        # nothing steeper than the limit passes, and what is refused is within 2 % of it
        reach = most * math.cos(math.pi / SIDES)
        turns = 2 * math.pi * (np.arange(SIDES) + 0.5) / SIDES
        bites = across * np.abs(np.cos(turns)) + along * np.abs(np.sin(turns)) > reach * (1 + 1e-12)
        turns = turns[bites]
        way = np.cos(turns)[:, None, None] * aims.down + np.sin(turns)[:, None, None] * aims.long
        # where a slab must fall the wanted way, no more fall that way implies none against it
        sure = (np.cos(turns) < 0) & (self.fall.across_least >= 0) & (not self.fall.across_given)
        implied = sure[:, None] & ~self.pinned
        every = np.tile(np.arange(len(self.pinned)), len(turns))
        rows = self.slope(every, way.reshape(-1, 2))
        self.build.limit(*rows, -INF, reach, family, self.place[every], implied=implied.ravel())
        if rather is not None:
            target = rather * math.cos(math.pi / SIDES)
            self.build.wish(*rows, target, value("charge-eased"), 0.0, place=self.place[every])

    def house(self) -> None:
        """Fall away from each wall within 10 ft, but not where an existing edge pins both ends."""
        asked = self.shape.house
        which = np.flatnonzero(~self.pinned[asked.probe])
        if not len(which):
            return
        families = {
            w: self.family("house", self.fall.from_house, who=asked.walls[w])
            for w in dict.fromkeys(asked.number[which].tolist())
        }
        n = asked.normal[which]
        self.build.limit(
            self.column[asked.nodes[which] + self.part.first],
            -(n[:, :1] * asked.gx[which] + n[:, 1:] * asked.gy[which]),
            self.fall.from_house if self.fall.from_house > 0 else -INF,
            INF,
            np.array([families[w] for w in asked.number[which].tolist()]),
            asked.owner[which] + self.first_place,
        )

    def bends(self) -> None:
        """Twist within a panel, and the change of fall across a joint: limited, and charged a little."""
        p, c = self.shape.probes, self.shape.creases
        ruled = np.flatnonzero(p.twist_area > 0)
        if len(ruled):
            index = self.column[p.ruled_nodes[ruled] + self.part.first]
            most = value("twist")
            family = self.family("twist", most, "1/m")
            place = ruled + self.first_place
            scaled = p.twist[ruled] / p.twist_area[ruled, None]
            self.build.limit(index, scaled, -most, most, family, place)
            self.build.wish(
                index, p.twist[ruled], 0.0, value("charge-twist"), value("charge-twist"), place=place
            )
        if len(c.a):
            most = value("drive-break" if self.spec.use in DRIVEN else "foot-break")
            family = self.family("break", most)
            ia, va = self.slope(c.a, c.normal)
            ib, vb = self.slope(c.b, c.normal)
            index, values = np.hstack([ia, ib]), np.hstack([va, -vb])
            self.build.limit(index, values, -most, most, family, self.place[c.a])
            cost = value("charge-break") * c.length
            # what the wanted falls fold by themselves (a crown, the turn round a corner) is no fault
            way = self.shape.aim.down
            wanted = self.fall.across * ((way[c.a] - way[c.b]) * c.normal).sum(axis=1)
            self.build.wish(index, values, wanted, cost, cost, place=self.place[c.a])

    def wishes(self, has_ground: bool) -> None:
        """The wanted cross fall, and no more fall the other way than is needed."""
        p, aims = self.shape.probes, self.shape.aim
        first = np.searchsorted(p.owner, np.arange(len(p.area)))  # a probe of each piece gives its way
        place = np.arange(len(p.area)) + self.first_place
        down, long = aims.down[first], aims.long[first]
        across = -(down[:, :1] * p.centre_gx + down[:, 1:] * p.centre_gy)
        cost = value("charge-fall") * p.area
        self.build.wish(self.centre, across, self.fall.across, cost, cost, place=place)
        if self.part.outline.axis and has_ground:
            return  # the ground and the fixed heights decide a ribbon's long fall
        along = -(long[:, :1] * p.centre_gx + long[:, 1:] * p.centre_gy)
        cost = value("charge-long" if self.part.outline.axis else "charge-level") * p.area
        self.build.wish(self.centre, along, 0.0, cost, cost, place=place)

    def earth(self, ground_z: Floats, organic: float) -> None:
        """Cut and fill at the samples, to the bottom of the base, after the organic strip."""
        s = self.part.samples
        index = self.column[s.nodes + self.part.first]
        depth = self.spec.thickness + self.spec.base
        self.build.wish(
            index,
            s.weights,
            ground_z - organic + depth,
            value("charge-fill") * s.area,
            value("charge-cut") * s.area,
            earth=s.area,
            place=s.owner + self.first_place,
        )


def build_problem(parts: tuple[Part, ...], holds: tuple[Hold, ...], site: Site) -> Problem:
    """Return the program of slabs that touch.

    `site.under` is the existing ground [m] at each slab's samples, `beside` at its free corners; None
    where no ground was shot. The organic strip [m] is taken off before anything is dug or filled.
    """
    shapes = shapes_of(parts, holds, site)
    column, count = _columns(parts)
    build = Builder(count)
    places: list[tuple[str, str]] = []
    for shape in shapes:
        part = shape.part
        write = _Writer(build, shape, column, len(places), eased=site.eased)
        write.limits()
        write.house()
        write.bends()
        ground_z, lawn_z = site.under.get(part.spec.name), site.beside.get(part.spec.name)
        write.wishes(ground_z is not None)
        if ground_z is not None:
            write.earth(ground_z, site.ground.organic)
        if lawn_z is not None and len(lawn_z):
            nodes, length = part.lawn
            cost = value("charge-lawn") * length
            build.wish(
                column[nodes + part.first][:, None],
                np.ones((len(nodes), 1)),
                lawn_z + value("lawn-reveal"),
                cost,
                cost,
            )
        if part.net.ties:
            rows = [
                resolve(parts, column, (tuple(k + part.first for k in ids), w)) for ids, w in part.net.ties
            ]
            build.limit(*_padded(rows), 0.0, 0.0)
        places += [(part.spec.name, piece.panel) for piece in part.net.pieces]
    first_hold = build.rows
    _hold(build, parts, column, holds)
    _fold(build, shapes, column, holds)
    return Problem(build.done(), shapes, column, holds, tuple(places), site, first_hold)


def _hold(build: Builder, parts: tuple[Part, ...], column: Ints, holds: tuple[Hold, ...]) -> None:
    rows = [resolve(parts, column, h.weights) for h in holds]
    if rows:
        build.limit(
            *_padded(rows),
            np.array([h.lo for h in holds]),
            np.array([h.hi for h in holds]),
            np.array([build.family(h.family) for h in holds]),
        )
    wished = [(r, h) for r, h in zip(rows, holds, strict=True) if h.pull is not None]
    if wished:
        build.wish(
            *_padded([r for r, _ in wished]),
            np.array([h.pull for _, h in wished]),
            value("charge-flush"),
            value("charge-flush"),
            family=np.array([build.family(h.family) for _, h in wished]),
        )


def _fold(build: Builder, shapes: tuple[Shape, ...], column: Ints, holds: tuple[Hold, ...]) -> None:
    """Limit the change of fall from one slab to another that touches it, but not across a step."""
    by_name = {s.part.spec.name: s for s in shapes}
    pairs = dict.fromkeys((h.family.slab, h.family.who) for h in holds if h.family.kind == "slab")
    for a, b in ((by_name[i], by_name[j]) for i, j in pairs):
        asked = asked_between(a.part, b.part)
        if asked.step:
            continue
        folds = folds_between((a.part.net, a.probes), (b.part.net, b.probes))
        if not folds:
            continue
        driven = a.part.spec.use in DRIVEN and b.part.spec.use in DRIVEN
        most = value("drive-break" if driven else "foot-break")
        family = build.family(Family("break", a.part.spec.name, b.part.spec.name, "-", most, asked.line))
        n = np.array([f.normal for f in folds])
        index, values = [], []
        for shape, which, sign in ((a, [f.a for f in folds], -1.0), (b, [f.b for f in folds], 1.0)):
            p = shape.probes
            index.append(column[p.nodes[which] + shape.part.first])
            values.append(sign * (n[:, :1] * p.gx[which] + n[:, 1:] * p.gy[which]))
        build.limit(np.hstack(index), np.hstack(values), -most, most, family)


def loosened(problem: Problem) -> Problem | None:
    """Return the problem with recommended limits that may be passed at a price; None where it has none."""
    falls = [s.part.spec.fall for s in problem.shapes]
    if problem.site.eased or all(f.across_wide is None and f.along_wide is None for f in falls):
        return None
    parts = tuple(s.part for s in problem.shapes)
    return build_problem(parts, problem.holds, replace(problem.site, eased=True))


def stretched(problem: Problem, factor: float) -> Problem:
    """Return the problem with its one slab made longer along its straight line, all heights as they were."""
    (part,) = (s.part for s in problem.shapes)
    o, end = np.array(part.outline.axis[0]), np.array(part.outline.axis[-1])
    e = (end - o) / np.hypot(*(end - o))

    def moved(p: XY) -> XY:
        t = (factor - 1) * float((p[0] - o[0]) * e[0] + (p[1] - o[1]) * e[1])
        return (p[0] + t * float(e[0]), p[1] + t * float(e[1]))

    net = part.net
    pieces = tuple(replace(p, area=p.area * factor, centroid=moved(p.centroid)) for p in net.pieces)
    xy = net.xy + (factor - 1) * ((net.xy - o) @ e)[:, None] * e
    edges = tuple(replace(s, p=moved(s.p), q=moved(s.q)) for s in part.outline.edges)
    outline = replace(part.outline, axis=tuple(moved(p) for p in part.outline.axis), edges=edges)
    longer = part_of(part.spec, outline, replace(net, xy=xy, pieces=pieces), part.first)
    return build_problem((longer,), problem.holds, problem.site)
