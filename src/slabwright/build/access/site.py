"""The site as a barrow sees it: what stands in the way for good, and what is closed once it is poured."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from slabwright.build.access.net import Net, corners
from slabwright.build.tables import rule
from slabwright.ground.model import XY, Ground
from slabwright.ground.untyped import shapely
from slabwright.measure import System
from slabwright.notes.models import Notes
from slabwright.slab.model import Panel, Shaped, Slab

FEW = 12  # slabs placed before that are all looked at
ROUND_ABOUT = 5.0  # [m] how far off the straight way others are looked at
EDGE = 0.01  # [m] a way that ends at the form does not run over the base
THIN = 0.02  # [m] half the thickness of a wall or fence that was written as a line
ROUND = 2  # segments a quarter circle of a trunk


@dataclass(frozen=True, slots=True)
class Site:
    """`fixed`: polygon no barrow's middle may enter; `house`: walls alone, for the chute; `half` [m]: half
    the width of the way; `clear` [m]: that and the distance kept from fresh concrete; `shot`: ground whose
    heights were shot, off the new slabs.
    """

    fixed: Any
    house: Any
    half: float
    clear: float
    shot: Any

    def open_at(self, stand: XY) -> Any:
        """Return `fixed` with room at the stand, which may be close to a fence but not in a wall."""
        return shapely.difference(self.fixed, shapely.buffer(shapely.points(stand), self.half))

    def fresh(self, ring: Sequence[XY]) -> Any:
        """Return where no barrow's middle may go once the concrete in a ring is fresh."""
        return shapely.buffer(shapely.polygons(ring), self.clear, join_style="mitre", mitre_limit=2.0)


def look(shaped: Shaped, ground: Ground, notes: Notes, points: Mapping[str, XY], way: str) -> Site:
    """Return the site: walls, trunks, fences and ground to keep off, each with half a barrow's width.

    way: barrow or buggy. Slabs that are there already may be driven on. points: (x, y) [m] by name; a fence
    or bed with a point that has no place is left out.
    """
    width = notes.access.barrow_width or rule("yard", f"{way}_way", notes.units)
    house = house_of(ground)
    parts = [house]
    parts += [shapely.buffer(shapely.points(t.at), t.trunk / 2, quad_segs=ROUND) for t in ground.trees]
    for fence in notes.access.fences:
        if all(name in points for name in fence.along):
            line = shapely.linestrings([points[name] for name in fence.along])
            parts.append(shapely.buffer(line, THIN, cap_style="flat", join_style="mitre"))
    for bed in notes.access.keep_off:
        if all(name in points for name in bed.corners):
            parts.append(shapely.make_valid(shapely.polygons([points[name] for name in bed.corners])))
    half = width / 2
    fixed = shapely.buffer(shapely.union_all(parts), half, join_style="mitre", mitre_limit=2.0)
    return Site(fixed, house, half, half + rule("yard", "off_fresh", notes.units), _shot(shaped, ground))


def _shot(shaped: Shaped, ground: Ground) -> Any:
    if ground.surface is None or len(ground.surface.hull) < 3:
        return shapely.Polygon()
    off = shapely.union_all([shapely.polygons(slab.outline.ring) for slab in shaped.slabs])
    return shapely.difference(shapely.polygons(ground.surface.hull), off)


def house_of(ground: Ground) -> Any:
    """Return the house as a polygon: the closed outline, else its walls as thin strips."""
    parts = [
        shapely.buffer(shapely.linestrings([wall.p, wall.q]), THIN, cap_style="square")
        for wall in ground.walls
        if wall.p != wall.q
    ]
    if ground.house_ring:
        parts.append(shapely.make_valid(shapely.polygons(ground.house_ring)))
    return shapely.union_all(parts)


def dumps(panel: Panel) -> list[XY]:
    """Return where a barrow may dump a panel's concrete: its middle, and the middles of its sides.

    A side counts where the middle is within a rake's pull of it.
    """
    rake = rule("yard", "rake")
    shape = shapely.polygons(panel.ring)
    middle = shapely.centroid(shape)
    if not shapely.contains(shape, middle):
        middle = shapely.point_on_surface(shape)
    sides = zip(panel.ring, (*panel.ring[1:], panel.ring[0]), strict=True)
    first = (float(middle.x), float(middle.y))
    over_form = [((p[0] + q[0]) / 2, (p[1] + q[1]) / 2) for p, q in sides]
    return [first, *(at for at in over_form if math.dist(at, first) <= rake)]


@dataclass(frozen=True, slots=True)
class SlabNet:
    """The net of ways to one slab: `spots` by panel are indices of its dumping places in the net.

    Fresh areas 0..n-1 are the slab's own panels, n.. the slabs placed before it. `base` is all that is
    dug and not placed before, a little inside its forms: a way over it needs planks.
    """

    net: Net
    spots: tuple[tuple[int, ...], ...]
    others: int
    base: Any

    def way(self, panel: int, placed: Iterable[int]) -> tuple[float, tuple[XY, ...]]:
        """Return the way [m] to a panel and its line, inf and () where there is none.

        The shortest to each dumping place; of these the one with the least run, planks counted dearer.
        placed: own panels that are fresh already; slabs placed before are always closed.
        """
        own = len(self.spots)
        away, before = self.net.ways({*placed, *range(own, own + self.others)})
        open_ = [(k, self.net.way_to(k, before)) for k in self.spots[panel] if np.isfinite(away[k])]
        if not open_:
            return math.inf, ()
        dearer = rule("yard", "planks") - 1.0
        best, path = min(open_, key=lambda kw: (away[kw[0]] + dearer * over(kw[1], self.base), kw[0]))
        return float(away[best]), path

    def all_ways(self, placed: Iterable[int]) -> list[float]:
        """Return the length [m] of the way to every panel, inf where there is none."""
        own = len(self.spots)
        away, _ = self.net.ways({*placed, *range(own, own + self.others)})
        return [float(min(away[k] for k in spots)) for spots in self.spots]


def _between(slab: Slab, earlier: Sequence[Slab], stand: XY) -> Sequence[Slab]:
    """Return those slabs that a way to `slab` may meet: of many, those about the straight way to it."""
    if len(earlier) <= FEW:
        return earlier
    both = shapely.union(shapely.polygons(slab.outline.ring), shapely.points(stand))
    about = shapely.buffer(shapely.convex_hull(both), ROUND_ABOUT)
    return [one for one in earlier if shapely.intersects(about, shapely.polygons(one.outline.ring))]


def net_for(
    slab: Slab, earlier: Sequence[Slab], site: Site, stand: XY, shaped: Sequence[Slab] = ()
) -> SlabNet:
    """Return the net of ways from the stand to one slab.

    earlier: slabs that are fresh by then; shaped: all slabs of the job, for the planks.
    """
    panels = slab.joint_plan.panels
    fixed = site.open_at(stand)
    done = {other.spec.name for other in earlier}
    earlier = _between(slab, earlier, stand)
    own = [site.fresh(panel.ring) for panel in panels]
    others = [site.fresh(other.outline.ring) for other in earlier]
    places = corners(fixed)
    for area in (site.fresh(slab.outline.ring), *others):
        places += corners(area)
    spots: list[tuple[int, ...]] = []
    known: dict[XY, int] = {}
    for panel in panels:
        here: list[int] = []
        for at in dumps(panel):
            key = (round(at[0], 4), round(at[1], 4))  # neighbours share a side
            if key not in known:
                places.append(at)
                known[key] = len(places)  # the stand comes first
            here.append(known[key])
        spots.append(tuple(here))
    dug = [slab, *_between(slab, [o for o in shaped if o.spec.name not in done], stand)]
    base = shapely.union_all([shapely.polygons(other.outline.ring) for other in dug])
    base = shapely.buffer(base, -EDGE, join_style="mitre")
    return SlabNet(Net(stand, places, fixed, [*own, *others]), tuple(spots), len(others), base)


def over(path: Sequence[XY], base: Any) -> float:
    """Return the length [m] of a way that lies on `base` (polygon)."""
    if len(path) < 2:
        return 0.0
    return float(shapely.length(shapely.intersection(shapely.linestrings(path), base)))


def steepest(paths: Sequence[Sequence[XY]], ground: Ground, site: Site) -> list[float]:
    """Return the steepest slope [-] along each way where the ground was shot, off the new slabs.

    Taken over 1.5 m at a time: a barrow's own length; 0 where no ground was shot.
    """
    from slabwright.ground.surface import ground_height

    worst = [0.0] * len(paths)
    if ground.surface is None:
        return worst
    owner: list[int] = []
    spots: list[Any] = []
    for n, path in enumerate(paths):
        if len(path) < 2:
            continue
        for part in shapely.get_parts(shapely.intersection(shapely.linestrings(path), site.shot)):
            if part.geom_type != "LineString" or part.length < 0.5:
                continue
            count = max(1, round(part.length / 1.5))
            stops = shapely.line_interpolate_point(part, np.linspace(0.0, part.length, count + 1))
            owner.append(n)
            spots.append(shapely.get_coordinates(stops))
    if not spots:
        return worst
    heights = np.asarray(ground_height(ground.surface, np.concatenate(spots)), dtype=np.float64)
    ends = np.cumsum([len(at) for at in spots])[:-1]
    for n, at, z in zip(owner, spots, np.split(heights, ends), strict=True):
        gap, rise = np.hypot(*np.diff(at, axis=0).T), np.abs(np.diff(z))
        far = gap > 0
        worst[n] = max(worst[n], float((rise[far] / gap[far]).max(initial=0.0)))
    return worst


def way_width(notes: Notes, way: str, system: System) -> float:
    """Return the width [m] of a way that a barrow or buggy needs."""
    return notes.access.barrow_width or rule("yard", f"{way}_way", system)
